package generalised

import "math"

// A kind is a kind of outcome: the log density ℓ of a row as a function of its
// pattern's predictors and of the sum r that the random effects add. All sums are
// multiplied by the row's weight.
type kind interface {
	// weigh fills, for rows from to to, ∂ℓ/∂r and −∂²ℓ/∂r², and ℓ where l is not nil.
	// It gives the sum of ℓ, −∞ where some density is zero.
	weigh(d *design, predictors, r []float64, from, to int, l, s, w []float64) float64
	// third fills ∂³ℓ/∂r³.
	third(d *design, predictors, r []float64, from, to int, t []float64)
	// slopes adds a·∂ℓ/∂c + b·∂²ℓ/∂r∂c + e·∂³ℓ/∂r²∂c to the slopes by each predictor
	// c; a, b and e are by row.
	slopes(d *design, predictors, r []float64, from, to int, a, b, e, slopes []float64)
}

// ordered is a kind that not all predictors suit.
type ordered interface {
	// ordered tells whether the predictors of every pattern are possible, and gives
	// the first pattern of which they are not.
	ordered(d *design, predictors []float64) (pattern int, ok bool)
}

// direct is a kind of one predictor that r is simply added to, so that derivatives by
// the one are those by the other.
type direct interface{ direct() bool }

// A product gathers the logarithm of a product of numbers in (0, 2], taking it seldom.
type product struct{ log, left float64 }

func (p *product) times(v float64) {
	p.left *= v
	if p.left < 1e-200 || p.left > 1e200 {
		p.log += math.Log(p.left)
		p.left = 1
	}
}

func (p *product) sum() float64 { return p.log + math.Log(p.left) }
