package hypotheses

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// An Answer is a question with what the model says to it.
//
// P tests against no effect in the asked direction: one-sided for more and
// less, two-sided for either. Against tests the other way: that the effect is
// at least as large as the smallest that would matter (any at all in the asked
// direction, where none is stated); a small one speaks for no. For either it is
// the greater p of two one-sided tests (Schuirmann 1987, J. Pharmacokinet.
// Biopharm. 15, 657–680), and is there only where a smallest effect is stated.
//
// Claims of an effect and claims of its absence are adjusted apart, each over
// the family (Holm 1979, or Benjamini and Hochberg 1995 where the family says so).
type Answer struct {
	Question        Question          `json:"question"`
	Book            string            `json:"book,omitempty"`    // where the model is fitted book by book
	Effect          mixed.Coefficient `json:"effect"`            // P in it is two-sided
	Outcome         string            `json:"outcome,omitempty"` // what is modelled, and the unit of the effect: see In
	Unit            string            `json:"unit,omitempty"`
	P               float64           `json:"p"`        // in the asked direction
	Adjusted        float64           `json:"adjusted"` // P after adjustment over the family: see Family
	Against         *float64          `json:"against,omitempty"`
	AgainstAdjusted *float64          `json:"against_adjusted,omitempty"`
	Together        int               `json:"together"` // answers in the family
	Verdict         string            `json:"verdict"`  // "yes", "no", "open": see Sentence
	Sentence        string            `json:"sentence"` // the answer in words with its interval
	Sealed          *Foresight        `json:"sealed,omitempty"`
	Shifted         *Shifted          `json:"shifted,omitempty"`      // where the question asks for it
	Bootstrapped    *Bootstrapped     `json:"bootstrapped,omitempty"` // where the question asks for it
	Rate            bool              `json:"rate,omitempty"`         // Adjusted holds the false-discovery rate of the family, not the chance of any false claim
}

// Foresight tells whether a question was sealed before its readings were taken.
type Foresight struct {
	Foreseen bool   `json:"foreseen"`
	Day      string `json:"day"`           // of the seal, as a date of the log
	Why      string `json:"why,omitempty"` // in words, why it does not count as foreseen
}

// Words says it as the end of a sentence on the question.
func (f *Foresight) Words() string {
	if f.Foreseen {
		return "foreseen: sealed on " + f.Day + ", before the readings, and unchanged since"
	}
	return "not foreseen by the seal of " + f.Day + ": " + f.Why
}

// The verdicts. Yes: the whole 95 % interval lies beyond zero in the asked
// direction and Adjusted is at most 0.05. No: the whole interval lies short of
// the smallest effect that would matter (within it on either side, where the
// question asks for either; on the other side of zero, where none is stated)
// and AgainstAdjusted is at most 0.05. An effect that is there, but all of whose
// interval is too small to matter, is a no, and the sentence says so. Open: all
// else.
const (
	Yes  = "yes"
	No   = "no"
	Open = "open"
)

// level is the error rate of a family's claims.
const level = 0.05

// Ask puts a question to a fitted model: the contrast's estimate, interval and
// degrees of freedom are the model's (mixed.Fit.Contrast). The answer stands
// alone until Adjust settles it among its family. The error names every problem
// of the question at once.
func Ask(q Question, fit *mixed.Fit) (Answer, error) {
	var terms []string
	for _, c := range fit.Fixed {
		terms = append(terms, c.Term)
	}
	if ps := q.Check(nil, terms); len(ps) > 0 {
		return Answer{}, inWords(ps)
	}
	effect, err := fit.Contrast(q.effect(), q.Contrast)
	if err != nil {
		return Answer{}, err
	}
	return answerOf(q, effect)
}

// answerOf makes the answer, as if alone, from the contrast's estimate.
func answerOf(q Question, effect mixed.Coefficient) (Answer, error) {
	if !(effect.SE > 0) || math.IsInf(effect.SE, 0) || !(effect.DF > 0) || math.IsNaN(effect.Estimate) {
		return Answer{}, fmt.Errorf("the model gives no standard error or degrees of freedom for %s, so the question cannot be answered; see the model's notes, and simplify its random terms or add data", q.effect())
	}
	a := Answer{Question: q, Effect: effect, Together: 1}
	a.P = q.evidence(effect)
	a.Adjusted = a.P
	if p, ok := q.counterEvidence(effect); ok {
		a.Against, a.AgainstAdjusted = &p, &p
	}
	a.settle()
	return a, nil
}

// inWords joins problems into one error.
func inWords(ps []table.Problem) error {
	var words []string
	for _, p := range ps {
		said := fmt.Sprintf("%s is %q, but should be %s; %s", p.Column, p.Value, p.Expected, p.Remedy)
		if p.Value == "" {
			said = fmt.Sprintf("%s is missing: it should be %s; %s", p.Column, p.Expected, p.Remedy)
		}
		words = append(words, said)
	}
	return fmt.Errorf("the question cannot be asked: %s", strings.Join(words, ". "))
}

// evidence is the p-value against no effect in the asked direction.
func (q Question) evidence(c mixed.Coefficient) float64 {
	t := c.Estimate / c.SE
	switch q.direction() {
	case more:
		return below(-t, c.DF)
	case less:
		return below(t, c.DF)
	}
	return 2 * below(-math.Abs(t), c.DF)
}

// counterEvidence is the p-value against an effect as large as would matter;
// ok is false where the question states nothing to test against.
func (q Question) counterEvidence(c mixed.Coefficient) (p float64, ok bool) {
	short := below((c.Estimate-q.Smallest)/c.SE, c.DF) // against at least +smallest
	over := below(-(c.Estimate+q.Smallest)/c.SE, c.DF) // against at most −smallest
	switch q.direction() {
	case more:
		return short, true
	case less:
		return over, true
	}
	return math.Max(short, over), q.Smallest > 0
}

// below is the distribution function of Student's t, of the normal where df is
// infinite.
func below(t, df float64) float64 {
	if math.IsInf(df, 1) {
		return distuv.UnitNormal.CDF(t)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.CDF(t)
}

// settle gives verdict and sentence from the adjusted p-values.
func (a *Answer) settle() {
	a.Verdict = Open
	switch {
	case a.shortOfMattering() && a.AgainstAdjusted != nil && *a.AgainstAdjusted <= level:
		a.Verdict = No
	case a.beyond(0) && a.Adjusted <= level:
		a.Verdict = Yes
	}
	a.tell()
}

// tell puts into words what is known of the answer now.
func (a *Answer) tell() {
	a.Sentence = a.sentence()
	if a.Bootstrapped != nil {
		a.Bootstrapped.Sentence = a.bootstrapSentence()
	}
}

// beyond tells whether the whole interval lies beyond size in the asked
// direction; in either one where both are asked.
func (a *Answer) beyond(size float64) bool {
	up, down := a.Effect.Low > size, a.Effect.High < -size
	switch a.Question.direction() {
	case more:
		return up
	case less:
		return down
	}
	return up || down
}

// shortOfMattering tells whether the whole interval lies short of the smallest
// effect that would matter.
func (a *Answer) shortOfMattering() bool {
	s := a.Question.Smallest
	up, down := a.Effect.High < s, a.Effect.Low > -s
	switch a.Question.direction() {
	case more:
		return up
	case less:
		return down
	}
	return up && down
}

// In tells the answer what its effect is an effect on and what it is measured
// in: density for wear, a logarithm where the model is of one (the sentence then
// tells factors), else no named unit.
func (a *Answer) In(m mixed.Model) {
	a.Outcome = m.Outcome
	switch {
	case m.Scale == "log":
		a.Unit = logarithm
	case m.Outcome == "wear":
		a.Unit = "density"
	}
	a.tell()
}

// logarithm is the unit of effects on a natural logarithm.
const logarithm = "natural logarithm"
