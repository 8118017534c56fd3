package keys_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"thumbed/models/table/keys"
)

type inner struct {
	A float64 `json:"a" toml:"a"`
}

func (inner) Keys() keys.List { return keys.List{"a": {About: "a number", Unit: "density"}} }

type shared struct {
	Name string `json:"name"`
	Size int    `json:"size"`
}

func (shared) Keys() keys.List {
	return keys.List{"name": {About: "of the shared"}, "size": {About: "its size"}}
}

type whole struct {
	Sealed time.Time          `json:"sealed"`
	Parts  []inner            `json:"parts,omitempty"`
	One    *inner             `json:"one"`
	By     map[string]float64 `json:"by"`
	Deep   [][]float64        `json:"deep"`
	Hidden string             `json:"-"`
	shared
	Name string `json:"name"` // counts before that of shared
}

func (whole) Keys() keys.List {
	return keys.List{"sealed": {About: "when"}, "parts": {About: "parts"}, "one": {About: "one"}, "by": {About: "by"}, "deep": {About: "deep"}, "name": {About: "its own", Kind: "text, or list of texts"}}
}

func TestKeysOfAFile(t *testing.T) {
	objects, err := keys.Of(reflect.TypeFor[whole](), "json")
	if err != nil {
		t.Fatal(err)
	}
	if len(objects) != 2 || objects[0].Place != "" || objects[1].Place != "parts[]" || objects[1].Fields[0].Unit != "density" {
		t.Fatalf("%+v", objects)
	}
	var got []string
	for _, f := range objects[0].Fields {
		got = append(got, f.Name+": "+f.Kind)
	}
	want := []string{"sealed: date and time", "parts: list of objects", "one: object", "by: number by name", "deep: list of lists of numbers", "size: whole number", "name: text, or list of texts"}
	if !slices.Equal(got, want) {
		t.Errorf("%q; want %q", got, want)
	}
	parts := objects[0].Fields[1]
	if !parts.Maybe || parts.Object != reflect.TypeFor[inner]() || objects[0].Fields[6].About != "its own" {
		t.Errorf("%+v", objects[0].Fields)
	}
}

type silent struct {
	Said, Unsaid string
}

func (silent) Keys() keys.List { return keys.List{"said": {About: "x"}, "gone": {About: "y"}} }

type mute struct{ Key inner }

func TestWhatIsNotSaidIsTold(t *testing.T) {
	for root, want := range map[reflect.Type][]string{
		reflect.TypeFor[silent](): {"silent has the key unsaid", "silent has no key gone"},
		reflect.TypeFor[mute]():   {"mute has the key key"},
	} {
		_, err := keys.Of(root, "json")
		for _, w := range want {
			if err == nil || !strings.Contains(err.Error(), w) {
				t.Errorf("no word of %q in: %v", w, err)
			}
		}
	}
}
