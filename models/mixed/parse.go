package mixed

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/wording"
)

// ParseModel reads a model from TOML text; file names it in messages. The
// error is a [*table.Fault] with every problem of the text: unknown keys, wrong
// types, words that are none of those allowed, each with its line.
func ParseModel(file string, data []byte) (Model, error) {
	var ps table.Problems
	doc := modelShape.Split(file, data, &ps)
	if doc == nil {
		return Model{}, ps.Err()
	}
	r, tree := reader{file: file, where: doc.Where, ps: &ps}, doc.Tree
	var m Model
	r.known("", tree, slices.Concat([]string{"outcome", "kind", "scale", "estimate", "fixed", "levels", "random", "smooth", "df", "residual", "labels"}, otherKeys, inferenceKeys)...)
	m.Outcome = r.text(tree, "", "outcome", true)
	m.Scale = r.word(tree, "", "scale", "identity", "log")
	m.Estimate = r.word(tree, "", "estimate", "restricted", "full")
	r.kind(tree, &m)
	m.Fixed = r.fixed(tree)
	m.Levels = r.levels(tree)
	m.Random = r.randoms(tree)
	m.Smooth = r.smooths(tree)
	m.DF = r.method(tree)
	m.Residual = r.residual(tree)
	m.Labels = r.labels(tree)
	m.Inference = r.inference(tree)
	r.together(m)
	return m, ps.Err()
}

var modelShape = document.Shape{What: "a model"}

// together reports keys that do not go together. What only the table can tell is left
// to the layout.
func (r reader) together(m Model) {
	if m.Points > 1 && (len(m.Random) != 1 || len(m.Random[0].Terms) > 1) {
		remedy := "write points = 1, or keep one random term with one term alone"
		if len(m.Random) == 0 {
			remedy = "delete points: without random terms there is nothing to integrate"
		}
		r.problem("points", m.Points, "one random term with one column where points is above 1", remedy)
	}
	fixed := slices.Concat(m.Fixed...)
	for _, name := range slices.Concat(m.Means...) {
		if !slices.Contains(fixed, name) {
			r.problem("means", name, "columns of labels among the fixed effects", "these are "+strings.Join(fixed, ", ")+": delete "+name+" from means, or add it to fixed")
		}
	}
}

// A reader takes values out of a decoded tree and notes what is wrong. Keys are named
// as in where: "outcome", "levels picture" or "random 0 by".
type reader struct {
	file  string
	where document.Where
	ps    *table.Problems
}

func (r reader) problem(key string, value any, expected, remedy string) {
	name := key[strings.LastIndex(key, " ")+1:]
	shown := ""
	if value != nil {
		shown = fmt.Sprint(value)
	}
	r.ps.Add(table.Problem{File: r.file, Line: r.where[key], Column: name, Value: shown, Expected: expected, Remedy: remedy})
}

// known reports every key of tree that is none of the names.
func (r reader) known(prefix string, tree map[string]any, names ...string) {
	for _, key := range slices.Sorted(maps.Keys(tree)) {
		if slices.Contains(names, key) {
			continue
		}
		remedy := "delete it or correct its spelling"
		if near := table.Nearest(key, names); near != "" {
			remedy = "did you mean " + near + "?"
		}
		r.problem(prefix+key, key, "one of the keys "+strings.Join(names, ", "), remedy)
	}
}

func (r reader) text(tree map[string]any, prefix, key string, required bool) string {
	value, present := tree[key]
	if !present {
		if required {
			r.problem(prefix+key, nil, "the key "+key+" with a column's name", fmt.Sprintf("write %s = \"…\"", key))
		}
		return ""
	}
	text, ok := value.(string)
	if !ok || text == "" {
		r.problem(prefix+key, value, "a column's name in quotation marks", fmt.Sprintf("write %s = \"…\"", key))
		return ""
	}
	return text
}

// word reads one of several words, the first of which is the default.
func (r reader) word(tree map[string]any, prefix, key string, words ...string) string {
	value, present := tree[key]
	if !present {
		return words[0]
	}
	if text, ok := value.(string); ok && slices.Contains(words, text) {
		return text
	}
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = fmt.Sprintf("%q", w)
	}
	r.problem(prefix+key, value, strings.Join(quoted, " or "), fmt.Sprintf("write %s = %s", key, quoted[0]))
	return words[0]
}

// How degrees of freedom come about.
const (
	ByKenwardRoger = "Kenward–Roger" // [Fit.Method] where standard errors are adjusted too
	satterthwaite  = "Satterthwaite"
)

// method reads how degrees of freedom are to come about; "" where that is not
// said. A hyphen in place of the dash will do.
func (r reader) method(tree map[string]any) string {
	value, present := tree["df"]
	if !present {
		return ""
	}
	if value == "Kenward-Roger" {
		return ByKenwardRoger
	}
	return r.word(map[string]any{"df": value}, "", "df", ByKenwardRoger, satterthwaite)
}

// texts reads a list of texts.
func (r reader) texts(value any, key, expected, remedy string) []string {
	list, ok := value.([]any)
	if !ok {
		r.problem(key, value, expected, remedy)
		return nil
	}
	var out []string
	for _, item := range list {
		text, ok := item.(string)
		switch {
		case !ok || text == "":
			r.problem(key, item, expected, remedy)
		case slices.Contains(out, text):
			r.problem(key, text, "each name once", "delete the repetition")
		default:
			out = append(out, text)
		}
	}
	return out
}

func (r reader) fixed(tree map[string]any) []Term {
	value, present := tree["fixed"]
	if !present {
		r.problem("fixed", nil, "the key fixed with the list of fixed effects", "write fixed = [] if there are none but the intercept")
		return nil
	}
	return r.terms("fixed", value)
}

// terms reads a list of columns and products.
func (r reader) terms(key string, value any) []Term {
	const expected = "a list of columns, with an inner list for a product"
	once := "each term once"
	if key == "fixed" {
		once = "each fixed effect once"
	}
	remedy := fmt.Sprintf(`write %s = ["picture", ["picture", "place"]]`, key)
	list, ok := value.([]any)
	if !ok {
		r.problem(key, value, expected, remedy)
		return nil
	}
	terms := []Term{}
	seen := map[string]bool{}
	for _, item := range list {
		var term Term
		switch item := item.(type) {
		case string:
			term = Term{item}
		case []any:
			term = r.texts(item, key, expected, remedy)
		}
		if len(term) == 0 || term[0] == "" {
			r.problem(key, item, expected, remedy)
			continue
		}
		if len(term) == 1 && term[0] == interceptName {
			continue // it is always there
		}
		sorted := slices.Clone(term)
		slices.Sort(sorted)
		sameAs := strings.Join(sorted, "\x00")
		if seen[sameAs] {
			r.problem(key, strings.Join(term, productSign), once, "delete the repetition")
			continue
		}
		seen[sameAs] = true
		terms = append(terms, term)
	}
	return terms
}

func (r reader) levels(tree map[string]any) map[string][]string {
	value, present := tree["levels"]
	if !present {
		return nil
	}
	table, ok := value.(map[string]any)
	if !ok {
		r.problem("levels", value, "a table of columns with their levels", "write [levels] and below it picture = [\"no\", \"yes\"]")
		return nil
	}
	out := map[string][]string{}
	for _, column := range slices.Sorted(maps.Keys(table)) {
		key := "levels " + column
		levels := r.texts(table[column], key, "a list of labels in quotation marks, the baseline first",
			fmt.Sprintf("write %s = [\"no\", \"yes\"]", column))
		if len(levels) == 1 {
			r.problem(key, levels[0], "at least two levels", "name the other levels too, or delete the line")
		}
		out[column] = levels
	}
	return out
}

func (r reader) labels(tree map[string]any) wording.Labels {
	value, present := tree["labels"]
	if !present {
		return nil
	}
	table, ok := value.(map[string]any)
	if !ok {
		r.problem("labels", value, "a table of columns and levels with their words", "write [labels] and below it picture = \"a picture on the page\"")
		return nil
	}
	out := wording.Labels{}
	for _, name := range slices.Sorted(maps.Keys(table)) {
		said, ok := table[name].(string)
		if !ok || said == "" {
			r.problem("labels "+name, table[name], "words in quotation marks", fmt.Sprintf("write %q = \"…\", or delete the line", name))
			continue
		}
		out[name] = said
	}
	return out
}

func (r reader) randoms(tree map[string]any) []Random {
	value, present := tree["random"]
	if !present {
		return nil
	}
	list, ok := value.([]any)
	if !ok {
		r.problem("random", value, "one or more tables of random terms", "write [[random]] in double brackets above each")
		return nil
	}
	var out []Random
	for k, item := range list {
		key := fmt.Sprintf("random %d", k)
		entry, ok := item.(map[string]any)
		if !ok {
			r.problem(key, item, "a random term", "write [[random]] with by and terms")
			continue
		}
		out = append(out, r.random(key+" ", entry))
	}
	return out
}

func (r reader) random(prefix string, tree map[string]any) Random {
	r.known(prefix, tree, "by", "terms", "correlated")
	var out Random
	out.By = r.by(tree, prefix)
	if value, present := tree["terms"]; present {
		const expected, remedy = `a list of "intercept" and columns`, `write terms = ["intercept"]`
		out.Terms = r.texts(value, prefix+"terms", expected, remedy)
		if list, ok := value.([]any); ok && len(list) == 0 {
			r.problem(prefix+"terms", value, expected, remedy)
		}
	} else {
		r.problem(prefix+"terms", nil, "the key terms: what varies between the groups", `write terms = ["intercept"]`)
	}
	out.Correlated = r.yes(tree, prefix, "correlated")
	return out
}

// yes reads true or false; false where it is not said.
func (r reader) yes(tree map[string]any, prefix, key string) bool {
	value, present := tree[key]
	out, ok := value.(bool)
	if present && !ok {
		r.problem(prefix+key, value, "true or false", "write it without quotation marks")
	}
	return out
}

// by reads the columns that name groups.
func (r reader) by(tree map[string]any, prefix string) []string {
	const expected, remedy = "a column's name, or a list of several", `write by = "book", or by = ["book", "quire"] for the quire within the book`
	switch by := tree["by"].(type) {
	case string:
		if by == "" {
			r.problem(prefix+"by", by, expected, remedy)
			return nil
		}
		return []string{by}
	default:
		return r.texts(by, prefix+"by", expected, remedy)
	}
}

func (r reader) smooths(tree map[string]any) []Smooth {
	value, present := tree["smooth"]
	if !present {
		return nil
	}
	list, ok := value.([]any)
	if !ok {
		r.problem("smooth", value, "one or more tables of curves", "write [[smooth]] in double brackets above each")
		return nil
	}
	var out []Smooth
	for k, item := range list {
		key := fmt.Sprintf("smooth %d", k)
		entry, ok := item.(map[string]any)
		if !ok {
			r.problem(key, item, "a curve", "write [[smooth]] with column")
			continue
		}
		prefix := key + " "
		r.known(prefix, entry, "column", "by", "bends")
		s := Smooth{Column: r.text(entry, prefix, "column", true)}
		if _, present := entry["by"]; present {
			s.By = r.by(entry, prefix)
		}
		if value, present := entry["bends"]; present {
			bends, ok := value.(int64)
			if !ok || bends < fewBends || bends > mostBends {
				r.problem(prefix+"bends", value, fmt.Sprintf("a whole number from %d to %d", fewBends, mostBends), "write bends = 18, or leave it out")
			}
			s.Bends = int(bends)
		}
		if slices.ContainsFunc(out, func(have Smooth) bool { return have.Column == s.Column && slices.Equal(have.By, s.By) }) {
			r.problem(prefix+"column", s.Column, "each curve once", "delete the repetition")
			continue
		}
		out = append(out, s)
	}
	return out
}

// textKeys reads the keys whose fields in a struct are texts, and gives their names.
func (r reader) textKeys(tree map[string]any, prefix string, into any) (keys []string) {
	fields := reflect.ValueOf(into).Elem()
	for i := range fields.NumField() {
		if fields.Field(i).Kind() == reflect.String {
			key, _, _ := strings.Cut(fields.Type().Field(i).Tag.Get("toml"), ",")
			fields.Field(i).SetString(r.text(tree, prefix, key, false))
			keys = append(keys, key)
		}
	}
	return keys
}

func (r reader) residual(tree map[string]any) Residual {
	var out Residual
	value, present := tree["residual"]
	if !present {
		return out
	}
	entry, ok := value.(map[string]any)
	if !ok {
		r.problem("residual", value, "a table", "write [residual] and its keys below")
		return out
	}
	const prefix = "residual "
	columns := r.textKeys(entry, prefix, &out)
	r.known(prefix, entry, append(columns, "limit", "offsets")...)
	out.Offsets = r.offsets(entry, prefix)
	if out.Within != "" && out.Along == "" {
		r.problem(prefix+"within", out.Within, "the key along beside within", `add along = "position", or delete within`)
	}
	if value, present := entry["limit"]; present {
		switch v := value.(type) {
		case float64:
			out.Limit = &v
		case int64:
			f := float64(v)
			out.Limit = &f
		default:
			r.problem(prefix+"limit", value, "a number", "write it without quotation marks, such as limit = 0.01")
		}
	}
	if out.Limit != nil && out.Limits != "" {
		r.problem(prefix+"limits", out.Limits, "one of limit and limits", "a limit for all rows, or a column that tells it row by row: delete one of them")
	}
	return out
}
