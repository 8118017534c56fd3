package generalised

// yesNo is the kind of successes among trials: the predictor is that of a yes.
type yesNo struct{ link link }

func (k yesNo) weigh(d *design, predictors, r []float64, from, to int, l, s, w []float64) bool {
	if _, ok := k.link.(logit); ok {
		return weighLogit(d, predictors, r, from, to, l, s, w)
	}
	for i := from; i < to; i++ {
		x := predictors[d.pattern[i]] + r[i]
		l[i], s[i], w[i] = 0, 0, 0
		if y := d.y[i]; y > 0 {
			v, v1, v2, _ := k.link.yes(x)
			l[i], s[i], w[i] = y*v, y*v1, -y*v2
		}
		if n := d.no[i]; n > 0 {
			v, v1, v2, _ := k.link.no(x)
			l[i] += n * v
			s[i] += n * v1
			w[i] -= n * v2
		}
	}
	return true
}

// weighLogit is weigh for the logit with one exponential a row.
func weighLogit(d *design, predictors, r []float64, from, to int, l, s, w []float64) bool {
	for i := from; i < to; i++ {
		x := predictors[d.pattern[i]] + r[i]
		plus, F, S := logistic(x)
		y, n := d.y[i], d.no[i]
		l[i] = y*x - (y+n)*plus
		s[i] = y*S - n*F
		w[i] = (y + n) * F * S
	}
	return true
}

func (k yesNo) third(d *design, predictors, r []float64, from, to int, t []float64) {
	for i := from; i < to; i++ {
		x := predictors[d.pattern[i]] + r[i]
		if _, ok := k.link.(logit); ok {
			_, F, S := logistic(x)
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
			_, F, S := logistic(x)
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
