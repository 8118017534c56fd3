package dropoff

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/wording"
)

// A Series is what is segmented: values in order, with what is known of each.
type Series struct {
	Values []float64
	SE     []float64 // standard errors, one a value; nil where not known
	Labels []string  // names of the rows: pages, years; nil for row numbers
	// Position places the rows along the book or in time, strictly increasing;
	// nil where they follow each other evenly. It matters for correlated noise
	// only: rows either side of lost leaves are less alike.
	Position []float64
	// Shared is what rows share of the errors of days, observers and instruments; nil
	// where nothing.
	Shared *Loading
	// Bound tells of each row whether its value stands for no more than a bound of it;
	// nil where none does.
	Bound []bool
	// Notes are sentences on how the series was made that a result must repeat.
	Notes []string
}

// Label is the name of row i, from 1: its label, or its number.
func (s Series) Label(i int) string {
	if s.Labels != nil {
		return s.Labels[i-1]
	}
	return strconv.Itoa(i)
}

// Row is the number, from 1, of the row that is called so: by its label where
// exactly one row bears it, else by its number.
func (s Series) Row(name string) (int, error) {
	row := 0
	for i, label := range s.Labels {
		switch {
		case label != name:
		case row > 0:
			return 0, fmt.Errorf("rows %d and %d are both called %q: give the row's number", row, i+1, name)
		default:
			row = i + 1
		}
	}
	if row > 0 {
		return row, nil
	}
	row, err := strconv.Atoi(name)
	if err != nil {
		if len(s.Labels) == 0 {
			return 0, fmt.Errorf("no row is called %q: rows have no names, give a number from 1 to %d", name, len(s.Values))
		}
		return 0, fmt.Errorf("no row is called %q: give a number from 1 to %d, or a name as the rows have it, from %s to %s", name, len(s.Values), s.Labels[0], s.Labels[len(s.Labels)-1])
	}
	return row, nil
}

// position is the place of row i, from 1.
func (s Series) position(i int) float64 {
	if s.Position != nil {
		return s.Position[i-1]
	}
	return float64(i)
}

// levelled is the series with the mean of the rows between known breaks subtracted
// each, so that nothing depends on how much the level differs at a break. Without
// breaks it is the series itself.
func (s Series) levelled(breaks []int) Series {
	if len(breaks) == 0 {
		return s
	}
	s.Values = slices.Clone(s.Values)
	from := 0
	for _, to := range append(slices.Clone(breaks), len(s.Values)) {
		part := s.Values[from:to]
		floats.AddConst(-stat.Mean(part, nil), part)
		from = to
	}
	return s
}

// leastRows is the fewest rows that can show a change over and above noise.
const leastRows = 3

// check tells in a sentence what keeps the series from being segmented.
func (s Series) check(o Options) error {
	n := len(s.Values)
	switch {
	case n == 0:
		return errors.New("the series has no rows: give at least three values in order, and better ten or more")
	case n < leastRows:
		return fmt.Errorf("the series has %s: a change of level needs at least three, and better ten or more; measure more pages", count(n, "row"))
	case n < o.MinLength:
		return fmt.Errorf("the series has %s, fewer than the %d that one level must have at least: lower the minimum length or measure more pages", count(n, "row"), o.MinLength)
	case s.SE != nil && len(s.SE) != n:
		return fmt.Errorf("the series has %d values but %d standard errors: give one for each value", n, len(s.SE))
	case s.Labels != nil && len(s.Labels) != n:
		return fmt.Errorf("the series has %d values but %d labels: give one for each value", n, len(s.Labels))
	case s.Position != nil && len(s.Position) != n:
		return fmt.Errorf("the series has %d values but %d positions: give one for each value", n, len(s.Position))
	}
	if err := s.checkRows(); err != nil {
		return err
	}
	if low, high := bounds(s.Values); low == high {
		return fmt.Errorf("all %d values are %g: a series without any variation has no change to find; "+
			"if this is the instrument's floor, the pages are too little worn to tell, or a finer instrument is needed", n, low)
	}
	return nil
}

func (s Series) checkRows() error {
	for i, v := range s.Values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("row %s has no value: leave the row out or measure it again", s.Label(i+1))
		}
		if math.Abs(v) > mostMagnitude {
			return fmt.Errorf("row %s is %g, too large to compute with: give the values in a larger unit", s.Label(i+1), v)
		}
		if s.SE != nil && !(s.SE[i] > 0 && s.SE[i] <= mostMagnitude) {
			return fmt.Errorf("row %s has a standard error of %g; expected a number above zero: "+
				"give the row's own standard error, or leave the standard errors away altogether", s.Label(i+1), s.SE[i])
		}
		if s.Position == nil {
			continue
		}
		switch {
		case math.IsNaN(s.Position[i]) || math.IsInf(s.Position[i], 0):
			return fmt.Errorf("row %s has no position: give it one or leave the row out", s.Label(i+1))
		case i > 0 && s.Position[i] == s.Position[i-1]:
			return fmt.Errorf("rows %d and %d stand both at position %g: average them into one row, or give each its own place", i, i+1, s.Position[i])
		case i > 0 && s.Position[i] < s.Position[i-1]:
			return fmt.Errorf("row %d stands at position %g, before the row above it at %g: sort the rows by position", i+1, s.Position[i], s.Position[i-1])
		}
	}
	return nil
}

// mostMagnitude keeps sums of squares of a million rows inside a float64.
const mostMagnitude = 1e140

func bounds(values []float64) (low, high float64) {
	low, high = values[0], values[0]
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	return low, high
}

func count(n int, thing string) string { return wording.Plain(n, thing, thing+"s") }
