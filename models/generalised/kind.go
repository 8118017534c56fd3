package generalised

import "math"

// A kind is a kind of outcome: the log density ℓ of a row as a function of its
// pattern's predictors and of the sum r that the random effects add, both those of a
// trial. All sums are multiplied by the row's weight.
type kind interface {
	// weigh fills, for rows from to to, t.s with ∂ℓ/∂r and t.w with −∂²ℓ/∂r², and l with
	// ℓ where it is not nil. It gives the sum of ℓ, −∞ where some density is zero.
	weigh(t *trial, from, to int, l []float64) float64
	// third fills t.t with ∂³ℓ/∂r³.
	third(t *trial, from, to int)
	// slopes adds a·∂ℓ/∂c + b·∂²ℓ/∂r∂c + e·∂³ℓ/∂r²∂c to the slopes by each predictor
	// c; a, b and e are by row.
	slopes(t *trial, from, to int, a, b, e, slopes []float64)
}

// steep bounds the predictors and sums of rows whose odds are taken as they are: within
// it no product of two of them leaves the range of numbers.
const steep = 170

// ordered is a kind that not all predictors suit.
type ordered interface {
	// ordered tells whether the predictors of every pattern are possible, and gives
	// the first pattern of which they are not.
	ordered(d *design, predictors []float64) (pattern int, ok bool)
}

// direct is a kind of one predictor that r is simply added to, so that derivatives by
// the one are those by the other.
type direct interface{ direct() bool }

func (d *design) direct() bool {
	k, ok := d.kind.(direct)
	return ok && k.direct()
}

// A product gathers the logarithm of a product of numbers in (0, 2], taking it seldom.
type product struct{ log, left float64 }

func (p *product) times(v float64) {
	p.left *= v
	if p.left < 1e-200 || p.left > 1e200 {
		p.log += math.Log(p.left)
		p.left = 1
	}
}

// power takes v to a small whole power, and tells whether it did.
func (p *product) power(v, exponent float64) bool {
	if !(v > 1e-90) || exponent > 4 {
		return false
	}
	for ; exponent > 0; exponent-- {
		p.times(v)
	}
	return true
}

func (p *product) sum() float64 { return p.log + math.Log(p.left) }
