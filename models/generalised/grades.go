package generalised

import "math"

// grades is the kind of ordered grades: the probability of a grade at or below j
// is F(θⱼ − xβ − r), F the link's distribution. The predictors are θⱼ − xβ, one for
// each threshold.
type grades struct {
	link link
	last float64 // the highest grade
}

// A step is one row's probability of its grade and what moves it: the distribution
// at its upper and its lower end.
type step struct {
	p           float64
	up, low     density // zero at an open end
	upAt, lowAt int     // their predictors
}

func (k grades) at(t *trial, i int) (s step) {
	at := int(t.d.pattern[i]) * t.d.width
	y, r := t.d.y[i], t.r[i]
	s.upAt, s.lowAt = at+int(y), at+int(y)-1
	switch {
	case y == 0:
		s.up = k.link.at(t.predictors[s.upAt] - r)
		s.p = s.up.F
	case y == k.last:
		s.low = k.link.at(t.predictors[s.lowAt] - r)
		s.p = s.low.S
	default:
		high, low := t.predictors[s.upAt]-r, t.predictors[s.lowAt]-r
		s.up, s.low = k.link.at(high), k.link.at(low)
		s.p = k.link.between(low, high)
	}
	return s
}

// leastProbability is what a row's probability must exceed for its logarithm's
// derivatives to keep their digits.
const leastProbability = 1e-290

func (k grades) weigh(t *trial, from, to int, l []float64) float64 {
	if t.odds != nil {
		return k.weighLogit(t, from, to, l)
	}
	sum := 0.0
	shares := product{left: 1}
	for i := from; i < to; i++ {
		at := k.at(t, i)
		if !(at.p > leastProbability) {
			return math.Inf(-1)
		}
		inverse := 1 / at.p
		p1 := (at.up.f - at.low.f) * inverse
		p2 := (at.up.f1 - at.low.f1) * inverse
		f := t.d.weight[i]
		t.s[i] = -f * p1
		t.w[i] = f * (p1*p1 - p2)
		if l == nil && shares.power(at.p, f) {
			continue
		}
		v := f * math.Log(at.p)
		if l != nil {
			l[i] = v
		}
		sum += v
	}
	return sum + shares.sum()
}

func (k grades) third(t *trial, from, to int) {
	for i := from; i < to; i++ {
		if e, ok := k.ends(t, i); ok {
			t.t[i] = t.d.weight[i] * (e.upF*e.upS*(e.upS-e.upF) + e.lowF*e.lowS*(e.lowS-e.lowF))
			continue
		}
		at := k.at(t, i)
		p1 := (at.up.f - at.low.f) / at.p
		p2 := (at.up.f1 - at.low.f1) / at.p
		p3 := (at.up.f2 - at.low.f2) / at.p
		t.t[i] = -t.d.weight[i] * (p3 - 3*p1*p2 + 2*p1*p1*p1)
	}
}

func (k grades) slopes(t *trial, from, to int, a, b, e, slopes []float64) {
	d := t.d
	for i := from; i < to; i++ {
		if x, ok := k.ends(t, i); ok {
			f := d.weight[i]
			at := int(d.pattern[i])*d.width + int(d.y[i])
			if d.y[i] < k.last {
				own := x.upF * x.upS
				slopes[at] += f * (a[i]*x.upShare + own*(b[i]-e[i]*(x.upS-x.upF)))
			}
			if d.y[i] > 0 {
				own := x.lowF * x.lowS
				slopes[at-1] += f * (own*(b[i]-e[i]*(x.lowS-x.lowF)) - a[i]*x.lowShare)
			}
			continue
		}
		at := k.at(t, i)
		p1 := (at.up.f - at.low.f) / at.p
		p2 := (at.up.f1 - at.low.f1) / at.p
		scale := d.weight[i] / at.p
		// the share of one end, x its density's derivatives
		share := func(x density) float64 {
			first := x.f1 - x.f*p1
			second := x.f2 - 2*x.f1*p1 - x.f*p2 + 2*x.f*p1*p1
			return scale * (a[i]*x.f - b[i]*first + e[i]*second)
		}
		if d.y[i] < k.last {
			slopes[at.upAt] += share(at.up)
		}
		if d.y[i] > 0 {
			slopes[at.lowAt] -= share(at.low)
		}
	}
}

func (k grades) ordered(d *design, predictors []float64) (int, bool) {
	for p := range d.patterns {
		row := predictors[p*d.width : (p+1)*d.width]
		for j := 1; j < len(row); j++ {
			if !(row[j] > row[j-1]) {
				return p, false
			}
		}
	}
	return 0, true
}
