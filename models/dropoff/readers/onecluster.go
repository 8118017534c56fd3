package readers

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// Readers of one kind have curves that are normal about one mean curve, with a
// covariance T between readers and, beside it, each curve's own errors of
// measuring C_i. They are what the groups found are set against: as Liu, Hayes,
// Nobel and Marron (2008, Journal of the American Statistical Association 103,
// 1281–1293) have it, whether the points part more clearly than a single normal
// cloud would; here with the errors known for each point.

// A oneCluster draws readers of one kind.
type oneCluster struct {
	mean    []float64
	between *mat.SymDense // T, by moments: where errors are large some of it may be negative
	root    *mat.Dense    // of T
	errors  []*mat.Dense  // root of each C_i; nil where the curve is known
}

// oneClusterOf estimates T by moments: the covariance of the curves less the mean
// of the C_i, what is negative of it taken as nothing.
func (c *cloud) oneClusterOf(errors []*mat.Dense) *oneCluster {
	total := mat.DenseCopyOf(c.covariance())
	var own mat.Dense
	for _, r := range errors {
		if r != nil {
			own.Mul(r, r.T())
			own.Scale(1/float64(c.n), &own)
			total.Sub(total, &own)
		}
	}
	between := symmetric(total)
	return &oneCluster{mean: c.mean(), between: between, root: root(between), errors: errors}
}

func (o *oneCluster) draw(draws *rand.Rand) *cloud {
	c := newCloud(len(o.errors), len(o.mean))
	for i, r := range o.errors {
		copy(c.point(i), o.mean)
		addNormal(c.point(i), o.root, draws)
		addNormal(c.point(i), r, draws)
	}
	return c
}

// addNormal adds a normal vector of covariance R R'; nothing for nil.
func addNormal(to []float64, r *mat.Dense, draws *rand.Rand) {
	if r == nil {
		return
	}
	_, k := r.Dims()
	for j := range k {
		z := draws.NormFloat64()
		for i := range to {
			to[i] += z * r.At(i, j)
		}
	}
}

// parts is how much of the sum of squares is left within k groups, as a
// logarithm.
func (c *cloud) parts(k int, draws *rand.Rand) float64 {
	return math.Log(c.scatter(c.part(k, draws)) / c.scatter(c.part(1, draws)))
}

// likeOneCluster is the chance that readers of one kind part into k groups as
// clearly as these do: (1 + how many draws do) / (1 + draws) (Davison and Hinkley
// 1997, Bootstrap Methods and their Application, section 4.2).
func (c *cloud) likeOneCluster(k int, kind *oneCluster, o Options) float64 {
	found := c.parts(k, o.draws(partings, k))
	as := make([]bool, o.References)
	each(o.References, func(b int) {
		draws := o.draws(kinds, b)
		as[b] = kind.draw(draws).parts(k, draws) <= found
	})
	return float64(1+count(as)) / float64(1+len(as))
}

func count(as []bool) int {
	n := 0
	for _, yes := range as {
		if yes {
			n++
		}
	}
	return n
}
