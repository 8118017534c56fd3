package study

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// A File is what study.toml says.
type File struct {
	Title    string `toml:"title"`
	Author   string `toml:"author"`
	Note     string `toml:"note"`
	Invented bool   `toml:"invented"`

	Tables    Tables                `toml:"tables"`
	Measuring Measuring             `toml:"measuring"`
	Models    []Model               `toml:"model"`
	Questions []hypotheses.Question `toml:"question"`

	Families   []hypotheses.Family `toml:"family"` // that are not adjusted as usual
	Robustness Robustness          `toml:"robustness"`
	Images     []Images            `toml:"images"`
}

// Tables name the study's tables, as paths from the folder of study.toml.
// Pages and Sections may be left out.
type Tables struct {
	Books       string   `toml:"books"`
	Leaves      string   `toml:"leaves"`
	Pages       string   `toml:"pages"`
	Sections    string   `toml:"sections"`
	Instruments string   `toml:"instruments"`
	Readings    []string `toml:"readings"`
}

// Measuring are the choices of the measuring plan; see [readings.Options].
type Measuring struct {
	Drift      readings.Drift `toml:"drift"`       // "offset" where not given
	SpotSpread float64        `toml:"spot_spread"` // density; 0: from the log
	Solid      float64        `toml:"solid"`       // density; 1.5 where not given
}

// Defaults of the measuring plan (common practice, no source: a density of 1.5
// is a dark, even deposit of thumb grease and dust).
const (
	usualDrift = readings.DriftOffset
	usualSolid = 1.5
)

// A Model is a [mixed.Model] with its place in the study.
type Model struct {
	Name  string              `toml:"name"`
	About string              `toml:"about"` // what it is for, in the scholar's words
	Each  string              `toml:"each"`  // "book": fitted in each book by itself; empty: once
	Only  map[string][]string `toml:"only"`  // rows whose column has one of these labels; all must hold

	mixed.Model `toml:"-"`
}

// parse reads study.toml. Every problem goes to ps with path as its file; where
// tells on which line each key stands. What could be read is returned.
func parse(path string, data []byte, ps *table.Problems) (*File, where) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	file := &File{Measuring: Measuring{Drift: usualDrift, Solid: usualSolid}, Robustness: Robustness{Leaves: usualLeaves}}
	doc, problem := splitDocument(path, data, ps)
	if problem != nil {
		ps.Add(*problem)
		return nil, nil
	}
	doc.decode(path, file, ps)
	for i := range file.Models {
		model, err := mixed.ParseModel(path, doc.models[i])
		var fault *table.Fault
		switch {
		case errors.As(err, &fault):
			ps.Add(fault.Problems...)
		case err != nil:
			ps.Add(table.Problem{File: path, Line: doc.where.line("model", i), Column: "model", Value: file.Models[i].Name,
				Expected: "a model", Remedy: err.Error()})
		}
		file.Models[i].Model = model
	}
	checker := fileCheck{path: path, file: file, where: doc.where, ps: ps}
	checker.all()
	return file, doc.where
}

// decode fills file from the part of the document that is not the models'. The
// library stops at a value of the wrong type, so each such value is reported,
// taken away, and the rest read again, until all is told.
func (d *document) decode(path string, file *File, ps *table.Problems) {
	d.takeUnknown(path, ps)
	fresh := *file
	for range d.expressions {
		*file = fresh
		decoder := toml.NewDecoder(bytes.NewReader(d.rest)).DisallowUnknownFields()
		err := decoder.Decode(file)
		var unknown *toml.StrictMissingError
		var wrong *toml.DecodeError
		switch {
		case err == nil:
			return
		case errors.As(err, &unknown):
			for i := range unknown.Errors {
				line, _ := unknown.Errors[i].Position()
				ps.Add(unknownKey(path, line, unknown.Errors[i].Key()))
			}
			return
		case errors.As(err, &wrong):
			line, _ := wrong.Position()
			at := d.at(line)
			if at == nil {
				ps.Add(table.Problem{File: path, Line: line, Value: wrong.Error(), Expected: "a study file", Remedy: "mend this line"})
				return
			}
			ps.Add(table.Problem{File: path, Line: line, Column: strings.Join(at.path, "."),
				Value: at.value, Expected: expectedOf(at.path), Remedy: "write it so (" + strings.TrimPrefix(wrong.Error(), "toml: ") + ")"})
			d.takeAway(at)
		default:
			ps.Add(table.Problem{File: path, Value: err.Error(), Expected: "a study file in TOML", Remedy: "mend it"})
			return
		}
	}
}

// takeUnknown reports the keys that a study file does not have, and takes them
// away. The library would let pass a key with other capitals.
func (d *document) takeUnknown(path string, ps *table.Problems) {
	told := map[string]bool{}
	for i := range d.expressions {
		e := &d.expressions[i]
		unknown := unknownPart(e.path)
		if e.away || unknown == 0 {
			continue
		}
		key := e.path[:unknown]
		if name := strings.Join(key, "."); !told[name] {
			ps.Add(unknownKey(path, e.line, key))
			told[name] = e.value == "" // a table is told once, and not for each of its keys
		}
		d.takeAway(e)
	}
}

// unknownPart counts the parts of a key up to the first that is not known; 0
// where all are.
func unknownPart(key []string) int {
	inside := reflect.TypeFor[File]()
	for i, part := range key {
		if inside = element(inside); inside.Kind() != reflect.Struct {
			return 0
		}
		field, ok := fieldOf(inside, part)
		if !ok {
			return i + 1
		}
		inside = field.Type
	}
	return 0
}

func unknownKey(path string, line int, key []string) table.Problem {
	last := len(key) - 1
	inside := reflect.TypeFor[File]()
	for _, part := range key[:last] {
		if field, ok := fieldOf(inside, part); ok {
			inside = element(field.Type)
		}
	}
	keys := keysOf(inside)
	p := table.Problem{File: path, Line: line, Column: strings.Join(key, "."), Value: key[last],
		Expected: "one of the keys " + strings.Join(keys, ", "), Remedy: "correct its spelling, or delete it"}
	if near := table.Nearest(key[last], keys); near != "" {
		p.Remedy = fmt.Sprintf("perhaps %s was meant", near)
	}
	return p
}

// expectedOf says what kind of value belongs under a key.
func expectedOf(path []string) string {
	at := reflect.TypeFor[File]()
	for _, part := range path {
		if at = element(at); at.Kind() == reflect.Map {
			return "a list of labels in brackets, or a weight for each term"
		}
		field, ok := fieldOf(at, part)
		if !ok {
			return "a value that the study file knows"
		}
		at = field.Type
	}
	switch at.Kind() {
	case reflect.String:
		return "text in quotation marks"
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Uint64:
		return "a whole number"
	case reflect.Float64:
		return "a number"
	case reflect.Slice:
		if element(at).Kind() == reflect.Struct {
			return fmt.Sprintf("a section opened by [[%s]]", path[len(path)-1])
		}
		return "a list of texts in brackets"
	case reflect.Struct:
		return fmt.Sprintf("a section opened by [%s]", path[len(path)-1])
	}
	return "a section of keys and values"
}

func element(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	return t
}

func fieldOf(t reflect.Type, key string) (reflect.StructField, bool) {
	if t.Kind() != reflect.Struct {
		return reflect.StructField{}, false
	}
	for _, f := range reflect.VisibleFields(t) {
		if keyOf(f) == key {
			return f, true
		}
	}
	return reflect.StructField{}, false
}

func keyOf(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
	return name
}

func keysOf(t reflect.Type) []string {
	if t.Kind() != reflect.Struct {
		return nil
	}
	var keys []string
	for _, f := range reflect.VisibleFields(t) {
		if key := keyOf(f); key != "" && key != "-" && len(f.Index) == 1 {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	return keys
}
