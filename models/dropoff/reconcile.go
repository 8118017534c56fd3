package dropoff

import (
	"fmt"
	"strconv"
)

// gradual tells whether a gradual change is claimed.
func (c *Comparison) gradual() bool {
	return c != nil && (c.Best == Steady || c.Best == BrokenLine)
}

// abrupt tells whether steps are claimed rather than a gradual change. Where a share of
// false claims is set, gradual ones may have no more of the probability of both.
func (c *Comparison) abrupt(o Options) bool {
	if c.Best != Steps || o.Level == 0 {
		return c.Best == Steps
	}
	gradual := c.candidate(Steady).Probability + c.candidate(BrokenLine).Probability
	return gradual <= o.asked()*(gradual+c.candidate(Steps).Probability)
}

// candidate is the one of that name.
func (c *Comparison) candidate(name string) Candidate {
	for _, a := range c.Candidates {
		if a.Name == name {
			return a
		}
	}
	return Candidate{}
}

// reconcile makes one story of the changes, whose rate of false alarms is that
// of steps, and of the comparison, whose rate is that of a change of any kind
// and which may prefer a gradual one.
func (out *Changes) reconcile(s Series, o Options) {
	c := out.Compared
	if c == nil {
		return
	}
	out.Tentative = len(out.Changes) > 0 && !c.abrupt(o)
	switch {
	case out.Tentative && c.gradual():
		c.Sentence = fmt.Sprintf("Compared with gradual changes, %s: that describes the rows better than steps do%s. Treat %s as %s to look at, not as an abrupt change.",
			c.candidate(c.Best).course(s), c.open(), out.naming(s), out.spots())
	case out.Tentative && c.Best == Steps:
		c.Sentence = fmt.Sprintf("Compared with gradual changes, abrupt ones are more probable, but a gradual one cannot be ruled out. Treat %s as %s to look at, not as an abrupt change.", out.naming(s), out.spots())
	case out.Tentative:
		c.Sentence = fmt.Sprintf("Compared with gradual changes, no abrupt one is claimed: of series without any change %s in 100 look as much like a change of some kind, abrupt or gradual, and no more than %s are let pass. Treat %s as %s to look at, not as a finding.",
			rate(c.FalseAlarm), rate(o.asked()), out.naming(s), out.spots())
	case len(out.Changes) > 0:
		c.Sentence = "Compared with gradual changes, the level changes abruptly" + c.open() + "."
	case c.gradual():
		c.Sentence = fmt.Sprintf("No abrupt change is claimed, but a gradual one: %s%s.", c.candidate(c.Best).course(s), c.open())
	case c.Best == Steps:
		c.Sentence = "Steps describe the rows better than no change or a gradual one; but once the noise is taken from the rows about their levels the best segmentation has none: the series does not settle it."
	}
}

// rate writes a share as so many in 100.
func rate(share float64) string {
	if share < 0.1 {
		return strconv.FormatFloat(100*share, 'g', 1, 64)
	}
	return fmt.Sprintf("%.0f", 100*share)
}

// naming names the changes.
func (out *Changes) naming(s Series) string {
	var rows []string
	for _, change := range out.Changes[:min(len(out.Changes), mostNamed)] {
		rows = append(rows, s.Label(change.After))
	}
	switch {
	case len(rows) == 1:
		return "the change after row " + rows[0]
	case len(rows) < len(out.Changes):
		return fmt.Sprintf("the %d changes", len(out.Changes))
	}
	return "the changes after rows " + list(rows, "and")
}

// spots are what changes are that are not claimed.
func (out *Changes) spots() string {
	if len(out.Changes) == 1 {
		return "a place"
	}
	return "places"
}
