package report

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/readings"
	"thumbed/models/wording"
)

// repeatabilityFactor makes a repeatability standard deviation into the
// difference that two placings exceed once in twenty: 1.96 √2 (ISO 5725-6:1994,
// 4.1, rounds it to 2.8; from memory).
const repeatabilityFactor = 2.8

// sureSentences say how sure the measuring is, and what wear can and cannot
// tell.
func (r *Results) sureSentences() []Sentence {
	out := []Sentence{r.precisionSentence(), r.limitSentence(), cautionSentence()}
	for _, robust := range r.Robustness {
		out = append(out, r.robustSentence(robust))
	}
	for _, m := range r.Models {
		if s, ok := r.modelSentence(m); ok {
			out = append(out, s)
		}
	}
	return slices.DeleteFunc(out, func(s Sentence) bool { return s.Text == "" })
}

func (r *Results) precisionSentence() Sentence {
	s := Sentence{Topic: Sure}
	if r.Readings == nil {
		s.Text = "No readings could be used, so nothing here is measured."
		if r.Traces != nil {
			s.Text = "Nothing was measured with an instrument: all that is said rests on looks."
		}
		return s
	}
	p := r.Readings.Precision
	if math.IsNaN(p.Repeatability) {
		s.Text = "The repeatability of the measuring is not known, since no spot was measured twice; measure some pages more than once."
		return s
	}
	limit := repeatabilityFactor * p.Repeatability
	s.Numbers = []Number{
		plain("repeatability standard deviation", p.Repeatability, "density"),
		plain("repeatability limit", limit, "density"),
		plain("degrees of freedom", p.DF, ""),
	}
	s.Text = fmt.Sprintf("Two placings on one spot differ by less than %s density nineteen times in twenty (repeatability standard deviation %s, %s degrees of freedom)",
		wording.Density(limit), wording.Fixed(p.Repeatability, 4), wording.DF(p.DF))
	if se := r.standardErrors(); len(se) > 0 {
		median := stat.Quantile(0.5, stat.Empirical, se, nil)
		s.Numbers = append(s.Numbers, plain("median standard error of a page's wear", median, "density"))
		s.Text += fmt.Sprintf("; a page’s wear has a standard error of %s as a rule (the median of %s)", wording.Fixed(median, 4), wording.Count(len(se), "page", "pages"))
	}
	switch {
	case math.IsNaN(p.Between):
	case wording.Fixed(p.Reproducibility, 4) == wording.Fixed(p.Repeatability, 4):
		s.Text += "; nothing more is seen between observers and instruments"
		if finite(p.BetweenUpper) {
			s.Numbers = append(s.Numbers, plain("upper 95 % limit of the standard deviation between observers or instruments", p.BetweenUpper, "density"))
			s.Text += fmt.Sprintf(", where they differ by a standard deviation of %s at most (upper 95%s%% limit)", wording.Fixed(p.BetweenUpper, 4), wording.Narrow)
		}
	default:
		s.Numbers = append(s.Numbers, plain("reproducibility standard deviation", p.Reproducibility, "density"))
		s.Text += fmt.Sprintf("; over observers and instruments the standard deviation of a reading is %s (reproducibility)", wording.Fixed(p.Reproducibility, 4))
	}
	s.Text += "."
	return s
}

// standardErrors are those of the pages whose wear is a number, sorted.
func (r *Results) standardErrors() []float64 {
	var se []float64
	for _, w := range r.Readings.Wear {
		if w.Limit == readings.Measured && !math.IsNaN(w.SE) {
			se = append(se, w.SE)
		}
	}
	slices.Sort(se)
	return se
}

func (r *Results) limitSentence() Sentence {
	if r.Readings == nil {
		return Sentence{}
	}
	var below, above int
	for _, w := range r.Readings.Wear {
		switch w.Limit {
		case readings.Below:
			below++
		case readings.Above:
			above++
		}
	}
	c := r.Readings.Counted
	s := Sentence{Topic: Sure, Numbers: []Number{
		plain("readings", float64(c.Readings), ""), plain("excluded readings", float64(c.Excluded), ""),
		plain("pages known only to be at or below a bound", float64(below), "pages"),
		plain("pages known only to be at or above a bound", float64(above), "pages"),
	}}
	s.Text = fmt.Sprintf("The log holds %s, of which %s excluded with a reason.", wording.Count(c.Readings, "reading", "readings"), were(c.Excluded))
	if below+above > 0 {
		s.Text += fmt.Sprintf(" For %s the wear is only a bound, since the instrument stood at an end of its scale on the page or on its zero (%s at most the number given, %s at least); these are kept as bounds and never taken for numbers.",
			wording.Count(below+above, "page", "pages"), wording.Whole(below), wording.Whole(above))
	}
	return s
}

func were(n int) string {
	switch n {
	case 0:
		return "none was"
	case 1:
		return "1 was"
	}
	return wording.Whole(n) + " were"
}

func cautionSentence() Sentence {
	return Sentence{Topic: Sure, Text: "Wear is evidence of handling, not of belief or of understanding, and not of one owner alone: later owners, cleaning, trimming and rebinding leave or take away the same traces."}
}

// modelSentence warns of a model that failed or must be read with care.
func (r *Results) modelSentence(m ModelResult) (Sentence, bool) {
	name := wording.Capital(m.title(r))
	switch {
	case m.Fit == nil:
		return Sentence{Topic: Sure, Book: m.Book, Text: name + " could not be fitted. " + wording.Typeset(wording.Sentence(m.Failed))}, true
	case !m.Fit.Converged:
		return Sentence{Topic: Sure, Book: m.Book, Text: name + " did not converge; do not use its numbers until its notes have been followed."}, true
	}
	return Sentence{}, false
}
