// Package sparse solves the penalised, weighted normal equations of mixed models:
//
//	⎡ Λ'Z'R⁻¹ZΛ + I   Λ'Z'R⁻¹X   Λ'Z'R⁻¹y ⎤
//	⎣ [X y]'R⁻¹ZΛ          [X y]'R⁻¹[X y]  ⎦
//
// with Z sparse, made of terms whose groups may be nested and crossed, and X
// dense and narrow. It gives the solution, both determinants, those blocks of
// the inverse that derivatives need, and the derivatives themselves. It knows
// nothing of models: those who do say what R, y and Λ are.
//
// # Use
//
// A [Design] says once which rows belong to which groups; [NewSystem] finds the
// order of elimination and the shape of everything, which is then shared. A
// [Cross] is the cross-product under the rows' weights, filled anew as often as
// they change (a penalised, weighted least squares fills it at every step); a
// [Factor] is one setting of Λ:
//
//	s := sparse.NewSystem(design)
//	c := s.NewCross()
//	f := s.NewFactor(c)
//	c.Fill(weights, y)          // R⁻¹ = diag(weights)
//	f.Lambda[0][0] = 0.7        // set Λ, then
//	if !f.Factorise() { … }     // not positive definite
//	f.Solve(v)                  // M⁻¹v, M the random effects' own block
//	f.Coefficients(beta)        // fixed effects
//	effects := f.Modes(beta)    // random effects Λu
//	f.LogRandom, f.LogFixed, f.Squares
//	f.StartInverse(true, 0)     // then
//	f.Invert()                  // blocks of the inverse, and from these
//	f.Adjoint(a)                // in the shape of the cross-product:
//	a.Form(i, y)                // a row's variance given the rest
//	f.FillSlopes()              // derivatives by Λ
//
// # Map
//
//	system.go      which blocks the cross-product has
//	order.go       in which order the groups are eliminated
//	product.go     the cross-product of independent rows; runs.go: of rows that
//	               are correlated in runs
//	fronts.go      the shape of the Cholesky factor
//	factor.go      the factor, refilled in place; schur.go: what a front takes out of
//	               later ones; triangle.go: a term's Λ
//	inverse.go     blocks of its inverse, from the last front to the first
//	dense.go       the kernels for large triangles
//	solve.go       coefficients, random effects, products, substitution
//	sensitivity.go how the random effects answer to X and y; Z'V⁻¹[X y]
//	slopes.go      derivatives by Λ; adjoint.go: by the cross-product
//
// Cost is linear in the rows of a nested design; what is left of crossed groups
// becomes one dense block.
package sparse
