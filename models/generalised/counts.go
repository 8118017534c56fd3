package generalised

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// counts is the kind of counts. Its predictors are the logarithm of the expected
// count; with negative binomial spread the logarithm of the size, variance μ +
// μ²/size; with zero inflation the logit of a zero's probability beside the
// spread's own. Logarithms of factorials are in design.base.
type counts struct {
	negative bool
	inflated bool
}

// width is the number of predictors.
func (k counts) width() int {
	width := 1
	if k.negative {
		width++
	}
	if k.inflated {
		width++
	}
	return width
}

// A countPoint holds derivatives of one row's log density g of a count without
// zero inflation: by the predictor η up to the third, and by the log size κ of
// the lowest three of these.
type countPoint struct{ g, g1, g2, g3, k, k1, k2 float64 }

// at is the log density at a predictor η and a log size κ.
func (k counts) at(y, eta, kappa float64, bySize bool) (c countPoint) {
	mu := math.Exp(eta)
	if !k.negative {
		return countPoint{g: y*eta - mu, g1: y - mu, g2: -mu, g3: -mu}
	}
	size := math.Exp(kappa)
	sum := size + mu
	p, q := mu/sum, size/sum
	logq := -math.Log1p(mu / size)
	c.g = lgamma(y+size) - lgamma(size) + size*logq
	if y > 0 {
		c.g += y * (eta - math.Log(sum))
	}
	v := (y + size) * p * q
	c.g1 = y - (y+size)*p
	c.g2 = -v
	c.g3 = -v * (q - p)
	if bySize {
		c.k = size * (mathext.Digamma(y+size) - mathext.Digamma(size) + logq + (mu-y)/sum)
		c.k1 = q * p * (y - mu)
		c.k2 = q * p * (y - 2*mu - 2*p*(y-mu))
	}
	return c
}

func lgamma(x float64) float64 {
	v, _ := math.Lgamma(x)
	return v
}

// row reads the predictors of row i.
func (k counts) row(t *trial, i int) (eta, kappa, zeta float64) {
	at := int(t.d.pattern[i]) * t.d.width
	eta = t.predictors[at] + t.r[i]
	if k.negative {
		at++
		kappa = t.predictors[at]
	}
	if k.inflated {
		zeta = t.predictors[at+1]
	}
	return eta, kappa, zeta
}

func (k counts) direct() bool { return !k.negative && !k.inflated }

func (k counts) weigh(t *trial, from, to int, l []float64) float64 {
	d, s, w := t.d, t.s, t.w
	sum := 0.0
	for i := from; i < to; i++ {
		v := 0.0
		if k.direct() { // equal patterns of all counts are one row
			eta := t.predictors[d.pattern[i]] + t.r[i]
			mu := d.weight[i] * math.Exp(eta)
			v, s[i], w[i] = d.y[i]*eta-mu, d.y[i]-mu, mu
		} else {
			eta, kappa, zeta := k.row(t, i)
			c := k.at(d.y[i], eta, kappa, false)
			f := d.weight[i]
			if k.inflated {
				c = inflate(c, d.y[i], zeta)
			}
			v, s[i], w[i] = f*c.g, f*c.g1, -f*c.g2
		}
		if l != nil {
			l[i] = v
		}
		sum += v
	}
	return sum
}

// inflate turns the derivatives by η of the count's own log density into those of
// the mixture with zeros; what it says of κ is left as it was.
func inflate(c countPoint, y, zeta float64) countPoint {
	plus, _, _ := logistic(zeta)
	if y > 0 {
		c.g -= plus
		return c
	}
	own := c.g
	more, q, rest := logistic(own - zeta) // q: the share of the count's own zeros
	c.g = zeta + more - plus
	v := q * rest
	g1, g2, g3 := c.g1, c.g2, c.g3
	c.g1 = q * g1
	c.g2 = q*g2 + v*g1*g1
	c.g3 = q*g3 + 3*v*g1*g2 + v*(rest-q)*g1*g1*g1
	return c
}

func (k counts) third(t *trial, from, to int) {
	d := t.d
	for i := from; i < to; i++ {
		if k.direct() {
			t.t[i] = -t.w[i]
			continue
		}
		eta, kappa, zeta := k.row(t, i)
		c := k.at(d.y[i], eta, kappa, false)
		if k.inflated {
			c = inflate(c, d.y[i], zeta)
		}
		t.t[i] = d.weight[i] * c.g3
	}
}

func (k counts) slopes(t *trial, from, to int, a, b, e, slopes []float64) {
	d := t.d
	for i := from; i < to; i++ {
		out := slopes[int(d.pattern[i])*d.width:]
		if k.direct() {
			mu := d.weight[i] * math.Exp(t.predictors[d.pattern[i]]+t.r[i])
			out[0] += a[i]*(d.y[i]-mu) - (b[i]+e[i])*mu
			continue
		}
		eta, kappa, zeta := k.row(t, i)
		y, f := d.y[i], d.weight[i]
		c := k.at(y, eta, kappa, k.negative)
		if k.inflated {
			z, z1, z2 := 0.0, 0.0, 0.0
			_, pi, _ := logistic(zeta)
			if y == 0 {
				_, q, rest := logistic(c.g - zeta)
				v := q * rest
				u := v * (rest - q)
				z = rest
				z1 = -v * c.g1
				z2 = -v*c.g2 - u*c.g1*c.g1
				by, by1, by2 := c.k, c.k1, c.k2
				c.k = q * by
				c.k1 = q*by1 + v*c.g1*by
				c.k2 = q*by2 + v*(2*c.g1*by1+c.g2*by) + u*c.g1*c.g1*by
				c = inflate(c, 0, zeta)
			}
			out[d.width-1] += f * (a[i]*(z-pi) + b[i]*z1 + e[i]*z2)
		}
		out[0] += f * (a[i]*c.g1 + b[i]*c.g2 + e[i]*c.g3)
		if k.negative {
			out[1] += f * (a[i]*c.k + b[i]*c.k1 + e[i]*c.k2)
		}
	}
}
