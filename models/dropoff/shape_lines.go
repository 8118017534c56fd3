package dropoff

import "math"

// slopes are pieces that are lines, not joined. Noise begins afresh with each.
type slopes struct {
	lineup
	sums []moments // of rows 1 to i
}

// line is the fit of rows s+1 to t.
func (m *slopes) line(s, t int) line {
	// The first row stands on its own.
	first := m.first[s+1]
	root := math.Sqrt(first.a)
	sum := m.sums[t].minus(m.sums[s+1])
	sum.add(columns{root, root * m.at[s+1], first.b / root})
	return newLine(sum)
}

func (m *slopes) cost(s, t int) float64 { return m.line(s, t).misfit + m.start[s+1] }

func (m *slopes) path(more func(k int, places []int) bool) { m.byCost(m.cost, more) }

func (m *slopes) score(places []int) (criterion, misfit float64) {
	from, logs := 0, m.logs
	for _, to := range append(places[:len(places):len(places)], m.n) {
		one := m.line(from, to)
		length := m.at[to] - m.at[from+1]
		misfit += one.misfit
		// The rise over the piece, not over the series, is flat beforehand.
		logs += m.start[from+1] + math.Log(one.det/(length*length))
		from = to
	}
	p, n := 2*(len(places)+1), float64(m.n)
	logs -= float64(p)*m.unit() + math.Log(n)
	return m.by.evidence(p-1, misfit) - logs/2 - float64(len(places)-m.breaks)*math.Log(n), misfit
}

func (m *slopes) pieces(places []int) []Piece {
	var out []Piece
	from := 0
	for _, to := range append(places[:len(places):len(places)], m.n) {
		one := m.line(from, to)
		expect := func(i int) float64 { return m.centre + one.base + one.slope*m.at[i] }
		out = append(out, Piece{From: from + 1, To: to, Start: expect(from + 1), End: expect(to), Scatter: m.scatterOf(one.misfit, to-from-2)})
		from = to
	}
	return out
}

// scatterOf is the scatter of a piece with the misfit given, in units of the
// noise.
func (l lineup) scatterOf(misfit float64, df int) float64 {
	return math.Sqrt(misfit / float64(max(df, 1)) * float64(l.n) / l.weight)
}

func (m *slopes) alone(places []int, j int) (spot, float64) {
	from, to := neighbours(places, j, m.n)
	phi := m.line(from, places[j]).misfit + m.line(places[j], to).misfit
	phi = max(phi/float64(max(to-from-4, 1)), exactMisfit)
	return m.onePlace(from, to, -math.Log(float64(m.n)), func(s, t int) float64 {
		one := m.line(s, t)
		length := m.at[t] - m.at[s+1]
		return -(one.misfit/phi + m.start[s+1] + math.Log(one.det/(length*length)) - 2*m.unit()) / 2
	})
}

// scatters are pieces with a level and a scatter of their own.
type scatters struct{ lineup }

// evidence is the logarithm of the likelihood of rows s+1 to t integrated over
// their level and the logarithm of their scatter. Rows that do not differ at
// all count as differing by a thousandth of the noise.
func (m *scatters) evidence(s, t int) float64 {
	f := m.segment(s, t)
	n := float64(t - s)
	misfit := max(f.least(), n*1e-6)
	gamma, _ := math.Lgamma((n - 1) / 2)
	return gamma - (n-1)/2*math.Log(misfit/2) - (math.Log(f.a)-m.unit()+m.lineup.start[s+1])/2
}

func (m *scatters) path(more func(k int, places []int) bool) {
	m.byCost(func(s, t int) float64 { return -m.evidence(s, t) }, more)
}

func (m *scatters) score(places []int) (criterion, misfit float64) {
	from := 0
	for _, to := range append(places[:len(places):len(places)], m.n) {
		criterion += m.evidence(from, to)
		misfit += m.misfit(from, to)
		from = to
	}
	return criterion - float64(len(places)-m.breaks)*math.Log(float64(m.n)), misfit
}

func (m *scatters) pieces(places []int) []Piece {
	var out []Piece
	from := 0
	for _, to := range append(places[:len(places):len(places)], m.n) {
		level := m.segment(from, to).level() + m.centre
		out = append(out, Piece{From: from + 1, To: to, Start: level, End: level, Scatter: m.scatterOf(m.misfit(from, to), to-from-1)})
		from = to
	}
	return out
}

func (m *scatters) alone(places []int, j int) (spot, float64) {
	from, to := neighbours(places, j, m.n)
	return m.onePlace(from, to, -math.Log(float64(m.n)), m.evidence)
}
