package dropoff

import (
	"gonum.org/v1/gonum/mat"

	"thumbed/models/readings"
)

// Among tells what a book's results stand among.
type Among struct {
	// Shared are the errors that pages share by day, observer and instrument
	// ([readings.Result.Shared]), to which the pages' loadings point.
	Shared []readings.Source
	// Level is the chance that may be taken that something is claimed of one series
	// where there is nothing; 0: 0.05. A study that looks at many series unasked shares
	// its own out among them.
	Level float64
	// Saturation calibrates density by handling, where the study states it.
	Saturation *Saturation
}

// usualLevel is the chance of a false claim of a series by itself.
const usualLevel = 0.05

// first is what was given, or nothing.
func first(among []Among) Among {
	if len(among) == 0 {
		return Among{}
	}
	return among[0]
}

// A Loading is what the rows of a series have of errors that they share: the
// covariance of the rows' errors is diag(SE²) + Rows·Rowsᵀ.
type Loading struct {
	Rows *mat.Dense // rows × independent errors of standard deviation 1, in the unit of the values
	DF   []float64  // of each error's spread
}

// unknownSpread is the standard deviation, density, that days, observers or instruments
// are taken to have where it is not known, so that no change is claimed where the
// measuring changes hands unless it is larger than they could ever differ by (common
// practice, no source: an observer who differs by more is faulty).
const unknownSpread = 0.05

// loading is that of pages of the hours, by their rows.
func (h *hours) loading(rows []int) *Loading {
	wear := make([]readings.Wear, len(rows))
	for k, i := range rows {
		wear[k] = h.rows[i].wear
	}
	l, df := (&readings.Result{Shared: h.among.Shared}).SharedLoadings(wear, unknownSpread)
	if l == nil {
		return nil
	}
	return &Loading{l, df}
}

// of is the variance that shared errors give a weighted sum of rows, and its degrees
// of freedom (Satterthwaite 1946).
func (l *Loading) of(weights []float64) (variance, df float64) {
	if l == nil {
		return 0, inf
	}
	var sums mat.VecDense
	sums.MulVec(l.Rows.T(), mat.NewVecDense(len(weights), weights))
	below := 0.0
	for j, df := range l.DF {
		part := sums.AtVec(j) * sums.AtVec(j)
		variance += part
		below += part * part / df
	}
	if below == 0 {
		return variance, inf
	}
	return variance, variance * variance / below
}
