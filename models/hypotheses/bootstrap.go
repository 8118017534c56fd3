package hypotheses

import (
	"context"
	"fmt"

	"thumbed/models/mixed"
)

// A Bootstrapped is a question's answer by a parametric bootstrap.
type Bootstrapped struct {
	Outcomes int     `json:"outcomes"` // drawn from the model and fitted again
	Failed   int     `json:"failed"`   // of them have no fit that converged, and count against any finding
	Low      float64 `json:"low"`      // ends of the 95 % interval
	High     float64 `json:"high"`
	P        float64 `json:"p"` // in the asked direction
	Sentence string  `json:"sentence"`
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
// where, the interval leaves out zero. Adjustment and verdict stay with the answer
// by t.
//
// It fails where there are too few pivots for an interval.
func (a *Answer) Bootstrap(pivots []float64) error {
	s, err := mixed.Studentise(a.Effect, pivots, 1-level)
	if err != nil {
		return err
	}
	b := &Bootstrapped{Outcomes: s.Outcomes, Failed: s.Failed, Low: s.Low, High: s.High}
	switch a.Question.direction() {
	case more:
		b.P = s.Above
	case less:
		b.P = s.Below
	default:
		b.P = min(1, 2*s.Above, 2*s.Below)
	}
	a.Bootstrapped = b
	a.tell()
	return nil
}

// Again are the answer's other ways of being answered, in words: by shifting, by
// bootstrap. There are none where the question asks for none.
func (a *Answer) Again() []string {
	var said []string
	if a.Shifted != nil {
		said = append(said, a.Shifted.Sentence)
	}
	if a.Bootstrapped != nil {
		said = append(said, a.Bootstrapped.Sentence)
	}
	return said
}

func (a *Answer) bootstrapSentence() string {
	b := a.Bootstrapped
	said := fmt.Sprintf("By a bootstrap (%d outcomes drawn from the fitted model, which was fitted to each), the 95 %% interval is %s to %s; %s %s.",
		b.Outcomes, a.amount(b.Low, false), a.amount(b.High, false), a.sides(), probability(b.P))
	by := *a
	by.Effect.Low, by.Effect.High = b.Low, b.High
	if a.beyond(0) != by.beyond(0) {
		said += " One of the two intervals takes in zero and the other does not: claim no more than both bear."
	}
	if b.Failed > 0 {
		said += fmt.Sprintf(" %d outcomes could not be fitted and count against the finding.", b.Failed)
	}
	return said
}
