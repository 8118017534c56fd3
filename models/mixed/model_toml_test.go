package mixed_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"thumbed/models/mixed"
)

// A model that is written as TOML is read as the same.
func TestModelAsTOML(t *testing.T) {
	limit := 0.01
	for _, m := range []mixed.Model{
		{Outcome: "wear", Scale: "identity", Estimate: "restricted", Fixed: []mixed.Term{{"picture"}, {"picture", "office_order"}},
			Levels:   map[string][]string{"picture": {"no", "yes"}},
			Random:   []mixed.Random{{By: []string{"book", "quire"}, Terms: []string{"intercept", "picture"}, Correlated: true}, {By: []string{"book"}, Terms: []string{"intercept"}}},
			Residual: mixed.Residual{KnownSD: "wear_se", Along: "position", Within: "book", Limit: &limit}},
		{Outcome: "rubbing", Kind: "grades", Link: "probit", Thresholds: "free", Estimate: "full", Levels: map[string][]string{"rubbing": {"none", "some", "much"}}, Fixed: []mixed.Term{{"part"}}, ByThreshold: []mixed.Term{{"part"}}, Points: 3,
			Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept"}}}},
	} {
		text, err := m.TOML()
		if err != nil {
			t.Fatal(err)
		}
		got, err := mixed.ParseModel("model.toml", text)
		if err != nil {
			t.Fatalf("%v of\n%s", err, text)
		}
		if d := cmp.Diff(m, got); d != "" {
			t.Errorf("%s of\n%s", d, text)
		}
	}
}
