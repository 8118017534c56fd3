// Package keys answers: what stands under each key of a file in TOML or JSON?
//
// A struct that is read from or written to such a file says it by a method Keys,
// in a list beside the struct. The names, kinds and nesting come from the struct
// itself, so that the list cannot say otherwise; what it must say is what each key
// means. [Of] puts both together.
package keys

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"time"
)

// A Key is what a struct says of one of its keys.
type Key struct {
	About    string   // a phrase
	Unit     string   // "density", "days"; empty where there is none
	Words    []string // the only texts that may stand there; nil where any may
	Required bool     // whether a file that a scholar writes must have it
	Kind     string   // in place of the kind that the struct's field has; see [Field]
}

// A List holds the keys of one struct by their names.
type List map[string]Key

// Described is a struct that says what its keys mean.
type Described interface{ Keys() List }

// A Field is one key of an object, with all that is known of it.
type Field struct {
	Key
	Name   string
	Kind   string       // "text", "number", "list of objects", …
	Maybe  bool         // written only where it applies
	Object reflect.Type // of the struct that the key holds, alone, in a list or by name; nil where none
}

// An Object is one struct of a file, with its keys in order.
type Object struct {
	Type   reflect.Type
	Place  string // of the first that stands in the file: "answers[].effect"; empty for the file itself
	Fields []Field
}

// Of gives the objects of a file whose outermost is root, that first and each
// other once, in the order in which they first stand in the file. tag is "toml" or
// "json". The error names every key without a meaning, and every meaning without a
// key.
func Of(root reflect.Type, tag string) ([]Object, error) {
	w := walker{tag: tag, seen: map[reflect.Type]bool{}}
	w.walk(root, "")
	if len(w.wrong) > 0 {
		return nil, fmt.Errorf("keys without a meaning, or meanings without a key:\n%s", strings.Join(w.wrong, "\n"))
	}
	return w.objects, nil
}

type walker struct {
	tag     string
	seen    map[reflect.Type]bool
	objects []Object
	wrong   []string
}

func (w *walker) walk(t reflect.Type, place string) {
	if w.seen[t] {
		return
	}
	w.seen[t] = true
	o := Object{Type: t, Place: place, Fields: w.fields(t)}
	w.objects = append(w.objects, o)
	for _, f := range o.Fields {
		if f.Object != nil {
			w.walk(f.Object, under(place, f))
		}
	}
}

// fields lists the keys of a struct in order with what it says of them, and those
// of the structs embedded in it with what these say. One with the tag "-" is
// embedded too: its keys stand beside the others, and another room reads them.
func (w *walker) fields(t reflect.Type) (out []Field) {
	said := List{}
	if d, ok := reflect.Zero(t).Interface().(Described); ok {
		said = d.Keys()
	}
	left := map[string]bool{}
	for name := range said {
		left[name] = true
	}
	for i := range t.NumField() {
		field := t.Field(i)
		name, options, _ := strings.Cut(field.Tag.Get(w.tag), ",")
		switch {
		case field.Anonymous && field.Type.Kind() == reflect.Struct && (name == "" || name == "-"):
			out = append(out, w.fields(field.Type)...)
			continue
		case name == "-" || !field.IsExported():
			continue
		}
		f := Field{Name: cmp.Or(name, strings.ToLower(field.Name)), Maybe: strings.Contains(options, "omitempty")}
		f.Kind, f.Object = kindOf(field.Type)
		f.Key = said[f.Name]
		f.Kind = cmp.Or(f.Key.Kind, f.Kind)
		if f.About == "" {
			w.wrong = append(w.wrong, fmt.Sprintf("%v has the key %s, of which its Keys say nothing", t, f.Name))
		}
		delete(left, f.Name)
		out = slices.DeleteFunc(out, func(embedded Field) bool { return embedded.Name == f.Name })
		out = append(out, f)
	}
	for _, name := range slices.Sorted(maps.Keys(left)) {
		w.wrong = append(w.wrong, fmt.Sprintf("%v has no key %s, of which its Keys speak", t, name))
	}
	return out
}

// under is the place of the object that a field holds.
func under(place string, f Field) string {
	name := strings.TrimPrefix(place+"."+f.Name, ".")
	if strings.HasPrefix(f.Kind, "list") {
		name += "[]"
	}
	return name
}

var (
	rawType  = reflect.TypeFor[json.RawMessage]()
	timeType = reflect.TypeFor[time.Time]()
)

// kindOf names the kind of value that a Go type stands for, and the struct in it.
func kindOf(t reflect.Type) (string, reflect.Type) {
	switch {
	case t == rawType:
		return "any value", nil
	case t == timeType:
		return "date and time", nil
	}
	switch t.Kind() {
	case reflect.Pointer:
		return kindOf(t.Elem())
	case reflect.Struct:
		return "object", t
	case reflect.Slice, reflect.Array:
		of, inner := kindOf(t.Elem())
		return "list of " + plural(of), inner
	case reflect.Map:
		of, inner := kindOf(t.Elem())
		return of + " by name", inner
	case reflect.String:
		return "text", nil
	case reflect.Bool:
		return "true or false", nil
	case reflect.Float64, reflect.Float32:
		return "number", nil
	case reflect.Int, reflect.Int64, reflect.Int32, reflect.Uint64, reflect.Uint32:
		return "whole number", nil
	}
	return "any value", nil
}

// plural is the name of several values of one kind.
func plural(kind string) string {
	switch {
	case kind == "true or false" || kind == "any value":
		return "values, each " + kind
	case strings.HasPrefix(kind, "list of "):
		return "lists of " + strings.TrimPrefix(kind, "list of ")
	}
	return kind + "s"
}
