package report

import (
	"encoding/json"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"
)

// TestNothingIsLost: every number of the measuring, of the profiles and of the
// offices of a result stands in its JSON at full precision.
func TestNothingIsLost(t *testing.T) {
	r := fixture(t)
	precision := reflect.ValueOf(&r.Readings.Precision).Elem()
	for i := range precision.NumField() { // values of their own, so that each must be found for itself
		switch f := precision.Field(i); f.Kind() {
		case reflect.Float64:
			f.SetFloat(0.123456 + float64(i)/1000)
		case reflect.Int:
			f.SetInt(int64(7000 + i))
		}
	}
	data, err := r.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if !json.Valid(data) {
		t.Fatal("the JSON is none")
	}
	numbers := map[string]bool{}
	for _, word := range strings.FieldsFunc(string(data), func(c rune) bool { return strings.ContainsRune(" ,:[]{}\n\"", c) }) {
		numbers[word] = true
	}
	find := func(what string, v any) {
		walk(reflect.ValueOf(v), what, func(at string, number float64) {
			if text := strconv.FormatFloat(number, 'g', -1, 64); !numbers[text] {
				t.Errorf("%s, %s, stands nowhere in the JSON", at, text)
			}
		})
	}
	find("precision", r.Readings.Precision)
	for _, b := range r.Books {
		if b.Profile != nil {
			find("tests of "+b.Book.ID, b.Profile.Tests)
			find("areas of "+b.Book.ID, b.Profile.Areas)
		}
		for _, c := range b.Declines {
			find("offices of "+b.Book.ID, c.Offices)
		}
	}
}

// walk visits the numbers of a value, those that are finite and no index.
func walk(v reflect.Value, at string, visit func(string, float64)) {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); !math.IsNaN(f) && !math.IsInf(f, 0) {
			visit(at, f)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if field := v.Type().Field(i); field.IsExported() {
				walk(v.Field(i), at+"."+field.Name, visit)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			walk(v.Index(i), at, visit)
		}
	}
}
