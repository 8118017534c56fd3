package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// JSON is every number of the report as one JSON object, in a fixed order and
// with no value that depends on when or how fast it was computed. JSON has no
// NaN and no infinity: such a value is null, and the list "missing" at the end
// names where it stands and why.
func (r *Results) JSON() ([]byte, error) { return writeJSON(r.numbers()) }

// writeJSON writes a value as [Results.JSON] says.
func writeJSON(value any) ([]byte, error) {
	var e jsonWriter
	if err := e.write(reflect.ValueOf(value), ""); err != nil {
		return nil, err
	}
	missing, err := json.Marshal(e.missing)
	if err != nil {
		return nil, err
	}
	body := bytes.TrimSuffix(e.out.Bytes(), []byte("}"))
	body = append(body, `,"missing":`...)
	body = append(append(body, missing...), '}')
	var out bytes.Buffer
	if err := json.Indent(&out, body, "", " "); err != nil {
		return nil, err
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}

// A missingNumber tells where the JSON has null for want of a finite number.
type missingNumber struct {
	At  string `json:"at"`  // place of the number in this file
	Why string `json:"why"` // why there is none
}

// A jsonWriter writes values as encoding/json does, but gives null for numbers
// that are not finite, which encoding/json refuses, and an empty list for a nil
// slice.
type jsonWriter struct {
	out     bytes.Buffer
	missing []missingNumber
}

func (e *jsonWriter) write(v reflect.Value, at string) error {
	switch v.Kind() {
	case reflect.Float64, reflect.Float32:
		e.number(v.Float(), at)
		return nil
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			e.out.WriteString("null")
			return nil
		}
		return e.write(v.Elem(), at)
	case reflect.Struct:
		return e.object(v, at)
	case reflect.Slice, reflect.Array:
		return e.list(v, at)
	case reflect.Map:
		return e.dictionary(v, at)
	}
	plain, err := json.Marshal(v.Interface())
	if err != nil {
		return fmt.Errorf("results.json: %s: %w", at, err)
	}
	e.out.Write(plain)
	return nil
}

func (e *jsonWriter) number(v float64, at string) {
	switch {
	case math.IsNaN(v):
		e.missing = append(e.missing, missingNumber{at, "not known or not stated"})
	case math.IsInf(v, 0):
		e.missing = append(e.missing, missingNumber{at, "without bound"})
	default:
		e.out.WriteString(strconv.FormatFloat(v, 'g', -1, 64))
		return
	}
	e.out.WriteString("null")
}

func (e *jsonWriter) object(v reflect.Value, at string) error {
	e.out.WriteByte('{')
	first := true
	if err := e.members(&first, v, at); err != nil {
		return err
	}
	e.out.WriteByte('}')
	return nil
}

// members are those of a struct, and of the structs embedded in it.
func (e *jsonWriter) members(first *bool, v reflect.Value, at string) error {
	for i := range v.NumField() {
		field := v.Type().Field(i)
		name, options, _ := strings.Cut(field.Tag.Get("json"), ",")
		if field.Anonymous && name == "" && field.Type.Kind() == reflect.Struct {
			if err := e.members(first, v.Field(i), at); err != nil {
				return err
			}
			continue
		}
		if !field.IsExported() || name == "-" || strings.Contains(options, "omitempty") && v.Field(i).IsZero() {
			continue
		}
		if name == "" {
			name = strings.ToLower(field.Name)
		}
		if err := e.member(first, name, v.Field(i), at); err != nil {
			return err
		}
	}
	return nil
}

func (e *jsonWriter) dictionary(v reflect.Value, at string) error {
	keys := map[string]reflect.Value{}
	for _, key := range v.MapKeys() {
		keys[key.String()] = v.MapIndex(key)
	}
	e.out.WriteByte('{')
	first := true
	for _, name := range slices.Sorted(maps.Keys(keys)) {
		if err := e.member(&first, name, keys[name], at); err != nil {
			return err
		}
	}
	e.out.WriteByte('}')
	return nil
}

func (e *jsonWriter) member(first *bool, name string, v reflect.Value, at string) error {
	if !*first {
		e.out.WriteByte(',')
	}
	*first = false
	key, err := json.Marshal(name)
	if err != nil {
		return err
	}
	e.out.Write(key)
	e.out.WriteByte(':')
	return e.write(v, strings.TrimPrefix(at+"."+name, "."))
}

func (e *jsonWriter) list(v reflect.Value, at string) error {
	e.out.WriteByte('[')
	for i := range v.Len() {
		if i > 0 {
			e.out.WriteByte(',')
		}
		if err := e.write(v.Index(i), fmt.Sprintf("%s[%d]", at, i)); err != nil {
			return err
		}
	}
	e.out.WriteByte(']')
	return nil
}
