package readers

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// Kinds of readers have a gap between them: the density there falls below half of that
// of the smaller peak. Readers who differ by degrees have none, however their places are
// spread, and whether or not the way along them is straight. Density is that of a
// Gaussian kernel over the axes along which readers differ most.
//
// Whether a gap is more than chance is Silverman's test (1981, J. R. Stat. Soc. B 43,
// 97–99), here with gaps for his modes: the kernel is widened until less than k peaks are
// left, which gives the density without so many that is nearest to the readers, and p is
// how often readers drawn from that density show k at the same width.

const (
	leastDepth  = 0.5  // a gap is where the density is below this part of the smaller peak
	leastMass   = 0.05 // share of the readers that a peak must have for itself to be one of a kind, three at least
	mostAxes    = 3
	leastAxis   = 0.05 // share of the variance from which an axis counts
	mostWeighed = 1000 // of larger clouds so many readers are drawn by chance
	neighbours  = 8    // of each reader, between whom ways lead
	narrower    = 1.05 // from one width of the kernel to the next
	widths      = 120  // tried
)

// A terrain is the density of a cloud of few axes, as the ways that lead over it see it.
type terrain struct {
	*cloud
	ways [][2]int // the least spanning tree and each point's nearest neighbours
}

func newTerrain(c *cloud) *terrain {
	t := &terrain{cloud: c}
	has := map[[2]int]bool{}
	add := func(i, j int) {
		if way := [2]int{min(i, j), max(i, j)}; !has[way] {
			has[way] = true
			t.ways = append(t.ways, way)
		}
	}
	c.spanning(add)
	for i := range c.n {
		var near []int
		distance := func(j int) float64 { return square(c.point(i), c.point(j)) }
		for j := range c.n {
			if j == i || len(near) == neighbours && distance(j) >= distance(near[neighbours-1]) {
				continue
			}
			at, _ := slices.BinarySearchFunc(near, distance(j), func(k int, d float64) int { return cmp.Compare(distance(k), d) })
			near = slices.Insert(near, at, j)
			near = near[:min(neighbours, len(near))]
		}
		for _, j := range near {
			add(i, j)
		}
	}
	return t
}

// spanning tells the ways of the least spanning tree (Prim 1957, Bell System Technical
// Journal 36, 1389–1401).
func (c *cloud) spanning(way func(i, j int)) {
	nearest, from, in := make([]float64, c.n), make([]int, c.n), make([]bool, c.n)
	for i := range nearest {
		nearest[i] = math.Inf(1)
	}
	at := 0
	for range c.n - 1 {
		in[at] = true
		next := -1
		for j := range c.n {
			if in[j] {
				continue
			}
			if d := square(c.point(at), c.point(j)); d < nearest[j] {
				nearest[j], from[j] = d, at
			}
			if next < 0 || nearest[j] < nearest[next] {
				next = j
			}
		}
		way(from[next], next)
		at = next
	}
}

// density is that at a place, up to a factor.
func (c *cloud) density(at []float64, width float64) float64 {
	sum := 0.0
	for i := range c.n {
		if s := square(at, c.point(i)) / (2 * width * width); s < 30 {
			sum += math.Exp(-s)
		}
	}
	return sum
}

// peaks are the points of greatest density of the parts between which there are gaps. A
// part ends where it meets a higher one at leastDepth of its own peak or more.
func (t *terrain) peaks(width float64) []int {
	height := make([]float64, t.n)
	for i := range height {
		height[i] = t.density(t.point(i), width)
	}
	type way struct {
		i, j   int
		lowest float64
	}
	ways := make([]way, len(t.ways))
	between := make([]float64, t.d)
	for k, w := range t.ways {
		a, b := t.point(w[0]), t.point(w[1])
		ways[k] = way{w[0], w[1], math.Min(height[w[0]], height[w[1]])}
		if square(a, b) < width*width/4 {
			continue
		}
		for _, share := range []float64{0.25, 0.5, 0.75} {
			for j := range between {
				between[j] = a[j] + share*(b[j]-a[j])
			}
			ways[k].lowest = math.Min(ways[k].lowest, t.density(between, width))
		}
	}
	slices.SortStableFunc(ways, func(a, b way) int { return cmp.Compare(b.lowest, a.lowest) })
	peak, parent, size := make([]int, t.n), make([]int, t.n), make([]int, t.n)
	for i := range parent {
		peak[i], parent[i], size[i] = i, i, 1
	}
	root := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	enough := max(3, int(math.Ceil(leastMass*float64(t.n))))
	var out []int
	for _, w := range ways {
		high, low := root(w.i), root(w.j)
		if high == low {
			continue
		}
		if height[peak[low]] > height[peak[high]] {
			high, low = low, high
		}
		if size[low] >= enough && size[high] >= enough && w.lowest < leastDepth*height[peak[low]] {
			out = append(out, peak[low])
		}
		parent[low] = high
		size[high] += size[low]
	}
	return append(out, peak[root(0)])
}

// mainAxes gives the points along the axes on which they differ most beyond their errors.
func (c *cloud) mainAxes(between *mat.SymDense) *cloud {
	axes, sizes, total := largestFirst(between)
	d := 1
	for d < min(mostAxes, len(sizes)) && sizes[d] >= leastAxis*total {
		d++
	}
	mean, out := c.mean(), newCloud(c.n, d)
	for i := range c.n {
		for a := range d {
			out.point(i)[a] = along(c.point(i), mean, axes[a])
		}
	}
	return out
}

// gapped gives, for each number of kinds from 2 to most, how often readers without so
// many gaps show as many, and the most kinds for which that and all before it is seldom.
func (c *cloud) gapped(most int, between *mat.SymDense, o Options) (chances []float64, kinds int) {
	low := c.mainAxes(between)
	if low.n > mostWeighed {
		low = low.pick(o.draws(weighed, 0).Perm(low.n)[:mostWeighed])
	}
	t, kinds := newTerrain(low), 1
	for k := 2; k <= most; k++ {
		p := t.withoutGap(k, o)
		chances = append(chances, p)
		if p > chance {
			break
		}
		kinds = k
	}
	return chances, kinds
}

// withoutGap is how often readers of less than k kinds show k.
func (t *terrain) withoutGap(k int, o Options) float64 {
	spread := make([]float64, t.d)
	for a := range spread {
		values := make([]float64, t.n)
		for i := range values {
			values[i] = t.point(i)[a]
		}
		spread[a] = stat.StdDev(values, nil)
	}
	width := spread[0]
	for range widths {
		if len(t.peaks(width/narrower)) >= k {
			break
		}
		width /= narrower
	}
	as := make([]bool, o.References)
	each(o.References, func(b int) {
		draws := o.draws(weighed, k*1_000_000+b)
		as[b] = len(newTerrain(t.again(width, spread, draws)).peaks(width)) >= k
	})
	return float64(1+count(as)) / float64(1+len(as))
}

// again draws as many points from the density at a width, with the spread along each
// axis that the points have (Silverman 1981, section 3).
func (t *terrain) again(width float64, spread []float64, draws *rand.Rand) *cloud {
	out := newCloud(t.n, t.d)
	for i := range t.n {
		from := t.point(draws.IntN(t.n))
		for a := range t.d {
			ratio := 0.0
			if spread[a] > 0 {
				ratio = width / spread[a]
			}
			out.point(i)[a] = (from[a] + width*draws.NormFloat64()) / math.Sqrt(1+ratio*ratio)
		}
	}
	return out
}
