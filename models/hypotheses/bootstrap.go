package hypotheses

import (
	"context"
	"fmt"
	"strings"

	"thumbed/models/mixed"
)

// A Bootstrapped is a question's answer by a parametric bootstrap.
type Bootstrapped struct {
	Outcomes int     `json:"outcomes"`                   // outcomes drawn from the model and fitted again
	Failed   int     `json:"failed"`                     // those without a fit that converged, which count against any finding
	Low      float64 `json:"low" unit:"of the outcome"`  // lower end of the interval
	High     float64 `json:"high" unit:"of the outcome"` // upper end of the interval
	Joint    bool    `json:"joint"`                      // whether the interval is at the answer's level; else it is at 95 %, alone, since too few outcomes were drawn
	P        float64 `json:"p"`                          // p-value in the asked direction
	Sentence string  `json:"sentence"`                   // the answer in words
}

// Pivots draws outcomes from the fitted model, numbered from up to but not
// including to, by the question's seed, and gives for each how many standard
// errors the contrast came out from the fitted one ([mixed.Fit.Pivots]); NaN where
// the model could not be fitted to one. progress is as in [ShiftPlan.Fit]. The
// error says in words why that cannot be done, such as bounds that are told row by
// row.
func Pivots(ctx context.Context, q Question, fit *mixed.Fit, from, to int, progress func(done, of int)) ([]float64, error) {
	return fit.Pivots(ctx, q.Contrast, q.Seed, from, to, progress)
}

// Bootstrap gives the answer what its pivots say (see [Pivots]): an interval and a
// p-value in the asked direction by the bootstrap-t ([mixed.Studentise]), which
// trust neither that the estimate is normal nor Student's t with its degrees of
// freedom; they do trust the model. For either p is twice the smaller of the two
// one-sided ones, so that with 999 outcomes it is at most 0.05 where, and only
// where, an interval at 95 % leaves out zero. The interval is at the answer's own
// level, that of the interval by t, where enough outcomes were drawn for its ends.
//
// It fails where there are too few pivots for an interval.
func (a *Answer) Bootstrap(pivots []float64) error {
	if _, err := mixed.Studentise(a.Effect, pivots, 1-level); err != nil {
		return err
	}
	a.pivots = pivots
	a.settle()
	return nil
}

// bootstrap takes the interval by bootstrap at the answer's level.
func (a *Answer) bootstrap() {
	s, err := mixed.Studentise(a.Effect, a.pivots, 1-a.Level)
	joint := err == nil
	if !joint {
		s, _ = mixed.Studentise(a.Effect, a.pivots, 1-level) // which Bootstrap tried
	}
	b := &Bootstrapped{Outcomes: s.Outcomes, Failed: s.Failed, Low: s.Low, High: s.High, Joint: joint}
	switch a.Question.direction() {
	case more:
		b.P = s.Above
	case less:
		b.P = s.Below
	default:
		b.P = min(1, 2*s.Above, 2*s.Below)
	}
	a.Bootstrapped = b
}

// tooSure says why a no is not claimed.
func (a *Answer) tooSure() string {
	return "No “no” is claimed: what varies between " + strings.Join(a.AtZero, " and between ") + " came out as nothing, which few of them often do by chance, and with what they may vary by the effect may be large enough to matter. Measure more of them."
}

// Again are the answer's other ways of being answered, in words: by shifting, by
// bootstrap. There are none where the question asks for none.
func (a *Answer) Again() []string {
	var said []string
	if a.CircularShift != nil {
		said = append(said, a.CircularShift.Sentence)
	}
	if a.Bootstrapped != nil {
		said = append(said, a.Bootstrapped.Sentence)
	}
	return said
}

func (a *Answer) bootstrapSentence() string {
	b := a.Bootstrapped
	said := fmt.Sprintf("By a bootstrap (%d outcomes drawn from the fitted model, which was fitted to each), the 95 %% interval%s is %s to %s; %s %s.",
		b.Outcomes, a.bootstrapOver(), a.amount(b.Low, false), a.amount(b.High, false), a.sides(), probability(b.P))
	by := *a
	by.Effect.Low, by.Effect.High = b.Low, b.High
	if (b.Joint || a.Together == 1) && a.beyond(0) != by.beyond(0) {
		said += " One of the two intervals takes in zero and the other does not: claim no more than both bear."
	}
	if b.Failed > 0 {
		said += fmt.Sprintf(" %d outcomes could not be fitted and count against the finding.", b.Failed)
	}
	return said
}

// bootstrapOver says over how many answers the bootstrap's interval holds.
func (a *Answer) bootstrapOver() string {
	switch {
	case a.Bootstrapped.Joint:
		return a.over()
	case a.Together > 1:
		return ", of this answer alone since too few outcomes were drawn for all at once,"
	}
	return ""
}
