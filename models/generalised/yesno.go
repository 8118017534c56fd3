package generalised

// yesNo is the kind of successes among trials: the predictor is that of a yes.
type yesNo struct{ link link }

func (yesNo) direct() bool { return true }

func (k yesNo) weigh(d *design, predictors, r []float64, from, to int, l, s, w []float64) float64 {
	if _, ok := k.link.(logit); ok {
		return weighLogit(d, predictors, r, from, to, l, s, w)
	}
	sum := 0.0
	for i := from; i < to; i++ {
		x := predictors[d.pattern[i]] + r[i]
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
func weighLogit(d *design, predictors, r []float64, from, to int, l, s, w []float64) float64 {
	sum := 0.0
	shares := product{left: 1}
	for i := from; i < to; i++ {
		x := predictors[d.pattern[i]] + r[i]
		F, S := logisticShares(x)
		y, n := d.y[i], d.no[i]
		s[i] = y*S - n*F
		w[i] = (y + n) * F * S
		v := 0.0
		switch {
		case l == nil && x > -600 && n == 0 && y == 1:
			shares.times(F)
		case l == nil && x < 600 && y == 0 && n == 1:
			shares.times(S)
		default:
			v = y*x - (y+n)*softplus(x)
			sum += v
		}
		if l != nil {
			l[i] = v
		}
	}
	return sum + shares.sum()
}

func (k yesNo) third(d *design, predictors, r []float64, from, to int, t []float64) {
	for i := from; i < to; i++ {
		x := predictors[d.pattern[i]] + r[i]
		if _, ok := k.link.(logit); ok {
			F, S := logisticShares(x)
			t[i] = -(d.y[i] + d.no[i]) * F * S * (S - F)
			continue
		}
		t[i] = 0
		if y := d.y[i]; y > 0 {
			_, _, _, v := k.link.yes(x)
			t[i] = y * v
		}
		if n := d.no[i]; n > 0 {
			_, _, _, v := k.link.no(x)
			t[i] += n * v
		}
	}
}

func (k yesNo) slopes(d *design, predictors, r []float64, from, to int, a, b, e, slopes []float64) {
	_, plain := k.link.(logit)
	for i := from; i < to; i++ {
		p := d.pattern[i]
		x := predictors[p] + r[i]
		y, n := d.y[i], d.no[i]
		if plain {
			F, S := logisticShares(x)
			f := (y + n) * F * S
			slopes[p] += a[i]*(y*S-n*F) - b[i]*f - e[i]*f*(S-F)
			continue
		}
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
