package dropoff

import "math"

// The candidates that may be given of a series.
const (
	NoChange   = "no change"   // one level
	Steady     = "steady"      // one line, rising or falling
	BrokenLine = "broken line" // two lines that meet
	Steps      = "steps"       // levels, abrupt changes between them
)

// A Candidate is one way to describe a series.
type Candidate struct {
	Name        string  `json:"name"`
	Criterion   float64 `json:"criterion"`   // how much better it is than no change, on the scale of the modified Bayesian information criterion; 0 for no change
	Probability float64 `json:"probability"` // its share of the probability of all four, as the criteria give it, all alike beforehand
	Places      []int   `json:"places"`      // last row before each change or break, from 1
	// Fitted is what it expects of each row; in series of more than 5,000 rows it is
	// given for the most probable candidate alone, where that is a line.
	Fitted []float64 `json:"-"`
}

// A candidateFits fits the four candidate models of a series for one correlation of the noise.
// Lines are fitted to rows given the row before, as segments are, with the noise
// going on through a bend and beginning afresh at a known break, where the level may
// differ.
type candidateFits struct {
	search
	by     criterion
	rho    float64   // correlation of the noise
	span   float64   // from the first row's position to the last's
	at     []float64 // places of the rows, scaled to run from 0 to 1
	shares []float64 // of row i−1 that is expected in row i, from 1
}

func newCandidateFits(s Series, v noise, q search) candidateFits {
	l := candidateFits{search: q, by: newCriterion(q, s.SE != nil), rho: v.rho, at: make([]float64, q.n+1), shares: make([]float64, q.n+1)}
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

func (l candidateFits) columns(i int) columns {
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

// A trend is one slope through all parts between known breaks, each with a level of
// its own. What is left of products of columns once the level of each part is taken
// out of them is summed over parts.
type trend struct {
	parts                 []part
	until                 []moments // of the rows of a part up to each row at which a bend is tried
	pp, pv, slope, misfit float64
	logDet                float64 // of the products of all columns
}

// A part is a stretch between known breaks, rows from+1 to to.
type part struct {
	moments
	from, to int
}

// less is what is left of a product of two columns once the level is taken out;
// they are given by it and by their products with the constant.
func (p part) less(product, one, other float64) float64 { return product - one*other/p.cc }

func (l candidateFits) trend() trend {
	every := l.bendsEvery()
	t := trend{until: make([]moments, l.n/every+1)}
	from, vv := 0, 0.0
	for _, to := range append(l.known(), l.n) {
		p := part{from: from, to: to}
		for i := from + 1; i <= to; i++ {
			if p.add(l.after(from, i)); i%every == 0 {
				t.until[i/every] = p.moments
			}
		}
		t.parts = append(t.parts, p)
		t.pp += p.less(p.pp, p.cp, p.cp)
		t.pv += p.less(p.pv, p.cp, p.cv)
		vv += p.less(p.vv, p.cv, p.cv)
		t.logDet += l.start[from+1] + math.Log(p.cc)
		from = to
	}
	t.slope = t.pv / t.pp
	t.logDet += math.Log(t.pp)
	t.misfit = max(vv-t.slope*t.pv, 0)
	return t
}

// after are the columns of row i, of which the noise begins afresh after row from.
func (l candidateFits) after(from, i int) columns {
	if i > from+1 {
		return l.columns(i)
	}
	root := math.Sqrt(l.first[i].a)
	return columns{root, root * l.at[i], l.first[i].b / root}
}

// bend is the change of slope that a break of the line adds at a place in part k:
// later are the moments of the rows of that part after it. along and own are what
// the column "place beyond the break" shares with that of the place once levels are
// taken out of both, and what is left of it once the place is taken out too.
func (t trend) bend(k int, later moments, at float64) (change, along, own, misfit float64) {
	q := t.parts[k]
	c, p, v := later.cp-at*later.cc, later.pp-at*later.cp, later.pv-at*later.cv
	square := later.pp - 2*at*later.cp + at*at*later.cc
	left := q.less(v, c, q.cv)
	along, own = q.less(p, c, q.cp), q.less(square, c, c)
	for _, beyond := range t.parts[k+1:] { // where it is the place, but for the level
		pp := beyond.less(beyond.pp, beyond.cp, beyond.cp)
		along, own, left = along+pp, own+pp, left+beyond.less(beyond.pv, beyond.cp, beyond.cv)
	}
	own -= along * along / t.pp
	left -= along * t.slope
	return left / own, along, own, max(t.misfit-left*left/own, 0)
}

// score is the criterion of a line with so many coefficients beside a level for
// each part, and bends, from its misfit and the logarithm of the determinant of its
// columns' products: as that of levels, whose determinant is the product of their
// precisions. Beforehand the rise over the whole series and the height of a bend
// over the chord between the series' ends are flat in units of the noise, and bends
// lie anywhere along it.
func (l candidateFits) score(coefficients, bends int, misfit, logDet float64) float64 {
	p := coefficients + l.breaks + 1
	return l.weighed(p, bends, misfit, l.logs+logDet-float64(p)*l.unit())
}

// leastOwn is the share of a column that must be its own for its effect to be
// told from those of others.
const leastOwn = 1e-9

// leastBent is the fewest rows on either side of a bend, that at which the lines
// meet counted in: with six no row tells more than about half of a slope that
// starts at the bend ((m−1)² over 1² + 2² + … + (m−1)²), so that a single row out
// of line at an end of the series is not taken for a bend.
const leastBent = 6

// bendsEvery is how far apart the rows are at which a bend is tried.
func (l candidateFits) bendsEvery() int { return (l.n + mostDrawn - 1) / mostDrawn }

// lines gives the candidates of one line and of two that meet. At a known break
// either may jump. In long series bends are tried at 5,000 rows evenly spread.
func (l candidateFits) lines() (steady, broken Candidate) {
	every, one := l.bendsEvery(), l.trend()
	steady = Candidate{Name: Steady, Criterion: l.score(1, 0, one.misfit, one.logDet)}
	broken = Candidate{Name: BrokenLine, Criterion: -inf}
	least, last := max(l.minLength, leastBent), l.n-max(l.minLength, leastBent-1)
	k, bestMisfit, bestOwn := 0, inf, 0.0
	for s := (least + every - 1) / every * every; s <= last; s += every {
		for one.parts[k].to <= s {
			k++
		}
		if l.free[s] {
			_, _, own, misfit := one.bend(k, one.parts[k].minus(one.until[s/every]), l.at[s])
			if own < leastOwn*one.pp {
				continue
			}
			height := l.at[s] * (1 - l.at[s])
			relative := own / (height * height)
			if misfit >= bestMisfit && relative >= bestOwn {
				continue // the criterion falls with both
			}
			if score := l.score(2, 1, misfit, one.logDet+math.Log(relative)); score > broken.Criterion {
				broken.Criterion, broken.Places = score, []int{s}
				bestMisfit, bestOwn = misfit, relative
			}
		}
	}
	return steady, broken
}

// fitted is what a candidate expects of each row.
func (l candidateFits) fitted(a Candidate) []float64 {
	if a.Name == NoChange || a.Name == Steps {
		return l.stepped(a.Places)
	}
	one := l.trend()
	slope, change, at, bent := one.slope, 0.0, 0.0, 0
	var later moments
	if a.Name == BrokenLine {
		s := a.Places[0]
		for one.parts[bent].to <= s {
			bent++
		}
		later = one.parts[bent].minus(one.until[s/l.bendsEvery()])
		at = l.at[s]
		var along float64
		change, along, _, _ = one.bend(bent, later, at)
		slope -= change * along / one.pp
	}
	out := make([]float64, 0, l.n)
	for k, p := range one.parts {
		beyond := 0.0 // the constant's product with the place beyond the break
		switch {
		case k == bent:
			beyond = later.cp - at*later.cc
		case k > bent:
			beyond = p.cp - at*p.cc
		}
		base := l.centre + (p.cv-slope*p.cp-change*beyond)/p.cc
		for _, x := range l.at[p.from+1 : p.to+1] {
			out = append(out, base+slope*x+change*max(x-at, 0))
		}
	}
	return out
}

// levels gives the candidates of one level and of the best steps, up to
// alarmChanges of them.
func (l candidateFits) levels() (none, steps Candidate) {
	steps = Candidate{Name: Steps, Criterion: -inf}
	l.path(func(k int, places []int) bool {
		score := l.by.of(places)
		switch {
		case k == 0:
			none = Candidate{Name: NoChange, Criterion: score, Places: places}
		case score > steps.Criterion:
			steps.Criterion, steps.Places = score, places
		}
		return k < alarmChanges
	})
	return none, steps
}

// stepped are the levels between places.
func (l candidateFits) stepped(places []int) []float64 {
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
