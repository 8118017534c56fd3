package formats

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestExcerpt(t *testing.T) {
	got, err := excerpt([]byte(`{"b": [0.123456789, 2, {"x": 1}], "a": -8.6e-19, "n": 1234567, "s": "` + strings.Repeat("é", 200) + `", "z": null, "e": [], "<": true}`))
	if err != nil {
		t.Fatal(err)
	}
	want := "{\n  \"b\": [\n    0.1235\n  ],\n  \"a\": 0,\n  \"n\": 1234567,\n  \"s\": \"" + strings.Repeat("é", shownText) + " …\",\n  \"z\": null,\n  \"e\": [],\n  \"<\": true\n}"
	if got != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
	for _, broken := range []string{"", "{", `{"a"`, `[1, `, `{"a": [1}`} {
		if got, err := excerpt([]byte(broken)); err == nil {
			t.Errorf("%q gives %q", broken, got)
		}
	}
}

// TestAnExcerptIsJSON whatever it is made of.
func TestAnExcerptIsJSON(t *testing.T) {
	value := rapid.Deferred(func() *rapid.Generator[any] { return anyValue(3) })
	rapid.Check(t, func(t *rapid.T) {
		text, err := json.Marshal(value.Draw(t, "value"))
		if err != nil {
			t.Fatal(err)
		}
		got, err := excerpt(text)
		if err != nil || !json.Valid([]byte(got)) {
			t.Fatalf("%s gives %s, error %v", text, got, err)
		}
	})
}

func anyValue(depth int) *rapid.Generator[any] {
	plain := []*rapid.Generator[any]{rapid.String().AsAny(), rapid.Float64().AsAny(), rapid.Bool().AsAny(), rapid.Just[any](nil)}
	if depth == 0 {
		return rapid.OneOf(plain...)
	}
	inside := anyValue(depth - 1)
	return rapid.OneOf(append(plain, rapid.SliceOfN(inside, 0, 3).AsAny(), rapid.MapOfN(rapid.String(), inside, 0, 3).AsAny())...)
}
