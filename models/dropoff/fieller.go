package dropoff

import "math"

// A ratio is an estimate of one mean over another, with its interval and the
// degrees of freedom that it rests on.
type ratio struct{ value, low, high, df float64 }

// fieller gives the ratio of mean a to mean b with the interval of Fieller
// (1954, Journal of the Royal Statistical Society B 16, 175–185, section 4): all
// ratios r at which a − r b is not further from 0 than quantile standard errors.
// It holds its level however near a is to 0. It is an interval only where b is
// itself further from 0 than quantile standard errors; otherwise ok is false,
// since any ratio at all would agree with the data.
func fieller(a, b, varianceA, varianceB, covariance, quantile float64) (r ratio, ok bool) {
	t := quantile * quantile
	// (b² − t vb) r² − 2 (ab − t cov) r + (a² − t va) ≤ 0
	p, q, c := b*b-t*varianceB, a*b-t*covariance, a*a-t*varianceA
	if !(p > 0) || b <= 0 {
		return ratio{}, false
	}
	half := math.Sqrt(max(q*q-p*c, 0))
	return ratio{value: a / b, low: (q - half) / p, high: (q + half) / p}, true
}
