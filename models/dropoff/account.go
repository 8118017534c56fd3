package dropoff

import "math"

// The accounts that may be given of a series.
const (
	NoChange   = "no change"   // one level
	Steady     = "steady"      // one line, rising or falling
	BrokenLine = "broken line" // two lines that meet
	Steps      = "steps"       // levels, abrupt changes between them
)

// An Account is one way to describe a series.
type Account struct {
	Name string
	// Criterion is how much better it is than no change, on the scale of the
	// modified Bayesian information criterion; 0 for no change.
	Criterion float64
	// Probability is its share of the probability of all four, as the criteria
	// give it, all alike beforehand.
	Probability float64
	Places      []int     // last row before each change or break, from 1
	Fitted      []float64 // what it expects of each row
}

// A lineup fits the four accounts of a series for one correlation of the noise.
// Lines are fitted to rows given the row before, as segments are, with the noise
// going on through a break.
type lineup struct {
	search
	by     criterion
	rho    float64   // correlation of the noise
	span   float64   // from the first row's position to the last's
	at     []float64 // places of the rows, scaled to run from 0 to 1
	shares []float64 // of row i−1 that is expected in row i, from 1
}

func newLineup(s Series, v noise, q search) lineup {
	l := lineup{search: q, by: newCriterion(q, s.SE != nil), rho: v.rho, at: make([]float64, q.n+1), shares: make([]float64, q.n+1)}
	l.span = s.position(q.n) - s.position(1)
	for i := 1; i <= q.n; i++ {
		l.at[i] = (s.position(i) - s.position(1)) / l.span
		l.shares[i], _ = v.link(s, i)
	}
	return l
}

// columns of a row: the constant, the place and the value, each less its share
// in the row before, over the standard deviation of the rest.
type columns struct{ constant, place, value float64 }

func (l lineup) columns(i int) columns {
	link := l.link[i]
	root := math.Sqrt(link.a) // 1 − share over the standard deviation
	at := l.at[i]
	if i > 1 {
		at = (at - l.shares[i]*l.at[i-1]) / (1 - l.shares[i])
	}
	return columns{root, root * at, link.b / root}
}

// moments are sums of squares and products of the columns over some rows, in
// the order of the names.
type moments struct{ cc, cp, cv, pp, pv, vv float64 }

func (m *moments) add(c columns) {
	m.cc += c.constant * c.constant
	m.cp += c.constant * c.place
	m.cv += c.constant * c.value
	m.pp += c.place * c.place
	m.pv += c.place * c.value
	m.vv += c.value * c.value
}

// A line is the least-squares fit of the value on constant and place.
type line struct {
	moments
	det, base, slope, misfit float64
}

func newLine(m moments) line {
	l := line{moments: m, det: m.cc*m.pp - m.cp*m.cp}
	l.base = (m.pp*m.cv - m.cp*m.pv) / l.det
	l.slope = (m.cc*m.pv - m.cp*m.cv) / l.det
	l.misfit = max(m.vv-l.base*m.cv-l.slope*m.pv, 0)
	return l
}

// along is what constant and place explain of one column's product with
// another, both given by their products with constant and place.
func (l line) along(ac, ap, bc, bp float64) float64 {
	return (l.pp*ac*bc - l.cp*(ac*bp+ap*bc) + l.cc*ap*bp) / l.det
}

// bend is the change of slope that a break adds to a line: later are the
// moments of the rows after it, at its place. own is what is left of the column
// "place beyond the break" once constant and place are taken out.
func (l line) bend(later moments, at float64) (change, own, misfit float64) {
	c, p, v := later.cp-at*later.cc, later.pp-at*later.cp, later.pv-at*later.cv
	own = p - at*c - l.along(c, p, c, p)
	left := v - l.along(c, p, l.cv, l.pv)
	return left / own, own, max(l.misfit-left*left/own, 0)
}

// score is the criterion of a line with p coefficients and breaks places, from
// its misfit and the determinant of its columns' products: as that of levels,
// whose determinant is the product of their precisions. Beforehand the rise over
// the whole series and the height of a bend over the chord between the series'
// ends are flat in units of the noise, and breaks lie anywhere along it.
func (l lineup) score(p, breaks int, misfit, det float64) float64 {
	n := float64(l.n)
	return l.by.evidence(p-1, misfit) - (l.logs+math.Log(det)-float64(p)*math.Log(l.weight/n)-math.Log(n))/2 -
		float64(breaks)*math.Log(n)
}

// leastOwn is the share of a column that must be its own for its effect to be
// told from those of others.
const leastOwn = 1e-9

// leastBent is the fewest rows on either side of a bend, that at which the lines
// meet counted in: with six no row tells more than about half of a slope that
// starts at the bend ((m−1)² over 1² + 2² + … + (m−1)²), so that a single row out
// of line at an end of the series is not taken for a bend.
const leastBent = 6

// lines gives the accounts of one line and of two that meet.
func (l lineup) lines() (steady, broken Account) {
	one := newLine(l.momentsAfter(0))
	steady = Account{Name: Steady, Criterion: l.score(2, 0, one.misfit, one.det)}
	broken = Account{Name: BrokenLine, Criterion: -inf}
	var later moments
	least, last := max(l.minLength, leastBent), l.n-max(l.minLength, leastBent-1)
	for s := l.n - 1; s >= least; s-- {
		later.add(l.columns(s + 1))
		if s > last || !l.free[s] {
			continue
		}
		_, own, misfit := one.bend(later, l.at[s])
		if own < leastOwn*one.pp {
			continue
		}
		height := l.at[s] * (1 - l.at[s])
		if score := l.score(3, 1, misfit, one.det*own/(height*height)); score > broken.Criterion {
			broken.Criterion, broken.Places = score, []int{s}
		}
	}
	return steady, broken
}

// momentsAfter are the moments of the rows after row s.
func (l lineup) momentsAfter(s int) moments {
	var m moments
	for i := s + 1; i <= l.n; i++ {
		m.add(l.columns(i))
	}
	return m
}

// fitted is what an account expects of each row.
func (l lineup) fitted(a Account) []float64 {
	if a.Name == NoChange || a.Name == Steps {
		return l.stepped(a.Places)
	}
	one := newLine(l.momentsAfter(0))
	at, change := 0.0, 0.0
	if a.Name == BrokenLine {
		s := a.Places[0]
		at = l.at[s]
		later := l.momentsAfter(s)
		change, _, _ = one.bend(later, at)
		// The bend taken out of the value, the rest is the line.
		m := one.moments
		m.cv -= change * (later.cp - at*later.cc)
		m.pv -= change * (later.pp - at*later.cp)
		one = newLine(m)
	}
	out := make([]float64, l.n)
	for i := range out {
		x := l.at[i+1]
		out[i] = l.centre + one.base + one.slope*x + change*max(x-at, 0)
	}
	return out
}

// levels gives the accounts of one level and of the best steps, up to
// alarmChanges of them.
func (l lineup) levels() (none, steps Account) {
	steps = Account{Name: Steps, Criterion: -inf}
	l.path(func(k int, places []int) bool {
		score := l.by.of(places)
		switch {
		case k == 0:
			none = Account{Name: NoChange, Criterion: score, Places: places}
		case score > steps.Criterion:
			steps.Criterion, steps.Places = score, places
		}
		return k < alarmChanges
	})
	return none, steps
}

// stepped are the levels between places.
func (l lineup) stepped(places []int) []float64 {
	out := make([]float64, 0, l.n)
	from := 0
	for _, to := range append(places[:len(places):len(places)], l.n) {
		level := l.segment(from, to).level() + l.centre
		for range to - from {
			out = append(out, level)
		}
		from = to
	}
	return out
}
