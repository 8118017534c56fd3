package readers

import (
	"math"
	"math/rand/v2"
	"slices"
)

// A cloud is n points of d coordinates, one point after another.
type cloud struct {
	n, d int
	x    []float64
}

func newCloud(n, d int) *cloud { return &cloud{n: n, d: d, x: make([]float64, n*d)} }

func (c *cloud) point(i int) []float64 { return c.x[i*c.d : (i+1)*c.d] }

// pick is the cloud of some of the points, in that order.
func (c *cloud) pick(points []int) *cloud {
	out := newCloud(len(points), c.d)
	for k, i := range points {
		copy(out.point(k), c.point(i))
	}
	return out
}

// square is the squared Euclidean distance of two points.
func square(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += (v - b[i]) * (v - b[i])
	}
	return sum
}

// A partition parts a cloud into groups around medoids.
type partition struct {
	medoids []int // the point in the middle of each group
	of      []int // the group of each point
	cost    float64
}

// assign puts every point to its nearest medoid; of equally near ones, to the
// first. cost is the sum of the distances.
func (c *cloud) assign(medoids []int) *partition {
	p := &partition{medoids: medoids, of: make([]int, c.n)}
	for i := range c.n {
		best := math.Inf(1)
		for g, m := range medoids {
			if d := square(c.point(i), c.point(m)); d < best-leastGain*best || g == 0 {
				best, p.of[i] = d, g
			}
		}
		p.cost += math.Sqrt(best)
	}
	return p
}

// Clouds of up to largest points are parted exactly as Kaufman and Rousseeuw
// have it (1990, Finding Groups in Data, chapter 2); larger ones by their way for
// large data (chapter 3): medoids are sought in samples, and those that suit the
// whole cloud best are kept. Their samples have 40 + 2k points, ours more.
const (
	largest = 250
	samples = 5
	sampled = 100
)

// part parts the cloud into k groups. draws are needed for large clouds only.
func (c *cloud) part(k int, draws *rand.Rand) *partition {
	if c.n <= largest {
		return c.assign(c.around(k))
	}
	var best *partition
	for range samples {
		var in []int
		if best != nil {
			in = slices.Clone(best.medoids) // the best so far stand in every sample
		}
		taken := map[int]bool{}
		for _, m := range in {
			taken[m] = true
		}
		for len(in) < sampled {
			if i := draws.IntN(c.n); !taken[i] {
				taken[i] = true
				in = append(in, i)
			}
		}
		slices.Sort(in)
		medoids := c.pick(in).around(k)
		for g, m := range medoids {
			medoids[g] = in[m]
		}
		if p := c.assign(medoids); best == nil || p.cost < best.cost-leastGain*best.cost {
			best = p
		}
	}
	return best
}

// A swapper holds what the search for medoids needs: all distances, and for each
// point its nearest and second nearest medoid.
type swapper struct {
	n         int
	distance  []float64 // n × n
	medoids   []int
	nearest   []int     // index into medoids
	near, far []float64 // distances to the nearest and the second nearest
}

// around finds k medoids: built up one after the other, each where it lowers the
// sum of distances most, then exchanged, one pair at a time, as long as that
// lowers the sum. All exchanges are weighed at once, after Schubert and Rousseeuw
// (2021, Information Systems 101, 101804, section 3.1).
func (c *cloud) around(k int) []int {
	s := &swapper{n: c.n, distance: make([]float64, c.n*c.n), nearest: make([]int, c.n), near: make([]float64, c.n), far: make([]float64, c.n)}
	for i := range c.n {
		for j := range i {
			d := math.Sqrt(square(c.point(i), c.point(j)))
			s.distance[i*c.n+j], s.distance[j*c.n+i] = d, d
		}
	}
	s.build(k)
	for s.settle(); s.swap(); s.settle() {
	}
	return s.medoids
}

func (s *swapper) row(i int) []float64 { return s.distance[i*s.n : (i+1)*s.n] }

func (s *swapper) build(k int) {
	for i := range s.near {
		s.near[i] = math.Inf(1)
	}
	for len(s.medoids) < k {
		best, at := math.Inf(1), -1
		for c := range s.n {
			if slices.Contains(s.medoids, c) {
				continue
			}
			cost := 0.0
			for i, d := range s.row(c) {
				cost += math.Min(d, s.near[i])
			}
			if at < 0 || cost < best-leastGain*best {
				best, at = cost, c
			}
		}
		s.medoids = append(s.medoids, at)
		for i, d := range s.row(at) {
			s.near[i] = math.Min(d, s.near[i])
		}
	}
}

// settle finds each point's nearest and second nearest medoid.
func (s *swapper) settle() {
	for i := range s.n {
		s.near[i], s.far[i] = math.Inf(1), math.Inf(1)
		for g, m := range s.medoids {
			switch d := s.distance[i*s.n+m]; {
			case d < s.near[i]:
				s.far[i], s.near[i], s.nearest[i] = s.near[i], d, g
			case d < s.far[i]:
				s.far[i] = d
			}
		}
	}
}

// leastGain is the part of the sum of distances below which one is no smaller than
// another: two points in a group by themselves are equally near its middle, and
// rounding must not choose between them. The first serves.
const leastGain = 1e-9

// swap makes the best exchange of a medoid for another point; false where none
// lowers the sum of distances.
func (s *swapper) swap() bool {
	k := len(s.medoids)
	removal, change := make([]float64, k), make([]float64, k)
	total := 0.0
	for i, g := range s.nearest {
		removal[g] += s.far[i] - s.near[i]
		total += s.near[i]
	}
	best, out, in := 0.0, -1, -1
	for c := range s.n {
		if s.near[c] == 0 { // a medoid, or one's double
			continue
		}
		gain := 0.0
		copy(change, removal)
		for i, d := range s.row(c) {
			switch g := s.nearest[i]; {
			case d < s.near[i]:
				gain += d - s.near[i]
				change[g] += s.near[i] - s.far[i]
			case d < s.far[i]:
				change[g] += d - s.far[i]
			}
		}
		for g, v := range change {
			if v+gain < best-leastGain*total {
				best, out, in = v+gain, g, c
			}
		}
	}
	if in < 0 {
		return false
	}
	s.medoids[out] = in
	return true
}
