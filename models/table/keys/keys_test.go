package keys_test

import (
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"thumbed/models/table/keys"
)

// sources is the top of the project.
var sources = os.DirFS("../../..")

type inner struct {
	A float64 `json:"a" toml:"a" unit:"density"` // a number
}

type shared struct {
	Name string `json:"name"` // of the shared
	// its size,
	// however large
	Size int `json:"size"`
}

type whole struct {
	Sealed time.Time          `json:"sealed"`                // when
	Parts  []inner            `json:"parts,omitempty"`       // parts
	One    *inner             `json:"one"`                   // one
	By     map[string]float64 `json:"by"`                    // by
	Deep   [][]float64        `json:"deep"`                  // deep
	Word   string             `json:"word" words:"yes / no"` // a word
	Hidden string             `json:"-"`
	*shared
	Name string `json:"name" kind:"text, or list of texts"` // its own, which counts before that of shared
}

func TestKeysOfAFile(t *testing.T) {
	objects, err := keys.Of(reflect.TypeFor[whole](), "json", sources)
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
	want := []string{"sealed: date and time", "parts: list of objects", "one: object", "by: number by name", "deep: list of lists of numbers", "word: text", "size: whole number", "name: text, or list of texts"}
	if !slices.Equal(got, want) {
		t.Errorf("%q; want %q", got, want)
	}
	parts := objects[0].Fields[1]
	if !parts.Maybe || parts.Object != reflect.TypeFor[inner]() || objects[0].Fields[6].About != "its size, however large" || objects[0].Fields[7].About != "its own, which counts before that of shared" || !slices.Equal(objects[0].Fields[5].Words, []string{"yes", "no"}) {
		t.Errorf("%+v", objects[0].Fields)
	}
}

type silent struct {
	Said   string // x
	Unsaid string
}

type mute struct{ Key inner }

func TestWhatIsNotSaidIsTold(t *testing.T) {
	for root, want := range map[reflect.Type]string{reflect.TypeFor[silent](): "silent.Unsaid", reflect.TypeFor[mute](): "mute.Key"} {
		if _, err := keys.Of(root, "json", sources); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("no word of %q in: %v", want, err)
		}
	}
}
