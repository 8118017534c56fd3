package mixed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"thumbed/models/table"
)

// Parameters are those of a model that outcomes are drawn from: those of a
// fit, or assumed ones. All are on the model's scale.
type Parameters struct {
	// Fixed are the fixed effects by the names of [Fit.Fixed]; those not named
	// are zero.
	Fixed map[string]float64 `json:"fixed" unit:"of the outcome"` // fixed effects by their terms; those not named are zero
	// Random are the model's random terms in their order: SD by Terms, and
	// Correlation (none where nil). Groups do not matter.
	Random []RandomFit `json:"random"` // the random terms, in the order of the model
	// Smooth are the model's curves in their order: the standard deviation of
	// their bends.
	Smooth []SmoothFit `json:"smooth,omitempty"` // the curves, in the order of the model
	// Residual is the spread of single rows, with its correlation at distance 1
	// where the model has one and the spread of each level where these differ.
	Residual ResidualFit `json:"residual"` // the spread of single rows
}

// Estimates gives the fit's parameters, for drawing outcomes that are like its own.
func (f *Fit) Estimates() Parameters {
	t := Parameters{Fixed: map[string]float64{}, Random: f.Random, Smooth: f.Smooth, Residual: f.Residual}
	for _, c := range f.Fixed {
		t.Fixed[c.Term] = c.Estimate
	}
	return t
}

// Simulator lays the model over a table, which needs its columns but no outcome.
// Measuring errors and limits of the model are left to those who draw: an
// outcome drawn is the latent value. The error is a [*table.Fault] where the
// table does not fit the model, and says which parameter the truth lacks.
func (m Model) Simulator(t *table.Table, truth Parameters) (*Simulator, error) {
	m.Scale, m.Residual.KnownSD, m.Residual.Limit, m.Residual.Limits, m.Residual.Offsets = "", "", nil, "", nil
	m.Outcome = "outcome to draw"
	columns := append(slices.Clone(t.Columns()), table.Numbers(m.Outcome, placeholders(t.Rows())))
	t, err := table.New(columns...)
	if err != nil {
		return nil, err
	}
	d, err := newDesign(m, t)
	if err != nil {
		return nil, err
	}
	s := d.newSimulator(truth.Residual.SD)
	s.mean = d.fixedMeans(truth.Fixed)
	for k := range d.factors {
		lambda, err := d.factors[k].root(truth)
		if err != nil {
			return nil, err
		}
		s.lambda = append(s.lambda, lambda)
	}
	return s, s.state.take(truth.Residual)
}

// placeholders are outcomes that no fixed effect reproduces; only that they are
// there matters.
func placeholders(n int) []float64 {
	r := rand.New(rand.NewPCG(0, 0))
	out := make([]float64, n)
	for i := range out {
		out[i] = r.NormFloat64()
	}
	return out
}

// Rows are the table's rows, from 0, that outcomes are drawn for: those with a
// value in every column of the model.
func (s *Simulator) Rows() []int { return s.d.rows }

// fixedMeans is Xβ by row.
func (d *design) fixedMeans(effects map[string]float64) []float64 {
	p := d.fixed.p
	inBasis := make([]float64, p) // Rβ, since X = QR
	for j, name := range d.fixed.names {
		for k := range j + 1 {
			inBasis[k] += d.fixed.r[k*p+j] * effects[name]
		}
	}
	out := make([]float64, d.n)
	for i := range out {
		out[i] = inner(inBasis, d.fixed.q[i*p:(i+1)*p])
	}
	return out
}

// root is the lower triangle whose square is the covariance matrix of what
// varies between the factor's groups, for its scaled columns, k × k by rows.
func (f *factor) root(truth Parameters) ([]float64, error) {
	covariance := make([]float64, f.k*f.k)
	if f.spline != nil {
		if f.smooth >= len(truth.Smooth) {
			return nil, fmt.Errorf("no spread is given of the bends of curve %d of the model", f.smooth+1)
		}
		for a := range f.k {
			covariance[a*f.k+a] = math.Pow(truth.Smooth[f.smooth].SD*f.unit(a), 2)
		}
		return semidefiniteRoot(covariance, f.k), nil
	}
	for _, v := range f.blocks {
		if v.random >= len(truth.Random) {
			return nil, fmt.Errorf("no spread is given of random term %d of the model", v.random+1)
		}
		given := truth.Random[v.random]
		place := make([]int, v.size)
		for a := range place {
			name := f.z[v.first+a].name
			if place[a] = slices.Index(given.Terms, name); place[a] < 0 {
				return nil, fmt.Errorf("no spread is given of the term %s of random term %d of the model", name, v.random+1)
			}
		}
		for a, i := range place {
			for b, j := range place {
				correlation := 0.0
				switch {
				case a == b:
					correlation = 1
				case given.Correlation != nil:
					correlation = given.Correlation[i][j]
				}
				covariance[(v.first+a)*f.k+v.first+b] = correlation * given.SD[i] * given.SD[j] * f.unit(v.first+a) * f.unit(v.first+b)
			}
		}
	}
	return semidefiniteRoot(covariance, f.k), nil
}

// semidefiniteRoot is the Cholesky factor of a covariance matrix, k × k by rows,
// whose variances may be zero and whose correlations may be ±1: columns that
// have no variance left are zero (Golub and Van Loan 2013, section 4.2.8).
func semidefiniteRoot(covariance []float64, k int) []float64 {
	root := make([]float64, k*k)
	for a := range k {
		for b := range a + 1 {
			rest := covariance[a*k+b] - inner(root[a*k:a*k+b], root[b*k:b*k+b])
			switch {
			case a == b && rest > 1e-12*covariance[a*k+a]:
				root[a*k+a] = math.Sqrt(rest)
			case a != b && root[b*k+b] > 0:
				root[a*k+b] = rest / root[b*k+b]
			}
		}
	}
	return root
}

// take sets the residual's structure to given parameters; the standard deviation
// itself is the unit.
func (s *residualState) take(given ResidualFit) error {
	for _, part := range s.e.present {
		if err := part.take(s, given); err != nil {
			return err
		}
	}
	return nil
}
