package document

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"thumbed/models/table"
)

// Decode fills into, a pointer to a value of the shape's root, from the part of
// the document that is not the models'. What into holds before are the values of
// keys that are not given. The library stops at a value of the wrong type, so
// each such value is reported, taken away, and the rest read again, until all is
// told.
func (d *Document) Decode(path string, into any, ps *table.Problems) {
	d.takeUnknown(path, ps)
	file := reflect.ValueOf(into).Elem()
	fresh := reflect.New(d.shape.Root).Elem()
	fresh.Set(file)
	for range d.expressions {
		file.Set(fresh)
		decoder := toml.NewDecoder(bytes.NewReader(d.rest)).DisallowUnknownFields()
		err := decoder.Decode(into)
		var unknown *toml.StrictMissingError
		var wrong *toml.DecodeError
		switch {
		case err == nil:
			return
		case errors.As(err, &unknown):
			for i := range unknown.Errors {
				line, _ := unknown.Errors[i].Position()
				ps.Add(d.shape.unknownKey(path, line, unknown.Errors[i].Key()))
			}
			return
		case errors.As(err, &wrong):
			line, _ := wrong.Position()
			at := d.at(line)
			if at == nil {
				ps.Add(table.Problem{File: path, Line: line, Value: wrong.Error(), Expected: d.shape.What, Remedy: "mend this line"})
				return
			}
			ps.Add(table.Problem{File: path, Line: line, Column: strings.Join(at.path, "."),
				Value: unquoted(at.value), Expected: d.shape.expectedOf(at.path), Remedy: d.shape.mended(at)})
			d.takeAway(at)
		default:
			ps.Add(table.Problem{File: path, Value: err.Error(), Expected: d.shape.What + " in TOML", Remedy: "mend it"})
			return
		}
	}
}

// mended writes a value as the key wants it, where that is plain to see.
func (shape *Shape) mended(e *expression) string {
	key := e.path[len(e.path)-1]
	quoted := unquoted(e.value) != e.value
	switch expected := shape.expectedOf(e.path); {
	case expected == textWanted && e.value != "" && !quoted && !strings.ContainsAny(e.value, "[{\"'\n"):
		return fmt.Sprintf("write %s = %q", key, e.value)
	case expected == textsWanted && quoted:
		return fmt.Sprintf("write %s = [%q]", key, unquoted(e.value))
	case e.value == "":
		return "open it so, and write its keys below"
	default:
		return "write " + expected
	}
}

// unquoted is a value without the quotation marks around it, where it is a text
// on one line.
func unquoted(value string) string {
	for _, mark := range []string{`"`, `'`} {
		if inside, found := strings.CutPrefix(value, mark); found {
			if inside, found = strings.CutSuffix(inside, mark); found && !strings.ContainsAny(inside, mark+"\\\n") {
				return inside
			}
		}
	}
	return value
}

// takeUnknown reports the keys that such a file does not have, and takes them
// away. The library would let pass a key with other capitals.
func (d *Document) takeUnknown(path string, ps *table.Problems) {
	told := map[string]bool{}
	for i := range d.expressions {
		e := &d.expressions[i]
		unknown := d.shape.unknownPart(e.path)
		if e.away || unknown == 0 {
			continue
		}
		key := e.path[:unknown]
		if name := strings.Join(key, "."); !told[name] {
			ps.Add(d.shape.unknownKey(path, e.line, key))
			told[name] = e.value == "" // a table is told once, and not for each of its keys
		}
		d.takeAway(e)
	}
}

// unknownPart counts the parts of a key up to the first that is not known; 0
// where all are.
func (shape *Shape) unknownPart(key []string) int {
	inside := shape.Root
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

func (shape *Shape) unknownKey(path string, line int, key []string) table.Problem {
	last := len(key) - 1
	inside := shape.Root
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

const (
	textWanted  = "text in quotation marks"
	textsWanted = "a list of texts in brackets"
)

// expectedOf says what kind of value belongs under a key.
func (shape *Shape) expectedOf(path []string) string {
	at := shape.Root
	for _, part := range path {
		if at = element(at); at.Kind() == reflect.Map {
			return "a list of labels in brackets, or a weight for each term"
		}
		field, ok := fieldOf(at, part)
		if !ok {
			return "a value that the file knows"
		}
		at = field.Type
	}
	if at.Kind() == reflect.Pointer {
		at = at.Elem()
	}
	switch at.Kind() {
	case reflect.String:
		return textWanted
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
		if element(at).Kind() != reflect.String {
			return "a list of numbers in brackets"
		}
		return textsWanted
	case reflect.Struct:
		return fmt.Sprintf("a section opened by [%s]", path[len(path)-1])
	}
	return "a section of keys and values"
}

func element(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
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
		if key := keyOf(f); key != "" && key != "-" && (len(f.Index) == 1 || keyOf(t.Field(f.Index[0])) == "") {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	return keys
}
