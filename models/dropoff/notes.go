package dropoff

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// fewRows is how few rows make a weak series.
const fewRows = 10

// doubtful is the probability below which a change is called so.
const doubtful = 0.8

// notes are plain sentences: how the noise was estimated, what the numbers
// mean, and what to beware of.
func (c *choice) notes(s Series, o Options, out *Changes) []string {
	notes := append(slices.Clone(s.Notes), c.noiseNote(s))
	if c.n < fewRows {
		notes = append(notes, fmt.Sprintf("There are only %d rows: nothing but a very large change can show. Measure more pages before leaning on this.", c.n))
	}
	if len(out.Found()) > 0 {
		notes = append(notes, c.meaningNote(o))
	}
	if note := out.smallNote(s); note != "" {
		notes = append(notes, note)
	}
	if note := c.guardNote(s, o, out); note != "" {
		notes = append(notes, note)
	}
	if c.compared != nil {
		notes = append(notes, c.compared.Sentence)
	}
	if note := out.doubtNote(s); note != "" && !out.Tentative {
		notes = append(notes, note)
	}
	if len(out.Found()) == 0 && len(out.CountProbability) > 0 && out.CountProbability[0] < doubtful {
		notes = append(notes, fmt.Sprintf("That no step is claimed is no proof that there is none: in a series of nothing but levels and steps, no change at all would have a probability of %.2f, after %.2f beforehand.",
			out.CountProbability[0], math.Exp(-o.Expected)))
	}
	notes = append(notes, out.withheldNotes(s)...)
	if len(out.Known) > 0 {
		notes = append(notes, out.knownNote())
	}
	if note := c.correlationNote(s, o, out); note != "" {
		notes = append(notes, note)
	}
	for _, note := range []string{o.apartNote(s), floorNote(s.Values)} {
		if note != "" {
			notes = append(notes, note)
		}
	}
	return notes
}

// meaningNote says what intervals and probabilities are.
func (c *choice) meaningNote(o Options) string {
	if c.n > mostWeighed {
		return "Each interval holds 95 % of the probability of a change's place between its neighbours as found; its probability is that of a change inside the interval rather than none between the neighbours."
	}
	return fmt.Sprintf("Each interval holds 95 %% of the probability of a change's place, given that there is one near there; "+
		"its probability is that of any change inside the interval, over all numbers and places of changes, with %g expected in the series beforehand.", o.Expected)
}

// smallNote names the changes that may be far smaller than they look.
func (out *Changes) smallNote(s Series) string {
	var named []string
	for _, c := range out.Changes {
		if c.SizeLow == 0 || c.SizeHigh == 0 {
			named = append(named, s.Label(c.After))
		}
	}
	switch len(named) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("The step after row %s is hardly larger than one must be to be told at all. Such steps look larger than they are, so that the interval of its size begins at zero: lean on its place, not on its size.", named[0])
	}
	return fmt.Sprintf("The steps after rows %s are hardly larger than one must be to be told at all. Such steps look larger than they are, so that the intervals of their sizes begin at zero: lean on their places, not on their sizes.", list(named, "and"))
}

// mostNamed is how many doubtful changes a note names.
const mostNamed = 5

// doubtNote names the doubtful changes.
func (out *Changes) doubtNote(s Series) string {
	var named []string
	doubtfulOnes := 0
	for _, change := range out.Changes {
		if change.Probability < doubtful {
			if doubtfulOnes++; doubtfulOnes <= mostNamed {
				named = append(named, fmt.Sprintf("%s (probability %.2f)", s.Label(change.After), change.Probability))
			}
		}
	}
	switch {
	case doubtfulOnes == 0:
		return ""
	case doubtfulOnes == 1:
		return fmt.Sprintf("The change after row %s is doubtful. Treat it as a question, not as a finding.", named[0])
	case doubtfulOnes > mostNamed:
		return fmt.Sprintf("%d changes are doubtful, the first after rows %s. Treat them as questions, not as findings.", doubtfulOnes, list(named, "and"))
	}
	return fmt.Sprintf("The changes after rows %s are doubtful. Treat them as questions, not as findings.", list(named, "and"))
}

// guardNote tells where fewer changes are reported than the criterion has, and
// how often noise alone would look so.
func (c *choice) guardNote(s Series, o Options, out *Changes) string {
	switch {
	case c.proposed == 0:
		return ""
	case c.alarm > o.asked():
		return fmt.Sprintf("The criterion alone would place %s, the clearest after row %s; but %s of 100 series without any change, with noise like this one's, "+
			"look as much like it, so no step is claimed. Measure more pages, or more placings of each, to settle it.",
			count(c.proposed, "change"), s.Label(c.path[1].clearest(c.forced)), rate(c.alarm))
	case c.n > mostDrawn:
		return c.longNote(len(out.Found()))
	}
	note := fmt.Sprintf("Series without any change, with noise like this one's, look as much like steps in %s of 100 cases.", perHundred(c.alarm))
	if len(out.Found()) < c.proposed {
		note += fmt.Sprintf(" The criterion alone would place %s; those less likely than not were left out.", count(c.proposed, "change"))
	}
	return note
}

func perHundred(rate float64) string {
	if rate < 0.01 {
		return "fewer than 1"
	}
	return fmt.Sprintf("%.0f", 100*rate)
}

// clearest is the place of the one change of a step, known breaks passed over.
func (s Step) clearest(forced []bool) int {
	for _, place := range s.Places {
		if !forced[place] {
			return place
		}
	}
	return 0
}

func (c *choice) noiseNote(s Series) string {
	switch {
	case s.SE == nil && c.path[c.chosen].RSS <= exactMisfit*c.sums[c.n].c:
		return "Inside each level the values do not differ at all, so there is no noise to judge by: intervals and standard errors of zero mean no more than that."
	case s.SE == nil:
		return fmt.Sprintf("Rows scatter about their level with a standard deviation of %.4g (%.0f degrees of freedom), taken from the rows themselves.",
			c.noise.scatter*math.Sqrt(c.phi), c.df)
	case c.noise.scatter == 0:
		return "Rows scatter about their level no more than their standard errors say."
	}
	return fmt.Sprintf("Beyond their own standard errors, rows scatter about their level with a standard deviation of %.4g.", c.noise.scatter)
}

// likenessNote tells what was held of neighbouring rows. Where they were taken
// as independent it warns if they are alike beyond chance: the first
// autocorrelation of the residuals against twice its standard error 1/√n
// (Bartlett 1946, Supplement to the Journal of the Royal Statistical Society 8,
// 27–41).
func (c *choice) correlationNote(s Series, o Options, out *Changes) string {
	switch {
	case c.noise.rho >= mostDrawnLikeness && o.Correlation == nil:
		return fmt.Sprintf("Neighbouring rows are so alike within their levels (correlation %.1f or more) that autocorrelation may be taken for a change more often than in 5 of 100 series: look for what makes them alike, a stain or a slow drift.", c.noise.rho)
	case c.noise.rho > 0:
		return fmt.Sprintf("Neighbouring rows are taken to be alike within their levels (correlation %.1f), so that autocorrelation is not taken for changes.", c.noise.rho)
	}
	if o.Correlation == nil {
		return ""
	}
	residuals := out.residuals(s.Values)
	r := stat.Correlation(residuals[1:], residuals[:len(residuals)-1], nil)
	if !(r > 2/math.Sqrt(float64(c.n))) {
		return ""
	}
	return fmt.Sprintf("Neighbouring rows are alike within their levels (correlation %.2f), while they were to be taken as independent: "+
		"the probabilities are too sure, and some changes may be autocorrelation. Let the correlation be estimated.", r)
}

// floorNote warns where many rows share the smallest value: they may be at the
// instrument's floor.
func floorNote(values []float64) string {
	at := floored(values)
	if at == 0 {
		return ""
	}
	low, _ := bounds(values)
	return fmt.Sprintf("%d of %d rows have the smallest value, %g. If that is the instrument's floor, the rows there may be anything below it, "+
		"and a step down to it is at least as large as shown.", at, len(values), low)
}

// tooMany is the error where more changes are asked for than can be placed.
func tooMany(number, n, minLength int) error {
	return fmt.Errorf("%s cannot be placed in %d rows with at least %s a level and the known breaks and no-change zones: ask for fewer, or lower the minimum length",
		count(number, "change"), n, count(minLength, "row"))
}
