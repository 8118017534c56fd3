package report

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"

	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

var citation = regexp.MustCompile(`(?:\p{Lu}\p{Ll}+(?:, \p{Lu}\p{Ll}+)*(?: and (?:\p{Lu}\p{Ll}+|others))? (?:19|20)\d\d|ISO [\d-]+)`)

// TestMethodsCiteTheirWorks: every work that the methods name is in the list of
// works, and every work in the list is named.
func TestMethodsCiteTheirWorks(t *testing.T) {
	paragraphs, works := fixture(t).Methods()
	all := strings.Join(paragraphs, " ")
	named := citation.FindAllString(all, -1)
	if len(named) < 12 {
		t.Fatalf("only %d works are cited: %q", len(named), named)
	}
	for _, key := range named {
		if !slices.ContainsFunc(works, func(w Reference) bool { return w.Key == key }) {
			t.Errorf("%q is cited but not listed", key)
		}
	}
	for _, w := range works {
		if !slices.Contains(named, w.Key) {
			t.Errorf("%q is listed but not cited", w.Key)
		}
		if year := w.Key[strings.LastIndex(w.Key, " ")+1:]; !strings.HasPrefix(w.Key, "ISO") && !strings.Contains(w.Text(), year) {
			t.Errorf("%q does not bear the year of %q", w.Text(), w.Key)
		}
	}
	if !slices.IsSortedFunc(references, func(a, b Reference) int { return strings.Compare(norm.NFD.String(a.Key), norm.NFD.String(b.Key)) }) {
		t.Error("the works are not in order of name")
	}
}

// TestMethodsSayWhatWasDone: the paragraphs follow the study, not a form.
func TestMethodsSayWhatWasDone(t *testing.T) {
	r := fixture(t)
	has := func(want string) bool {
		paragraphs, _ := r.Methods()
		return strings.Contains(strings.Join(paragraphs, " "), want)
	}
	for _, want := range []string{"as an offset", "a fixed spot", "pictures together with each office later in the day", "restricted likelihood", "quires within books", "fitted in each book by itself", "between quires within books (the level)", "between books (the level and pictures, correlated)", "2 questions were answered", "1 of them stated before", "in 1" + wording.NoBreak + "book with pages of both kinds measured, a fixed effect of a picture"} {
		if !has(want) {
			t.Errorf("the methods do not say %q", want)
		}
	}
	for i := range r.Readings.Drift {
		r.Readings.Drift[i].Correction = readings.DriftNone
	}
	for i := range r.Readings.Wear {
		r.Readings.Wear[i].Spot = "darkest"
	}
	r.Models[0].Model.Estimate, r.Models[0].Model.Scale = "full", "log"
	r.Models[0].Model.Residual = mixed.Residual{KnownSD: "wear_se", Along: "position", Limits: "limit"}
	r.Answers, r.Pairs = nil, nil
	for _, want := range []string{"was not corrected", "the darkest of several spots", "full likelihood", "the logarithm of wear", "taken as known", "correlated (autoregression) along the position", "censored pages"} {
		if !has(want) {
			t.Errorf("after the study changed, the methods do not say %q", want)
		}
	}
	if has("questions were") || has("Holm 1979") {
		t.Error("the methods speak of questions that nobody asked")
	}
}

// TestEachSentenceOfTheMethodsHasItsSwitch turns what a sentence speaks of off and on in
// a study's results: with the switch the sentence comes, without it it goes.
func TestEachSentenceOfTheMethodsHasItsSwitch(t *testing.T) {
	for _, c := range []struct {
		says    string
		on, off func(r *Results)
	}{
		{"from placing the instrument anew", func(r *Results) { r.Readings.Precision.Placing = 0.01 }, func(r *Results) { r.Readings.Precision.Placing = math.NaN() }},
		{"from the search for the darkest spot", func(r *Results) { r.Readings.Wear[0].Spot = "darkest" }, func(r *Results) {
			for i := range r.Readings.Wear {
				r.Readings.Wear[i].Spot = "fixed"
			}
		}},
		{"from the lines that drift was corrected by", func(r *Results) { r.Readings.Drift[0].Correction = readings.DriftScale }, func(r *Results) {
			for i := range r.Readings.Drift {
				r.Readings.Drift[i].Correction = readings.DriftNone
			}
		}},
		{"as a scale along", func(r *Results) { r.Readings.Drift[0].Correction = readings.DriftScale }, func(*Results) {}},
		{"as half an offset and half a scale along", func(r *Results) { r.Readings.Drift[0].Correction = readings.DriftEither }, func(*Results) {}},
		{"and " + wording.Count(120, "density", "densities") + " come from elsewhere, with an error that their source states (photographs: a standard deviation of " + wording.Fixed(0.03, 4) + ")", func(r *Results) {
			r.Readings.Elsewhere = []readings.Elsewhere{{Instrument: "photographs", SD: 0.03, Readings: 120}}
		}, func(*Results) {}},
		{"Reflection density (ISO 5-4) was read", func(*Results) {}, func(r *Results) {
			r.Readings.Elsewhere = []readings.Elsewhere{{Instrument: "photographs", SD: 0.03, Readings: r.Readings.Counted.Readings}}
			r.Readings.Precision.DF = math.Inf(1)
		}},
		{"pooled repeatability", func(*Results) {}, func(r *Results) {
			r.Readings.Elsewhere = []readings.Elsewhere{{Instrument: "photographs", SD: 0.03, Readings: r.Readings.Counted.Readings}}
			r.Readings.Precision.DF = math.Inf(1)
		}},
		{"of the tile (F test at 20 % over all places looked at) along a line of its own", func(r *Results) { r.Readings.Drift[0].Break = true }, func(*Results) {}},
		{"that did not fit left out", func(r *Results) { r.Readings.Drift[0].Suspects = []readings.Suspect{{Hour: 9}} }, func(*Results) {}},
		{"what pages share (days)", func(r *Results) { r.Readings.Shared = []readings.Source{{By: "day"}} }, func(r *Results) { r.Readings.Shared = nil }},
		{"counted as the mean of the measured ones of their text", func(r *Results) { r.Books[0].Profile.Areas[0].Pages++ }, func(r *Results) {
			for _, b := range r.Books {
				if b.Profile != nil {
					for i := range b.Profile.Areas {
						b.Profile.Areas[i].Pages = b.Profile.Areas[i].Measured
					}
				}
			}
		}},
		{"censored pages as what the curve lets one expect", func(r *Results) { r.Books[0].Profile.Areas[0].AtLimit = 1 }, func(*Results) {}},
		{"each page’s own measuring error taken as known", func(r *Results) {
			firstCarried(r).Removed = mixed.Model{Outcome: "wear", Residual: mixed.Residual{KnownSD: "wear_se"}}
		}, func(r *Results) { withoutRemoved(r) }},
		{"autoregression", func(r *Results) {
			firstCarried(r).Removed = mixed.Model{Outcome: "wear", Residual: mixed.Residual{Along: "position"}}
		}, func(r *Results) { withoutRemoved(r) }},
		{"those less likely than 50", func(r *Results) { firstCarried(r).Changes.Compared = &dropoff.Comparison{} }, func(r *Results) {
			for _, b := range r.Books {
				for _, c := range b.Declines {
					if c.Changes != nil {
						c.Changes.Compared = nil
					}
				}
			}
		}},
		{"nothing was sealed that would show it", func(r *Results) { r.Seal = nil }, func(r *Results) { r.Seal = &Seal{Day: "2026-01-01", SHA256: "00"} }},
		{"pushed round inside each book", func(r *Results) { r.Answers[0].CircularShift = &hypotheses.CircularShiftTest{Books: 8} }, func(r *Results) {
			r.Answers[0].CircularShift = &hypotheses.CircularShiftTest{Books: 4, AcrossBooks: true}
		}},
		{"compared by a t test across the books", func(r *Results) {
			r.Answers[0].CircularShift = &hypotheses.CircularShiftTest{Books: 4, AcrossBooks: true}
		}, func(*Results) {}},
		{"a parametric bootstrap", func(r *Results) { r.Answers[0].Bootstrapped = &hypotheses.Bootstrapped{} }, func(*Results) {}},
		{"over those with a picture at", func(r *Results) { r.Books[0].Profile.Level, r.Books[0].Profile.Rate = 0.002, 0.05 }, func(r *Results) {
			r.Books[0].Profile.Level, r.Books[0].Profile.Rate = 0.002, 0.002
		}},
		{"held at " + wording.Rate(0.002), func(r *Results) { r.Books[0].Profile.Level, r.Books[0].Profile.Rate = 0.002, 0.05 }, func(*Results) {}},
		{"share of " + wording.Rate(0.05), func(r *Results) { r.Books[0].Profile.Level = 0.002 }, func(*Results) {}},
		{"Kramer 1956", func(*Results) {}, func(r *Results) {
			for _, b := range r.Books {
				if b.Profile != nil {
					b.Profile.Areas = b.Profile.Areas[:1]
				}
			}
		}},
		{"limits of agreement", func(r *Results) { r.Readings.Agreement = []readings.Agreement{{One: "K7", Other: "R410"}} }, func(*Results) {}},
		{"brought to another scale: K7 to that of R410 by " + wording.Count(40, "spot", "spots"), func(r *Results) {
			r.Readings.Agreement = []readings.Agreement{{One: "K7", Other: "R410", Paired: true, Pages: 40}}
			r.Readings.Shared = []readings.Source{{By: readings.ByConversion, Levels: []string{"K7"}}}
		}, func(r *Results) {
			r.Readings.Agreement = []readings.Agreement{{One: "K7", Other: "R410", Paired: true, Pages: 40}}
		}},
		{"Tobin 1958", func(r *Results) { r.Readings.Counted.AtFloor = 1 }, func(r *Results) { r.Readings.Counted.AtFloor, r.Readings.Counted.AtCeiling = 0, 0 }},
	} {
		for name, switched := range map[bool]func(*Results){true: c.on, false: c.off} {
			r := fixture(t)
			switched(r)
			paragraphs, _ := r.Methods()
			if said := strings.Contains(strings.Join(paragraphs, " "), c.says); said != name {
				t.Errorf("switched on: %v; the methods say %q: %v", name, c.says, said)
			}
		}
	}
}

// firstCarried are the first hours of the fixture in which changes were looked for.
func firstCarried(r *Results) *dropoff.Decline {
	for _, b := range r.Books {
		for _, c := range b.Declines {
			if c.Changes != nil {
				c.Adjusted = []string{"pictures"}
				return c
			}
		}
	}
	panic("no hours with changes in the fixture")
}

func withoutRemoved(r *Results) {
	for _, b := range r.Books {
		for _, c := range b.Declines {
			c.Removed = mixed.Model{}
		}
	}
	for i := range r.Models {
		r.Models[i].Model.Residual = mixed.Residual{}
	}
}
