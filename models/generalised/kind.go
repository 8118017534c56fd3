package generalised

// A kind is a kind of outcome: the log density ℓ of a row as a function of its
// pattern's predictors and of the sum r that the random effects add. All sums are
// multiplied by the row's weight.
type kind interface {
	// weigh fills, for rows from to to, ℓ, ∂ℓ/∂r and −∂²ℓ/∂r². It tells whether
	// every density is above zero.
	weigh(d *design, predictors, r []float64, from, to int, l, s, w []float64) bool
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
