package report

import (
	"encoding/json"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/readings"
)

// TestNothingIsLost: every number of a result stands in its JSON at full precision:
// of the measuring, profiles, declines, changes, fits, answers and sensitivity.
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
	r.Readings.Agreement = []readings.Agreement{{Slope: 1.0301, SlopeLow: 0.7461, SlopeHigh: 1.3141, Offset: -0.0161, OffsetLow: -0.1581, OffsetHigh: 0.1261,
		Difference: -0.0021, SD: 0.0388, Low: -0.0781, High: 0.0741, Ratio: 1.1231, Freedom: 15.25, Pages: 7117, X: []float64{0.4321}, Y: []float64{0.4322}}}
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
	find("readings", r.Readings)
	for _, b := range r.Books {
		find("profile of "+b.Book.ID, b.Profile)
		find("declines of "+b.Book.ID, b.Declines)
		find("habits of "+b.Book.ID, b.Habits)
	}
	find("shared", r.Shared)
	find("pairs", r.Pairs)
	find("robustness", r.Robustness)
	find("answers", r.Answers)
	for _, m := range r.Models {
		find("model "+m.Name, m.Fit)
	}
}

// walk visits the numbers of a value, those that are finite and no index.
func walk(v reflect.Value, at string, visit func(string, float64)) {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); !math.IsNaN(f) && !math.IsInf(f, 0) {
			visit(at, f)
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			walk(v.Elem(), at, visit)
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			walk(v.MapIndex(key), at+"."+key.String(), visit)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if field := v.Type().Field(i); field.IsExported() && field.Name != "Seconds" {
				walk(v.Field(i), at+"."+field.Name, visit)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			walk(v.Index(i), at, visit)
		}
	}
}
