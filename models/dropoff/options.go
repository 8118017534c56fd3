package dropoff

import (
	"fmt"
	"slices"
)

// Options are the choices of a segmentation. The zero value is the usual one:
// two rows a level at least, the number of changes and the correlation of
// neighbouring rows chosen by the criterion, one change expected beforehand.
type Options struct {
	// MinLength is the fewest rows of one level; 0 stands for 2, so that a
	// single page that stands out is not taken for a level of its own.
	MinLength int
	// MostChanges is up to how many changes the best segmentation is found and
	// weighed; 0: as long as the criterion may still improve, and up to a
	// quarter of the rows, beyond which it cannot be trusted.
	MostChanges int
	// Number fixes the number of changes where it is not nil, and the
	// criterion is not asked.
	Number *int
	// Expected is the number of changes expected beforehand, anywhere in the
	// series; the probabilities rest on it. 0 stands for 1.
	Expected float64
	// Correlation is that of the noise of rows one position apart, from 0
	// (independent) to below 1; nil: it is estimated together with the changes.
	// It is of the scatter of rows about their level, not of their own
	// measuring errors.
	Correlation *float64
	// Breaks are known breaks: the last row (from 1) before each. The level
	// may differ on either side, and the break is not counted as a change.
	// Named tells of some, by that row, how they are called and why they are
	// known.
	Breaks []int
	Named  map[int]BreakName
	// Quiet are zones without change, each its first and last row (from 1):
	// no change is placed after any of these rows but the last.
	// Why tells of the first of them why that is known.
	Quiet [][2]int
	Why   []string
	// Level is the chance that may be taken that a change is claimed where there is
	// none; 0: 0.05.
	Level float64
	// Adjust takes off a series without change what was subtracted from the one at hand
	// before it was looked at, so that drawn series are treated as it was; nil: nothing.
	Adjust func(values []float64)
}

// asked is up to which share of drawn series may look as much like a change for it
// to be claimed; see AlarmAsked.
func (o Options) asked() float64 {
	if o.Level > 0 {
		return o.Level * AlarmAsked / usualLevel
	}
	return AlarmAsked
}

// A BreakName is how a known break is called.
type BreakName struct {
	Before string // the page before which it lies
	Reason string
}

const defaultMinLength = 2

func (o Options) filled(n int) (Options, error) {
	switch {
	case o.MinLength < 0:
		return o, fmt.Errorf("the minimum length is %d rows: give 1 or more", o.MinLength)
	case o.MostChanges < 0:
		return o, fmt.Errorf("at most %d changes makes no sense: give 0 for the usual bound, or more", o.MostChanges)
	case o.Number != nil && *o.Number < 0:
		return o, fmt.Errorf("the number of changes is %d: give 0 or more", *o.Number)
	case o.Correlation != nil && !(*o.Correlation >= 0 && *o.Correlation <= mostLikeness):
		return o, fmt.Errorf("the correlation of neighbouring rows is given as %g: give a number from 0 to %g, or let it be estimated", *o.Correlation, mostLikeness)
	case o.Expected < 0 || o.Expected != o.Expected:
		return o, fmt.Errorf("%g changes expected beforehand makes no sense: give a number above 0", o.Expected)
	}
	if o.MinLength == 0 {
		o.MinLength = defaultMinLength
	}
	if o.Expected == 0 {
		o.Expected = 1
	}
	if most := float64(n) / 2; o.Expected > most && n > 0 {
		return o, fmt.Errorf("%g changes expected beforehand in %d rows is more than one every other row: give fewer", o.Expected, n)
	}
	return o, nil
}

// places tells for each row s from 0 to n whether a change may follow it and
// which known break is the last before it.
type places struct {
	free    []bool  // a change may follow row s
	forced  []bool  // a known break follows row s
	breaks  int     // known breaks
	barrier []int32 // the last known break before row s, 0 where none: no level that ends with row s starts earlier
}

func (o Options) places(n int) (places, error) {
	p := places{free: make([]bool, n+1), forced: make([]bool, n+1), barrier: make([]int32, n+1)}
	for s := 1; s < n; s++ {
		p.free[s] = true
	}
	last := 0
	for _, s := range append(o.breaks(), n) {
		if s < 1 || s > n || (s == n && slices.Contains(o.Breaks, n)) {
			return p, fmt.Errorf("a known break after row %d lies outside the series of %d rows: name the last row before the break", s, n)
		}
		for t := last + 1; t <= s; t++ {
			p.barrier[t] = int32(last)
		}
		if p.forced[s], p.free[s] = s < n, false; s < n {
			p.breaks++
		}
		last = s
	}
	for _, zone := range o.Quiet {
		if zone[0] < 1 || zone[1] > n || zone[0] > zone[1] {
			return p, fmt.Errorf("the no-change zone from row %d to row %d does not lie inside the series of %d rows: give its first and last row", zone[0], zone[1], n)
		}
		for s := zone[0]; s < zone[1]; s++ {
			if p.free[s] = false; p.forced[s] {
				return p, fmt.Errorf("the known break after row %d lies in the no-change zone from row %d to row %d: a level cannot both be free to change there and be known not to; drop one of the two", s, zone[0], zone[1])
			}
		}
	}
	return p, nil
}

// whole tells whether rows s+1 to t are all between two known breaks, or the
// ends of the series: such rows may be one level however few they are, since
// nothing was looked for to part them.
func (p places) whole(s, t int) bool {
	return s == int(p.barrier[t]) && (p.forced[t] || t == len(p.forced)-1)
}

// checkLengths fails where known breaks leave fewer rows than least.
func (p places) checkLengths(least int) error {
	for t := 1; t < len(p.forced); t++ {
		if s := int(p.barrier[t]); p.whole(s, t) && t-s < least {
			return fmt.Errorf("the known breaks leave only %s from row %d to row %d, fewer than the minimum length of %d: drop a break or lower the minimum length",
				count(t-s, "row"), s+1, t, least)
		}
	}
	return nil
}

// breaks are the known breaks in order, each once.
func (o Options) breaks() []int {
	out := slices.Clone(o.Breaks)
	slices.Sort(out)
	return slices.Compact(out)
}

// mostChanges is how many changes are weighed.
func (o Options) mostChanges(n int) int {
	most := max(n/4, 1)
	if o.MostChanges > 0 {
		most = o.MostChanges
	}
	if o.Number != nil {
		most = max(most, *o.Number)
	}
	return most
}
