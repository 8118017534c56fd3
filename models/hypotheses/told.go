package hypotheses

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/table"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// Told says an answer to a question of grades, of yes or no or of counts as
// probabilities or rates, averaged over the looks as they are otherwise and over books
// and observers. The answer's own effect is on the scale of the link; its exponential
// is an odds ratio, of counts a ratio of rates.
type Told struct {
	Outcome  string           `json:"outcome"`            // what is told, in words: "worn to the parchment"
	Asked    generalised.Mean `json:"asked"`              // where the feature asked about is as asked
	Against  generalised.Mean `json:"against"`            // where it is as what that is set against
	Level    string           `json:"level"`              // the first in words: "a face"
	Other    string           `json:"other"`              // the second in words: "a frame"
	Rate     bool             `json:"rate"`               // a rate, not a probability
	Per      string           `json:"per,omitempty"`      // of a rate: of what, in words
	Smallest float64          `json:"smallest,omitempty"` // smallest difference that would matter, of probabilities or of rates, as the question states it
	Ratio    Mean3            `json:"ratio"`              // exponential of the effect with the answer's interval: odds ratio, or ratio of rates

	asked, against side    // the two
	span           float64 // how many times the contrast lies between them
}

// Mean3 is a number with its interval.
type Mean3 struct {
	Value float64 `json:"value"` // the number
	Low   float64 `json:"low"`   // lower end of the interval
	High  float64 `json:"high"`  // upper end
}

// A FittedTrace is a [FittedBy], and AskedTrace an [AskedOf], of a model of a trace.
type (
	FittedTrace = FittedBy[*generalised.Fit]
	AskedTrace  = AskedOf[*generalised.Fit]
)

// AskTrace puts several questions to a model of a trace and its fit, as [AskOf] does to
// a model of wear: rows are the looks that it was to be fitted to. Groups in which a
// question hardly varies and that the model does not name are added; what goes with who
// looked is refused. tell gives the words.
func AskTrace(questions []Question, m mixed.Model, fit *generalised.Fit, rows *table.Table, tell Telling) AskedTrace {
	return asker[*generalised.Fit]{
		terms: fit.Terms(),
		widen: func(q Question) (FittedTrace, error) { return widenedTrace(q, m, rows) },
		fit: func(m mixed.Model) (*generalised.Fit, bool, error) {
			fit, err := generalised.New(m, rows)
			if err != nil {
				return nil, false, err
			}
			fit.Seconds = 0
			return fit, fit.Converged, nil
		},
		answer: func(some []Question, f FittedTrace) ([]Answer, []error) {
			return askEach(some, func(q Question) (Answer, error) { return answerTrace(q, f, rows, tell) }, f.Fit.Terms(), f.Fit.Covariance)
		},
	}.ask(questions, m, fit)
}

// CanAskTrace says in words why a question of a model of a trace could not be answered
// from the looks, without fitting anything; nil where nothing speaks against it.
func CanAskTrace(q Question, m mixed.Model, rows *table.Table) error {
	_, err := widenedTrace(q, m, rows)
	return err
}

// shadow is a model of a measure with the same design, by which what carries a question
// is found.
func shadow(m mixed.Model) mixed.Model {
	out := mixed.Model{Outcome: traces.ColumnScore, Scale: "identity", Estimate: "restricted", Fixed: m.Fixed, Random: m.Random, Levels: map[string][]string{}}
	for column, levels := range m.Levels {
		if column != m.Outcome {
			out.Levels[column] = levels
		}
	}
	return out
}

func widenedTrace(q Question, m mixed.Model, rows *table.Table) (FittedTrace, error) {
	out := FittedTrace{Model: m}
	with, err := lay(shadow(m), rows)
	if err != nil {
		return out, err
	}
	if err := apartFromObservers(q, with); err != nil {
		return out, err
	}
	groups, err := ungrouped(q, with)
	if err != nil {
		return out, err
	}
	if len(groups) > 0 {
		out.Model.Random = append(slices.Clone(m.Random), groups...)
		out.Added = namesOf(groups)
	}
	return out, nil
}

// apartFromObservers refuses a question whose contrast goes with who looked.
func apartFromObservers(q Question, l laid) error {
	label := groupLabels(l.pages, traces.ColumnObserver, "")
	if label == nil {
		return nil
	}
	c, err := l.Carriers(q.Contrast)
	if err != nil {
		return err
	}
	share, groups := between(c, label)
	if groups > 1 && share > mostBetween && groups-l.betweenTerms(label) < leastFree {
		return fmt.Errorf("%s goes with who looked: what %s see differently is not distinguishable from it; have each of them code a share of what the other coded, and ask again", q.effect(), wording.Plain(groups, "observer", "observers"))
	}
	return nil
}

// Telling are the words that answers are told in.
type Telling struct {
	Labels wording.Labels
	Of     func(level string) string // an outcome's level or a higher one in words: "worn to the parchment"; of counts what is counted
	Per    string                    // of counts: " a page", " for each unit of cm²"
}

func answerTrace(q Question, f FittedTrace, rows *table.Table, tell Telling) (Answer, error) {
	effect, err := f.Fit.Contrast(q.effect(), q.Contrast)
	if err != nil {
		return Answer{}, err
	}
	told, err := tellIn(q, f, rows, tell)
	if err != nil {
		return Answer{}, err
	}
	if told != nil {
		if q.Smallest, err = told.smallestOn(q.direction(), f.Fit); err != nil {
			return Answer{}, err
		}
	} else if q.Smallest > 0 {
		return Answer{}, fmt.Errorf("the smallest effect that would matter is a difference of probabilities or rates, which this contrast does not come down to: ask of one level against another, or leave smallest out")
	}
	a, err := answerOf(q, effect)
	if err != nil {
		return Answer{}, err
	}
	a.Told = told
	of := outcome.Of(f.Model)
	a.Outcome, a.Unit = of.Column, of.Unit
	design := shadow(f.Model)
	if c, err := carriersIn(design, rows, q); err == nil {
		rests := restOn(q, design, rows, c)
		rests.Of, rests.Added, rests.labels = "look", f.Added, tell.Labels
		rests.Sentence = rests.sentence()
		a.Rests = rests
	}
	a.settle()
	return a, nil
}

func carriersIn(m mixed.Model, rows *table.Table, q Question) (mixed.Carriers, error) {
	l, err := lay(m, rows)
	if err != nil {
		return mixed.Carriers{}, err
	}
	return l.Carriers(q.Contrast)
}

// tellIn finds the probabilities or rates that a contrast comes down to; nil where it is
// not one level of one column against another, nor one column of numbers.
func tellIn(q Question, f FittedTrace, rows *table.Table, tell Telling) (*Told, error) {
	asked, against, span := q.sides(f.Model, rows, tell.Labels)
	if span == 0 {
		return nil, nil
	}
	t := &Told{Level: asked.words, Other: against.words, Rate: f.Model.Kind == mixed.Counts, Smallest: q.Smallest, asked: asked, against: against, span: span}
	if t.Rate {
		t.Per = tell.Per
	}
	of := q.Grade
	if levels := f.Model.Levels[f.Model.Outcome]; of == "" && len(levels) > 0 {
		of = levels[len(levels)-1]
	}
	t.Outcome = tell.Of(of)
	var err error
	if t.Asked, err = f.Fit.Least(of, asked.at); err != nil {
		return nil, err
	}
	t.Against, err = f.Fit.Least(of, against.at)
	return t, err
}

// A side is one of the two values that a contrast sets against each other.
type side struct {
	at     map[string]string // the value of its column
	words  string            // "a face", "where wear is 0.3"
	behind string            // them behind what is said of it: "for a face", "where wear is 0.3"
}

// sides are the values that a contrast sets against each other, and how many times the
// contrast lies between them; 0 where it comes down to no two values.
func (q Question) sides(m mixed.Model, rows *table.Table, labels wording.Labels) (asked, against side, span float64) {
	terms := sortedTerms(q.Contrast)
	terms = slices.DeleteFunc(terms, func(t string) bool { return q.Contrast[t] == 0 })
	if len(terms) == 0 || len(terms) > 2 || strings.Contains(strings.Join(terms, ""), product) {
		return side{}, side{}, 0
	}
	column, first, labelled := strings.Cut(terms[0], "=")
	first, _, _ = strings.Cut(first, " at ")
	if !labelled {
		low, high, found := tenths(rows.Column(column))
		if len(terms) > 1 || !found {
			return side{}, side{}, 0
		}
		if q.Contrast[terms[0]] < 0 {
			low, high = high, low
		}
		places := wording.Decimals(math.Abs(high-low) / 4)
		of := func(v float64) side {
			words := "where " + labels.Column(column) + " is " + wording.Fixed(v, places)
			return side{map[string]string{column: number(v)}, words, words}
		}
		return of(high), of(low), math.Abs((high - low) / q.Contrast[terms[0]])
	}
	one, two := first, ""
	if levels := m.Levels[column]; len(levels) > 0 {
		two = levels[0]
	} else if c := rows.Column(column); c != nil {
		if levels, _ := c.Levels(); len(levels) > 0 {
			two = slices.Min(levels)
		}
	}
	if len(terms) == 2 {
		again, second, is := strings.Cut(terms[1], "=")
		if !is || again != column || q.Contrast[terms[0]] != -q.Contrast[terms[1]] {
			return side{}, side{}, 0
		}
		two = second
	}
	if q.Contrast[terms[0]] < 0 {
		one, two = two, one
	}
	of := func(level string) side {
		words := labels.Level(column, level)
		return side{map[string]string{column: level}, words, "for " + words}
	}
	return of(one), of(two), 1 / math.Abs(q.Contrast[terms[0]])
}

// tenths are the values of a column of numbers that a tenth of the rows lie below and
// above.
func tenths(c *table.Column) (low, high float64, ok bool) {
	if c == nil || !c.IsNumber() {
		return 0, 0, false
	}
	var values []float64
	for i := range c.Len() {
		if !c.Missing(i) {
			values = append(values, c.Number(i))
		}
	}
	slices.Sort(values)
	n := len(values)
	if n < 2 || values[0] == values[n-1] {
		return 0, 0, false
	}
	return values[n/10], values[n-1-n/10], true
}

// smallestOn takes the smallest difference of probabilities or rates that would matter
// to the scale of the link, from what stands against the feature asked about: for
// either direction the nearer of the two.
func (t *Told) smallestOn(direction string, fit *generalised.Fit) (float64, error) {
	if t.Smallest == 0 {
		return 0, nil
	}
	up, err := fit.Step(t.Against.Of, t.against.at, t.Against.Mean+t.Smallest)
	if err != nil {
		return 0, err
	}
	down, err := fit.Step(t.Against.Of, t.against.at, t.Against.Mean-t.Smallest)
	if err != nil {
		return 0, err
	}
	size := 0.0
	switch direction {
	case more:
		size = up
	case less:
		size = -down
	default:
		size = math.Min(up, -down)
	}
	if math.IsInf(size, 0) {
		return 0, fmt.Errorf("a difference of %s from %s cannot be: state a smaller one that would matter", t.size(t.Smallest), t.size(t.Against.Mean))
	}
	return size / t.span, nil
}

// size writes a probability as per cent, a rate as a number.
func (t *Told) size(v float64) string {
	if !t.Rate {
		return wording.Percent(v)
	}
	return wording.Fixed(v, wording.Decimals((t.Asked.High-t.Asked.Low+t.Against.High-t.Against.Low)/8))
}

// Estimate writes one of its sides with the interval: a probability as per cent, a rate
// as a number.
func (t *Told) Estimate(m generalised.Mean) string {
	if !t.Rate {
		return wording.PercentEstimate(m.Mean, m.Low, m.High)
	}
	return wording.EstimateByWidth(m.Mean, m.Low, m.High)
}

// Sides are its two sides behind what is said of them: "for a face", "where wear is 0.3".
func (t *Told) Sides() (asked, against string) { return t.asked.behind, t.against.behind }

// Words say it in one sentence.
func (t *Told) Words() string {
	_, other := t.Sides()
	if t.Rate {
		return fmt.Sprintf("%s: %s %s%s, against %s %s.", wording.Capital(t.Level), t.Estimate(t.Asked), t.Outcome, t.Per, t.Estimate(t.Against), other)
	}
	return fmt.Sprintf("%s: %s in %s, against %s %s.", wording.Capital(t.Level), t.Outcome, t.Estimate(t.Asked), t.Estimate(t.Against), other)
}

// Brief is it where there is little room.
func (t *Told) Brief() string {
	return t.Estimate(t.Asked) + " against " + t.size(t.Against.Mean)
}

// settleTold takes the ratio from the answer's interval.
func (a *Answer) settleTold() {
	if a.Told != nil {
		a.Told.Ratio = Mean3{math.Exp(a.Effect.Estimate), math.Exp(a.Effect.Low), math.Exp(a.Effect.High)}
	}
}

// toldMeaning says what the interval tells of the two sides.
func (a *Answer) toldMeaning() string {
	t := a.Told
	bar := ""
	if t.Smallest > 0 {
		if bar = t.size(t.Smallest); !t.Rate {
			bar = wording.Fixed(100*t.Smallest, 0) + " in a hundred"
		}
	}
	switch {
	case a.Verdict == Yes && bar == "":
		return "The two differ by more than chance among these questions."
	case a.Verdict == Yes && a.beyond(a.Question.Smallest):
		return "They differ by " + bar + " or more, which would matter."
	case a.Verdict == Yes:
		return "They differ; whether by " + bar + ", the smallest difference that would matter, stays open."
	case a.Verdict == No && a.Question.Smallest > 0 && a.beyond(0):
		return "They differ, but by less than " + bar + ", the smallest difference that would matter."
	case a.Verdict == No && a.Question.Smallest > 0:
		return "A difference of " + bar + ", the smallest that would matter, is ruled out."
	case a.Verdict == No:
		return "The difference is the other way round than asked."
	case a.Caution != "":
		return "The interval would bear a no."
	case bar != "":
		return "The looks neither tell them apart nor rule out a difference of " + bar + ", the smallest that would matter."
	}
	return "The looks do not tell them apart, which does not show that they are alike."
}

// ratioWords are for the referee.
func (a *Answer) ratioWords() string {
	return strings.ToLower(a.Told.RatioName()) + " " + a.Told.ratioEstimate()
}

// RatioName is what the ratio is called.
func (t *Told) RatioName() string {
	if t.Rate {
		return "Ratio of rates"
	}
	return "Odds ratio"
}

// ratioEstimate writes the ratio with its interval.
func (t *Told) ratioEstimate() string {
	return wording.RatioEstimate(t.Ratio.Value, t.Ratio.Low, t.Ratio.High)
}
