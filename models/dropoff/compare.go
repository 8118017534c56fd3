package dropoff

import (
	"fmt"
	"math"

	"thumbed/models/wording"
)

// A Comparison tells whether a series changes at all, and whether abruptly or
// gradually: stopping is told from tiring.
type Comparison struct {
	// Best names the candidate to be given: the most probable, or no change where
	// noise alone looks as much like it in more than 4 of 100 cases.
	Best string   `json:"best"`
	Open []string `json:"open"` // those that are not clearly less probable than the best
	// FalseAlarm is how often a series without change, with noise like this
	// one's, looks as much like a change of any of these kinds; 0 where none
	// looks better than no change.
	FalseAlarm float64     `json:"false_alarm"`
	Candidates []Candidate `json:"accounts"` // no change, steady, broken line, steps
	Sentence   string      `json:"sentence"` // the same in words
}

// clearOdds is how many times less probable than the best a candidate must be
// to be passed over.
const clearOdds = 10

// Compare compares four candidate models of a series: no change; a steady decline or
// rise; a broken line, two lines that meet; and steps, levels with abrupt
// changes between them. Each has the noise of [Segment], with the correlation
// that suits it best, and is weighed by the modified Bayesian information
// criterion, which for lines is the same integral of the likelihood over
// coefficients that it is for levels. A change of any kind is claimed only where
// series without change, drawn with this one's noise, look as much like one in
// at most 4 of 100 cases, which keeps false alarms to 5. At known breaks all four
// have levels that are free to differ.
//
// In a series of more than 5,000 rows steps are those of [Segment], and a gradual
// change must show in the means of some 200 stretches of it too, which are what is
// drawn again (long_compare.go).
//
// It fails where [Segment] does.
func Compare(s Series, o Options) (*Comparison, error) {
	o, where, err := prepareLevels(s, o)
	if err != nil {
		return nil, err
	}
	if len(s.Values) > mostDrawn {
		long := chooseLong(s.levelled(o.breaks()), o, where)
		long.guardLong(s)
		long.compareLong(s, o, where)
		return long.compared, nil
	}
	real := newContest(s, o, where)
	var rates alarms
	if real.best() > 0 {
		rates = falseAlarms(real, s, o, where)
	}
	return newComparison(real, rates, s, o), nil
}

func newComparison(real contest, rates alarms, s Series, o Options) *Comparison {
	c := &Comparison{FalseAlarm: rates.any, Best: NoChange}
	total := 0.0
	for _, e := range []entry{real.none, real.steady, real.broken, real.steps} {
		a := e.Candidate
		if a.Name == "" { // no place for a change
			continue
		}
		if e.n <= mostDrawn {
			a.Fitted = e.fitted(a)
		}
		a.Criterion -= real.none.Criterion
		a.Probability = math.Exp(a.Criterion - max(real.best(), 0))
		total += a.Probability
		c.Candidates = append(c.Candidates, a)
	}
	best := 0
	for i := range c.Candidates {
		if c.Candidates[i].Probability /= total; c.Candidates[i].Probability > c.Candidates[best].Probability {
			best = i
		}
	}
	if a := &c.Candidates[best]; a.Fitted == nil && (a.Name == Steady || a.Name == BrokenLine) {
		a.Fitted = real.steady.fitted(*a) // long series are fitted with one correlation
	}
	if rates.any <= o.asked() {
		c.Best = c.Candidates[best].Name
	}
	for i, a := range c.Candidates {
		if i != best && a.Name != NoChange && c.Best != NoChange && a.Probability*clearOdds > c.Candidates[best].Probability {
			c.Open = append(c.Open, a.Name)
		}
	}
	c.Sentence = c.sentence(c.Candidates[best], s)
	return c
}

func (c *Comparison) sentence(best Candidate, s Series) string {
	var told string
	switch c.Best {
	case NoChange:
		if best.Name == NoChange {
			return "Nothing in the series calls for a change of any kind."
		}
		return fmt.Sprintf("The series looks most like %s; but %s of 100 series without any change, with noise like this one's, look as much like a change, so none is claimed.",
			best.like(), rate(c.FalseAlarm))
	case Steady, BrokenLine:
		told = wording.Capital(best.course(s)) + ", rather than by steps"
	case Steps:
		told = fmt.Sprintf("The level changes abruptly (%s), rather than gradually", count(len(best.Places), "step"))
	}
	return told + c.open() + "."
}

// course tells a gradual change.
func (a Candidate) course(s Series) string {
	if a.Name == BrokenLine {
		return fmt.Sprintf("the level changes its course after row %s, where its line bends and does not jump", s.Label(a.Places[0]))
	}
	return fmt.Sprintf("the level %s steadily along the series, from %.3g to %.3g", a.falls(), a.Fitted[0], a.Fitted[len(a.Fitted)-1])
}

// open names the candidates that are not ruled out.
func (c *Comparison) open() string {
	if len(c.Open) == 0 {
		return ""
	}
	return fmt.Sprintf("; but %s cannot be ruled out", list(words(c.Open), "and"))
}

// falls says whether a line falls or rises.
func (a Candidate) falls() string {
	if a.Fitted[len(a.Fitted)-1] < a.Fitted[0] {
		return "falls"
	}
	return "rises"
}

func (a Candidate) like() string { return words([]string{a.Name})[0] }

// words are candidates as a sentence has them.
func words(names []string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		switch name {
		case Steady:
			out[i] = "a steady change"
		case BrokenLine:
			out[i] = "a broken line"
		case Steps:
			out[i] = "abrupt steps"
		default:
			out[i] = name
		}
	}
	return out
}
