package readings

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/table"
)

// A Source is an error that all pages of one day share, or of one observer or one
// instrument: what placings on the page read too high or too low against the
// page's zero. A study with one level of a source has no such Source, since what
// all pages share confounds no comparison.
type Source struct {
	By string `json:"by" words:"day / observer / instrument / conversion / drift"` // what the pages have in common
	// Where the spread is not known, SD and DF are 0.
	Known    bool     `json:"known"`                                                            // whether the spread is known
	Why      string   `json:"why"`                                                              // where the spread is not known, what to do
	SD       float64  `json:"sd" unit:"density"`                                                // standard deviation between days, observers or instruments of what a page reads against its zero; of conversions that of the slope, of drift that of the part that was one of scale
	SpreadDF float64  `json:"sd_df"`                                                            // its degrees of freedom, counted in days, observers or instruments; none where the study states it
	DF       float64  `json:"df"`                                                               // degrees of freedom of what stays unknown of the offsets, which pages measured again raise
	From     string   `json:"from" words:"measured again / stated / paired readings / assumed"` // where the spread comes from; empty where not known
	Levels   []string `json:"levels"`                                                           // the days, observers or instruments, in their order
}

// Where the spread of a source comes from.
const (
	measuredAgain = "measured again"
	Stated        = "stated"
)

// Column is the column of [WearSchema] that holds the pages' loadings on the
// source.
func (s Source) Column() string { return s.By + "_offset" }

// Upper is the upper 95 % limit of the standard deviation between levels, by χ²; the
// stated value where it is known.
func (s Source) Upper() float64 {
	if !s.Known || math.IsInf(s.SpreadDF, 1) {
		return s.SD
	}
	return s.SD * math.Sqrt(s.SpreadDF/distuv.ChiSquared{K: s.SpreadDF}.Quantile(0.05))
}

// The sources, in the order of [Result.Shared].
const (
	ByDay        = "day"
	ByObserver   = "observer"
	byInstrument = "instrument"
)

var sourceNames = [...]string{ByDay, ByObserver, byInstrument}

// A Sitting is one sitting that a page's wear is made of, with its weight.
type Sitting struct {
	Day, Observer, Instrument string
	Weight                    float64 // of a page they sum to 1
}

// A Loading is a page's share of an independent error with the standard deviation of
// a source. Where no page was measured again these are the weights of the page's
// sittings. Pages measured again tell the offsets in part; what stays unknown of
// them, their covariance given those pages, is then a triangular combination of
// independent errors, and a loading may be any number.
type Loading struct {
	Source, Level int // indices into Result.Shared and its Levels
	Weight        float64
}

// SharedCovariance is the covariance, density², of the errors that two pages
// share; of one page with itself its variance.
func (r *Result) SharedCovariance(a, b *Wear) float64 {
	total := 0.0
	for _, p := range a.Shared {
		for _, q := range b.Shared {
			if p.Source == q.Source && p.Level == q.Level {
				sd := r.Shared[p.Source].SD
				total += p.Weight * q.Weight * sd * sd
			}
		}
	}
	return total
}

// SharedLoadings gives the loadings of pages on the errors that they share, a row
// a page and a column each independent error of standard deviation 1, in density,
// with each column's degrees of freedom: the covariance of the pages' errors is
// diag(SE²) + L Lᵀ. A source whose spread is not known counts with the standard
// deviation unknown and infinite degrees of freedom; with 0 it is left out. The
// matrix is nil where no page has any.
func (r *Result) SharedLoadings(wear []Wear, unknown float64) (loadings *mat.Dense, df []float64) {
	if len(r.Shared) == 0 {
		return nil, nil
	}
	at := map[[2]int]int{}
	spread := make([]float64, len(r.Shared))
	free := make([]float64, len(r.Shared))
	for k, source := range r.Shared {
		if spread[k], free[k] = source.SD, source.DF; !source.Known {
			spread[k], free[k] = unknown, math.Inf(1)
		}
	}
	for i := range wear {
		for _, load := range wear[i].Shared {
			if spread[load.Source] == 0 {
				continue
			}
			key := [2]int{load.Source, load.Level}
			if _, known := at[key]; !known {
				at[key] = len(df)
				df = append(df, free[load.Source])
			}
		}
	}
	if len(df) == 0 {
		return nil, nil
	}
	loadings = mat.NewDense(len(wear), len(df), nil)
	for i := range wear {
		for _, load := range wear[i].Shared {
			if spread[load.Source] == 0 {
				continue
			}
			column := at[[2]int{load.Source, load.Level}]
			loadings.Set(i, column, loadings.At(i, column)+load.Weight*spread[load.Source])
		}
	}
	return loadings, df
}

// who writes the days, observers or instruments of a page's sittings as a cell.
func (w *Wear) who(by string) string {
	var shares []table.Share
	for _, s := range w.Sat {
		label := map[string]string{ByDay: s.Day, ByObserver: s.Observer, byInstrument: s.Instrument}[by]
		if label == "" {
			continue
		}
		if k := len(shares) - 1; k >= 0 && shares[k].Label == label {
			shares[k].Weight += s.Weight
			continue
		}
		shares = append(shares, table.Share{Label: label, Weight: s.Weight})
	}
	return table.WriteShares(merged(shares))
}

// merged joins shares of one label, in the order of their first.
func merged(shares []table.Share) []table.Share {
	var out []table.Share
	at := map[string]int{}
	for _, s := range shares {
		k, known := at[s.Label]
		if !known {
			k = len(out)
			at[s.Label], out = k, append(out, table.Share{Label: s.Label})
		}
		out[k].Weight += s.Weight
	}
	for i := range out { // a sum of weights that is 1 but for rounding
		if math.Abs(out[i].Weight-1) < 1e-9 {
			out[i].Weight = 1
		}
	}
	return out
}

// Loads writes a page's loadings on one source as a cell (see [table.ParseShares]).
func (r *Result) Loads(w *Wear, by string) string {
	var shares []table.Share
	for _, load := range w.Shared {
		if load.Source >= len(r.Shared) {
			continue // the sources are not asked for
		}
		if s := r.Shared[load.Source]; s.By == by {
			shares = append(shares, table.Share{Label: s.Levels[load.Level], Weight: load.Weight})
		}
	}
	return table.WriteShares(merged(shares))
}
