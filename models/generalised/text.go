package generalised

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/wording"
)

// Text writes the fit for reading: a sentence on what was fitted, the effects with
// their intervals, the thresholds, what varies between groups, and the notes.
func (f *Fit) Text(w io.Writer) error {
	var b strings.Builder
	f.writeHead(&b)
	f.writeEffects(&b, effectsTitle(f.model), f.Fixed)
	if len(f.Thresholds) > 0 {
		b.WriteString("\nThresholds between grades\n")
		lines := [][]string{{"", "estimate", "standard error"}}
		for _, t := range f.Thresholds {
			places := wording.Decimals(t.SE)
			lines = append(lines, []string{t.Below + " | " + t.Above, wording.Fixed(t.Estimate, places), wording.Fixed(t.SE, places)})
		}
		b.WriteString(wording.Lines(lines))
	}
	if len(f.ZeroInflation) > 0 {
		f.writeEffects(&b, "Zeros beside the spread's own: effects on the logit of their probability", f.ZeroInflation)
	}
	f.writeSpreads(&b)
	f.Inferences.Write(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

func (f *Fit) writeHead(b *strings.Builder) {
	what := f.model.Outcome
	switch f.model.Kind {
	case mixed.Grades:
		what = "the grades of " + what
	case mixed.YesNo:
		if f.model.Trials == "" {
			what += " (" + f.d.lay.OutcomeLevels[1] + ", not " + f.d.lay.OutcomeLevels[0] + ")"
		} else {
			what = "the share of " + what + " in " + f.model.Trials
		}
	case mixed.Counts:
		what = "the counts of " + what
		if f.model.Exposure != "" {
			what += " for each unit of " + f.model.Exposure
		}
	}
	b.WriteString(wording.Wrapped(fmt.Sprintf("A model of %s in %s, by maximum likelihood: log likelihood %s (approximation: %s).",
		what, wording.Count(f.N, "row", "rows"), wording.Fixed(f.LogLik, 3), f.Approximation)) + "\n")
}

// effectsTitle says on which scale effects are told.
func effectsTitle(m mixed.Model) string {
	switch {
	case m.Kind == mixed.Counts:
		return "Effects on the logarithm of the expected count"
	case m.Kind == mixed.Grades:
		return "Effects, on the scale of the " + cmp.Or(m.Link, "logit") + "; a positive one goes with higher grades"
	}
	return "Effects on the " + cmp.Or(m.Link, "logit") + " of the probability"
}

func (f *Fit) writeEffects(b *strings.Builder, title string, effects []Coefficient) {
	b.WriteString("\n" + title + "\n")
	if len(effects) == 0 {
		b.WriteString("There is none.\n")
		return
	}
	lines := [][]string{{"", "estimate", "95 % interval", "standard error", "p", "method"}}
	for _, c := range effects {
		places := wording.Decimals(c.SE)
		lines = append(lines, []string{c.Term, wording.Fixed(c.Estimate, places), wording.Interval(c.Low, c.High, places), wording.Fixed(c.SE, places), wording.PValue(c.P), c.Way()})
	}
	b.WriteString(wording.Lines(lines))
}

func (f *Fit) writeSpreads(b *strings.Builder) {
	if f.Dispersion > 0 {
		fmt.Fprintf(b, "\nThe counts spread more than Poisson's: their variance is μ + μ²/%s, μ the expected count.\n", wording.Fixed(f.Dispersion, 3))
	}
	if len(f.Random) == 0 {
		return
	}
	b.WriteString("\nStandard deviations between groups, on the same scale\n")
	lines := [][]string{{"", "", "groups", "deviation", "correlations with the terms above"}}
	for _, r := range f.Random {
		by, groups := joined(r.By), wording.Whole(r.Groups)
		for k, term := range r.Terms {
			var with []string
			for _, v := range r.Correlation[k][:k] {
				with = append(with, wording.Fixed(v, 2))
			}
			lines = append(lines, []string{by, term, groups, wording.Fixed(r.SD[k], 3), strings.Join(with, ", ")})
			by, groups = "", ""
		}
	}
	b.WriteString(wording.Lines(lines))
}
