package generalised

import "math"

// A density is a link's distribution F at x and its first derivatives: F(x), and
// f, f', f” divided by nothing.
type density struct{ F, S, f, f1, f2 float64 } // S = 1 − F

// A link is the inverse of a link function with its derivatives, as probabilities
// (for grades), and the logarithms of a yes and of a no with theirs.
type link interface {
	// at gives the distribution at x.
	at(x float64) density
	// between gives F(high) − F(low) without loss of digits in the tails.
	between(low, high float64) float64
	// yes gives log F(x) and its first three derivatives.
	yes(x float64) (l, l1, l2, l3 float64)
	// no gives log(1 − F(x)) and its first three derivatives.
	no(x float64) (l, l1, l2, l3 float64)
}

var links = map[string]link{"": logit{}, "logit": logit{}, "probit": probit{}, "complementary log-log": loglog{}}

type logit struct{}

func (logit) at(x float64) density {
	F, S := logisticShares(x)
	f := F * S
	return density{F, S, f, f * (S - F), f * ((S-F)*(S-F) - 2*f)}
}

func (l logit) between(low, high float64) float64 {
	return l.at(high).F * l.at(low).S * -math.Expm1(low-high)
}

func (l logit) yes(x float64) (float64, float64, float64, float64) {
	d := l.at(x)
	return -softplus(-x), d.S, -d.f, -d.f1
}

func (l logit) no(x float64) (float64, float64, float64, float64) {
	d := l.at(x)
	return -softplus(x), -d.F, -d.f, -d.f1
}

// softplus is log(1 + exp x).
func softplus(x float64) float64 {
	if x > 0 {
		return x + math.Log1p(math.Exp(-x))
	}
	return math.Log1p(math.Exp(x))
}

type probit struct{}

const rootTwoPi = 2.50662827463100050242

func (probit) at(x float64) density {
	f := math.Exp(-x*x/2) / rootTwoPi
	return density{math.Erfc(-x/math.Sqrt2) / 2, math.Erfc(x/math.Sqrt2) / 2, f, -x * f, (x*x - 1) * f}
}

func (probit) between(low, high float64) float64 {
	if low > 0 {
		return (math.Erfc(low/math.Sqrt2) - math.Erfc(high/math.Sqrt2)) / 2
	}
	return (math.Erfc(-high/math.Sqrt2) - math.Erfc(-low/math.Sqrt2)) / 2
}

func (probit) yes(x float64) (float64, float64, float64, float64) {
	l, m := logNormal(x)
	return l, m, -m * (x + m), m * ((x+m)*(x+2*m) - 1)
}

func (p probit) no(x float64) (float64, float64, float64, float64) {
	l, l1, l2, l3 := p.yes(-x)
	return l, -l1, l2, -l3
}

// logNormal is log Φ(x) and φ(x)/Φ(x). Far below zero Φ is φ times Laplace's
// continued fraction (Abramowitz and Stegun 1972, 26.2.14).
func logNormal(x float64) (l, ratio float64) {
	if x > -6 {
		F := math.Erfc(-x/math.Sqrt2) / 2
		return math.Log(F), math.Exp(-x*x/2) / rootTwoPi / F
	}
	fraction := -x
	for k := 60; k > 0; k-- {
		fraction = -x + float64(k)/fraction
	}
	return -x*x/2 - math.Log(rootTwoPi*fraction), fraction
}

// loglog is the complementary log-log link: F(x) = 1 − exp(−exp x).
type loglog struct{}

func (loglog) at(x float64) density {
	a := math.Exp(x)
	S := math.Exp(-a)
	f := math.Exp(x - a)
	return density{-math.Expm1(-a), S, f, f * (1 - a), f * ((1-a)*(1-a) - a)}
}

func (loglog) between(low, high float64) float64 {
	a, b := math.Exp(low), math.Exp(high)
	return math.Exp(-a) * -math.Expm1(a-b)
}

func (loglog) yes(x float64) (float64, float64, float64, float64) {
	a := math.Exp(x)
	l := math.Log(-math.Expm1(-a))
	if a < 1e-300 {
		l = x
	}
	q := 1.0
	if a > 1e-12 {
		q = a / math.Expm1(a)
	}
	q1 := q * (1 - a - q)
	if a < 1e-5 {
		q1 = q * (-a/2 - a*a/12) // 1 − a − a/(eᵃ−1) by its series
	}
	return l, q, q1, q1*(1-a-q) - q*(a+q1)
}

func (loglog) no(x float64) (float64, float64, float64, float64) {
	a := math.Exp(x)
	return -a, -a, -a, -a
}

// logistic gives log(1 + exp x), 1/(1 + exp −x) and 1/(1 + exp x).
func logistic(x float64) (plus, F, S float64) {
	if x < 0 {
		e := math.Exp(x)
		S = 1 / (1 + e)
		return math.Log1p(e), e * S, S
	}
	e := math.Exp(-x)
	F = 1 / (1 + e)
	return x + math.Log1p(e), F, e * F
}

// logisticShares gives 1/(1 + exp −x) and 1/(1 + exp x).
func logisticShares(x float64) (F, S float64) {
	e := math.Exp(-math.Abs(x))
	large := 1 / (1 + e)
	if x < 0 {
		return e * large, large
	}
	return large, e * large
}
