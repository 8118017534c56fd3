package wording

import "testing"

func TestTermsInWords(t *testing.T) {
	own := Labels{"half=second": "the granddaughter’s half", "picture=yes": "a miniature"}
	levels := map[string][]string{"kind": {"hours", "psalms", "office of the dead"}, "picture": {"no", "yes"}}
	for term, want := range map[string]string{
		"half=second":                "the granddaughter’s half",
		"picture=yes":                "a miniature",
		"facing=yes":                 "a picture on the facing page",
		"kind=office of the dead":    "the office of the dead against the hours",
		"office_order":               "each office later in the day",
		"gold_leaf":                  "gold leaf",
		"gold_leaf=yes":              "gold leaf",
		"hand=B":                     "B (hand)",
		"picture=yes × side=verso":   "a miniature, together with a verso",
		"picture=yes at dulled|bare": "a miniature, between dulled and bare",
	} {
		if got := own.Term(term, levels); got != want {
			t.Errorf("%s: got %q, want %q", term, got, want)
		}
	}
}
