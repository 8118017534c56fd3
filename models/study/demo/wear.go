package demo

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"
)

// Streams of random numbers: each part of the scenario draws from its own, so
// that a change in one leaves the others as they were.
const (
	wearStream uint64 = 1 + iota
	parchmentStream
	dayStream
	offsetStream
	partStream
	traceStream
	waxStream
)

func draws(seed, stream uint64, number int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, stream<<32|uint64(number)))
}

// wear gives every page its true wear: what the habits have put there, the
// effects that all books share, a level of its quire, and a scatter of pages
// that is correlated from each page to the next.
func (s *Scenario) wear(l *layout, rng *rand.Rand) {
	quire := map[string]float64{}
	scatter := rng.NormFloat64()
	for i, p := range l.pages {
		level, seen := quire[p.quire]
		if !seen {
			level = s.Scatter.Quire * rng.NormFloat64()
			quire[p.quire] = level
		}
		fresh := math.Sqrt(1 - s.Scatter.Along*s.Scatter.Along)
		scatter = s.Scatter.Along*scatter + fresh*s.Scatter.draw(rng)
		p.Expected -= l.book.Decline * float64(i) / float64(len(l.pages)-1)
		p.Expected += s.Scatter.Edge * l.edge(p.leaf, s.Scatter.EdgeLeaves)
		if p.Facing {
			p.Expected += s.Common.Facing
		}
		if p.Incipit {
			p.Expected += s.Common.Incipit
		}
		p.Wear = max(s.Scatter.Least, p.Expected+level+s.Scatter.Page*scatter)
	}
}

// draw is one draw with the standard deviation one.
func (s Scatter) draw(rng *rand.Rand) float64 {
	if s.Tails == 0 {
		return rng.NormFloat64()
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: s.Tails, Src: rng}
	return t.Rand() / t.StdDev()
}
