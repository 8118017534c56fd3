package dropoff

import (
	"fmt"
	"math"

	"thumbed/models/student"
)

// withhold sets doubtful changes apart from those that are claimed: all of them where
// no abrupt change is, those of which there is no probability of 80 %, those beside
// levels of which many rows are only bounds, and those that are no larger than what
// days, observers and instruments may differ by. A gradual change is not claimed for
// the same two reasons.
func (out *Changes) withhold(s Series, o Options) {
	if c := out.Compared; c.gradual() {
		switch {
		case s.bounds(1, len(s.Values)) > mostBounds*float64(len(s.Values)):
			out.withholdGradual("What looks like a gradual change along the series rests on rows that are known only as bounds: none is claimed. Measure these pages with an instrument that reaches farther.")
		case c.candidate(c.Best).shared(s, out.DF, o):
			out.withholdGradual("What looks like a gradual change along the series is no larger than what days, observers or instruments may differ by: none is claimed. Measure some of these pages again on another day, by another observer.")
		}
	}
	found, claimed := len(out.Changes), []Change{}
	for _, change := range out.Changes {
		if out.Tentative {
			change.Doubt = "no abrupt change is claimed of this series"
		} else {
			change.Doubt = out.weigh(&change, found, s, o)
		}
		if change.Doubt == "" && o.Number == nil && change.Probability < doubtful {
			change.Doubt = fmt.Sprintf("a change there has a probability of %.2f, and %g is asked for", change.Probability, doubtful)
		}
		if change.Doubt == "" {
			claimed = append(claimed, change)
		} else {
			out.Doubtful = append(out.Doubtful, change)
		}
	}
	out.Changes = claimed
}

// mostBounds is the share of rows that may be bounds, taken at their value, where a
// change is claimed. By which readings lie beyond an instrument's limits, levels of such
// rows differ without any difference of wear. Common practice, no source.
const mostBounds = 0.1

// bounds is how many rows, from 1, are only bounds.
func (s Series) bounds(from, to int) (n float64) {
	if s.Bound == nil {
		return 0
	}
	for _, is := range s.Bound[from-1 : to] {
		if is {
			n++
		}
	}
	return n
}

// withholdGradual claims no gradual change, for the reason that the sentence tells.
func (out *Changes) withholdGradual(sentence string) {
	out.Compared.Best, out.Compared.Open, out.Compared.Sentence = NoChange, nil, sentence
	out.Tentative = len(out.Changes) > 0
}

// weigh says whether a change rests on rows that are bounds or on a single one, or is no
// larger than what days, observers and instruments may differ by, for all changes found
// together.
func (out *Changes) weigh(c *Change, found int, s Series, o Options) (doubt string) {
	old, new, ok := out.Around(c.After)
	if !ok {
		return ""
	}
	if n := s.bounds(old.From, new.To); n > mostBounds*float64(new.To-old.From+1) {
		return fmt.Sprintf("of the %d rows of the levels on either side %.0f are known only as bounds, taken at their value: measure these pages with an instrument that reaches farther", new.To-old.From+1, n)
	}
	if at := out.decider(old, new, s); at > 0 && o.Number == nil {
		return fmt.Sprintf("row %s alone makes the levels on either side differ", s.Label(at))
	}
	se, df, hands := out.sizeError(old, new, s)
	if p := student.TwoSided(c.Size/se, df); hands && p > o.asked()/float64(found) {
		return fmt.Sprintf("the step of %+.3g is no larger than what days, observers or instruments may differ by: measure pages on both sides of it again, on one day and by one observer", c.Size)
	}
	return ""
}

// fewDeciding is the most rows of a level of which one may decide a change; differing the
// two-sided p at which the levels differ without that row, or it from the others of its
// own level. Common practice, no source.
const (
	fewDeciding = 4
	differing   = 0.01
)

// decider is the row, from 1, that makes a level of few rows differ from the one beside
// it; 0 where there is none. A single stained page is no level of its own, and with the
// page beside it looks like one.
func (out *Changes) decider(old, new Level, s Series) int {
	for _, pair := range [][2]Level{{old, new}, {new, old}} {
		few, other := pair[0], pair[1]
		n := float64(few.To - few.From + 1)
		if n < 2 || n > fewDeciding {
			continue
		}
		at := few.From // the row farthest beyond the level beside it
		for i := few.From; i <= few.To; i++ {
			if (s.Values[i-1]-s.Values[at-1])*(few.Mean-other.Mean) > 0 {
				at = i
			}
		}
		row, se := s.Values[at-1], few.SE*math.Sqrt(n/(n-1))
		left := (n*few.Mean - row) / (n - 1)
		if student.TwoSided((left-other.Mean)/math.Hypot(se, other.SE), out.DF) > differing ||
			student.TwoSided((row-left)/math.Hypot(few.SE*math.Sqrt(n), se), out.DF) <= differing {
			return at
		}
	}
	return 0
}

// withShared is the standard error of what has a variance of its own and a shared
// one, and its degrees of freedom (Satterthwaite 1946).
func withShared(own, ownDF, shared, sharedDF float64) (se, df float64) {
	variance := own + shared
	df = variance * variance / (own*own/ownDF + shared*shared/sharedDF)
	return math.Sqrt(variance), max(df, 1)
}

// shared tells whether shared errors may make all of a candidate's course: the
// projection of the series on the course is 1, and its variance by shared errors is
// that of the same projection of them.
func (a Candidate) shared(s Series, df float64, o Options) bool {
	if s.Shared == nil || len(a.Fitted) != len(s.Values) {
		return false
	}
	mean, squares, residuals := 0.0, 0.0, 0.0
	for i, v := range a.Fitted {
		mean += v / float64(len(a.Fitted))
		residuals += (s.Values[i] - v) * (s.Values[i] - v)
	}
	weights := make([]float64, len(a.Fitted))
	for i, v := range a.Fitted {
		weights[i] = v - mean
		squares += weights[i] * weights[i]
	}
	if squares == 0 {
		return false
	}
	for i := range weights {
		weights[i] /= squares
	}
	shared, sharedDF := s.Shared.of(weights)
	own := residuals / float64(max(len(weights)-3, 1)) / squares
	se, df := withShared(own, df, shared, sharedDF)
	return shared > 0 && student.TwoSided(1/se, df) > o.asked()
}

// withheldNotes tell of each change that is not claimed why.
func (out *Changes) withheldNotes(s Series) []string {
	var notes []string
	for _, c := range out.Doubtful {
		if !out.Tentative {
			notes = append(notes, fmt.Sprintf("No change is claimed after row %s: %s.", s.Label(c.After), c.Doubt))
		}
	}
	return notes
}
