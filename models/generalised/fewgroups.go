package generalised

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/student"
	"thumbed/models/wording"
)

// Few groups. An effect of a column that is the same in all rows of each group of a
// random term is known from as many pieces of evidence as there are groups, however
// many rows they have. Its interval and p are by Student's t with as many degrees of
// freedom as there are groups more than such effects (containment; Pinheiro and Bates
// 2000, section 2.4.2), and with the standard error enlarged by √(groups/(groups −
// effects)), which is what maximum likelihood takes off a variance between groups that
// restricted likelihood does not. Both are exact in balanced linear models and
// approximate here; COVERAGE.md says how well they do.
//
// An adjusted mean, averaged over groups, has a variance of which each random term f has
// the part v_f = σ_f²·∂V/∂σ_f². Each part has the variance enlarged as above, or σ_f² plus
// the square of σ_f's standard error where that is more: what is left of σ_f² on average
// over what the likelihood leaves open, where it is estimated as zero. The degrees of
// freedom of the sum are Satterthwaite's (1946, Biometrics Bulletin 2, 110–114).
//
// A profile interval ends where the likelihood ratio is what it exceeds in one of twenty
// samples of a balanced linear model with that many groups, estimated by maximum
// likelihood: for an effect G·log(1 + t²/df), which is the ratio there; for a standard
// deviation that of [evidence.spreadReach]. With many groups both are χ²'s 3.84.

// fewTerms are the random terms with few groups, as they bear on variances.
type fewTerms struct {
	once sync.Once
	all  []fewTerm
}

type fewTerm struct {
	df     float64
	more   *mat.SymDense // of the covariance of the predictors' parameters, where the variance is enlarged
	inside float64       // times more: what the variance as estimated has in it
}

const (
	mostFew  = 100 // groups: Student's t with as many degrees is the normal distribution
	mostOpen = 1.0 // standard error of a deviation, where the likelihood leaves it open without end
)

// fewTerms finds them, by the information with each term's spread made longer.
func (f *Fit) fewTerms() []fewTerm {
	f.few.once.Do(func() {
		information := inverse(f.covariance)
		before := f.d.block(information)
		before.ScaleSym(-1, before)
		for k := range f.d.random.factors {
			fac := &f.d.random.factors[k]
			e := f.d.evidenceOf(fac)[0]
			if fac.groups > mostFew || fac.groups >= f.d.n || math.IsInf(e.df, 1) {
				continue
			}
			own, open, columns := 0.0, 0.0, 0.0 // means of σ² and of the squares of standard errors
			for i, entry := range f.d.random.entries {
				if at := f.d.size + i; entry.factor == k && entry.row == entry.column {
					columns++
					own += f.psi[at] * f.psi[at]
					open += math.Min(f.covariance.At(at, at), mostOpen*mostOpen)
				}
			}
			own, open = own/columns, open/columns
			wide := math.Max(own*e.enlarge*e.enlarge, own+open)
			if wide-own < nearZero*nearZero {
				continue
			}
			psi := slices.Clone(f.psi)
			for i, entry := range f.d.random.entries {
				switch at := f.d.size + i; {
				case entry.factor != k:
				case own > nearZero*nearZero:
					psi[at] *= math.Sqrt(wide / own)
				case entry.row == entry.column:
					psi[at] = math.Sqrt(wide)
				}
			}
			there := f.d.approximation(f.model.Points)
			there.settle(modeSharp)
			if math.IsInf(there.logLik(psi), -1) {
				continue
			}
			g := make([]float64, len(psi))
			criterion{there}.slope(g)
			hessian := differenceHessian(func() approximation { return f.d.approximation(f.model.Points) }, there)(psi, g, scales(information))
			more := f.d.block(hessian)
			more.AddSym(more, before)
			f.few.all = append(f.few.all, fewTerm{e.df, more, own / (wide - own)})
		}
	})
	return f.few.all
}

// block is the covariance of the predictors' parameters that an information gives, the
// spreads held.
func (d *design) block(information *mat.SymDense) *mat.SymDense {
	out := mat.NewSymDense(d.size, nil)
	out.CopySym(information.SliceSym(0, d.size))
	return inverse(out)
}

// halfOf is half the width of the 95 % interval of what has a variance, slope its
// derivatives by ψ.
func (f *Fit) halfOf(variance float64, slope func(i int) float64) float64 {
	v := mat.NewVecDense(f.d.size, nil)
	for i := range f.d.size {
		v.SetVec(i, slope(i))
	}
	left, total, squares := variance, 0.0, 0.0
	for _, t := range f.fewTerms() {
		more := math.Max(0, mat.Inner(v, t.more, v))
		inside := math.Min(left, t.inside*more)
		left -= inside
		part := inside + more
		total += part
		squares += part * part / t.df
	}
	total += left
	df := math.Inf(1)
	if squares > 0 {
		df = total * total / squares
	}
	return student.Half(0.95, df) * math.Sqrt(total)
}

// Way says how the standard error, the interval and p came about, with the degrees of
// freedom where there are some.
func (c Coefficient) Way() string {
	if c.DF == nil {
		return c.Method
	}
	return c.Method + ", df " + wording.Fixed(*c.DF, 0)
}

// evidence is what an effect's interval rests on.
type evidence struct {
	df      float64 // +∞ where the effect varies inside all groups
	enlarge float64 // of the standard error
}

// groups is how many there are; +∞ where an effect varies inside all.
func (e evidence) groups() float64 { return e.df * e.enlarge * e.enlarge }

// reach is how far twice the log likelihood may fall inside the profile interval of an
// effect.
func (e evidence) reach() float64 {
	if math.IsInf(e.df, 1) {
		return chiSquare95
	}
	t := student.Half(0.95, e.df)
	return e.groups() * math.Log1p(t*t/e.df)
}

// spreadReach is that of a standard deviation between groups. With S the sum of squares
// between G groups and X = S/σ², of χ² with df degrees of freedom, twice the log
// likelihood falls by G·log(G/X) + X − G at σ: what that exceeds in one of twenty samples.
func (e evidence) spreadReach() float64 {
	if math.IsInf(e.df, 1) {
		return chiSquare95
	}
	g, x := e.groups(), distuv.ChiSquared{K: e.df}
	// the two X at which the fall is reach, from G down and up
	end := func(reach, from, to float64) float64 {
		for range 60 {
			if at := (from + to) / 2; g*math.Log(g/at)+at-g < reach {
				from = at
			} else {
				to = at
			}
		}
		return from
	}
	low, high := chiSquare95, 100.0
	for range 60 {
		reach := (low + high) / 2
		if x.CDF(end(reach, g, 0))+x.Survival(end(reach, g, 10*(g+reach))) > 0.05 {
			low = reach
		} else {
			high = reach
		}
	}
	return low
}

// columnEvidence gives the evidence of every column of the patterns, the first being
// the intercept.
func (d *design) columnEvidence() []evidence {
	out := make([]evidence, d.columns)
	for c := range out {
		out[c] = evidence{math.Inf(1), 1}
	}
	for f := range d.random.factors {
		fac := &d.random.factors[f]
		if fac.groups >= d.n { // a group for each row
			continue
		}
		for c, e := range d.evidenceOf(fac) {
			if e.df < out[c].df {
				out[c] = e
			}
		}
	}
	return out
}

// evidenceOf gives the evidence of every column by one factor's groups alone.
func (d *design) evidenceOf(fac *factor) []evidence {
	constant := d.constantIn(fac)
	effects := 0
	for _, is := range constant[:len(d.lay.Fixed)] {
		if is {
			effects++
		}
	}
	df := math.Max(1, float64(fac.groups-effects))
	out := make([]evidence, len(constant))
	for c, is := range constant {
		out[c] = evidence{math.Inf(1), 1}
		if is {
			out[c] = evidence{df, math.Sqrt(float64(fac.groups) / df)}
		}
	}
	return out
}

// constantIn tells of each column whether it is the same in all rows of each group.
func (d *design) constantIn(fac *factor) []bool {
	first := make([]int32, fac.groups) // pattern of each group's first row, from 1
	out := make([]bool, d.columns)
	for c := range out {
		out[c] = true
	}
	for i, g := range fac.code {
		p := d.pattern[i]
		if first[g] == 0 {
			first[g] = p + 1
			continue
		}
		if first[g]-1 == p {
			continue
		}
		a, b := d.x[int(first[g]-1)*d.columns:], d.x[int(p)*d.columns:]
		for c := range out {
			out[c] = out[c] && a[c] == b[c]
		}
	}
	return out
}
