package hypotheses

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/student"
	"thumbed/models/table"
)

// An Answer is a question with what the model says to it.
//
// Its interval is one of several that hold all at once: those of all answers that
// are adjusted together, see [Adjust]. The verdict is read from that interval and
// from nothing else, and every face shows that interval.
//
// P tests against no effect in the asked direction: one-sided for more and
// less, two-sided for either. Against tests the other way: that the effect is
// at least as large as the smallest that would matter (any at all in the asked
// direction, where none is stated); a small one speaks for no. For either it is
// the greater p of two one-sided tests (Schuirmann 1987, J. Pharmacokinet.
// Biopharm. 15, 657–680), and is there only where a smallest effect is stated.
// Both stand alone. Adjusted and AgainstAdjusted are the error rates, over all
// answers adjusted together, at which the interval would just claim yes or no.
type Answer struct {
	Question Question          `json:"question"`          // the question as the study file has it
	Book     string            `json:"book,omitempty"`    // the book, where the model is fitted book by book
	Rests    *Rests            `json:"rests,omitempty"`   // what the answer rests on
	Effect   mixed.Coefficient `json:"effect"`            // the contrast's estimate, with the interval from which the verdict is read; p in it is two-sided and alone
	Outcome  string            `json:"outcome,omitempty"` // what is modelled
	Of       string            `json:"of,omitempty"`      // what the effect is of, in words
	Unit     string            `json:"unit,omitempty"`    // unit of the effect, in words
	// chance that the interval of this answer alone misses the truth, so that those of
	// all answers adjusted together hold at once
	Level float64 `json:"level"`
	P     float64 `json:"p"` // p-value in the asked direction, alone
	// error rate, over all answers adjusted together, at which the interval would just
	// leave out zero in the asked direction
	Adjusted float64 `json:"adjusted"`
	// p-value the other way: that the effect is at least as large as the smallest that
	// would matter; a small one speaks for no
	Against *float64 `json:"against,omitempty"`
	// error rate, over all answers adjusted together, at which the interval would just
	// lie short of what would matter
	AgainstAdjusted *float64           `json:"against_adjusted,omitempty"`
	Together        int                `json:"together"`                        // answers adjusted together
	Verdict         string             `json:"verdict" words:"yes / no / open"` // what the model says
	Sentence        string             `json:"sentence"`                        // the answer in words, with what it rests on and its interval
	Test            string             `json:"test"`                            // the statistic and its p-values in words
	Caution         string             `json:"caution,omitempty"`               // why no more is claimed than the verdict says, a sentence
	Preregistration *Preregistration   `json:"sealed,omitempty"`                // whether the question was sealed before the readings
	CircularShift   *CircularShiftTest `json:"shifted,omitempty"`               // the answer by pushing the feature round
	Bootstrapped    *Bootstrapped      `json:"bootstrapped,omitempty"`          // the answer by bootstrap
	Rate            bool               `json:"rate,omitempty"`                  // whether the rate of false discoveries of the family is held, not the chance of any false claim
	// Correlation of the estimate with those of the other answers of the same fit,
	// by their questions' words.
	Correlation map[string]float64 `json:"correlation,omitempty"` // of the estimate with those of the other answers of the same fit, by their questions' words
	// AtZero are random terms whose variance came out as zero or near it though the
	// question compares their groups: the interval may be too short for a no.
	AtZero []string `json:"at_zero,omitempty"` // random terms whose variance came out as zero, or so near it that zero is left open, though the question compares their groups
	// ByDesign tells that the degrees of freedom are those that the design leaves the
	// contrast, since a variance of the fit came out as zero or near it.
	ByDesign bool `json:"by_design,omitempty"` // whether the degrees of freedom are those that the design leaves the contrast (groups of its stratum less fixed effects there), since a variance of the fit came out as zero or so near it that zero is left open

	// Told says it as probabilities or rates, of a model of grades, of yes or no or of
	// counts.
	Told *Told `json:"told,omitempty"`

	pivots []float64 // of the bootstrap, until its interval is taken
	// off is the effect were what is AtZero farther from zero ([mixed.Fit.ContrastOff]), where a
	// no must hold then too; its standard error is 0 where that is not known.
	off *mixed.Coefficient
}

// Preregistration tells whether a question was sealed before its readings were taken.
type Preregistration struct {
	Preregistered bool   `json:"foreseen"`      // whether the question counts as foreseen
	Day           string `json:"day"`           // day of the seal, as a date of the log
	Why           string `json:"why,omitempty"` // in words, why it does not
}

// When says when the question was asked, as the end of a sentence: as its seal shows
// where there is one, else as the author says; empty where neither tells.
func (a *Answer) When() string {
	said := ""
	switch a.Question.Asked {
	case "before":
		said = "asked before the data were seen, as the author says"
	case "after":
		said = "asked after the data were seen"
	}
	switch {
	case a.Preregistration == nil:
		return said
	case a.Preregistration.Preregistered && said != "":
		said = "asked before the data were seen"
	}
	if said == "" {
		return a.Preregistration.Words()
	}
	return said + "; " + a.Preregistration.Words()
}

// Words says it as the end of a sentence on the question.
func (f *Preregistration) Words() string {
	if f.Preregistered {
		return "foreseen: sealed on " + f.Day + ", before the readings, and unchanged since"
	}
	return "not foreseen by the seal of " + f.Day + ": " + f.Why
}

// The verdicts. Yes: the whole interval lies beyond zero in the asked direction.
// No: the whole interval lies short of the smallest effect that would matter
// (within it on either side, where the question asks for either; on the other side
// of zero, where none is stated). An effect that is there, but all of whose
// interval is too small to matter, is a no, and the sentence says so. Open: all
// else.
const (
	Yes  = "yes"
	No   = "no"
	Open = "open"
)

// level is the error rate of all claims together.
const level = 0.05

// Ask puts a question to a fitted model: the contrast's estimate and degrees of
// freedom are the model's ([mixed.Fit.Contrast]). The answer stands alone until
// Adjust settles it among the others. The error names every problem of the question
// at once.
func Ask(q Question, fit *mixed.Fit) (Answer, error) {
	if ps := q.Check(nil, termsOf(fit)); len(ps) > 0 {
		return Answer{}, inWords(ps)
	}
	effect, err := fit.Contrast(q.effect(), q.Contrast)
	if err != nil {
		return Answer{}, err
	}
	return answerOf(q, effect)
}

// AskAll puts several questions to one fitted model, and tells each answer how it
// is correlated with the others. A question that cannot be asked has an error in
// its place, the others none.
func AskAll(questions []Question, fit *mixed.Fit) ([]Answer, []error) {
	return askEach(questions, func(q Question) (Answer, error) { return Ask(q, fit) }, termsOf(fit), fit.Covariance)
}

// askEach answers several questions by one fit, whose fixed effects and their
// covariance are given.
func askEach(questions []Question, answer func(Question) (Answer, error), terms []string, covariance func() *mat.SymDense) ([]Answer, []error) {
	answers, errs := make([]Answer, len(questions)), make([]error, len(questions))
	var asked []*Answer
	for i, q := range questions {
		if answers[i], errs[i] = answer(q); errs[i] == nil {
			asked = append(asked, &answers[i])
		}
	}
	if len(asked) > 1 {
		correlate(asked, terms, covariance())
	}
	return answers, errs
}

func termsOf(fit *mixed.Fit) []string {
	var terms []string
	for _, c := range fit.Fixed {
		terms = append(terms, c.Term)
	}
	return terms
}

// answerOf makes the answer, as if alone, from the contrast's estimate.
func answerOf(q Question, effect mixed.Coefficient) (Answer, error) {
	if !(effect.SE > 0) || math.IsInf(effect.SE, 0) || !(effect.DF > 0) || math.IsNaN(effect.Estimate) {
		return Answer{}, fmt.Errorf("the model gives no standard error or degrees of freedom for %s, so the question cannot be answered; see the model's notes, and simplify its random terms or add data", q.effect())
	}
	a := Answer{Question: q, Effect: effect, Together: 1, Level: level}
	a.alone()
	a.settle()
	return a, nil
}

// alone takes the p-values from the effect, as if the answer stood alone.
func (a *Answer) alone() {
	a.P = a.Question.evidence(a.Effect)
	a.Adjusted = a.claimsYes()
	if p, ok := a.Question.counterEvidence(a.Effect); ok {
		no := twoSided(p)
		a.Against, a.AgainstAdjusted = &p, &no
	}
}

// With is the answer with another estimate of its effect and standard error, and without
// probabilities or rates, which belong to the model that gave the first.
func (a Answer) With(estimate, se float64) (Answer, error) {
	effect := a.Effect
	effect.Estimate, effect.SE, effect.T = estimate, se, estimate/se
	out, err := answerOf(a.Question, effect)
	out.Outcome, out.Unit, out.Rests = a.Outcome, a.Unit, a.Rests
	return out, err
}

// claimsYes is the level at which the answer's own interval would just leave out
// zero in the asked direction.
func (a *Answer) claimsYes() float64 {
	if a.Question.direction() == either {
		return a.P
	}
	return twoSided(a.P)
}

// claimsNo is the level at which the answer's own interval would just lie short of
// what would matter; 1 where the question states nothing to fall short of.
func (a *Answer) claimsNo() float64 {
	if a.Against == nil {
		return 1
	}
	return twoSided(*a.Against)
}

// twoSided takes a one-sided p to that of an interval with two ends.
func twoSided(p float64) float64 { return min(1, 2*p) }

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
		return student.CDF(-t, c.DF)
	case less:
		return student.CDF(t, c.DF)
	}
	return 2 * student.CDF(-math.Abs(t), c.DF)
}

// counterEvidence is the p-value against an effect as large as would matter;
// ok is false where the question states nothing to test against.
func (q Question) counterEvidence(c mixed.Coefficient) (p float64, ok bool) {
	short := student.CDF((c.Estimate-q.Smallest)/c.SE, c.DF) // against at least +smallest
	over := student.CDF(-(c.Estimate+q.Smallest)/c.SE, c.DF) // against at most −smallest
	switch q.direction() {
	case more:
		return short, true
	case less:
		return over, true
	}
	return math.Max(short, over), q.Smallest > 0
}

// settle takes the interval at the answer's level, and the verdict from it.
func (a *Answer) settle() {
	a.Effect.Low, a.Effect.High = a.Interval(a.Level)
	a.Verdict, a.Caution = Open, ""
	if a.pivots != nil {
		a.bootstrap()
	}
	there := a.beyond(0)
	switch small := a.Against != nil && a.shortOfMattering(); {
	case small && (a.off == nil || a.agreesOff()):
		a.Verdict = No
	case small:
		a.Caution = a.tooSure()
	}
	if there && a.Verdict != No {
		a.Verdict = Yes
	}
	a.word()
}

// agreesOff tells whether the effect is short of what would matter also where what came
// out as zero or near it varies more, by the middle of what the likelihood leaves open.
func (a *Answer) agreesOff() bool {
	off := *a.off
	off.DF = a.Effect.DF
	p, _ := a.Question.counterEvidence(off)
	return off.SE > 0 && p <= a.Level/2
}

// word puts into words what is known of the answer now.
func (a *Answer) word() {
	a.settleTold()
	a.Sentence, a.Test = a.sentence(), a.test()
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

// In tells the answer what its effect is an effect on and what it is measured in.
func (a *Answer) In(m mixed.Model) {
	of := outcome.Of(m)
	a.Outcome, a.Unit = of.Column, of.Unit
	a.word()
}

// Factor tells whether the effect is told as a factor, being one on a logarithm.
func (a *Answer) Factor() bool { return a.Unit == outcome.Logarithm }
