package study_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"thumbed/models/study"
)

// TestATastingAsLooks: the bitterness of eight bottles of wine by nine judges (Randall
// 1989, The analysis of sensory data by generalised linear model, Biometrical Journal
// 31, 781–793), laid out as a study of looks at the pages of a book, gives the model of
// the R package ordinal 2022.11-16, clmm(rating ~ temp + contact + (1 | judge)). The
// bottles, which the study adds since every one was looked at nine times, vary by
// nothing. Of the grades of the coding book one was given by nobody.
func TestATastingAsLooks(t *testing.T) {
	file, err := os.Open("../../testdata/reference/generalised/wine.csv")
	must(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	must(t, err)
	pages, looks := []string{"book,page,temp,contact"}, []string{"book,page,trace,grade,observer,date"}
	for _, r := range rows[1:] {
		bottle := int(r[3][1] - '1')
		page := fmt.Sprintf("%d%c", bottle/2+1, "rv"[bottle%2])
		if described := "Wine," + page + "," + r[1] + "," + r[2]; !slices.Contains(pages, described) {
			pages = append(pages, described)
		}
		looks = append(looks, fmt.Sprintf("Wine,%s,bitterness,g%s,%s,2026-01-0%s", page, r[0], r[4], r[4][1:]))
	}
	dir := folderOf(t, map[string]string{
		"books.csv": "book,title\nWine,A tasting of wine\n", "leaves.csv": "book,leaf,quire\nWine,1,1\nWine,2,1\nWine,3,1\nWine,4,1\n",
		"pages.csv": strings.Join(pages, "\n") + "\n", "traces.csv": strings.Join(looks, "\n") + "\n",
		"study.toml": `title = "A tasting"
[tables]
books  = "books.csv"
leaves = "leaves.csv"
pages  = "pages.csv"
traces = ["traces.csv"]
[[trace]]
name   = "bitterness"
about  = "how bitter it is"
kind   = "grades"
on     = "pages"
grades = [{ name = "g0", about = "none" }, { name = "g1", about = "one" }, { name = "g2", about = "two" }, { name = "g3", about = "three" }, { name = "g4", about = "four" }, { name = "g5", about = "five" }]
[[model]]
name    = "taste"
outcome = "bitterness"
kind    = "grades"
fixed   = ["temp", "contact"]
[model.levels]
temp    = ["cold", "warm"]
contact = ["no", "yes"]
`,
	})
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	must(t, err)
	fit := results.Traces.Models[0].Fit
	if fit.N != 72 || !strings.Contains(strings.Join(results.Notes, " "), "what nobody gave: g0") {
		t.Errorf("%d looks; notes %q", fit.N, results.Notes)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-4*(1+math.Abs(want)) {
			t.Errorf("%s is %.6f; ordinal has %.6f", what, got, want)
		}
	}
	near("warm", fit.Fixed[0].Estimate, 3.062997)
	near("contact", fit.Fixed[1].Estimate, 1.834885)
	for _, r := range fit.Random {
		// No observer drifts along the book: what was tasted has no order.
		what := r.By[len(r.By)-1] + ", " + r.Terms[0]
		near("the spread between "+what, r.SD[0], map[string]float64{"observer, intercept": 1.131133}[what])
	}
	if len(fit.Random) != 3 || results.Readings != nil {
		t.Errorf("random terms %v, readings %v", fit.Random, results.Readings)
	}
}
