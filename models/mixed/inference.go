package mixed

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"strings"
	"thumbed/models/sparse"
	"thumbed/models/student"

	"gonum.org/v1/gonum/mat"
)

// A covariance is what is known of the estimates' uncertainty. All is in the
// basis Q and the outcome's unit of [fixedPart].
type covariance struct {
	beta    []float64  // p: fixed effects in the basis Q, beyond least squares
	inverse *mat.Dense // p × p: (X'V⁻¹X)⁻¹ relative to σ²
	// shared is what the fixed effects' estimates vary by because those of the
	// variance parameters do, p × p relative to σ²; nil but with bounds among the
	// rows.
	shared *mat.Dense

	slopes   [][]float64 // for each variance parameter the derivative of X'V⁻¹X, p × p …
	variance *mat.Dense  // … and their asymptotic covariance; see [Fit.asymptotic]
}

// infer computes everything that is told about the fixed effects.
func (f *Fit) infer() error {
	t := f.like.trial
	p := f.d.fixed.p
	f.cov.beta = make([]float64, p)
	t.Coefficients(f.cov.beta)
	inverse := make([]float64, p*p)
	t.FixedCovariance(inverse)
	f.cov.inverse = mat.NewDense(p, p, inverse)
	if f.d.errors.bounded() {
		f.shareUncertainty()
	}
	f.chooseMethod()
	weights := make([]float64, p)
	for j, name := range f.d.fixed.names {
		var c Coefficient
		if f.kr != nil {
			c = f.kr.fixed[j]
		} else {
			clear(weights)
			weights[j] = 1
			c = f.contrast(name, weights)
		}
		if !finite(c.T) || !finite(c.DF) || !finite(c.P) || !finite(c.Low) || !finite(c.High) {
			return f.notToBeHad(c)
		}
		f.Fixed = append(f.Fixed, c)
	}
	return nil
}

// chooseMethod decides how standard errors and degrees of freedom come about: as
// the model asks, after Kenward and Roger wherever that can be computed.
func (f *Fit) chooseMethod() {
	if len(f.phi) == 0 {
		f.Method = "least squares, exact"
		return
	}
	reason := "asked for in the model"
	if f.model.DF != satterthwaite {
		var err error
		if f.kr, err = f.KenwardRoger(); err == nil {
			f.Method = ByKenwardRoger
			return
		}
		reason = err.Error()
	}
	f.Method = satterthwaite + ": " + reason
}

// asymptotic computes the derivatives of X'V⁻¹X by the variance parameters and
// their asymptotic covariance, once. Both are by (φ, log σ²), or by φ where σ² is
// not profiled out, and by the spreads of shared errors after these.
func (f *Fit) asymptotic() {
	if f.cov.slopes != nil || len(f.phi) == 0 {
		return
	}
	f.like.stand(f.phi)
	f.cov.slopes = f.like.fixedSlopes(f.phi)
	f.cov.variance = f.like.informationInverse(f.phi)
	f.carryOffsets()
}

// carryOffsets adds the spreads of shared errors that were estimated beforehand to
// the variance parameters: their own variance SD²/(2·df), and what the estimates of
// the others move by with them.
func (f *Fit) carryOffsets() {
	l, k := f.like, len(f.phi)
	for o, part := range f.d.offsets {
		if part.DF == 0 {
			continue
		}
		up, down := make([]float64, k), make([]float64, k)
		h := 1e-4 * part.sd
		slope := l.withOffset(o, part.sd+h, f.phi, up)
		for e, v := range l.withOffset(o, part.sd-h, f.phi, down) {
			slope[e] = (slope[e] - v) / (2 * h)
		}
		n, _ := f.cov.variance.Dims()
		carried := mat.NewVecDense(n+1, nil)
		for i := range k {
			for j := range k { // variance is twice the Hessian's inverse
				carried.SetVec(i, carried.AtVec(i)-f.cov.variance.At(i, j)*(up[j]-down[j])/(4*h))
			}
		}
		carried.SetVec(n, 1)
		grown := mat.NewDense(n+1, n+1, nil)
		grown.Slice(0, n, 0, n).(*mat.Dense).Copy(f.cov.variance)
		grown.RankOne(grown, part.sd*part.sd/(2*part.DF), carried, carried)
		f.cov.slopes, f.cov.variance = append(f.cov.slopes, slope), grown
	}
	l.criterion(f.phi)
}

// withOffset gives X'V⁻¹X with another spread of a shared error, and writes the
// criterion's gradient there into out.
func (l *likelihood) withOffset(o int, sd float64, phi, out []float64) []float64 {
	part := &l.s.d.offsets[o]
	own := part.sd
	defer func() { part.sd = own }()
	part.sd = sd
	l.criterion(phi)
	l.gradient(l.kappa, out)
	return l.trial.Information()
}

// notToBeHad says why a coefficient comes out as no number.
func (f *Fit) notToBeHad(c Coefficient) error {
	if along := f.model.Residual.Along; along != "" && f.Residual.Rho > 0.999 {
		return fmt.Errorf("no interval can be given for %s: the rows drift along %s as one, so that their level cannot be told; take along out of the model, or add a trend along %s to fixed", c.Term, along, along)
	}
	if !f.Converged {
		return fmt.Errorf("the fit did not converge, and no interval can be given for %s: take out random terms or fixed effects that few rows speak of", c.Term)
	}
	return fmt.Errorf("no interval can be given for %s: the fixed effects explain the outcome nearly without error; look whether it was computed from these columns", c.Term)
}

// fixedSlopes gives the derivative of X'V⁻¹X, relative to σ², by each variance
// parameter (p × p by rows, in the basis Q) at φ, where criterion was last
// computed. With bounds among the rows the pseudo-measurements move with the
// parameters; there it is a central difference.
func (l *likelihood) fixedSlopes(phi []float64) [][]float64 {
	if l.weighing == nil || l.weighing.pseudo == nil {
		v := l.trial.Sensitivity()
		out := l.randomSlopes(v)
		if l.weighing != nil {
			out = append(out, l.weighing.fixedSlopes(v)...)
		}
		return out
	}
	out := make([][]float64, len(phi))
	at := append([]float64(nil), phi...)
	for i := range phi {
		h := differenceStep(phi[i])
		at[i] = phi[i] + h
		l.criterion(at)
		out[i] = l.trial.Information()
		at[i] = phi[i] - h
		l.criterion(at)
		for e, v := range l.trial.Information() {
			out[i][e] = (out[i][e] - v) / (2 * h)
		}
		at[i] = phi[i]
	}
	l.criterion(phi)
	return out
}

// randomSlopes are fixedSlopes by the parameters of Λ.
func (l *likelihood) randomSlopes(v *sparse.Sensitivity) [][]float64 {
	p := l.s.p
	sums := v.FixedSlopes()
	out := make([][]float64, len(l.parameters))
	for i, par := range l.parameters {
		out[i] = make([]float64, p*p)
		k := l.s.factors[par.factor].k
		for _, e := range par.entries {
			sum := sums[par.factor][e[0]*k+e[1]]
			for x := range p {
				for y := range p {
					out[i][x*p+y] += sum[x*p+y] + sum[y*p+x]
				}
			}
		}
	}
	return out
}

// differenceStep is the step of a central difference of derivatives by a
// variance parameter.
func differenceStep(phi float64) float64 { return 1e-4 * math.Max(math.Abs(phi), 0.1) }

// largeFactor is the size of a factor from which one-sided differences of the
// gradient, half the work, serve for the Hessian, and are made on all cores at
// once: with that many rows their error, of order 1e-5, is far below the
// Hessian's own uncertainty.
const largeFactor = 20_000

// informationInverse is twice the inverse of the criterion's Hessian by (φ, log
// σ²) at its minimum, or by φ where σ² is not profiled out. Directions in which
// the criterion does not curve (a variance at zero) are left out by a
// pseudo-inverse.
func (l *likelihood) informationInverse(phi []float64) *mat.Dense {
	hessian := l.heldHessian(phi)
	if hessian == nil {
		return nil
	}
	return pseudoInverse(hessian, 2)
}

// heldHessian is the criterion's Hessian by (φ, log σ²) where σ² has its best
// value, or by φ where σ² is not profiled out; nil without parameters. Its rows
// by φ are differences of the exact gradient with σ² held; those by log σ²
// follow exactly. It leaves the covariance factors at φ, but not always the
// trial.
func (l *likelihood) heldHessian(phi []float64) *mat.SymDense {
	k := len(phi)
	size := k
	if !l.absolute {
		size++
	}
	if size == 0 {
		return nil
	}
	hessian := mat.NewSymDense(size, nil)
	l.stand(phi)
	if !l.absolute {
		// at the best σ² the determinants' derivative by φ balances the sum of
		// squares', and by log σ² the latter only changes its sign
		for i, v := range l.determinantSlopes() {
			hessian.SetSym(i, k, v)
		}
		hessian.SetSym(k, k, l.degrees())
	}
	rows := l.gradientSlopes(phi)
	for i := range k {
		for j := range i + 1 {
			hessian.SetSym(i, j, (rows[i][j]+rows[j][i])/2)
		}
	}
	return hessian
}

// determinantSlopes are the derivatives of the criterion's determinants by φ at
// its minimum, where criterion was last computed and σ² is profiled out.
func (l *likelihood) determinantSlopes() []float64 {
	out := make([]float64, l.size())
	switch {
	case l.weighing != nil:
		l.gradient(0, out)
	case len(out) > 0:
		l.reaches(out)
	}
	return out
}

// gradientSlopes are differences of the gradient by φ, where the trial stands,
// σ² held: row i the gradient's change with φᵢ.
func (l *likelihood) gradientSlopes(phi []float64) [][]float64 {
	rows := make([][]float64, len(phi))
	kappa := l.kappa
	if l.s.Size() < largeFactor {
		for i := range phi {
			rows[i] = l.gradientSlope(phi, i, kappa, nil)
		}
	} else {
		here := make([]float64, len(phi))
		l.slopeHere(here)
		workers := l.workers(len(phi))
		sparse.InParallel(len(phi), func(i int) {
			w := <-workers
			rows[i] = w.gradientSlope(phi, i, kappa, here)
			workers <- w
		})
	}
	l.set(phi)
	if l.weighing != nil { // whose structure moves with the criterion
		l.criterion(phi)
	}
	return rows
}

// gradientSlope is the gradient's change with φᵢ: a difference to both sides, or
// from here to one where the gradient here is given.
func (l *likelihood) gradientSlope(phi []float64, i int, kappa float64, here []float64) []float64 {
	at := slices.Clone(phi)
	slope := func(shift float64) []float64 {
		out := make([]float64, len(phi))
		at[i] = phi[i] + shift
		l.criterion(at)
		l.gradient(kappa, out)
		return out
	}
	h := differenceStep(phi[i])
	width := 2 * h
	if here != nil {
		h *= 0.1
		width = h
	} else {
		here = slope(-h)
	}
	out := slope(h)
	for j, v := range here {
		out[j] = (out[j] - v) / width
	}
	return out
}

// workers hands out likelihoods of the same system, l the first of them, at most
// one for each core: where rows are independent and alike they share their
// cross-product, elsewhere l is the only one.
func (l *likelihood) workers(most int) chan *likelihood {
	n := 1
	if l.weighing == nil {
		n = min(most, runtime.GOMAXPROCS(0))
	}
	out := make(chan *likelihood, n)
	out <- l
	for range n - 1 {
		twin := *l
		twin.trial = l.s.NewFactor(l.trial.Cross)
		twin.surface, twin.here, twin.slope = nil, nil, nil
		twin.standing, twin.sloped = false, false
		out <- &twin
	}
	return out
}

// pseudoInverse is factor times the inverse of a symmetric matrix over the
// directions in which it is clearly positive.
func pseudoInverse(m *mat.SymDense, factor float64) *mat.Dense {
	n := m.SymmetricDim()
	// scale to unit diagonal, so that clearly positive means the same for all
	scale := make([]float64, n)
	for i := range n {
		scale[i] = 1
		if d := m.At(i, i); d > 0 {
			scale[i] = 1 / math.Sqrt(d)
		}
	}
	scaled := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			scaled.SetSym(i, j, m.At(i, j)*scale[i]*scale[j])
		}
	}
	out := mat.NewDense(n, n, nil)
	var eigen mat.EigenSym
	if !eigen.Factorize(scaled, true) {
		return out
	}
	values := eigen.Values(nil)
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for k, v := range values {
		if v < 1e-8 {
			continue
		}
		for i := range n {
			for j := range n {
				out.Set(i, j, out.At(i, j)+factor*vectors.At(i, k)*vectors.At(j, k)/v*scale[i]*scale[j])
			}
		}
	}
	return out
}

// contrast is the estimate of weights'β with its standard error and degrees of
// freedom, after the fit's method.
func (f *Fit) contrast(name string, weights []float64) Coefficient {
	if f.kr != nil {
		return f.kr.contrast(name, weights)
	}
	c, variance, m := f.plainContrast(name, weights)
	c.DF = f.satterthwaite(m, variance)
	variance += f.sigma * f.sigma * f.sharedVariance(f.d.fixed.toBasis(weights))
	c.SE = math.Sqrt(variance) * f.d.fixed.scale
	c.complete()
	return c
}

// plainContrast is a contrast's estimate with the standard error that holds the
// variances for known, its variance, and (X'V⁻¹X)⁻¹ times its weights in the basis
// Q, relative to σ².
func (f *Fit) plainContrast(name string, weights []float64) (c Coefficient, variance float64, m []float64) {
	fixed := &f.d.fixed
	p := fixed.p
	c.Term = name
	w := fixed.toBasis(weights)
	m = make([]float64, p)
	quadratic := 0.0
	for i := range p {
		c.Estimate += weights[i]*fixed.beta[i] + w[i]*f.cov.beta[i]*fixed.scale
		for j := range p {
			m[i] += f.cov.inverse.At(i, j) * w[j]
		}
		quadratic += w[i] * m[i]
	}
	variance = f.sigma * f.sigma * quadratic
	c.SE = math.Sqrt(variance) * fixed.scale
	return c, variance, m
}

// sharedVariance is what a contrast, in the basis Q, varies by with the variance
// parameters' estimates, relative to σ².
func (f *Fit) sharedVariance(w []float64) float64 {
	if f.cov.shared == nil {
		return 0
	}
	v := mat.NewVecDense(len(w), w)
	return mat.Inner(v, f.cov.shared, v)
}

// shareUncertainty fills cov.shared where rows are only bounds: then the estimates
// of the fixed effects and of the variances depend on each other, and the fixed
// effects' covariance is the joint information's inverse: (X'V⁻¹X)⁻¹ and on top
// BAB', B the derivative of the fixed effects by the variance parameters and A
// these parameters' covariance.
func (f *Fit) shareUncertainty() {
	l, p := f.like, f.d.fixed.p
	f.asymptotic()
	b := mat.NewDense(p, len(f.phi), nil)
	up, down := make([]float64, p), make([]float64, p)
	at := slices.Clone(f.phi)
	for k := range f.phi {
		h := differenceStep(f.phi[k])
		at[k] = f.phi[k] + h
		l.criterion(at)
		l.trial.Coefficients(up)
		at[k] = f.phi[k] - h
		l.criterion(at)
		l.trial.Coefficients(down)
		at[k] = f.phi[k]
		for i := range p {
			b.Set(i, k, (up[i]-down[i])/(2*h))
		}
	}
	l.criterion(f.phi)
	f.cov.shared = new(mat.Dense)
	f.cov.shared.Product(b, f.cov.variance.Slice(0, len(f.phi), 0, len(f.phi)), b.T())
}

// complete fills in t, p and the 95 % interval from estimate, se and df.
func (c *Coefficient) complete() {
	c.T = c.Estimate / c.SE
	c.P = student.TwoSided(c.T, c.DF)
	half := student.Half(0.95, c.DF) * c.SE
	c.Low, c.High = c.Estimate-half, c.Estimate+half
}

// satterthwaite are the degrees of freedom of a contrast (Giesbrecht and Burns
// 1985; Fai and Cornelius 1996): 2f²/(g'Ag) with f the contrast's variance, g its
// derivative by the variance parameters and A their asymptotic covariance.
func (f *Fit) satterthwaite(m []float64, variance float64) float64 {
	p := len(m)
	if len(f.phi) == 0 {
		return float64(f.N - p)
	}
	f.asymptotic()
	var g []float64
	for _, slope := range f.cov.slopes {
		sum := 0.0
		for i := range p {
			for j := range p {
				sum += m[i] * slope[i*p+j] * m[j]
			}
		}
		g = append(g, -f.sigma*f.sigma*sum)
	}
	if !f.like.absolute {
		g = append(g, variance) // by log σ²
	}
	v := mat.NewVecDense(len(g), g)
	return degreesOf(variance, mat.Inner(v, f.cov.variance, v))
}

// Contrast estimates a weighted sum of fixed effects; weights are by term name
// as in Fixed. It fails where a name is none of them or all weights are zero.
func (f *Fit) Contrast(name string, weights map[string]float64) (Coefficient, error) {
	w, err := f.contrastWeights(name, weights)
	if err != nil {
		return Coefficient{}, err
	}
	return f.contrast(name, w), nil
}

// contrastWeights takes weights by name to weights by place.
func (f *Fit) contrastWeights(name string, weights map[string]float64) ([]float64, error) {
	w := make([]float64, f.d.fixed.p)
	zero := true
	for term, weight := range weights {
		j := slices.Index(f.d.fixed.names, term)
		if j < 0 {
			return nil, fmt.Errorf("the model has no fixed effect %q; it has %s: name one of these", term, strings.Join(f.d.fixed.names, ", "))
		}
		if !finite(weight) {
			return nil, fmt.Errorf("the weight of %q is %g; expected a finite number", term, weight)
		}
		w[j] = weight
		zero = zero && weight == 0
	}
	if zero {
		return nil, fmt.Errorf("the contrast %q has no weight other than zero: give at least one fixed effect a weight", name)
	}
	return w, nil
}

// Covariance is the covariance matrix of the fixed effects (p × p, in the order
// of Fixed).
func (f *Fit) Covariance() *mat.SymDense {
	if f.kr != nil {
		return f.kr.Covariance()
	}
	return f.carryBack(f.cov.inverse)
}
