package hypotheses

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/wording"
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

// byBootstrap answers a question from outcomes drawn from its model, see
// [Answer.Bootstrap].
func byBootstrap() Way {
	return Way{
		Of:    "outcomes",
		By:    "by bootstrap",
		Draws: func(q Question) int { return q.Bootstrap },
		check: func(q Question, add func(key, value, expected, remedy string)) {
			if fewest := mixed.FewestPivots(1 - level); q.Bootstrap != 0 && (q.Bootstrap < fewest || q.Bootstrap > mostDraws) {
				add("bootstrap", strconv.Itoa(q.Bootstrap), fmt.Sprintf("how many outcomes to draw, from %d, the fewest that give a 95 %% interval its ends, to %d", fewest, mostDraws), "write bootstrap = 999, or leave it out")
			}
		},
		Refused: func(q Question, m mixed.Model) table.Problem {
			p := table.Problem{Column: "bootstrap", Value: strconv.Itoa(q.Bootstrap)}
			if !m.IsMeasure() {
				p.Expected, p.Remedy = "no bootstrap of a model of traces", "leave bootstrap out; thumbed fit, or a notebook, draws outcomes from such a model"
			} else if err := m.CanRefit(); err != nil {
				p.Expected = "no bootstrap of the model “" + q.Model + "”: " + err.Error()
				p.Remedy = "in the model write limit with one number, the least wear that the instrument tells, in place of limits; or ask with shift = 999 in place of bootstrap"
			}
			return p
		},
		Plan: func(b Basis) (Drawing, error) {
			return Drawing{Count: b.Question.Bootstrap, Settle: (*Answer).Bootstrap,
				Draw: func(ctx context.Context, from, to int, progress func(done, of int)) ([]float64, error) {
					fit, err := b.Fit()
					if err != nil {
						return nil, err
					}
					return Pivots(ctx, b.Question, fit, from, to, progress)
				}}, nil
		},
		Sentence: func(a *Answer) string {
			if a.Bootstrapped == nil {
				return ""
			}
			return a.Bootstrapped.Sentence
		},
		Method: func(answers []Answer) string {
			n := counted(answers, func(a Answer) bool { return a.Bootstrapped != nil })
			if n == 0 {
				return ""
			}
			return fmt.Sprintf(" For %s outcomes were also drawn from the fitted model, and the model fitted to each (a parametric bootstrap); interval and p are those of the bootstrap-t, by how many of its standard errors the contrast of each came out from the one that it was drawn with (Davison and Hinkley 1997).", wording.Count(n, "answer", "answers"))
		},
	}
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
	return "No “no” is claimed: what varies between " + strings.Join(a.AtZero, " and between ") + " came out as next to nothing, which few of them often do by chance, and with what they may vary by the effect may be large enough to matter. Measure more of them."
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
