package mixed

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A KenwardRoger holds the inference on fixed effects of Kenward and Roger
// (1997, Biometrics 53, 983–997): a covariance matrix that allows for the
// variance parameters' having been estimated, and degrees of freedom that make
// scaled F statistics fit for small studies.
type KenwardRoger struct {
	f        *Fit
	phi      *mat.Dense // (X'V⁻¹X)⁻¹ in the basis Q, relative to σ²
	adjusted *mat.Dense // its adjusted form
	p        []*mat.Dense
	w        *mat.Dense    // asymptotic covariance of the variance parameters
	fixed    []Coefficient // see Fixed
}

// KenwardRoger computes the adjustment, or gives that of the fit. Rows that are
// only bounds enter by their pseudo-measurements. It fails where the method is not
// defined, a fit by full likelihood, and where it is too much work.
func (f *Fit) KenwardRoger() (*KenwardRoger, error) {
	if f.kr != nil {
		return f.kr, nil
	}
	if f.like.full {
		return nil, errors.New(`the Kenward–Roger adjustment is made for the restricted likelihood: fit the model with estimate = "restricted"`)
	}
	v, err := f.newVarianceSlopes()
	if err != nil {
		return nil, err
	}
	k := &KenwardRoger{f: f, phi: mat.DenseCopyOf(f.cov.inverse), p: v.p, w: v.covariance}
	if k.adjust(v); !k.sound() {
		// where V bends, its second derivatives may take more out than there is
		v.straighten()
		if k.adjust(v); !k.sound() {
			return nil, errNoAdjustment
		}
	}
	return k, nil
}

// sound tells whether the adjusted matrix is a covariance and every coefficient
// comes out as a number.
func (k *KenwardRoger) sound() bool {
	p := k.f.d.fixed.p
	m := mat.NewSymDense(p, nil)
	for i := range p {
		for j := range i + 1 {
			m.SetSym(i, j, (k.adjusted.At(i, j)+k.adjusted.At(j, i))/2)
		}
	}
	var root mat.Cholesky
	if !finite(mat.Norm(m, 1)) || !root.Factorize(m) {
		return false
	}
	k.fixed = k.coefficients()
	for _, c := range k.fixed {
		if !finite(c.T) || !finite(c.DF) || !finite(c.P) || !finite(c.Low) || !finite(c.High) {
			return false
		}
	}
	return true
}

// adjust computes Φ + 2ΦΛΦ, Λ = Σ Wᵢⱼ(Qᵢⱼ − PᵢΦPⱼ − ¼Rᵢⱼ) (equation 3 of section
// 2 with that of section 3).
func (k *KenwardRoger) adjust(v *varianceSlopes) {
	p := k.f.d.fixed.p
	sum := mat.NewDense(p, p, nil)
	for i := range v.parameters {
		addScaled(sum, k.w.At(i, i), v.pair[i][i])
		for j := range i {
			addScaled(sum, 2*k.w.At(i, j), v.pair[i][j])
		}
	}
	k.adjusted = new(mat.Dense)
	k.adjusted.Product(k.phi, sum, k.phi)
	k.adjusted.Scale(2, k.adjusted)
	k.adjusted.Add(k.adjusted, k.phi)
}

// Covariance is the adjusted covariance matrix of the fixed effects (p × p, in
// the order of the fit's Fixed).
func (k *KenwardRoger) Covariance() *mat.SymDense {
	return k.f.carryBack(k.adjusted)
}

// carryBack takes a covariance in the basis Q, relative to σ² and without what
// the variance parameters share, to the coefficients of X.
func (f *Fit) carryBack(m *mat.Dense) *mat.SymDense {
	fixed := &f.d.fixed
	inverse := fixed.inverseTriangle()
	whole := mat.DenseCopyOf(m)
	if f.cov.shared != nil {
		whole.Add(whole, f.cov.shared)
	}
	var product mat.Dense
	product.Product(inverse, whole, inverse.T())
	out := mat.NewSymDense(fixed.p, nil)
	unit := f.sigma * fixed.scale
	for i := range fixed.p {
		for j := range i + 1 {
			out.SetSym(i, j, unit*unit*(product.At(i, j)+product.At(j, i))/2)
		}
	}
	return out
}

// Fixed are the fixed effects with adjusted standard errors and degrees of
// freedom, in the order of the fit's Fixed.
func (k *KenwardRoger) Fixed() []Coefficient { return slices.Clone(k.fixed) }

func (k *KenwardRoger) coefficients() []Coefficient {
	var out []Coefficient
	weights := make([]float64, k.f.d.fixed.p)
	for j, name := range k.f.d.fixed.names {
		clear(weights)
		weights[j] = 1
		out = append(out, k.contrast(name, weights))
	}
	return out
}

// Contrast estimates a weighted sum of fixed effects, as [Fit.Contrast] does.
func (k *KenwardRoger) Contrast(name string, weights map[string]float64) (Coefficient, error) {
	w, err := k.f.contrastWeights(name, weights)
	if err != nil {
		return Coefficient{}, err
	}
	return k.contrast(name, w), nil
}

func (k *KenwardRoger) contrast(name string, weights []float64) Coefficient {
	c, _, _ := k.f.plainContrast(name, weights)
	w := k.f.d.fixed.toBasis(weights)
	l := mat.NewDense(1, len(weights), w)
	var form mat.Dense
	form.Product(l, k.adjusted, l.T())
	c.SE = math.Sqrt(form.At(0, 0)+k.f.sharedVariance(w)) * k.f.sigma * k.f.d.fixed.scale
	c.DF, _ = k.degrees(l)
	if len(k.f.Boundary) > 0 {
		c.DF = math.Max(c.DF, k.f.d.designDegrees(weights))
	}
	c.complete()
	return c
}

// toBasis takes weights of the coefficients of X to weights of those of Q:
// weights'R⁻¹.
func (f *fixedPart) toBasis(weights []float64) []float64 {
	w := make([]float64, f.p)
	for j := range f.p {
		v := weights[j]
		for k := range j {
			v -= w[k] * f.r[k*f.p+j]
		}
		w[j] = v / f.r[j*f.p+j]
	}
	return w
}

// degrees gives the denominator's degrees of freedom and the factor of the F
// statistic for contrasts l (rows, in the basis Q; Kenward and Roger 1997,
// section 5).
func (k *KenwardRoger) degrees(l *mat.Dense) (df, scale float64) {
	rows, _ := l.Dims()
	n := float64(rows)
	a1, a2 := k.moments(l)
	switch {
	case a2 < 2/manyDegrees:
		return manyDegrees, 1 // the variances might as well be known
	case rows == 1:
		return math.Max(2/a2, leastDegrees), 1 // what follows comes to the same
	}
	b := (a1 + 6*a2) / (2 * n)
	g := ((n+1)*a1 - (n+4)*a2) / ((n + 2) * a2)
	below := 3*n + 2*(1-g)
	c1, c2, c3 := g/below, (n-g)/below, (n+2-g)/below
	mean := 1 / (1 - a2/n)
	spread := 2 / n * (1 + c1*b) / ((1 - c2*b) * (1 - c2*b) * (1 - c3*b))
	ratio := spread / (2 * mean * mean)
	df = 4 + (n+2)/(n*ratio-1)
	return df, df / (mean * (df - 2))
}

// moments are A₁ and A₂ of section 4.
func (k *KenwardRoger) moments(l *mat.Dense) (a1, a2 float64) {
	var lp, form, inverse mat.Dense
	lp.Mul(l, k.phi)
	form.Mul(&lp, l.T())
	if err := inverse.Inverse(&form); err != nil && math.IsInf(float64(asCondition(err)), 1) {
		return 0, 0
	}
	// ΘΦPᵢΦ up to rotation: (LΦL')⁻¹·LΦPᵢΦL'
	parts := make([]*mat.Dense, len(k.p))
	for i, p := range k.p {
		parts[i] = new(mat.Dense)
		parts[i].Product(&inverse, &lp, p, lp.T())
	}
	for i := range parts {
		for j := range parts {
			w := k.w.At(i, j)
			a1 += w * mat.Trace(parts[i]) * mat.Trace(parts[j])
			a2 += w * traceOfProduct(parts[i], parts[j])
		}
	}
	return a1, a2
}

// asCondition is the condition number in an error of gonum's, which warns of
// ill-conditioned matrices through it; infinite where the matrix is singular.
func asCondition(err error) mat.Condition {
	var c mat.Condition
	if errors.As(err, &c) {
		return c
	}
	return mat.Condition(math.Inf(1))
}

// traceOfProduct is tr(AB).
func traceOfProduct(a, b *mat.Dense) float64 {
	n, _ := a.Dims()
	sum := 0.0
	for i := range n {
		for j, v := range a.RawRowView(i) {
			sum += v * b.At(j, i)
		}
	}
	return sum
}
