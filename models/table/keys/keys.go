// Package keys answers: what stands under each key of a file in TOML or JSON?
//
// The struct that is read from or written to such a file says it. Names, kinds and
// nesting are those of its fields; what a field means is the comment behind it, or
// above it where there is none behind it: a phrase. Tags say the rest:
//
//	unit:"density"        its unit
//	words:"yes / no"      the only texts that may stand there, parted by " / "
//	required:"true"       that a file which a scholar writes must have it
//	kind:"list of texts"  in place of the kind that the field's type has
//
// [Of] reads the comments from the sources, so it is for generators and tests.
package keys

import (
	"cmp"
	"encoding"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"reflect"
	"slices"
	"strings"
	"time"
)

// A Field is one key of an object, with all that is known of it.
type Field struct {
	Name     string
	About    string       // a phrase
	Unit     string       // "density", "days"; empty where there is none
	Words    []string     // the only texts that may stand there; nil where any may
	Required bool         // whether a file that a scholar writes must have it
	Kind     string       // "text", "number", "list of objects", …
	Maybe    bool         // written only where it applies
	Object   reflect.Type // of the struct that the key holds, alone, in a list or by name; nil where none
}

// An Object is one struct of a file, with its keys in order.
type Object struct {
	Type   reflect.Type
	Place  string // of the first that stands in the file: "answers[].effect"; empty for the file itself
	Fields []Field
}

// Of gives the objects of a file whose outermost is root, that first and each
// other once, in the order in which they first stand in the file. tag is "toml" or
// "json"; sources is the top of the project. The error names every key without a
// meaning.
func Of(root reflect.Type, tag string, sources fs.FS) ([]Object, error) {
	w := walker{tag: tag, sources: sources, seen: map[reflect.Type]bool{}, said: map[string]map[string]string{}}
	if err := w.walk(root, ""); err != nil {
		return nil, err
	}
	if len(w.wrong) > 0 {
		return nil, fmt.Errorf("keys without a meaning; write a comment behind the field:\n%s", strings.Join(w.wrong, "\n"))
	}
	return w.objects, nil
}

type walker struct {
	tag     string
	sources fs.FS
	seen    map[reflect.Type]bool
	said    map[string]map[string]string // comments by "Type.Field", of each package read
	objects []Object
	wrong   []string
}

// comments are those of the fields of a package's structs, by "Type.Field".
func (w *walker) comments(path string) (map[string]string, error) {
	if said, ok := w.said[path]; ok {
		return said, nil
	}
	_, dir, _ := strings.Cut(strings.TrimSuffix(path, "_test"), "/") // behind the module's name
	files, err := fs.Glob(w.sources, dir+"/*.go")
	if err != nil {
		return nil, err
	}
	said := map[string]string{}
	for _, name := range files {
		text, err := fs.ReadFile(w.sources, name)
		if err != nil {
			return nil, err
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if spec, ok := n.(*ast.TypeSpec); ok {
				fieldComments(spec, said)
			}
			return true
		})
	}
	w.said[path] = said
	return said, nil
}

func fieldComments(spec *ast.TypeSpec, said map[string]string) {
	s, ok := spec.Type.(*ast.StructType)
	if !ok {
		return
	}
	for _, f := range s.Fields.List {
		text := f.Comment.Text()
		if text == "" {
			text = f.Doc.Text()
		}
		for _, name := range f.Names {
			said[spec.Name.Name+"."+name.Name] = strings.Join(strings.Fields(text), " ")
		}
	}
}

func (w *walker) walk(t reflect.Type, place string) error {
	if w.seen[t] {
		return nil
	}
	w.seen[t] = true
	fields, err := w.fields(t)
	if err != nil {
		return err
	}
	w.objects = append(w.objects, Object{Type: t, Place: place, Fields: fields})
	for _, f := range fields {
		if f.Object == nil {
			continue
		}
		if err := w.walk(f.Object, under(place, f)); err != nil {
			return err
		}
	}
	return nil
}

// fields lists the keys of a struct in order, and those of the structs embedded in
// it. One with the tag "-" is embedded too: its keys stand beside the others, and
// another room reads them.
func (w *walker) fields(t reflect.Type) (out []Field, err error) {
	said, err := w.comments(t.PkgPath())
	if err != nil {
		return nil, err
	}
	for i := range t.NumField() {
		field := t.Field(i)
		name, options, _ := strings.Cut(field.Tag.Get(w.tag), ",")
		switch inner := structOf(field.Type); {
		case field.Anonymous && inner != nil && (name == "" || name == "-"):
			embedded, err := w.fields(inner)
			if err != nil {
				return nil, err
			}
			out = append(out, embedded...)
			continue
		case name == "-" || !field.IsExported():
			continue
		}
		f := Field{Name: cmp.Or(name, strings.ToLower(field.Name)), About: said[t.Name()+"."+field.Name], Unit: field.Tag.Get("unit"),
			Required: field.Tag.Get("required") == "true", Maybe: strings.Contains(options, "omitempty")}
		if words, ok := field.Tag.Lookup("words"); ok {
			f.Words = strings.Split(words, " / ")
		}
		f.Kind, f.Object = kindOf(field.Type)
		f.Kind = cmp.Or(field.Tag.Get("kind"), f.Kind)
		if f.About == "" {
			w.wrong = append(w.wrong, fmt.Sprintf("%v.%s", t, field.Name))
		}
		out = slices.DeleteFunc(out, func(embedded Field) bool { return embedded.Name == f.Name })
		out = append(out, f)
	}
	return out, nil
}

// structOf is the struct that is embedded, itself or by a pointer; nil for others.
func structOf(t reflect.Type) reflect.Type {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct {
		return nil
	}
	return t
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
	textType = reflect.TypeFor[encoding.TextMarshaler]()
)

// kindOf names the kind of value that a Go type stands for, and the struct in it.
func kindOf(t reflect.Type) (string, reflect.Type) {
	switch {
	case t == rawType:
		return "any value", nil
	case t == timeType:
		return "date and time", nil
	case t.Implements(textType):
		return "text", nil
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
