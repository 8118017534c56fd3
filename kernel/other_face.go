package kernel

import (
	"fmt"
	"reflect"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
	"thumbed/models/wording"
)

// modelFaces shows a model as the TOML that a study file would have.
func modelFaces(m mixed.Model) ([]Output, error) {
	text, err := m.TOML()
	if err != nil {
		return nil, err
	}
	return textFaces(string(text)), nil
}

// excerpt is how many rows and columns of a large matrix are shown from each end.
const excerpt = 6

// matrixFaces shows a matrix in rows and columns; of a large one its corners.
func matrixFaces(m mat.Matrix) []Output {
	rows, columns := m.Dims()
	format := []mat.FormatOption{mat.Squeeze()}
	if rows > 2*excerpt || columns > 2*excerpt {
		format = append(format, mat.Excerpt(excerpt))
	}
	return textFaces(fmt.Sprintf("%d × %d\n%.6g\n", rows, columns, mat.Formatted(m, format...)))
}

// mostNamed is how many parts of an unknown value are named.
const mostNamed = 12

// otherFaces shows what prints in words, and says of any other value what it has.
func otherFaces(value any) []Output {
	var words string
	switch v := value.(type) {
	case nil:
		words = "nil: there is no value."
	case fmt.Stringer:
		words = v.String()
	default:
		if t := reflect.TypeOf(value); prints(t) {
			words = fmt.Sprint(value)
		} else {
			words = fmt.Sprintf("A %s has no picture, table or words of its own here.%s Show or print a part of it, make a table of its numbers with table.New, or draw them with gonum.org/v1/plot.", t, partsOf(t))
		}
	}
	return textFaces(words)
}

// prints tells whether a value of the type reads well as Go prints it.
func prints(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.Slice, reflect.Array:
		return prints(t.Elem())
	case reflect.Map:
		return prints(t.Key()) && prints(t.Elem())
	case reflect.Struct, reflect.Pointer, reflect.Interface, reflect.Func, reflect.Chan, reflect.UnsafePointer:
		return false
	}
	return true
}

// partsOf names what can be asked of a value of the type.
func partsOf(t reflect.Type) string {
	var names []string
	inner := t
	if t.Kind() == reflect.Pointer {
		inner = t.Elem()
	}
	if inner.Kind() == reflect.Struct {
		for f := range inner.Fields() {
			if f.IsExported() {
				names = append(names, f.Name)
			}
		}
	}
	for m := range t.Methods() {
		names = append(names, m.Name+"()")
	}
	if len(names) == 0 {
		return ""
	}
	if len(names) > mostNamed {
		names = append(names[:mostNamed], "others")
	}
	return " It has " + strings.TrimSpace(wording.List(names)) + "."
}
