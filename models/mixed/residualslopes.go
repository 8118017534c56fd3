package mixed

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A residualSlopes gives the derivatives of R, without known variances, by the
// residual's parameters: R of two rows is the product of their standard deviations and
// of their correlation.
type residualSlopes struct {
	state     *residualState
	variances []float64 // by level
	near      float64
	steps     []float64 // of rows that follow each other: the correlation of each with the row before
}

func (l *likelihood) residualSlopes(at variancePoint) *residualSlopes {
	c := &residualSlopes{variances: at.variances, near: at.near}
	if l.weighing != nil {
		c.state = l.weighing.state
		if along := part[*autoregression](c.state.e); along.asked() {
			c.steps = make([]float64, len(along.gap))
			for i, gap := range along.gap {
				c.steps[i] = math.Pow(c.near, gap)
			}
		}
	}
	return c
}

// times writes the derivative of R by parameter r times rows (n × p) into out.
func (c *residualSlopes) times(r varianceParameter, rows []float64, p int, out []float64) {
	clear(out)
	runs := c.state.e.split()
	if runs == nil {
		for i := range len(rows) / p {
			if level, _ := r.residual.level(); c.state.levelOf(int32(i)) == level {
				copy(out[i*p:(i+1)*p], rows[i*p:(i+1)*p])
			}
		}
		return
	}
	for _, run := range runs {
		c.spreadOut(run, c.derivative(run, r), rows, p, out)
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

// build makes a symmetric n × n matrix from what each two rows of a run have, at the
// distance and with the correlation between them.
func (c *residualSlopes) build(run []int32, entry func(a, b int32, distance, power float64) float64) *mat.Dense {
	out := mat.NewDense(len(run), len(run), nil)
	gap := part[*autoregression](c.state.e).gap
	for a := range run {
		distance, power := 0.0, 1.0
		for b := a; b >= 0; b-- {
			v := entry(run[a], run[b], distance, power)
			out.Set(a, b, v)
			out.Set(b, a, v)
			distance += gap[run[b]]
			power *= c.steps[run[b]]
		}
	}
	return out
}

// spread is the product of two rows' standard deviations.
func (c *residualSlopes) spread(a, b int32) float64 {
	return math.Sqrt(c.variances[c.state.levelOf(a)] * c.variances[c.state.levelOf(b)])
}

// share is the power with which the variance of a level enters the product of
// two rows' standard deviations: 0, ½ or 1.
func (c *residualSlopes) share(a, b, level int32) float64 {
	out := 0.0
	for _, row := range []int32{a, b} {
		if c.state.levelOf(row) == level {
			out += 0.5
		}
	}
	return out
}

// spreadBy is the derivative of spread by the variances of levels.
func (c *residualSlopes) spreadBy(a, b int32, levels []int32) float64 {
	switch len(levels) {
	case 0:
		return c.spread(a, b)
	case 1:
		switch share := c.share(a, b, levels[0]); share {
		case 0, 1:
			return share
		default:
			return share * c.spread(a, b) / c.variances[levels[0]]
		}
	}
	one, two := c.share(a, b, levels[0]), c.share(a, b, levels[1])
	if levels[0] == levels[1] {
		two = one - 1
	}
	return one * two * c.spread(a, b) / (c.variances[levels[0]] * c.variances[levels[1]])
}

// derivative is that of a run's covariance by one parameter, or the second by two; nil
// where zero.
func (c *residualSlopes) derivative(run []int32, by ...varianceParameter) *mat.Dense {
	along, order := part[*autoregression](c.state.e), 0
	var levels []int32
	for _, p := range by {
		if level, spread := p.residual.level(); spread {
			levels = append(levels, level)
		} else {
			order++
		}
	}
	if len(levels) == 2 && len(c.variances) == 1 {
		return nil
	}
	return c.build(run, func(a, b int32, distance, power float64) float64 {
		return along.times(c.spreadBy(a, b, levels), c.near, distance, power, order)
	})
}
