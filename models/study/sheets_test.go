package study_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/study"
)

// sheetStudy is a study of two invented books whose sheets each have a wear of
// their own, whose hair sides are more worn, and of a third of which no quire is
// known. Their collations have singletons, a leaf cut out, leaves lost and a leaf
// put in.
const sheetStudy = `
title    = "Sheets"
invented = true
[tables]
books       = "books.csv"
leaves      = "leaves.csv"
instruments = "instruments.csv"
readings    = ["readings.csv"]
[measuring]
drift = "none"
[[model]]
name    = "sheets"
outcome = "wear"
fixed   = ["hair"]
[model.levels]
hair    = ["flesh", "hair"]
[[model.random]]
by    = ["book", "conjugate"]
terms = ["intercept"]
[[model]]
name    = "bare"
outcome = "wear"
fixed   = ["book", "side"]
[[model.random]]
by    = ["book", "conjugate"]
terms = ["intercept"]
[[question]]
words    = "Is the hair side more worn?"
model    = "sheets"
contrast = { "hair=hair" = 1 }
direction = "more"
asked    = "before"
`

const (
	sheetSD   = 0.06  // of the wear of sheets
	pageSD    = 0.025 // of the wear of pages of one sheet
	hairExtra = 0.03  // by which the hair side is more worn
)

// makeSheets writes the study drawn from a seed.
func makeSheets(t *testing.T, seed uint64) string {
	t.Helper()
	draws := rand.New(rand.NewPCG(seed, 71))
	var leaves, log strings.Builder
	leaves.WriteString("book,leaf,quire,state,conjugate\n")
	log.WriteString("book,page,date,time,instrument,observer,target,spot,tried,density,excluded,note\n")
	seconds := 0
	reading := func(book, page, target string, density float64) {
		seconds += 20
		spot, tried := "", ""
		if target == "page" {
			spot, tried = "fixed", "1"
		}
		fmt.Fprintf(&log, "%s,%s,2026-03-%02d,%02d:%02d:%02d,bench,HB,%s,%s,%s,%.3f,,\n", book, page, 1+seconds/36000, 9+seconds/3600%10, seconds/60%60, seconds%60, target, spot, tried, density)
	}
	for _, made := range []struct{ book, formula string }{
		{"Alder", "ii 1–6⁸ 7⁸ (3 and 6 are singletons) 8⁸⁻¹ (8 cancelled) 9⁶⁻¹ (wants 2) 10⁸⁺¹ (+1 leaf after 3)"},
		{"Birch", "1–8⁸ 9⁴ 10⁸⁻² (1 and 2 cancelled)"},
		{"Cedar", "[6 leaves in no known quire]"},
	} {
		b, err := codex.OfFormula(made.book, made.formula, codex.Hair)
		must(t, err)
		formula, err := codex.ParseFormula(made.formula)
		must(t, err)
		stated, err := formula.Leaves()
		must(t, err)
		for _, l := range stated {
			fmt.Fprintf(&leaves, "%s,%s,%s,%s,%s\n", made.book, l.Label, l.Quire, l.State(), l.Conjugate)
		}
		sheets := map[int]float64{} // by the first leaf of each
		for page := range b.Pages {
			if b.Pages[page].Lost {
				continue
			}
			leaf := page / 2
			first := leaf
			if mate := b.Leaves[leaf].Conjugate; mate >= 0 {
				first = min(leaf, mate)
			}
			if _, drawn := sheets[first]; !drawn {
				sheets[first] = sheetSD * draws.NormFloat64()
			}
			wear := 0.3 + sheets[first] + pageSD*draws.NormFloat64()
			if b.Skin(page) == codex.Hair {
				wear += hairExtra
			}
			label := b.Pages[page].Label.String()
			reading(made.book, label, "zero", 0.15)
			for range 2 {
				reading(made.book, label, "page", 0.15+wear+0.005*draws.NormFloat64())
			}
		}
	}
	return folderOf(t, map[string]string{
		study.FileName:    sheetStudy,
		"books.csv":       "book,material,outer\nAlder,parchment,hair\nBirch,parchment,hair\nCedar,parchment,hair\n",
		"leaves.csv":      leaves.String(),
		"readings.csv":    log.String(),
		"instruments.csv": "instrument,floor,ceiling,resolution,tile\nbench,0.00,2.00,0.001,\n",
	})
}

func modelNamed(t *testing.T, results *report.Results, name string) report.ModelResult {
	t.Helper()
	for _, m := range results.Models {
		if m.Name == name {
			if m.Fit == nil {
				t.Fatal(m.Failed)
			}
			return m
		}
	}
	t.Fatalf("no model %s", name)
	return report.ModelResult{}
}

// TestSheetsWearAsOne: the wear of sheets of which the true spread is known, from
// the tables on disk to the fit. A singleton, and what is left of a sheet of which
// a leaf was cut out, is a sheet by itself; a sheet of which one leaf is lost is one
// of a single leaf.
func TestSheetsWearAsOne(t *testing.T) {
	s, err := study.Open(makeSheets(t, 4))
	must(t, err)
	results, err := s.Run(nil)
	must(t, err)
	// Alder: quires 1–6 of 4 sheets; 7 of 3, and 2 singletons; 8 of 3, and the other
	// half of the leaf cut out; 9 of 3, of which one has lost a leaf; 10 of 4, and the
	// leaf put in. Birch: 1–8 of 4, 9 of 2, 10 of 2 and two left halves.
	const groups = 6*4 + 5 + 4 + 3 + 5 + 8*4 + 2 + 4
	bare := modelNamed(t, results, "bare").Fit
	if g := bare.Random[0].Groups; g != groups {
		t.Errorf("%d sheets, not %d", g, groups)
	}
	const told = "No page of Cedar is in this model, since the column conjugate is empty on all of them: enter its quires in leaves.csv, and conjugates where they are not first with last, or leave such books out with only."
	if notes := strings.Join(bare.Notes, " "); !strings.Contains(notes, told) {
		t.Errorf("a book without quires is not told of: %s", notes)
	}
	fit := modelNamed(t, results, "sheets").Fit
	if notes := strings.Join(fit.Notes, " "); !strings.Contains(notes, "since the column hair is empty on all of them: enter the outer side of its quires") {
		t.Errorf("a book without known sides is not told of: %s", notes)
	}
	if low, high := results.Answers[0].Effect.Low, results.Answers[0].Effect.High; low > hairExtra || high < hairExtra || low < 0.01 {
		t.Errorf("the hair side is more worn by %v to %v, in truth by %v", low, high, hairExtra)
	}
	if sd := fit.Random[0].SD[0]; math.Abs(sd-sheetSD) > 4*sheetSD/math.Sqrt(2*groups) {
		t.Errorf("sheets differ by %v, in truth by %v", sd, sheetSD)
	}
}

// TestSheetSpreadCoverage: 95 % profile intervals of the sheets' spread, and of the
// extra wear of the hair side, hold the truth in a binomial share of the seeds.
func TestSheetSpreadCoverage(t *testing.T) {
	seeds := 12
	if os.Getenv("THUMBED_SLOW") != "" {
		seeds = 200
	}
	var spread, hair tally
	for seed := range seeds {
		s, err := study.Open(makeSheets(t, uint64(100+seed)))
		must(t, err)
		data, err := s.Data()
		must(t, err)
		fit, err := s.Models[0].Model.Fit(data)
		must(t, err)
		intervals, err := fit.Profile(0.95)
		must(t, err)
		for _, i := range intervals {
			if i.Kind == mixed.GroupDeviation {
				spread.add(fmt.Sprint(seed), sheetSD, i.Low, i.High)
			}
		}
		for _, c := range fit.Fixed {
			if c.Term == "hair=hair" {
				hair.add(fmt.Sprint(seed), hairExtra, c.Low, c.High)
			}
		}
	}
	for name, c := range map[string]tally{"spread of sheets": spread, "hair": hair} {
		if c.all != seeds {
			t.Fatalf("%s: %d intervals of %d", name, c.all, seeds)
		}
		t.Logf("%s: %d of %d", name, c.held, c.all)
		binomial := distuv.Binomial{N: float64(c.all), P: 0.95}
		if below := binomial.CDF(float64(c.held)); below < chance {
			t.Errorf("%s: %d of %d intervals hold the truth (chance %.1g); missed %v", name, c.held, c.all, below, c.missed)
		}
	}
}
