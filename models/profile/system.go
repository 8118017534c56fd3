package profile

import (
	"math"
	"slices"

	"thumbed/models/readings"
)

// The smoother's unknowns are the smooth z at every place of the grid, the
// level of every group, written (ω/σ)b so that b has the same variance σ² as
// the second differences of z, and what a picture adds, β. Points of weight w at
// a place and in a group give, times σ², the equations
//
//	⎛σ²W + D'D      σω G        σ² P   ⎞ ⎛z⎞   ⎛σ² right⎞
//	⎜  σω G'     ω² Σ w + 1     σω Q   ⎟ ⎜b⎟ = ⎜σω right⎟
//	⎝  σ² P'        σω Q'     σ² Σ w_P ⎠ ⎝β⎠   ⎝σ² right⎠
//
// with D the second differences, G the weights by place and group, and P and Q
// the weights of points with a picture by place and by group. A group's
// level stands in the order after the last of its places: its row of the factor
// then runs over its own places alone, and every other row holds two or three
// entries beside the diagonal. The cost is linear in the places; only a text
// that is broken off and taken up again holds its row open over what lies
// between. β comes last of all, in a single row from the first picture on, and
// without pictures not at all. At ω = 0, and without groups, the smooth is left
// by itself.

// A system is the smoother's equations for one set of points, refilled at
// every trial of the sizes.
type system struct {
	points  []point
	smooth  []int // of each place of the grid, the unknown that is the smooth there
	group   []int // of each place, the unknown that is its group's level; −1 without one
	levels  []int // the unknowns that are levels
	picture int   // the unknown that is what a picture adds; −1 without
	limits  bool  // some points are only bounds
	unknown []float64
	weight  []float64 // one a point: curvature of its log likelihood
	slope   []float64 // one a point: slope of its log likelihood
	logp    float64   // of all points
	logDet  float64   // of the equations
	right   []float64
	laid    []float64 // the part of the equations that holds at all sizes
	matrix  *skyline  // the equations, then their factor
	ratio   float64   // ω/σ
	sizes
}

// Sizes are the standard deviations that the smoother rests on.
type sizes struct {
	tau   float64 // of pages about their expectation
	sigma float64 // of the smooth's second differences
	omega float64 // of the groups' levels
}

// newSystem lays out the unknowns for a grid of places whose groups are
// numbered from 0; −1 is a place without group. Where points have pictures, some
// of the numbers among them must and some must not.
func newSystem(points []point, groups []int) *system {
	s := &system{points: points, smooth: make([]int, len(groups)), group: make([]int, len(groups))}
	opening, last := map[int]int{}, map[int]int{}
	for place := len(groups) - 1; place >= 0; place-- {
		g := groups[place]
		opening[g] = place
		if _, known := last[g]; !known {
			last[g] = place
		}
	}
	level := map[int]int{-1: -1}
	var first []int
	for place, g := range groups {
		s.smooth[place] = len(first)
		first = append(first, s.smooth[max(0, place-2)])
		if g >= 0 && place == last[g] {
			level[g] = len(first)
			s.levels = append(s.levels, len(first))
			first = append(first, s.smooth[opening[g]])
		}
	}
	for place, g := range groups {
		s.group[place] = level[g]
	}
	s.picture = -1
	if place := firstPicture(points); place >= 0 {
		s.picture = len(first)
		first = append(first, s.smooth[place])
	}
	s.unknown, s.right = make([]float64, len(first)), make([]float64, len(first))
	s.weight, s.slope = make([]float64, len(points)), make([]float64, len(points))
	s.matrix = newSkyline(first)
	s.lay()
	for _, p := range points {
		s.limits = s.limits || p.limit != readings.Measured
	}
	return s
}

// firstPicture is the first place of a point with a picture, −1 without one.
func firstPicture(points []point) int {
	first := -1
	for _, p := range points {
		if p.picture && (first < 0 || p.at < first) {
			first = p.at
		}
	}
	return first
}

// Newton's steps stop where no unknown moves by more than this part of a page's
// standard deviation.
const (
	settled    = 1e-9
	mostNewton = 60
)

// solve finds the unknowns of greatest penalised likelihood at the given sizes,
// by Newton's method: one step where every page is a number. It reports whether
// it succeeded.
func (s *system) solve(at sizes) bool {
	s.sizes, s.ratio = at, at.omega/at.sigma
	s.start()
	for range mostNewton {
		if !s.factorise() {
			return false
		}
		s.step()
		s.evaluate()
		if !s.limits {
			return true
		}
		if s.moved() < settled*s.tau {
			return s.factorise()
		}
	}
	return false
}

// start takes every bound as a number at first.
func (s *system) start() {
	clear(s.unknown)
	for i := range s.points {
		p := &s.points[i]
		v := s.tau*s.tau + p.variance
		s.weight[i], s.slope[i] = 1/v, p.value/v
	}
}

// mean is the expectation at a place without a picture: the smooth and the level
// of its group.
func (s *system) mean(place int) float64 {
	if g := s.group[place]; g >= 0 {
		return s.unknown[s.smooth[place]] + s.ratio*s.unknown[g]
	}
	return s.unknown[s.smooth[place]]
}

// expected is the expectation of a point, with its picture where it has one.
func (s *system) expected(p *point) float64 {
	if p.picture {
		return s.mean(p.at) + s.unknown[s.picture]
	}
	return s.mean(p.at)
}

// evaluate takes each point's log likelihood, slope and curvature at the
// present unknowns.
func (s *system) evaluate() {
	squares, ofBounds, variances := 0.0, 0.0, newProduct()
	for i := range s.points {
		p := &s.points[i]
		z, v := s.expected(p), s.tau*s.tau+p.variance
		if p.limit != readings.Measured {
			logp, slope, curvature := support(p, z, v)
			ofBounds += logp
			s.slope[i], s.weight[i] = slope, curvature
			continue
		}
		r, w := p.value-z, 1/v
		squares += r * r * w
		variances.times(2 * math.Pi * v)
		s.slope[i], s.weight[i] = r*w, w
	}
	s.logp = ofBounds - 0.5*(squares+variances.log())
}

// lay writes the part of the equations that holds at all sizes: D'D and the
// ones of the levels.
func (s *system) lay() {
	m := s.matrix
	for i := range len(s.smooth) - 2 { // the difference z_i − 2 z_i+1 + z_i+2
		a, b, c := s.smooth[i], s.smooth[i+1], s.smooth[i+2]
		m.add(a, a, 1)
		m.add(b, a, -2)
		m.add(c, a, 1)
		m.add(b, b, 4)
		m.add(c, b, -2)
		m.add(c, c, 1)
	}
	for _, g := range s.levels {
		m.add(g, g, 1)
	}
	s.laid = slices.Clone(m.data)
}

// factorise writes the equations at the present weights and factorises them.
func (s *system) factorise() (ok bool) {
	m := s.matrix
	copy(m.data, s.laid)
	for i := range s.points {
		p, w := &s.points[i], s.weight[i]
		z := s.smooth[p.at]
		m.data[m.offset[z]+z] += s.sigma * s.sigma * w
		if g := s.group[p.at]; g >= 0 {
			m.data[m.offset[g]+z] += s.sigma * s.omega * w
			m.data[m.offset[g]+g] += s.omega * s.omega * w
		}
		if p.picture {
			s.addPicture(p, w)
		}
	}
	s.logDet, ok = m.factorise()
	return ok
}

// addPicture adds a point of the given weight to the row of pictures.
func (s *system) addPicture(p *point, w float64) {
	b := s.picture
	s.matrix.add(b, s.smooth[p.at], s.sigma*s.sigma*w)
	if g := s.group[p.at]; g >= 0 {
		s.matrix.add(b, g, s.sigma*s.omega*w)
	}
	s.matrix.add(b, b, s.sigma*s.sigma*w)
}

// step moves the unknowns to the solution of the present equations; where they
// were before is left in right.
func (s *system) step() {
	clear(s.right)
	for i := range s.points {
		p := &s.points[i]
		s.push(s.right, p, s.weight[i]*s.expected(p)+s.slope[i])
	}
	s.matrix.solve(s.right)
	s.unknown, s.right = s.right, s.unknown
}

// share gives the loads of the levels and of what a picture adds on the errors that
// points share: what the smoother makes of the points' own loads, as it would of
// their values.
func (s *system) share(out *smoothed) {
	if len(s.points) == 0 || s.points[0].shared == nil {
		return
	}
	kept := s.unknown
	defer func() { s.unknown = kept }()
	out.sharedLevel = make([][]load, len(s.smooth))
	for j, of := range s.points[0].shared {
		right := make([]float64, len(kept))
		for i := range s.points {
			p := &s.points[i]
			s.push(right, p, s.weight[i]*p.shared[j].weight)
		}
		s.matrix.solve(right)
		s.unknown = right
		for place := range s.smooth {
			out.sharedLevel[place] = append(out.sharedLevel[place], load{s.mean(place), of.df})
		}
		if s.picture >= 0 {
			out.sharedPicture = append(out.sharedPicture, load{s.unknown[s.picture], of.df})
		}
	}
}

// push adds what a point asks for to the right side of the equations.
func (s *system) push(right []float64, p *point, r float64) {
	right[s.smooth[p.at]] += s.sigma * s.sigma * r
	if g := s.group[p.at]; g >= 0 {
		right[g] += s.sigma * s.omega * r
	}
	if p.picture {
		right[s.picture] += s.sigma * s.sigma * r
	}
}

// moved is the greatest move of the smooth, of a level or of what a picture adds
// in the last step.
func (s *system) moved() float64 {
	moved := 0.0
	for _, z := range s.smooth {
		moved = math.Max(moved, math.Abs(s.unknown[z]-s.right[z]))
	}
	for _, g := range s.levels {
		moved = math.Max(moved, s.ratio*math.Abs(s.unknown[g]-s.right[g]))
	}
	if b := s.picture; b >= 0 {
		moved = math.Max(moved, math.Abs(s.unknown[b]-s.right[b]))
	}
	return moved
}

// criterion is −2 log restricted likelihood at the unknowns last solved for:
// with A the matrix of the equations and f the number of fixed effects, 2 for the
// straight line and, with pictures, 1 for what they add,
//
//	−2 Σ log p_i + (z'D'Dz + b'b)/σ² + log|A| − f log σ² − f log 2π
//
// A is σ² times the information, which log|A| counts once for every unknown, but
// of these f have no prior variance σ² to weigh against it. With the straight
// line written as 1 and the position, log|X'X| of the line cancels log|DD'| of
// the prior, so this is the usual restricted likelihood of the mixed model with
// the line and the picture fixed, bends and levels random (n − f times log 2π in
// all). What the levels share with the fixed effects is thereby counted once,
// with these: the likelihood of ω is that of the contrasts free of them.
func (s *system) criterion() float64 {
	rough := 0.0
	for i := range len(s.smooth) - 2 {
		d := s.unknown[s.smooth[i]] - 2*s.unknown[s.smooth[i+1]] + s.unknown[s.smooth[i+2]]
		rough += d * d
	}
	for _, g := range s.levels {
		rough += s.unknown[g] * s.unknown[g]
	}
	fixed := 2.0
	if s.picture >= 0 {
		fixed++
	}
	return -2*s.logp + rough/(s.sigma*s.sigma) + s.logDet - 2*fixed*math.Log(s.sigma) - fixed*math.Log(2*math.Pi)
}

// An uncertainty is what the unknowns' errors make of the expectations, as
// variances.
type uncertainty struct {
	level   []float64 // one a place: of a page without a picture there
	page    []float64 // one a point: of that page, with its picture where it has one
	picture float64   // of what a picture adds; 0 without
}

// uncertainty is that of the unknowns last solved for.
func (s *system) uncertainty() uncertainty {
	inv := s.matrix.invert()
	out := uncertainty{level: make([]float64, len(s.smooth)), page: make([]float64, len(s.points))}
	for place, z := range s.smooth {
		v := inv.at(z, z)
		if g := s.group[place]; g >= 0 {
			v += s.ratio * (2*inv.at(g, z) + s.ratio*inv.at(g, g))
		}
		out.level[place] = s.sigma * s.sigma * v
	}
	if b := s.picture; b >= 0 {
		out.picture = s.sigma * s.sigma * inv.at(b, b)
	}
	for i := range s.points {
		p := &s.points[i]
		out.page[i] = out.level[p.at]
		if b := s.picture; p.picture {
			with := inv.at(b, s.smooth[p.at])
			if g := s.group[p.at]; g >= 0 {
				with += s.ratio * inv.at(b, g)
			}
			out.page[i] += 2*s.sigma*s.sigma*with + out.picture
		}
	}
	return out
}
