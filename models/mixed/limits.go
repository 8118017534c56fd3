package mixed

import (
	"fmt"
	"math"
	"strings"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// Rows that are only bounds. The latent outcome of such a row is normal as any
// other row's; what is known of it is that it lies at or below, or at or above,
// the value in the table. Its share of the likelihood, a normal probability
// inside an integral over the random effects, is approximated by expectation
// propagation (Minka 2001; Rasmussen and Williams 2006, section 3.6): the bound
// is replaced by a normal pseudo-measurement of the latent outcome whose mean
// and variance r are such that, given all other rows, the latent outcome's mean
// and variance come out as those of the truncated normal distribution. The
// pseudo-measurements make the model an ordinary one again, so that the factor,
// the restricted likelihood and its gradient serve as they are; at the fixed
// point the approximate likelihood is stationary in them, so that its gradient
// is that with the pseudo-measurements held. Without random effects or
// correlation the approximation is exact.

// A boundSide says what a row's value is.
type boundSide int8

const (
	exact boundSide = 0
	below boundSide = -1 // the outcome is at or below the value
	above boundSide = 1  // the outcome is at or above the value
)

// bounds are rows of which only a bound is known.
type bounds struct {
	silent
	limit  *float64    // of all rows; nil where a column tells
	limits string      // that column
	side   []boundSide // n; nil where no row is a bound
}

func (r *bounds) asked() bool      { return r.limit != nil || r.limits != "" }
func (r *bounds) fixesScale() bool { return true }

// bounded tells whether some row is only a bound.
func (e *residual) bounded() bool { return e.side() != nil }

// side tells of each row whether it is a bound; nil where none is.
func (e *residual) side() []boundSide { return part[*bounds](e).side }

// lay finds the rows that are bounds.
func (r *bounds) lay(l *layer, d *design) bool {
	side := make([]boundSide, d.n)
	bounds := 0
	for k, i := range l.rows {
		switch {
		case r.limit != nil:
			if l.table.Column(l.model.Outcome).Numbers[i] <= *r.limit {
				side[k] = below
				d.outcome[k] = l.model.onScale(*r.limit)
			}
		default:
			side[k] = l.sideOf(i)
		}
		if side[k] != exact {
			bounds++
		}
	}
	if r.limit != nil && l.model.logarithmic() && *r.limit <= 0 {
		l.problem("limit", fmt.Sprint(*r.limit), "a limit above zero, since scale is \"log\"", "use scale = \"identity\", or the instrument's floor as the limit")
	}
	switch {
	case bounds == 0:
		return false
	case bounds == d.n:
		l.problem(l.model.Outcome, fmt.Sprintf("%d of %d rows are bounds", bounds, d.n), "rows whose outcome is a value", "nothing but bounds cannot be fitted: is the limit right?")
	case d.n-bounds <= 2:
		l.problem(l.model.Outcome, fmt.Sprintf("%d of %d rows are bounds", bounds, d.n), "more rows whose outcome is a value", "the spread of single rows cannot be estimated from so few values: is the limit right?")
	}
	r.side = side
	d.notes = append(d.notes, fmt.Sprintf("%d of %s are censored at a limit; they enter the likelihood as such, by expectation propagation (an approximation, see the documentation).",
		bounds, wording.Plain(d.n, "row", "rows")))
	return true
}

// limitColumn is the column that tells which outcomes are bounds in the table of
// wear that a study writes.
const limitColumn = "limit"

// noteLimitsUnnamed notes that the table says of rows that they are only bounds
// while the model takes them as values.
func (l *layer) noteLimitsUnnamed(d *design) {
	c := l.table.Column(limitColumn)
	if c == nil {
		return
	}
	bounds := 0
	for _, i := range l.rows {
		switch strings.ToLower(c.Label(i)) {
		case "below", "above":
			bounds++
		case "":
		default:
			return // a column of another meaning
		}
	}
	if bounds > 0 {
		d.notes = append(d.notes, fmt.Sprintf("Column %s says of %d of %s that the value is only a bound, but the model takes it for the value, which draws effects towards nothing. If it is %s that is bounded, add limits = %q under [residual].",
			limitColumn, bounds, wording.Plain(d.n, "row", "rows"), l.model.Outcome, limitColumn))
	}
}

// onScale takes an outcome onto the model's scale.
func (m Model) onScale(v float64) float64 {
	if m.logarithmic() {
		return math.Log(v)
	}
	return v
}

func (l *layer) sideOf(row int) boundSide {
	c := l.table.Column(l.model.Residual.Limits)
	switch label := strings.ToLower(c.Label(row)); label {
	case "":
		return exact
	case "below":
		return below
	case "above":
		return above
	default:
		l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(row), Column: c.Name, Value: label,
			Expected: "below, above or nothing", Remedy: "write below where the outcome is at or under the value, above where it is at or over it, nothing where it is the value"})
		return exact
	}
}

// A pseudo holds the pseudo-measurements that stand for bounds.
type pseudo struct {
	side   []boundSide // n
	rows   []int32     // the rows that are bounds
	value  []float64
	extra  []float64 // n: variance r of the pseudo-measurement, 0 for exact rows
	left   []float64 // n: the outcome's remainder, or the pseudo-measurement
	logOut float64   // −2 Σ log of the pseudo-measurements' constants
	moved  float64   // the largest change of the last sweep
}

func newPseudo(d *design) *pseudo {
	p := &pseudo{side: d.errors.side(), extra: make([]float64, d.n), left: append([]float64(nil), d.fixed.left...)}
	for i, side := range d.errors.side() {
		if side != exact {
			p.rows = append(p.rows, int32(i))
			p.value = append(p.value, d.fixed.left[i])
			p.extra[i] = 1
		}
	}
	return p
}

// flattest is the largest variance of a pseudo-measurement, in units of the
// latent outcome's own: beyond it the bound says nothing.
const flattest = 1e12

// sweep takes each bound's row out, truncates what the others say of it, and
// makes the pseudo-measurement anew. For each bound, weight is the diagonal of
// the matrix P that projects out the fixed effects, and residual the row of P
// times the pseudo-measurements, so that the other rows predict it with mean
// left − residual/weight and variance 1/weight (Rasmussen and Williams 2006,
// equation 5.12).
func (p *pseudo) sweep(weight, residual []float64, damp float64) {
	p.logOut, p.moved = 0, 0
	for k, i := range p.rows {
		predicted := 1 / weight[k]
		mean := p.left[i] - residual[k]/weight[k]
		variance := predicted - p.extra[i]
		if !(variance > 0) {
			continue // rounding where the bound says all; the next sweep mends it
		}
		s := float64(p.side[i])
		sd := math.Sqrt(variance)
		z := s * (mean - p.value[k]) / sd
		logProbability, mills := logNormalCDF(z)
		density := p.left[i] - mean
		p.logOut -= 2*logProbability + math.Log(2*math.Pi*predicted) + density*density/predicted
		shrink := mills * (mills + z) // share of the variance that truncation takes
		value := mean + s*sd/(mills+z)
		extra := flattest * variance
		if shrink > 1/flattest {
			extra = variance * (1 - shrink) / shrink
		}
		extra = math.Max(extra, 1e-12*variance)
		// damp in the natural parameters
		tau := damp/extra + (1-damp)/p.extra[i]
		nu := damp*value/extra + (1-damp)*p.left[i]/p.extra[i]
		p.moved = math.Max(p.moved, math.Abs(tau-1/p.extra[i])*variance)
		p.moved = math.Max(p.moved, math.Abs(nu-p.left[i]/p.extra[i])*sd)
		p.extra[i] = 1 / tau
		p.left[i] = nu / tau
	}
}

// logNormalCDF gives log Φ(z) and φ(z)/Φ(z).
func logNormalCDF(z float64) (logCDF, mills float64) {
	logDensity := -0.5*z*z - 0.5*math.Log(2*math.Pi)
	if z > -30 {
		cdf := 0.5 * math.Erfc(-z/math.Sqrt2)
		return math.Log(cdf), math.Exp(logDensity) / cdf
	}
	// asymptotic series of Mills' ratio (Abramowitz and Stegun 1964, 26.2.12)
	x := 1 / (z * z)
	ratio := (1 - x*(1-3*x*(1-5*x*(1-7*x)))) / -z
	return logDensity + math.Log(ratio), 1 / ratio
}
