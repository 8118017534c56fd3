package dropoff

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// A posterior is the distribution over all segmentations of the rows, given
// the noise, by exact recursion (Fearnhead 2006, Statistics and Computing 16,
// 203–213, section 2), held as the Markov chain of changes read from the end:
// given that a segment ends with row t, step[t][s] is the probability that it
// starts after row s.
//
// Beforehand, each row that may be followed by a change is so with the same
// probability, and each level is normal about the mean of all values.
type posterior struct {
	search
	step     [][]float64
	evidence float64   // logarithm of the probability of the values
	ends     []float64 // probability that a segment ends with row s
}

// A prior is what is held of changes and levels before the values are seen.
type prior struct {
	change float64 // probability of a change after any one row that may have it
	spread float64 // variance of a level, in the unit of the rows
}

// newPosterior computes the distribution with the noise's variance phi times
// the unit of the rows. Time and memory grow with the square of the rows.
func newPosterior(q search, p prior, phi float64) *posterior {
	n := q.n
	post := &posterior{search: q, step: make([][]float64, n+1)}
	cells := make([]float64, n*(n+1)/2)
	forward := filled(n+1, -inf)
	forward[0] = 0
	odds := math.Log(p.change / (1 - p.change))
	for t := 1; t <= n; t++ {
		row := cells[t*(t-1)/2 : t*(t+1)/2]
		post.step[t] = row
		most := -inf
		for s := range row {
			row[s] = -inf
			if !q.reaches(s, t) || forward[s] == -inf {
				continue
			}
			row[s] = forward[s] + q.evidence(s, t, p.spread, phi)
			if q.free[s] {
				row[s] += odds
			}
			most = max(most, row[s])
		}
		forward[t] = normalise(row, most)
	}
	post.evidence = forward[n] - (q.sums[n].c/phi+q.logs+float64(n)*math.Log(phi))/2
	post.ends = make([]float64, n+1)
	post.ends[n] = 1
	for t := n; t > 0; t-- {
		if post.ends[t] > 0 {
			floats.AddScaled(post.ends[:t], post.ends[t], post.step[t])
		}
	}
	return post
}

// reaches tells whether rows s+1 to t may be one segment.
func (q *search) reaches(s, t int) bool {
	return (t-s >= q.minLength || q.whole(s, t)) && s >= int(q.barrier[t]) && (s == 0 || q.free[s] || q.forced[s])
}

// evidence is the logarithm of the probability of rows s+1 to t as one segment
// whose level is normal about the centre with variance spread; spread and phi,
// the noise's variance, are both in the unit of the rows. What is the same for
// all segmentations is left out.
func (q *search) evidence(s, t int, spread, phi float64) float64 {
	f := q.segment(s, t)
	beginning := (q.first[s+1].c-q.link[s+1].c)/phi + q.start[s+1]
	return (f.b*f.b/(f.a+phi/spread)/phi - math.Log1p(f.a*spread/phi) - beginning) / 2
}

// normalise turns logarithms, the largest of them given, into shares of their
// sum, and gives the logarithm of the sum.
func normalise(logs []float64, most float64) float64 {
	if most == -inf {
		clear(logs)
		return -inf
	}
	sum := 0.0
	for i, v := range logs {
		// Below e⁻⁷⁰⁰ nothing is left of a share.
		if v -= most; v < -700 {
			logs[i] = 0
			continue
		}
		logs[i] = math.Exp(v)
		sum += logs[i]
	}
	floats.Scale(1/sum, logs)
	return most + math.Log(sum)
}

// A zone is a run of rows, low to high, one of which a change follows.
type zone struct{ low, high int }

// before gives, for each row t from z.low+1 to last, the probability that the
// changes before t are one in z and, before it, those whose probabilities fewer
// gives in the same way, given that a segment ends with t. With fewer nil it is
// the probability of no change before t.
func (p *posterior) before(fewer []float64, z zone, last int) []float64 {
	now := make([]float64, p.n+1)
	for t := z.low + 1; t <= last; t++ {
		base := int(p.barrier[t]) // a known break, or the beginning, is not counted
		switch {
		case base > 0:
			now[t] = p.step[t][base] * now[base]
		case fewer == nil:
			now[t] = p.step[t][0]
		}
		if from, to := max(base+1, z.low), min(t, z.high+1); fewer != nil && from < to {
			now[t] += floats.Dot(p.step[t][from:to], fewer[from:to])
		}
	}
	return now
}

// after gives, for each row s, the probability that a segment ends with s and
// that the changes after it are one in z and, after it, those whose
// probabilities later gives in the same way. With later nil it is that of no
// change after s.
func (p *posterior) after(later []float64, z zone) []float64 {
	now := make([]float64, p.n+1)
	if later == nil {
		now[p.n] = 1
	}
	for t := p.n; t > 0; t-- {
		weight := 0.0
		switch {
		case t == p.n || p.forced[t]:
			weight = now[t] // complete: it has had its share from all later rows
		case later != nil && z.low <= t && t <= z.high:
			weight = later[t]
		}
		if weight > 0 {
			floats.AddScaled(now[:t], weight, p.step[t])
		}
	}
	return now
}

// number gives the probability of 0, 1, 2 … changes in all, up to the number
// beyond which less than rest is left.
func (p *posterior) number(rest float64) []float64 {
	all := zone{1, p.n - 1}
	fewer := p.before(nil, zone{}, p.n)
	out := []float64{fewer[p.n]}
	for sum := out[0]; 1-sum > rest && len(out) < p.n; {
		fewer = p.before(fewer, all, p.n)
		out = append(out, fewer[p.n])
		sum += fewer[p.n]
	}
	return out
}

// spots gives the joint probability, for each zone, that the changes are
// exactly one in each zone and that the one in this zone follows row s.
func (p *posterior) spots(zones []zone) []spot {
	m := len(zones)
	out := make([]spot, m)
	fewer := p.before(nil, zone{}, p.n)
	for j, z := range zones {
		out[j] = make(spot, p.n+1)
		copy(out[j][z.low:z.high+1], fewer[z.low:z.high+1])
		last := p.n
		if j+1 < m {
			last = zones[j+1].high
		}
		fewer = p.before(fewer, z, last)
	}
	later := p.after(nil, zone{})
	for j := m - 1; j >= 0; j-- {
		for s := range out[j] {
			out[j][s] *= later[s]
		}
		for s, forced := range p.forced {
			if forced {
				out[j][s] = 0
			}
		}
		later = p.after(later, zones[j])
	}
	return out
}

// none is the probability that no segment ends with any of the rows low to
// high.
func (p *posterior) none(low, high int) float64 {
	sum := 0.0
	for t := high + 1; t <= p.n; t++ {
		if p.ends[t] > 0 {
			sum += p.ends[t] * floats.Sum(p.step[t][:low])
		}
	}
	return sum
}
