package dropoff

import (
	"fmt"
	"math"

	"thumbed/models/student"
)

// withhold sets doubtful changes apart from those that are claimed: all of them where
// no abrupt change is, those of which there is no probability of 80 %, and those that
// are no larger than what days, observers and instruments may differ by. A gradual change no larger than that is not claimed
// either.
func (out *Changes) withhold(s Series, o Options) {
	if c := out.Compared; c.gradual() && c.candidate(c.Best).shared(s, out.DF, o) {
		c.Best, c.Open = NoChange, nil
		c.Sentence = "What looks like a gradual change along the series is no larger than what days, observers or instruments may differ by: none is claimed. Measure some of these pages again on another day, by another observer."
		out.Tentative = len(out.Changes) > 0
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

// weigh widens the interval of a change's size by what the levels on either side share
// of the errors of days, observers and instruments, and says whether it is no larger
// than that, for all changes found together. Where the measuring does not change hands
// there, both sides share the same and nothing is added.
func (out *Changes) weigh(c *Change, found int, s Series, o Options) (doubt string) {
	old, new, ok := out.Around(c.After)
	if s.Shared == nil || !ok {
		return ""
	}
	weights := make([]float64, out.N)
	for i := old.From; i <= old.To; i++ {
		weights[i-1] = -1 / float64(old.To-old.From+1)
	}
	for i := new.From; i <= new.To; i++ {
		weights[i-1] = 1 / float64(new.To-new.From+1)
	}
	shared, sharedDF := s.Shared.of(weights)
	if shared == 0 {
		return ""
	}
	se, df := withShared(old.SE*old.SE+new.SE*new.SE, out.DF, shared, sharedDF)
	half := student.Half(0.95, df) * se
	c.SizeLow, c.SizeHigh = c.Size-half, c.Size+half
	if p := student.TwoSided(c.Size/se, df); p > o.asked()/float64(found) {
		return fmt.Sprintf("the step of %+.3g is no larger than what days, observers or instruments may differ by: measure pages on both sides of it again, on one day and by one observer", c.Size)
	}
	return ""
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

// withheldNotes tell of each change that shared errors may have made.
func (out *Changes) withheldNotes(s Series) []string {
	var notes []string
	for _, c := range out.Doubtful {
		if !out.Tentative {
			notes = append(notes, fmt.Sprintf("No change is claimed after row %s: %s.", s.Label(c.After), c.Doubt))
		}
	}
	return notes
}
