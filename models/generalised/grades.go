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

func (k grades) at(d *design, predictors, r []float64, i int) (s step) {
	at := int(d.pattern[i]) * d.width
	y := d.y[i]
	s.upAt, s.lowAt = at+int(y), at+int(y)-1
	switch {
	case y == 0:
		s.up = k.link.at(predictors[s.upAt] - r[i])
		s.p = s.up.F
	case y == k.last:
		s.low = k.link.at(predictors[s.lowAt] - r[i])
		s.p = s.low.S
	default:
		high, low := predictors[s.upAt]-r[i], predictors[s.lowAt]-r[i]
		s.up, s.low = k.link.at(high), k.link.at(low)
		s.p = k.between(low, high, s)
	}
	return s
}

// between is the probability between two thresholds, from the distribution there.
func (k grades) between(low, high float64, s step) float64 {
	switch k.link.(type) {
	case logit:
		return s.up.F * s.low.S * -math.Expm1(low-high)
	default:
		return k.link.between(low, high)
	}
}

// leastProbability is what a row's probability must exceed for its logarithm's
// derivatives to keep their digits.
const leastProbability = 1e-290

func (k grades) weigh(d *design, predictors, r []float64, from, to int, l, s, w []float64) float64 {
	sum := 0.0
	shares := product{left: 1}
	for i := from; i < to; i++ {
		at := k.at(d, predictors, r, i)
		if !(at.p > leastProbability) {
			return math.Inf(-1)
		}
		f := d.weight[i]
		inverse := 1 / at.p
		p1 := (at.up.f - at.low.f) * inverse
		p2 := (at.up.f1 - at.low.f1) * inverse
		s[i] = -f * p1
		w[i] = f * (p1*p1 - p2)
		if f == 1 && l == nil && at.p > 1e-90 {
			shares.times(at.p)
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

func (k grades) third(d *design, predictors, r []float64, from, to int, t []float64) {
	for i := from; i < to; i++ {
		at := k.at(d, predictors, r, i)
		p1 := (at.up.f - at.low.f) / at.p
		p2 := (at.up.f1 - at.low.f1) / at.p
		p3 := (at.up.f2 - at.low.f2) / at.p
		t[i] = -d.weight[i] * (p3 - 3*p1*p2 + 2*p1*p1*p1)
	}
}

func (k grades) slopes(d *design, predictors, r []float64, from, to int, a, b, e, slopes []float64) {
	for i := from; i < to; i++ {
		at := k.at(d, predictors, r, i)
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
