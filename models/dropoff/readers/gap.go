package readers

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// A Gap tells how much closer the points of k groups lie together than those of
// a cloud without groups.
type Gap struct {
	Groups   int     `json:"groups"`   // number of groups
	LogW     float64 `json:"log_w"`    // logarithm of the sum of squares within groups
	Expected float64 `json:"expected"` // its mean over references without groups
	Gap      float64 `json:"gap"`      // expected less log_w
	SE       float64 `json:"gap_se"`   // its standard error
}

// scatter is W of Tibshirani, Walther and Hastie (2001), equation 2, with squared
// Euclidean distances: the sum of squares about the means of the groups.
func (c *cloud) scatter(p *partition) float64 {
	k := len(p.medoids)
	means, count := newCloud(k, c.d), make([]float64, k)
	for i, g := range p.of {
		count[g]++
		for j, v := range c.point(i) {
			means.point(g)[j] += v
		}
	}
	for g := range k {
		for j := range c.d {
			means.point(g)[j] /= math.Max(count[g], 1)
		}
	}
	sum := 0.0
	for i, g := range p.of {
		sum += square(c.point(i), means.point(g))
	}
	return sum
}

// A box draws clouds without groups: points uniform over a box along the
// principal axes of a cloud (Tibshirani, Walther and Hastie 2001, section 3, b).
type box struct {
	n         int
	mean      []float64
	axes      [][]float64
	low, high []float64 // along the axes
}

func (c *cloud) box() *box {
	b := &box{n: c.n, mean: c.mean(), low: make([]float64, c.d), high: make([]float64, c.d)}
	b.axes, _ = principal(c.covariance())
	for j, axis := range b.axes {
		b.low[j], b.high[j] = math.Inf(1), math.Inf(-1)
		for i := range c.n {
			place := along(c.point(i), b.mean, axis)
			b.low[j], b.high[j] = math.Min(b.low[j], place), math.Max(b.high[j], place)
		}
	}
	return b
}

func (b *box) draw(draws *rand.Rand) *cloud {
	c := newCloud(b.n, len(b.mean))
	for i := range b.n {
		copy(c.point(i), b.mean)
		for j, axis := range b.axes {
			place := b.low[j] + (b.high[j]-b.low[j])*draws.Float64()
			for a, v := range axis {
				c.point(i)[a] += place * v
			}
		}
	}
	return c
}

func (c *cloud) mean() []float64 {
	mean := make([]float64, c.d)
	for i := range c.n {
		for a, v := range c.point(i) {
			mean[a] += v / float64(c.n)
		}
	}
	return mean
}

func (c *cloud) covariance() *mat.SymDense {
	cov := mat.NewSymDense(c.d, nil)
	stat.CovarianceMatrix(cov, mat.NewDense(c.n, c.d, c.x), nil)
	return cov
}

// gaps weighs 1 to most groups.
func (c *cloud) gaps(most int, o Options) []Gap {
	out := make([]Gap, most)
	reference := make([][]float64, o.References)
	ground := c.box()
	each(o.References, func(b int) {
		draws := o.draws(references, b)
		drawn := ground.draw(draws)
		reference[b] = make([]float64, most)
		for k := range most {
			reference[b][k] = math.Log(drawn.scatter(drawn.part(k+1, draws)))
		}
	})
	for k := range most {
		g := &out[k]
		g.Groups = k + 1
		g.LogW = math.Log(c.scatter(c.part(k+1, o.draws(partings, k+1))))
		of := make([]float64, o.References)
		for b := range of {
			of[b] = reference[b][k]
		}
		var sd float64
		g.Expected, sd = stat.PopMeanStdDev(of, nil)
		g.Gap = g.Expected - g.LogW
		g.SE = sd * math.Sqrt(1+1/float64(o.References))
	}
	return out
}

// chosen is the number of groups: the least whose gap is within one standard
// error of the next one's (Tibshirani, Walther and Hastie 2001, section 3, step
// 3); the last where none is.
func chosen(gaps []Gap) int {
	for k := range len(gaps) - 1 {
		if gaps[k].Gap >= gaps[k+1].Gap-gaps[k+1].SE {
			return gaps[k].Groups
		}
	}
	return len(gaps)
}
