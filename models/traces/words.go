package traces

import (
	"fmt"
	"math"
	"strings"

	"thumbed/models/wording"
)

// words tell an agreement: how far, who differs, which grade.
func (a *Agreement) words(t *Trace) string {
	var said []string
	alpha := "Nothing but one value was given, so that no agreement beyond chance can be told"
	if !math.IsNaN(a.Alpha.Value) {
		alpha = "Krippendorff’s alpha is " + wording.Fixed(a.Alpha.Value, 2)
		if !math.IsNaN(a.Alpha.Low) {
			alpha = "Krippendorff’s alpha is " + wording.FirstEstimate(a.Alpha.Value, a.Alpha.Low, a.Alpha.High, 2)
		}
	}
	said = append(said, fmt.Sprintf("Of %s, %s coded more than once. %s.", a.Trace, wording.Count(a.Things, "thing was", "things were"), alpha))
	for _, p := range a.Pairs {
		said = append(said, p.words())
	}
	worst := -1
	for k, g := range a.Grades {
		if g.Given >= fewestGiven && g.With != "" && (worst < 0 || g.Both < a.Grades[worst].Both) {
			worst = k
		}
	}
	if worst >= 0 && len(a.Grades) > 2 {
		g := a.Grades[worst]
		said = append(said, fmt.Sprintf("Least agreed on is “%s”: where one look gave it, the other did in %s, and most often “%s” otherwise.", g.Level, wording.Percent(g.Both), g.With))
	}
	if !math.IsNaN(a.Alpha.Value) && a.Alpha.Value < leastAlpha {
		said = append(said, "Below 0.67 conclusions are not to be drawn from such codes (Krippendorff 2004): sharpen the coding book and code again.")
	}
	return strings.Join(said, " ")
}

const (
	fewestGiven = 10   // times that a grade was given, from which it is compared
	leastAlpha  = 0.67 // Krippendorff 2004, section 11.4.2: the lowest for tentative conclusions
)

func (p *Pair) words() string {
	who := p.One + " and " + p.Other + " agree"
	if p.One == p.Other {
		who = p.One + ", looking twice, agrees"
	}
	said := fmt.Sprintf("%s on %d of %d", who, p.Same, p.Things)
	if p.Kappa != nil {
		said += "; weighted kappa " + wording.Estimate(*p.Kappa, p.Low, p.High, 2)
	}
	switch {
	case p.P >= 0.05:
		said += ". That one is stricter than the other is not shown."
	case p.One == p.Other && p.Higher > p.Lower:
		said += fmt.Sprintf(". The later look gives the higher value more often (%d against %d): the eye has drifted.", p.Higher, p.Lower)
	case p.One == p.Other:
		said += fmt.Sprintf(". The later look gives the lower value more often (%d against %d): the eye has drifted.", p.Lower, p.Higher)
	case p.Higher > p.Lower:
		said += fmt.Sprintf(". %s gives the higher value more often (%d against %d).", p.Other, p.Higher, p.Lower)
	default:
		said += fmt.Sprintf(". %s gives the higher value more often (%d against %d).", p.One, p.Lower, p.Higher)
	}
	if d := p.Drift; d != nil && (d.Low > 0 || d.High < 0) {
		said += fmt.Sprintf(" The two drift apart: what %s gives less what %s gives changes by %s from the first leaf of a book to its last.", p.Other, p.One, wording.Estimate(d.Value, d.Low, d.High, 2))
	}
	return said
}
