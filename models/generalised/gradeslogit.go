package generalised

import "math"

// Grades under the logit. With o = exp(θ − xβ − r) at a threshold, F = o/(1 + o), the
// probability between two thresholds is (o₂ − o₁)/((1 + o₂)(1 + o₁)), and the
// derivatives of its logarithm by r are F₂ + F₁ − 1, −(f₂ + f₁) and f₂(1 − 2F₂) + f₁(1 −
// 2F₁), f = F(1 − F): one exponential a row, since exp(θ − xβ) belongs to patterns.

// setOdds fills the odds of the patterns at each threshold, and what they have more
// than those at the threshold before; none where some predictor is too steep for them.
func (t *trial) setOdds() {
	t.odds = nil
	for _, v := range t.predictors {
		if !(math.Abs(v) < steep) {
			return
		}
	}
	if t.roomOdds == nil {
		t.roomOdds, t.more = make([]float64, len(t.predictors)), make([]float64, len(t.predictors))
	}
	t.odds = t.roomOdds
	for i, v := range t.predictors {
		t.odds[i] = math.Exp(v)
		if i%t.d.width > 0 {
			t.more[i] = t.odds[i-1] * math.Expm1(v-t.predictors[i-1])
		}
	}
}

// weighLogit is weigh from the odds.
func (k grades) weighLogit(t *trial, from, to int, l []float64) float64 {
	d := t.d
	sum := 0.0
	shares := product{left: 1}
	width, last := d.width, int(k.last)
	pattern, grade, weight := d.pattern[from:to], d.y[from:to], d.weight[from:to]
	r, s, w := t.r[from:to], t.s[from:to], t.w[from:to]
	for i, pt := range pattern {
		E := math.Exp(-r[i])
		y := int(grade[i])
		at := int(pt)*width + y
		f := weight[i]
		p := 0.0
		switch {
		case !(math.Abs(r[i]) < steep):
			row := k.at(t, from+i)
			p = row.p
			s[i] = f * (1 - row.up.S - row.low.S)
			if y == 0 {
				s[i] = -f * row.up.S
			} else if y == last {
				s[i] = f * row.low.F
			}
			w[i] = f * (row.up.f + row.low.f)
		case y == 0:
			o := E * t.odds[at]
			S := 1 / (1 + o)
			p = o * S
			s[i], w[i] = -f*S, f*p*S
		case y == last:
			o := E * t.odds[at-1]
			p = 1 / (1 + o)
			F := o * p
			s[i], w[i] = f*F, f*F*p
		default:
			up, low := E*t.odds[at], E*t.odds[at-1]
			inverse := 1 / ((1 + up) * (1 + low))
			upS, lowS := (1+low)*inverse, (1+up)*inverse
			p = E * t.more[at] * inverse
			s[i] = f * (low*lowS - upS)
			w[i] = f * (up*upS*upS + low*lowS*lowS)
		}
		if l == nil && shares.power(p, f) {
			continue
		}
		if !(p > leastProbability) {
			return math.Inf(-1)
		}
		v := f * math.Log(p)
		if l != nil {
			l[from+i] = v
		}
		sum += v
	}
	return sum + shares.sum()
}

// ends are the distribution at both thresholds of a row, and what a unit of each adds
// to the logarithm of the row's probability: f/p. At an open end all are zero.
type ends struct{ upF, upS, lowF, lowS, upShare, lowShare float64 }

// ends are those of row i by the odds; false where there are none, or its sum is too
// steep.
func (k grades) ends(t *trial, i int) (e ends, ok bool) {
	r := t.r[i]
	if t.odds == nil || !(math.Abs(r) < steep) {
		return e, false
	}
	E := math.Exp(-r)
	y := t.d.y[i]
	at := int(t.d.pattern[i])*t.d.width + int(y)
	switch {
	case y == 0:
		o := E * t.odds[at]
		e.upS = 1 / (1 + o)
		e.upF = o * e.upS
		e.upShare = e.upS
	case y == k.last:
		o := E * t.odds[at-1]
		e.lowS = 1 / (1 + o)
		e.lowF = o * e.lowS
		e.lowShare = e.lowF
	default:
		up, low := E*t.odds[at], E*t.odds[at-1]
		inverse := 1 / ((1 + up) * (1 + low))
		e.upS, e.lowS = (1+low)*inverse, (1+up)*inverse
		e.upF, e.lowF = up*e.upS, low*e.lowS
		between := 1 / (E * t.more[at])
		e.upShare, e.lowShare = e.upF*(1+low)*between, e.lowF*(1+up)*between
	}
	return e, true
}
