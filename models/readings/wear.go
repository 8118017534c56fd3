package readings

import (
	"cmp"
	"fmt"
	"math"
	"thumbed/models/student"
)

// Options are the choices of the measuring plan.
type Options struct {
	Drift Drift // empty: none
	// SpotSpread is the standard deviation of density between single readings
	// on spots of one page, repeatability included, for darkest-spot placings
	// where the log cannot tell it; 0: take it from the log.
	SpotSpread float64
	// Solid is the density of solid deposit over its ground in the
	// Murray–Davies equation; 0: [defaultSolid].
	Solid float64
	// Spreads are those that the study states; they are taken as known.
	Spreads Spreads
}

// check says what is wrong with the options, and fills in what was left open.
func (o *Options) check() error {
	o.Drift = cmp.Or(o.Drift, DriftNone)
	if !o.Drift.Known() {
		return fmt.Errorf("%q is no way to correct drift; choose %s", o.Drift, DriftWords)
	}
	if !(o.SpotSpread >= 0) || math.IsInf(o.SpotSpread, 0) {
		return fmt.Errorf("a spread of %g between spots cannot be; give a density of 0 or more, 0 to take it from the log", o.SpotSpread)
	}
	if o.Solid == 0 {
		o.Solid = defaultSolid
	}
	for _, spread := range []float64{o.Spreads.Day, o.Spreads.Observer, o.Spreads.Instrument, o.Spreads.Placing} {
		if !(spread >= 0) || math.IsInf(spread, 0) {
			return fmt.Errorf("a spread of %g cannot be; give a standard deviation of density, or 0 to take it from pages measured again", spread)
		}
	}
	_, err := checkedCoverage(0, o.Solid)
	return err
}

// A Wear is one page's deposit estimate.
type Wear struct {
	Book       int     `json:"-"`                              // index into the books given
	Page       int     `json:"-"`                              // index into its Pages
	Density    float64 `json:"wear" unit:"density"`            // density above the page's own zero; the bound where limit is set
	SE         float64 `json:"wear_se" unit:"density"`         // its standard error
	DF         float64 `json:"wear_df"`                        // degrees of freedom of wear_se
	Limit      Limit   `json:"limit" words:" / below / above"` // below: wear is at most this; above: at least; empty: measured
	Coverage   float64 `json:"coverage"`                       // share of the area covered by solid deposit (Murray–Davies), 0 to 1
	CoverageSE float64 `json:"coverage_se"`                    // its standard error
	Placings   int     `json:"placings"`                       // placings of the instrument on the thumbed place
	Zeros      int     `json:"zeros"`                          // readings of the page's own zero
	AtLimit    int     `json:"at_limit"`                       // of placings and zeros, those at the instrument's floor or ceiling
	Sittings   int     `json:"sittings"`                       // days, instruments and observers
	Spot       string  `json:"spot"`                           // fixed or darkest

	Sat    []Sitting `json:"-"` // who measured it, when and with what, with weights that sum to 1
	Shared []Loading `json:"-"` // the errors that it shares with other pages …
	// … which add this standard deviation to SE, with these degrees of freedom
	// where it is not 0. It cancels where pages of the same sittings are compared.
	SharedSE float64 `json:"-"`
	SharedDF float64 `json:"-"`
}

// Interval gives the interval that holds the page's true wear with the
// confidence given, such as 0.95, by Student's t, with what it shares with others. Where Limit is set it is
// one-sided and open (infinite) on the other side.
func (w Wear) Interval(confidence float64) (low, high float64) {
	se, df := w.SE, w.DF
	if w.SharedSE > 0 {
		se, df = combine([]variancePart{{w.SE * w.SE, w.DF}, {w.SharedSE * w.SharedSE, w.SharedDF}})
	}
	switch w.Limit {
	case Above:
		return w.Density + se*student.Quantile(1-confidence, df), math.Inf(1)
	case Below:
		return math.Inf(-1), w.Density + se*student.Quantile(confidence, df)
	}
	half := se * student.Half(confidence, df)
	return w.Density - half, w.Density + half
}

// Wear computes the wear of every page that was measured.
//
// Of each sitting (page, day, instrument, observer) the mean of the placings
// less the mean of the zeros, after correction for drift; the sittings of a
// page are combined by their precision, after what pages measured again tell of
// the offsets of days, observers and instruments is subtracted. The standard error
// holds the pooled repeatability of placings and zeros, rounding, the error of the
// drift correction, the spread of placing anew and, for the darkest of several spots, the scatter of the largest
// and the error of the spread between spots; its degrees of freedom are by
// Satterthwaite (1946, Biometrics Bulletin 2, 110–114).
//
// It fails where the log does not allow it: no reading is repeated, drift is
// to be corrected on a day without tile readings, or different numbers of
// spots were tried and nothing tells their spread. Its numbers do not depend
// on the order of rows or of files.
func (l *Log) Wear(options Options) (*Result, error) {
	if err := options.check(); err != nil {
		return nil, err
	}
	w := &weighing{log: l.ordered(), options: options}
	for _, step := range []func() error{w.correctDrift, w.pool, w.settleSpots, w.settleShared} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	w.eachPage(w.weighPage)
	return w.result(), nil
}
