package dropoff

import "slices"

// A Change is one changepoint. After counts rows from 1: the last row of the
// old level.
type Change struct {
	After int    `json:"after"` // last row of the old level, counted from 1
	At    string `json:"at"`    // label of that row
	Low   int    `json:"low"`   // first row of the interval that holds 95 % of the probability of the place
	High  int    `json:"high"`  // last row of that interval
	// Probability is the posterior probability, over all numbers and places
	// of changes, that a change follows one of the rows Low to High.
	Probability float64 `json:"probability"`               // probability, over all numbers and places of changes, that one follows a row from low to high
	Size        float64 `json:"size" unit:"of the values"` // new level less old level
	// lower end of its 95 % interval, the places taken as found; it allows for small
	// changes' being told only where chance made them large
	SizeLow  float64 `json:"size_low" unit:"of the values"`
	SizeHigh float64 `json:"size_high" unit:"of the values"` // upper end of its 95 % interval
	// Doubt says why the change is not claimed; empty where it is.
	Doubt string `json:"doubt,omitempty"` // why the change is not claimed; left out where it is
}

// A Level is the mean between two changes, rows From to To from 1, both in.
type Level struct {
	From int     `json:"from"`                      // first row, counted from 1
	To   int     `json:"to"`                        // last row
	Mean float64 `json:"mean" unit:"of the values"` // mean of the rows
	SE   float64 `json:"se" unit:"of the values"`   // its standard error, the places of the changes taken as found
}

// Changes is a segmented series. Its JSON keys are a promise.
type Changes struct {
	N         int      `json:"n"`         // rows of the series
	Criterion string   `json:"criterion"` // by what the number of changes was chosen
	Changes   []Change `json:"changes"`   // the changes that are claimed, in order
	Levels    []Level  `json:"levels"`    // the levels between the changes of the best segmentation, in order, doubtful ones too
	Notes     []string `json:"notes"`     // plain sentences on what should be known before the numbers are used
	// Doubtful are changes of the best segmentation that are not claimed, in order.
	Doubtful []Change `json:"doubtful,omitempty"` // changes of the best segmentation that are not claimed, in order; left out where there are none
	// Known are the known breaks, in order, which are not among Changes.
	Known []KnownBreak `json:"known,omitempty"` // the known breaks, in order, which are not among the changes; left out where there are none
	// Unbroken are the stretches in which no change was placed, as they were given.
	Unbroken []UnbrokenRows `json:"whole,omitempty"` // the stretches in which no change was placed, as they were given; left out where there are none

	// ChangeProbability is the probability that a change follows row i, from 0 for row 1
	// (the last is always 0); nil where the series is too long for it.
	ChangeProbability []float64 `json:"-"`
	// CountProbability is the probability that there are 0, 1, 2 … changes in all; nil
	// where the series is too long for it.
	CountProbability []float64 `json:"-"`
	// FalseAlarm is how often a series without change, with noise like this
	// one's, looks as much like steps; 0 where nothing looked like a change, the
	// number of changes was given or the series is too long for it.
	FalseAlarm float64 `json:"-"`
	// Compared tells abrupt changes from gradual ones; nil where the number of
	// changes was given or the series is too long for it.
	Compared *Comparison `json:"-"`
	// Tentative says that all changes are doubtful, and only places to look at: the
	// best segmentation has them, but the comparison with a gradual change, or with
	// none, does not bear out that they are abrupt. Compared.Sentence says why.
	Tentative bool `json:"-"`
	// Scatter is the standard deviation of rows about their level beyond their
	// own standard errors, where those are given; DF its degrees of freedom.
	Scatter float64 `json:"-"`
	DF      float64 `json:"-"`
	// Correlation is that of the scatter of rows one position apart.
	Correlation float64 `json:"-"`
	// Path is the best segmentation for each number of changes.
	Path []Step `json:"-"`
	// Labels are the names of the rows; nil for row numbers.
	Labels []string `json:"-"`
}

// Found are all changes of the best segmentation, claimed or doubtful, in order.
func (c *Changes) Found() []Change {
	out := append(slices.Clone(c.Changes), c.Doubtful...)
	slices.SortFunc(out, func(a, b Change) int { return a.After - b.After })
	return out
}

// Around are the levels on either side of a place, the last row of the old one
// given; false where no level ends there.
func (c *Changes) Around(after int) (old, new Level, ok bool) {
	for k, level := range c.Levels[:max(len(c.Levels)-1, 0)] {
		if level.To == after {
			return level, c.Levels[k+1], true
		}
	}
	return old, new, false
}

// A Step is the best segmentation with one number of changes.
type Step struct {
	Changes   int     `json:"changes"`
	Places    []int   `json:"places"`    // last row of each old level, from 1
	RSS       float64 `json:"rss"`       // residual sum of squares, weighted by the inverse variances where rows carry standard errors
	Criterion float64 `json:"criterion"` // modified Bayesian information criterion: the higher the better; 0 for no change
}
