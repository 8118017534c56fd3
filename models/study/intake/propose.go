package intake

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// Propose writes a mapping for a spreadsheet from its own names of columns and words
// of cells, in English, German, French, Dutch or Italian, for the scholar to correct
// and use. What it cannot tell stands in comments. The error is a [*table.Fault].
func Propose(file string) (string, error) {
	var ps table.Problems
	data := readFile(file, &ps)
	if err := ps.Err(); err != nil {
		return "", err
	}
	text := propose(file, data, &sheet.Mapping{}, &ps)
	return text, ps.Err()
}

// propose is [Propose] for what a file holds; words tell how it is written. Where nothing
// of it can be read it is empty, and why goes to ps.
func propose(file string, data []byte, words *sheet.Mapping, ps *table.Problems) string {
	var unread table.Problems // cells that do not matter for the names
	how := *words
	how.Known = knownColumn
	sheets := sheet.Read(file, data, &how, &unread)
	if len(sheets) == 0 {
		ps.Add(unread.List()...)
		return ""
	}
	p := proposal{words: map[string]map[string]string{}, taken: map[string]bool{}}
	for _, s := range sheets {
		p.sheet(s)
	}
	return p.text(file)
}

// knownColumn tells whether a name is a word for a column of any table.
func knownColumn(name string) bool {
	word := plainWord(unitless.ReplaceAllString(name, ""))
	for ours, list := range columnWords {
		if word == ours || in(list, word) {
			return true
		}
	}
	return targetOf(name) != ""
}

// A proposal gathers what a mapping says.
type proposal struct {
	head     []string
	sheets   []string
	columns  []string
	readings []string
	looks    []string
	units    []string
	taken    map[string]bool // names of columns that have a line
	words    map[string]map[string]string
	constant []string
	told     []string // columns alike in all rows whose value is known
}

// sheet adds what is proposed for one sheet.
func (p *proposal) sheet(s sheet.Sheet) {
	k, matched, wide, looks := bestKind(s.Table)
	if k == nil {
		p.sheets = append(p.sheets, fmt.Sprintf("# %s = \"…\"   # it has no columns of any table that was known: one of %s, or leave it out", strconv.Quote(s.Name), strings.Join(kindNames(), ", ")))
		return
	}
	if !strings.EqualFold(s.Name, k.name) {
		p.sheets = append(p.sheets, fmt.Sprintf("%s = %q", strconv.Quote(s.Name), k.name))
	}
	for _, c := range s.Table.Columns() {
		if p.taken[c.Name] {
			continue
		}
		p.taken[c.Name] = true
		if target := wide[c.Name]; target != "" {
			p.readings = append(p.readings, fmt.Sprintf("%s = %q   # such as %s", strconv.Quote(c.Name), target, exampleOf(c)))
			p.unit(c)
			continue
		}
		if look, is := looks[c.Name]; is {
			p.looks = append(p.looks, fmt.Sprintf("%s = { %s }   # such as %s", strconv.Quote(c.Name), look.says(), look.example(c)))
			continue
		}
		ours := matched[c.Name]
		switch example := exampleOf(c); {
		case len(ours) == 0:
			p.columns = append(p.columns, fmt.Sprintf("# %s = \"…\"   # not known, such as %s; left so, it stays as a column of your own", strconv.Quote(c.Name), example))
		case len(ours) == 2:
			p.columns = append(p.columns, fmt.Sprintf("%s = [%q, %q]   # such as %s", strconv.Quote(c.Name), ours[0], ours[1], example))
		case ours[0] != c.Name:
			p.columns = append(p.columns, fmt.Sprintf("%s = %q   # such as %s", strconv.Quote(c.Name), ours[0], example))
		}
		for _, name := range ours {
			p.cells(name, c)
		}
		if slices.Contains(ours, "date") {
			p.days(c)
		}
		if slices.Contains(ours, "density") {
			p.unit(c)
		}
		if slices.Contains(ours, "time") && strings.Contains(exampleOf(c), ".") && reHourPoint.MatchString(firstOf(c)) {
			p.head = append(p.head, `# times = "hour.minute"   # if `+firstOf(c)+` is a time of day, and not hours and a part of one`)
		}
	}
	switch {
	case len(looks) > 0:
		matched["the looks"] = toldByLooks(looks)
	case k.name == "traces":
		p.traceOf(matched)
	}
	if len(wide) > 0 {
		matched["the readings"] = []string{"target", "density"}
	}
	p.missing(k, matched)
}

// A number with a mark behind it.
var reUnit = regexp.MustCompile(`^[-+−]?\d+(?:[.,]\d+)?\s*(\p{L}{1,4})$`)

// unit proposes the mark behind densities, where one has it.
func (p *proposal) unit(c *table.Column) {
	for i := range c.Len() {
		if m := reUnit.FindStringSubmatch(c.Label(i)); m != nil {
			if line := fmt.Sprintf("density = %q", m[1]); !slices.Contains(p.units, line) {
				p.units = append(p.units, line)
			}
			return
		}
	}
}

// wideColumns finds the columns that each hold a reading, of a sheet with a row a page,
// and what it was taken on; nil where there are no two, or a column says what.
func wideColumns(t *table.Table, matched map[string][]string) map[string]string {
	wide := map[string]string{}
	for _, c := range t.Columns() {
		if ours := matched[c.Name]; len(ours) > 0 && ours[0] != "density" {
			if ours[0] == "target" {
				return nil
			}
			continue
		}
		if target := targetOf(c.Name); target != "" && holdsDensities(c) {
			wide[c.Name] = target
		}
	}
	if len(wide) < 2 {
		return nil
	}
	return wide
}

// targetOf tells from the name of a column what its readings were taken on.
func targetOf(name string) string {
	parts := strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) })
	for _, target := range []string{"zero", "tile", "page"} {
		for _, part := range parts {
			if in(cellWords["target"][target], plainWord(part)) || target == "page" && in(columnWords["density"], plainWord(part)) {
				return target
			}
		}
	}
	return ""
}

// holdsDensities tells whether nearly all cells of a column are numbers such as
// densities are.
func holdsDensities(c *table.Column) bool {
	all, good := 0, 0
	for i := range c.Len() {
		text := strings.Trim(c.Label(i), "-–—/ ")
		if text == "" {
			continue
		}
		all++
		if m := reUnit.FindStringSubmatch(text); m != nil {
			text = strings.TrimSpace(strings.TrimSuffix(text, m[1]))
		}
		if v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64); err == nil && v > -1 && v < 6 {
			good++
		}
	}
	return good > 0 && good*5 >= all*4
}

// reHourPoint is a time of day written 14.05, or a number.
var reHourPoint = regexp.MustCompile(`^\d{1,2}\.\d{1,2}$`)

// bestKind is the table of which a sheet has most columns, those columns of ours that
// each of its own is, and those that each hold a reading, or looks; nil where it has no two
// of any.
func bestKind(t *table.Table) (best *kind, matched map[string][]string, wide map[string]string, looks map[string]proposedLook) {
	known, most := kinds(), 1
	for i := range known {
		found, readings, seen := matchColumns(t, &known[i]), map[string]string(nil), map[string]proposedLook(nil)
		switch known[i].name {
		case "readings":
			readings = wideColumns(t, found)
		case "traces":
			seen = lookColumns(t, found)
		}
		n := len(found) + len(readings)
		for name := range seen {
			if found[name] == nil {
				n++
			}
		}
		if n > most {
			best, matched, wide, looks, most = &known[i], found, readings, seen, n
		}
	}
	for name := range wide {
		delete(matched, name)
	}
	for name := range looks {
		delete(matched, name)
	}
	return best, matched, wide, looks
}

// matchColumns finds which column of a table each column of a sheet is; each of ours
// once, in the order of the sheet.
func matchColumns(t *table.Table, k *kind) map[string][]string {
	matched, taken := map[string][]string{}, map[string]bool{}
	has := func(name string) bool {
		return slices.ContainsFunc(k.schema.Fields, func(f table.Field) bool { return f.Name == name })
	}
	for _, c := range t.Columns() { // our own names first
		if has(c.Name) {
			matched[c.Name], taken[c.Name] = []string{c.Name}, true
		}
	}
	for _, c := range t.Columns() {
		word := plainWord(unitless.ReplaceAllString(c.Name, ""))
		if matched[c.Name] != nil {
			continue
		}
		if in(columnWords["date time"], word) && has("time") && !taken["date"] && !taken["time"] {
			if matched[c.Name], taken["date"] = []string{"date"}, true; holdsTime(c) {
				matched[c.Name], taken["time"] = []string{"date", "time"}, true
			}
			continue
		}
		for _, f := range k.schema.Fields {
			if !taken[f.Name] && in(columnWords[f.Name], word) {
				matched[c.Name], taken[f.Name] = []string{f.Name}, true
				break
			}
		}
	}
	return matched
}

var reTime = regexp.MustCompile(`\d ?[:h] ?\d|\d ?[hu]`)

// holdsTime tells whether a cell of a column of days holds a time of day too.
func holdsTime(c *table.Column) bool {
	for i := range c.Len() {
		if reTime.MatchString(strings.ToLower(c.Label(i))) {
			return true
		}
	}
	return false
}

// unitless takes the unit behind a name off: Dichte (D), Wert [D].
var unitless = regexp.MustCompile(`\s*[(\[][^)\]]*[)\]]\s*$`)

// cells proposes words for what a column of ours takes.
func (p *proposal) cells(name string, c *table.Column) {
	levels, _ := c.Levels()
	for _, label := range levels {
		for ours, list := range cellWords[name] {
			if label != ours && in(list, plainWord(label)) {
				if p.words[name] == nil {
					p.words[name] = map[string]string{}
				}
				p.words[name][label] = ours
			}
		}
	}
}

var reNumberedDay = regexp.MustCompile(`^(\d{1,2})[./-](\d{1,2})[./-]\d{4}`)

// days proposes the order in which days are written, where one of them tells it.
func (p *proposal) days(c *table.Column) {
	written := false
	for i := range c.Len() {
		m := reNumberedDay.FindStringSubmatch(c.Label(i))
		if m == nil {
			continue
		}
		if strings.Contains(m[0], ".") {
			p.say(`dates = "day-month-year"   # as days with points are written, such as ` + c.Label(i))
			return
		}
		written = true
		first, _ := strconv.Atoi(m[1]) // two figures
		second, _ := strconv.Atoi(m[2])
		switch {
		case first > 12:
			p.say(`dates = "day-month-year"   # told by ` + c.Label(i))
			return
		case second > 12:
			p.say(`dates = "month-day-year"   # told by ` + c.Label(i))
			return
		}
	}
	if written {
		p.say(`# dates = "day-month-year"   # or "month-day-year": no day tells which`)
	}
}

func (p *proposal) say(line string) {
	if !slices.Contains(p.head, line) {
		p.head = append(p.head, line)
	}
}

// traceOf takes the name of the column of values as the trace, where no column names it.
func (p *proposal) traceOf(matched map[string][]string) {
	value := ""
	for name, ours := range matched {
		switch ours[0] {
		case "trace":
			return
		case "grade", "count", "present":
			value = min(cmp.Or(value, name), name)
		}
	}
	if value != "" {
		matched["the trace"] = []string{"trace"}
		p.told = append(p.told, fmt.Sprintf("trace = %q", strings.ToLower(unitless.ReplaceAllString(value, ""))))
	}
}

// missing names the columns that a table must have and the sheet has not: they may be
// alike in all rows.
func (p *proposal) missing(k *kind, matched map[string][]string) {
	for _, f := range k.schema.Fields {
		needed := f.Constraints != nil && f.Constraints.Required || k.name == "readings" && (f.Name == "book" || f.Name == "spot" || f.Name == "page")
		there := false
		for _, ours := range matched {
			there = there || slices.Contains(ours, f.Name)
		}
		line := fmt.Sprintf("# %s = \"…\"   # %s", f.Name, f.Description)
		if needed && !there && !slices.Contains(p.constant, line) {
			p.constant = append(p.constant, line)
		}
	}
}

// exampleOf is a cell of a column to show, in quotation marks.
func exampleOf(c *table.Column) string {
	if label := firstOf(c); label != "" {
		runes := []rune(strings.Join(strings.Fields(label), " "))
		return strconv.Quote(string(runes[:min(len(runes), 30)]))
	}
	return "nothing: it is empty"
}

func firstOf(c *table.Column) string {
	for i := range c.Len() {
		if label := c.Label(i); label != "" {
			return label
		}
	}
	return ""
}

// text is the mapping as it is written.
func (p *proposal) text(file string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# A mapping proposed from the names and words in %s. Correct it, fill in what stands\n# in comments and take their signs # away, then give it with --words.\n", strconv.Quote(file))
	for _, line := range p.head {
		b.WriteString(line + "\n")
	}
	section := func(name string, lines []string) {
		if len(lines) > 0 {
			fmt.Fprintf(&b, "\n[%s]\n%s\n", name, strings.Join(lines, "\n"))
		}
	}
	section("sheets", p.sheets)
	section("columns", p.columns)
	if len(p.readings) > 0 {
		p.readings = append([]string{"# Each of these columns holds one reading: of the page, of its zero or of the tile."}, p.readings...)
	}
	section("readings", p.readings)
	if len(p.looks) > 0 {
		p.looks = append([]string{"# Each of these columns holds looks. An empty cell is taken as: nobody looked. Where it means that", "# nothing is there write so in the braces: empty = \"no\", or the lowest grade, or 0."}, p.looks...)
	}
	section("looks", p.looks)
	section("units", p.units)
	for _, name := range slices.Sorted(maps.Keys(p.words)) {
		var lines []string
		for _, word := range slices.Sorted(maps.Keys(p.words[name])) {
			lines = append(lines, fmt.Sprintf("%s = %q", strconv.Quote(word), p.words[name][word]))
		}
		section("words."+name, lines)
	}
	if len(p.constant) > 0 {
		p.constant = append([]string{"# Columns that a table needs and the sheet lacks: fill in those that are alike in all rows."}, p.constant...)
	}
	section("constant", append(p.told, p.constant...))
	return b.String()
}
