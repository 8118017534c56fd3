package mixed

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/student"
	"thumbed/models/table"
)

// Predicting says what is predicted.
type Predicting struct {
	Level float64 // of the intervals; 0.95 where 0
	// Population leaves out what is known of the groups, so that a row of a
	// known book is predicted like one of a new book.
	Population bool
}

// A Prediction is what a fit says of a row that it has not seen.
type Prediction struct {
	Row int `json:"row"` // of the table given, from 0
	// Known are the groups whose conditional modes enter; rows of any other
	// group are predicted by the fixed effects.
	Known []string `json:"known"`
	// Estimate is the mean of such rows on the model's scale: the fixed effects
	// and the known groups' modes. SE is its standard error, variance parameters
	// held; Low and High its interval.
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	DF       float64 `json:"df"` // Satterthwaite's
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
	// RowLow and RowHigh hold one new row at the level: a group not known, and
	// the row's own residual, vary besides. With a column of known measuring
	// errors among the new rows these count too.
	RowSD   float64 `json:"row_sd"`
	RowLow  float64 `json:"row_low"`
	RowHigh float64 `json:"row_high"`
	// Outcome is the mean in the outcome's own unit, and OutcomeRow the interval
	// of one new row with its median; on the identity scale they repeat the
	// numbers above. See [Fit.OutcomeMean] for the log scale.
	Outcome    Mean `json:"outcome"`
	OutcomeRow Mean `json:"outcome_row"`
}

// Predict predicts rows of a table: it must have the columns of the fixed and
// random terms (the outcome is not needed); where it names groups that the fit
// knows, their conditional modes enter, and their uncertainty with that of the
// fixed effects (Henderson 1975). Degrees of freedom are Satterthwaite's of each
// variance. Along an autocorrelation, neighbouring rows' residuals are not used.
// The error is a [*table.Fault] with everything wrong with the table.
func (f *Fit) Predict(t *table.Table, o Predicting) ([]Prediction, error) {
	if o.Level == 0 {
		o.Level = usualLevel
	}
	if !(o.Level > 0 && o.Level < 1) {
		return nil, fmt.Errorf("an interval's level is %g; expected a number between 0 and 1, such as 0.95", o.Level)
	}
	if err := f.d.checkRows(t); err != nil {
		return nil, err
	}
	p := &predictor{f: f, s: f.like.s, rows: f.newRows(t, o.Population)}
	p.differentiate()
	out := make([]Prediction, len(p.rows))
	for i := range out {
		out[i] = p.prediction(i, o.Level)
	}
	return out, nil
}

// A newRow is one row to predict.
type newRow struct {
	x, w   []float64   // row of X, and in the basis Q
	z      [][]float64 // by factor
	first  []int       // first random effect of its group by factor; −1 where not known
	level  int         // of the residual
	error  float64     // known measuring variance, on the model's scale
	known  []string
	center float64 // estimate on the model's scale
}

func (f *Fit) newRows(t *table.Table, population bool) []newRow {
	d, s := f.d, f.like.s
	index := make([]map[string]int, len(d.factors))
	for k := range d.factors {
		index[k] = d.factors[k].groupIndex()
	}
	f.like.criterion(f.phi)
	effects := f.like.trial.Modes(f.cov.beta)
	out := make([]newRow, t.Rows())
	for i := range out {
		of := d.rowFeatures(t, i)
		r := newRow{x: d.fixedRowOf(of)}
		r.w = d.fixed.toBasis(r.x)
		r.center = inner(r.w, f.cov.beta)*d.fixed.scale + inner(r.x, d.fixed.beta)
		for k := range d.factors {
			fac := &d.factors[k]
			r.z = append(r.z, d.randomRowOf(k, of))
			g := -1
			if !population || fac.spline != nil {
				g = fac.groupOf(t, i, index[k])
			}
			if g < 0 {
				r.first = append(r.first, -1)
				continue
			}
			first := s.First(k, g)
			r.first = append(r.first, first)
			r.center += inner(r.z[k], effects[first:]) * d.fixed.scale
			if fac.spline == nil {
				r.known = append(r.known, strings.Join(fac.by, groupSign)+" "+fac.groups[g])
			}
		}
		if name := d.model.Residual.Levels; name != "" {
			r.level = max(0, slices.Index(part[*levelSpreads](&d.errors).names, t.Column(name).Label(i)))
		}
		if c := t.Column(d.model.Residual.KnownSD); d.model.Residual.KnownSD != "" && c != nil && finite(c.Number(i)) {
			sd := c.Number(i)
			if d.model.logarithmic() {
				sd /= math.Exp(r.center)
			}
			r.error = sd * sd
		}
		out[i] = r
	}
	return out
}

// A predictor holds the rows' variances and their derivatives.
type predictor struct {
	f    *Fit
	s    *system
	rows []newRow

	mean, own             []float64   // variance of the mean, and of a row around it, on the model's scale
	meanSlopes, ownSlopes [][]float64 // by (φ, log σ²)
}

// variances computes the rows' variances at φ, in the unit of σ² there.
func (p *predictor) variances(phi []float64, mean, own []float64) {
	l := p.f.like
	l.criterion(phi)
	random := p.s.Effects
	v := make([]float64, random+p.s.root)
	for i, r := range p.rows {
		clear(v)
		own[i] = p.residual(r)
		for k, first := range r.first {
			if first < 0 {
				own[i] += l.termVariance(k, r.z[k])
				continue
			}
			copy(v[first:], r.z[k])
		}
		copy(v[random:], r.w)
		l.trial.Forward(v)
		mean[i] = inner(v, v)
	}
}

// residual is a row's residual variance relative to σ².
func (p *predictor) residual(r newRow) float64 {
	w := p.f.like.weighing
	if w == nil {
		return 1
	}
	h := w.state.sigma * w.state.ratio[r.level]
	return h * h
}

// termVariance is z'ΛΛ'z of a factor.
func (l *likelihood) termVariance(k int, z []float64) float64 {
	sum := 0.0
	size := l.s.factors[k].k
	for c := range size {
		x := 0.0
		for a := c; a < size; a++ {
			x += z[a] * l.trial.Lambda[k][a*size+c]
		}
		sum += x * x
	}
	return sum
}

// differentiate fills the variances and their central differences.
func (p *predictor) differentiate() {
	n := len(p.rows)
	f := p.f
	unit := math.Pow(f.sigma*f.d.fixed.scale, 2)
	p.mean, p.own = make([]float64, n), make([]float64, n)
	upMean, upOwn, downMean, downOwn := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	p.meanSlopes, p.ownSlopes = make([][]float64, n), make([][]float64, n)
	phi := append([]float64(nil), f.phi...)
	for k := range phi {
		h := differenceStep(phi[k])
		phi[k] = f.phi[k] + h
		p.variances(phi, upMean, upOwn)
		phi[k] = f.phi[k] - h
		p.variances(phi, downMean, downOwn)
		phi[k] = f.phi[k]
		for i := range n {
			p.meanSlopes[i] = append(p.meanSlopes[i], unit*(upMean[i]-downMean[i])/(2*h))
			p.ownSlopes[i] = append(p.ownSlopes[i], unit*(upOwn[i]-downOwn[i])/(2*h))
		}
	}
	p.variances(phi, p.mean, p.own)
	for i := range n {
		p.mean[i] *= unit
		p.own[i] *= unit
		if !f.like.absolute { // by log σ²
			p.meanSlopes[i] = append(p.meanSlopes[i], p.mean[i])
			p.ownSlopes[i] = append(p.ownSlopes[i], p.own[i])
		}
	}
}

// spread is the variance of a variance with these slopes.
func (p *predictor) spread(slopes []float64) float64 {
	g := mat.NewVecDense(len(slopes), slopes)
	p.f.asymptotic()
	return mat.Inner(g, p.f.cov.variance, g)
}

// prediction tells what is known of row i.
func (p *predictor) prediction(i int, level float64) Prediction {
	r := p.rows[i]
	mean, own := p.mean[i], p.own[i]
	out := Prediction{Row: i, Known: append([]string{}, r.known...), Estimate: r.center, SE: math.Sqrt(mean)}
	out.DF = degreesOf(mean, p.spread(p.meanSlopes[i]))
	half := student.Half(level, out.DF) * out.SE
	out.Low, out.High = r.center-half, r.center+half
	total := mean + own
	slopes := make([]float64, len(p.meanSlopes[i]))
	for k := range slopes {
		slopes[k] = p.meanSlopes[i][k] + p.ownSlopes[i][k]
	}
	df := degreesOf(total, p.spread(slopes))
	out.RowSD = math.Sqrt(total + r.error)
	half = student.Half(level, df) * out.RowSD
	out.RowLow, out.RowHigh = r.center-half, r.center+half
	p.carryOver(i, level, &out)
	return out
}

// carryOver fills in the outcome's own unit.
func (p *predictor) carryOver(i int, level float64, out *Prediction) {
	if !p.f.model.logarithmic() {
		out.Outcome = Mean{out.Estimate, out.Low, out.High}
		out.OutcomeRow = Mean{out.Estimate, out.RowLow, out.RowHigh}
		return
	}
	spread := p.mean[i] + p.spread(p.ownSlopes[i])/4
	middle := out.Estimate + p.own[i]/2
	half := student.Half(level, out.DF) * math.Sqrt(spread)
	out.Outcome = Mean{Estimate: math.Exp(middle - spread/2), Low: math.Exp(middle - half), High: math.Exp(middle + half)}
	out.OutcomeRow = Mean{Estimate: math.Exp(out.Estimate), Low: math.Exp(out.RowLow), High: math.Exp(out.RowHigh)}
}

// degreesOf are Satterthwaite's degrees of freedom of a variance that itself
// varies by spread.
func degreesOf(variance, spread float64) float64 {
	return math.Max(math.Min(2*variance*variance/math.Max(spread, 1e-300), manyDegrees), leastDegrees)
}

// leastDegrees are the degrees of freedom that any estimate of a variance has: it
// rests on one comparison at least.
const leastDegrees = 1

// manyDegrees of freedom make Student's t normal.
const manyDegrees = student.Many
