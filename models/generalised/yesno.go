package generalised

import "math"

// yesNo is the kind of successes among trials: the predictor is that of a yes.
type yesNo struct{ link link }

func (yesNo) direct() bool { return true }

func (k yesNo) weigh(t *trial, from, to int, l []float64) float64 {
	if _, ok := k.link.(logit); ok {
		return weighLogit(t, from, to, l)
	}
	d, s, w := t.d, t.s, t.w
	sum := 0.0
	for i := from; i < to; i++ {
		x := t.predictors[d.pattern[i]] + t.r[i]
		v := 0.0
		s[i], w[i] = 0, 0
		if y := d.y[i]; y > 0 {
			v0, v1, v2, _ := k.link.yes(x)
			v, s[i], w[i] = y*v0, y*v1, -y*v2
		}
		if n := d.no[i]; n > 0 {
			v0, v1, v2, _ := k.link.no(x)
			v += n * v0
			s[i] += n * v1
			w[i] -= n * v2
		}
		if l != nil {
			l[i] = v
		}
		sum += v
	}
	return sum
}

// weighLogit is weigh for the logit with one exponential a row: the logarithms of
// rows that are one trial are taken of their product.
func weighLogit(t *trial, from, to int, l []float64) float64 {
	d := t.d
	sum := 0.0
	shares := product{left: 1}
	pattern, r := d.pattern[from:to], t.r[from:to]
	yes, no, s, w := d.y[from:to], d.no[from:to], t.s[from:to], t.w[from:to]
	for i, p := range pattern {
		x := t.predictors[p] + r[i]
		y, n := yes[i], no[i]
		if !(math.Abs(x) < steep) {
			F, S := logisticShares(x)
			s[i], w[i] = y*S-n*F, (y+n)*F*S
			v := y*x - (y+n)*softplus(x)
			if l != nil {
				l[from+i] = v
			}
			sum += v
			continue
		}
		odds := math.Exp(x)
		S := 1 / (1 + odds)
		F := odds * S
		s[i], w[i] = y*S-n*F, (y+n)*F*S
		if l == nil && y+n == 1 {
			shares.times(y*F + n*S)
			continue
		}
		v := y*x - (y+n)*math.Log(1+odds)
		if l != nil {
			l[from+i] = v
		}
		sum += v
	}
	return sum + shares.sum()
}

func (k yesNo) third(t *trial, from, to int) {
	d := t.d
	if _, ok := k.link.(logit); ok {
		for i := from; i < to; i++ {
			t.t[i] = k.thirdOfLogit(t, i)
		}
		return
	}
	for i := from; i < to; i++ {
		x := t.predictors[d.pattern[i]] + t.r[i]
		t.t[i] = 0
		if y := d.y[i]; y > 0 {
			_, _, _, v := k.link.yes(x)
			t.t[i] = y * v
		}
		if n := d.no[i]; n > 0 {
			_, _, _, v := k.link.no(x)
			t.t[i] += n * v
		}
	}
}

// thirdOfLogit is n·F·(1 − F)·(2F − 1) of row i, from y − n·F and n·F·(1 − F).
func (yesNo) thirdOfLogit(t *trial, i int) float64 {
	y, n := t.d.y[i], t.d.y[i]+t.d.no[i]
	if n == 0 { // it counts for nothing
		return 0
	}
	return t.w[i] * (2*(y-t.s[i])/n - 1)
}

func (k yesNo) slopes(t *trial, from, to int, a, b, e, slopes []float64) {
	d := t.d
	if _, ok := k.link.(logit); ok {
		for i := from; i < to; i++ {
			slopes[d.pattern[i]] += a[i]*t.s[i] - b[i]*t.w[i] + e[i]*k.thirdOfLogit(t, i)
		}
		return
	}
	for i := from; i < to; i++ {
		p := d.pattern[i]
		x := t.predictors[p] + t.r[i]
		y, n := d.y[i], d.no[i]
		if y > 0 {
			_, v1, v2, v3 := k.link.yes(x)
			slopes[p] += y * (a[i]*v1 + b[i]*v2 + e[i]*v3)
		}
		if n > 0 {
			_, v1, v2, v3 := k.link.no(x)
			slopes[p] += n * (a[i]*v1 + b[i]*v2 + e[i]*v3)
		}
	}
}
