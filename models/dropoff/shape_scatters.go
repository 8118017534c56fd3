package dropoff

import "math"

// scatters are pieces with a level and a scatter of their own. What differs
// between pieces is the factor of all variances of their rows.
type scatters struct {
	candidateFits
	gammas []float64 // log Γ((i − 1)/2)
}

func newScatters(l candidateFits) *scatters {
	m := &scatters{candidateFits: l, gammas: make([]float64, l.n+1)}
	for i := 2; i <= l.n; i++ {
		m.gammas[i], _ = math.Lgamma(float64(i-1) / 2)
	}
	return m
}

// square is the misfit of rows s+1 to t to their level. Rows that do not differ at
// all count as differing by a thousandth of the noise.
func (m *scatters) square(s, t int) float64 {
	return max(m.segment(s, t).least(), float64(t-s)*1e-6)
}

// evidence is the logarithm of the likelihood of rows s+1 to t integrated over
// their level and the logarithm of their scatter.
func (m *scatters) evidence(s, t int) float64 {
	return m.gammas[t-s] - (float64(t-s-1)*math.Log(m.square(s, t)/2)+math.Log(m.segment(s, t).a)-m.unit()+m.candidateFits.start[s+1])/2
}

func (m *scatters) cost(s, t int) float64 { return -m.evidence(s, t) }

func (m *scatters) path(more func(k int, places []int) bool) {
	m.byCost(m.ends(LevelAndScatter.mostEnds()), m.cost, more)
}

func (m *scatters) cheapest(penalty float64) []int {
	return m.leastCost(m.ends(LevelAndScatter.mostEnds()), penalty, m.cost)
}

func (m *scatters) penalty([]int) float64 { return math.Log(float64(m.n)) }

func (m *scatters) score(places []int) (criterion, misfit float64) {
	from := 0
	for j := range len(places) + 1 {
		to := m.n
		if j < len(places) {
			to = places[j]
		}
		criterion += m.evidence(from, to)
		misfit += m.square(from, to)
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

func (m *scatters) slope([]int, int) estimate { return estimate{} }

func (m *scatters) names() []string { return []string{meanDifference, scatterRatio} }

func (m *scatters) differences(places []int, j int) []estimate {
	from, to := neighbours(places, j, m.n)
	at := places[j]
	old, new := m.segment(from, at), m.segment(at, to)
	dfOld, dfNew := float64(at-from-1), float64(to-at-1)
	phiOld, phiNew := m.square(from, at)/dfOld, m.square(at, to)/dfNew
	a, b := phiOld/old.a, phiNew/new.a // variances of the levels
	return []estimate{
		{value: new.level() - old.level(), se: math.Sqrt(a + b), df: (a + b) * (a + b) / (a*a/dfOld + b*b/dfNew)},
		{value: math.Sqrt(phiNew / phiOld), df: dfOld, df2: dfNew},
	}
}

func (m *scatters) alone(places []int, j int) (spot, float64) {
	from, to := neighbours(places, j, m.n)
	return m.onePlace(from, to, -math.Log(float64(m.n)), m.evidence)
}
