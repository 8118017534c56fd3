package dropoff

import "math"

// slopes are pieces that are lines, not joined. Noise begins afresh with each.
type slopes struct {
	candidateFits
	sums []moments // of rows 1 to i
	// rest are the sums of rows 1 to i without the row that follows, which as the
	// first of a piece stands on its own.
	rest []moments
}

func newSlopes(l candidateFits) *slopes {
	m := &slopes{candidateFits: l, sums: l.prefix(), rest: make([]moments, l.n+1)}
	for s := range l.n {
		first := m.first[s+1]
		root := math.Sqrt(first.a)
		var own moments
		own.add(columns{root, root * m.at[s+1], first.b / root})
		m.rest[s] = m.sums[s+1].minus(own)
	}
	return m
}

// line is the fit of rows s+1 to t.
func (m *slopes) line(s, t int) line { return newLine(m.sums[t].minus(m.rest[s])) }

func (m *slopes) cost(s, t int) float64 { return m.line(s, t).misfit + m.start[s+1] }

func (m *slopes) path(more func(k int, places []int) bool) {
	m.byCost(m.ends(LevelAndSlope.mostEnds()), m.cost, more)
}

func (m *slopes) cheapest(penalty float64) []int {
	return m.leastCost(m.ends(LevelAndSlope.mostEnds()), penalty, m.cost)
}

// fit is the misfit of lines, and what else they add to −2 log likelihood,
// coefficients integrated over.
func (m *slopes) fit(places []int) (misfit, logs float64) {
	from, logs := 0, m.logs
	for j := range len(places) + 1 {
		to := m.n
		if j < len(places) {
			to = places[j]
		}
		one := m.line(from, to)
		length := m.at[to] - m.at[from+1]
		misfit += one.misfit
		// The rise over the piece, not over the series, is flat beforehand.
		logs += m.start[from+1] + math.Log(one.det/(length*length)) - 2*m.unit()
		from = to
	}
	return misfit, logs
}

func (m *slopes) score(places []int) (criterion, misfit float64) {
	misfit, logs := m.fit(places)
	return m.weighed(2*(len(places)+1), len(places)-m.breaks, misfit, logs), misfit
}

func (m *slopes) penalty(places []int) float64 {
	misfit, logs := m.fit(places)
	_, none := m.fit(m.known())
	return m.costOf(len(places)-m.breaks, 2*(len(places)+1), misfit, logs-none, 4)
}

func (m *slopes) pieces(places []int) []Piece {
	var out []Piece
	from := 0
	for _, to := range append(places[:len(places):len(places)], m.n) {
		one := m.line(from, to)
		out = append(out, Piece{From: from + 1, To: to, Start: m.centre + one.expect(m.at[from+1]), End: m.centre + one.expect(m.at[to]), Scatter: m.scatterOf(one.misfit, to-from-2)})
		from = to
	}
	return out
}

// expect is what a line expects at a place.
func (l line) expect(at float64) float64 { return l.base + l.slope*at }

// spread is the variance of what it expects there, in units of the noise.
func (l line) spread(at float64) float64 { return (l.pp - 2*at*l.cp + at*at*l.cc) / l.det }

func (m *slopes) slope(places []int, k int) estimate {
	from, to := neighbours(places, k, m.n)
	if k < len(places) {
		to = places[k]
	}
	misfit, _ := m.fit(places)
	phi, df := m.scale(misfit, 2*(len(places)+1))
	one := m.line(from, to)
	return estimate{value: one.slope / m.span, se: math.Sqrt(phi*one.cc/one.det) / m.span, df: df}
}

func (m *slopes) names() []string { return []string{jump, slopeChange} }

func (m *slopes) differences(places []int, j int) []estimate {
	from, to := neighbours(places, j, m.n)
	misfit, _ := m.fit(places)
	phi, df := m.scale(misfit, 2*(len(places)+1))
	old, new, at := m.line(from, places[j]), m.line(places[j], to), m.at[places[j]+1]
	return []estimate{
		{value: new.expect(at) - old.expect(at), se: math.Sqrt(phi * (old.spread(at) + new.spread(at))), df: df},
		{value: (new.slope - old.slope) / m.span, se: math.Sqrt(phi*(old.cc/old.det+new.cc/new.det)) / m.span, df: df},
	}
}

func (m *slopes) alone(places []int, j int) (spot, float64) {
	from, to := neighbours(places, j, m.n)
	misfit, _ := m.fit(places)
	phi, _ := m.scale(misfit, 2*(len(places)+1))
	return m.onePlace(from, to, -math.Log(float64(m.n)), func(s, t int) float64 {
		one := m.line(s, t)
		length := m.at[t] - m.at[s+1]
		return -(one.misfit/phi + m.start[s+1] + math.Log(one.det/(length*length)) - 2*m.unit()) / 2
	})
}

// weighed is the criterion of a shape with p coefficients and so many changes,
// their noise common to all rows.
func (l candidateFits) weighed(p, changes int, misfit, logs float64) float64 {
	n := float64(l.n)
	return l.by.evidence(p-1, misfit) - (logs-math.Log(n))/2 - float64(changes)*math.Log(n)
}

// costOf is what each of so many changes costs the criterion, as misfit: what it
// adds to logs, and log n twice for its place; a guess where there is none, in
// such logarithms.
func (l candidateFits) costOf(changes, p int, misfit, logs, guess float64) float64 {
	phi, _ := l.scale(misfit, p)
	log := math.Log(float64(l.n))
	if changes == 0 {
		return phi * guess * log
	}
	return phi * (logs/float64(changes) + 2*log)
}

// scale is the noise's variance in its unit, with p coefficients fitted, and its
// degrees of freedom. It is not less than what rows' standard errors make it.
func (l candidateFits) scale(misfit float64, p int) (phi, df float64) {
	df = float64(max(l.n-p, 1))
	phi = max(misfit/df, exactMisfit)
	if l.by.bound {
		phi = max(phi, 1)
	}
	return phi, df
}

// scatterOf is the scatter of a piece with the misfit given, in units of the
// noise.
func (l candidateFits) scatterOf(misfit float64, df int) float64 {
	return math.Sqrt(misfit / float64(max(df, 1)) * float64(l.n) / l.weight)
}
