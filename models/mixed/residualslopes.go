package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A residualSlopes gives the derivatives of R, without known variances, by the
// residual's variances, one a level, and by its autocorrelation at distance unit.
type residualSlopes struct {
	e         *errorPart
	variances []float64 // by level
	near      float64
}

func (c *residualSlopes) level(i int32) int {
	if c.e.level == nil {
		return 0
	}
	return int(c.e.level[i])
}

// times writes the derivative of R by parameter r times rows (n × p) into out.
func (c *residualSlopes) times(r varianceParameter, rows []float64, p int, out []float64) {
	clear(out)
	if c.e.gap == nil {
		for i := range len(rows) / p {
			if c.level(int32(i)) == r.level {
				copy(out[i*p:(i+1)*p], rows[i*p:(i+1)*p])
			}
		}
		return
	}
	for _, run := range c.e.split() {
		c.spreadOut(run, c.slope(run, r), rows, p, out)
	}
}

// spreadOut writes a run's matrix times its rows into out.
func (c *residualSlopes) spreadOut(run []int32, m *mat.Dense, rows []float64, p int, out []float64) {
	if m == nil {
		return
	}
	for a, i := range run {
		to := out[int(i)*p : (int(i)+1)*p]
		for b, v := range m.RawRowView(a) {
			if v == 0 {
				continue
			}
			from := rows[int(run[b])*p:][:p]
			for k, x := range from {
				to[k] += v * x
			}
		}
	}
}

// build makes a symmetric n × n matrix from what each two rows have, at the
// distance between them.
func (c *residualSlopes) build(run []int32, entry func(a, b int, distance float64) float64) *mat.Dense {
	out := mat.NewDense(len(run), len(run), nil)
	for a := range run {
		distance := 0.0
		for b := a; b >= 0; b-- {
			v := entry(a, b, distance)
			out.Set(a, b, v)
			out.Set(b, a, v)
			if c.e.gap != nil {
				distance += c.e.gap[run[b]]
			}
		}
	}
	return out
}

// spread is the product of two rows' standard deviations.
func (c *residualSlopes) spread(a, b int32) float64 {
	return math.Sqrt(c.variances[c.level(a)] * c.variances[c.level(b)])
}

// share is the power with which the variance of a level enters the product of
// two rows' standard deviations: 0, ½ or 1.
func (c *residualSlopes) share(a, b int32, level int) float64 {
	out := 0.0
	if c.level(a) == level {
		out += 0.5
	}
	if c.level(b) == level {
		out += 0.5
	}
	return out
}

// slope is the derivative of the cell's covariance by parameter r, nil where
// zero.
func (c *residualSlopes) slope(run []int32, r varianceParameter) *mat.Dense {
	if r.kind == autocorrelation {
		return c.build(run, func(a, b int, distance float64) float64 {
			if distance == 0 {
				return 0
			}
			return c.spread(run[a], run[b]) * distance * math.Pow(c.near, distance-1)
		})
	}
	return c.build(run, func(a, b int, distance float64) float64 {
		return c.byVariance(run[a], run[b], r.level) * math.Pow(c.near, distance)
	})
}

// byVariance is the derivative of spread by the variance of a level.
func (c *residualSlopes) byVariance(a, b int32, level int) float64 {
	share := c.share(a, b, level)
	switch share {
	case 0:
		return 0
	case 1:
		return 1
	}
	return share * c.spread(a, b) / c.variances[level]
}

// curve is the second derivative of the cell's covariance by parameters r and
// u, nil where zero.
func (c *residualSlopes) curve(run []int32, r, u varianceParameter) *mat.Dense {
	if c.e.gap == nil {
		return nil
	}
	switch {
	case r.kind == autocorrelation && u.kind == autocorrelation:
		return c.build(run, func(a, b int, distance float64) float64 {
			if distance == 0 || distance == 1 {
				return 0
			}
			return c.spread(run[a], run[b]) * distance * (distance - 1) * math.Pow(c.near, distance-2)
		})
	case u.kind == autocorrelation:
		return c.curve(run, u, r)
	case r.kind == autocorrelation:
		return c.build(run, func(a, b int, distance float64) float64 {
			if distance == 0 {
				return 0
			}
			return c.byVariance(run[a], run[b], u.level) * distance * math.Pow(c.near, distance-1)
		})
	case len(c.variances) == 1:
		return nil
	}
	return c.build(run, func(a, b int, distance float64) float64 {
		one, two := c.share(run[a], run[b], r.level), c.share(run[a], run[b], u.level)
		if r.level == u.level {
			two = one - 1
		}
		return one * two * c.spread(run[a], run[b]) / (c.variances[r.level] * c.variances[u.level]) * math.Pow(c.near, distance)
	})
}
