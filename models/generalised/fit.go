package generalised

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/mixed"
	"thumbed/models/student"
	"thumbed/models/table"
)

// A Coefficient is one fixed effect, on the scale of the link. An effect that varies
// inside all groups is compared with the normal distribution; one that is the same in
// all rows of each group with Student's t, as fewgroups.go says; one that the data bound
// on one side only by the penalised likelihood. Its standard error is always that with
// which t, p and the interval go.
type Coefficient struct {
	Term     string   `json:"term"`     // intercept, a column, column=level, products joined by × ; at below|above where it differs by threshold
	Estimate float64  `json:"estimate"` // the estimate, on the scale of the link
	SE       float64  `json:"se"`       // its standard error, with which t and p go; enlarged where df is given
	DF       *float64 `json:"df"`       // degrees of freedom of t; null for the normal distribution
	T        float64  `json:"t"`        // estimate divided by its standard error
	P        float64  `json:"p"`        // two-sided p-value
	Low      float64  `json:"low"`      // lower end of the 95 % interval
	High     float64  `json:"high"`     // upper end of the 95 % interval
	Method   string   `json:"method"`   // how its standard error, interval and p came about

	own float64 // the standard error from the observed information alone
}

// How standard errors, intervals and p-values come about.
const (
	byNormal    = "normal distribution"
	byGroups    = "Student's t by groups"
	byPenalised = "penalised likelihood ratio"
)

// A Threshold lies between two neighbouring grades.
type Threshold struct {
	Below    string  `json:"below"`    // the lower grade
	Above    string  `json:"above"`    // the higher grade
	Estimate float64 `json:"estimate"` // the threshold between them, on the scale of the link
	SE       float64 `json:"se"`       // its standard error
}

// A Fit is a fitted model of grades, of yes or no or of counts. Its JSON keys are a
// promise, those of [mixed.Fit] where both have them.
type Fit struct {
	N                int      `json:"n"`                // rows that the fit rests on
	Estimate         string   `json:"estimate"`         // which likelihood the spreads were estimated by: full
	LogLik           float64  `json:"loglik"`           // logarithm of the likelihood, with all constants of the outcome's distribution
	MinusTwiceLogLik float64  `json:"criterion"`        // −2 times loglik
	Converged        bool     `json:"converged"`        // whether the search for the greatest likelihood came to its end
	Boundary         []string `json:"boundary"`         // the random terms whose variance is estimated as zero or whose correlation as ±1; empty where none
	Seconds          float64  `json:"seconds" unit:"s"` // how long the fit took; 0 in results, which hold nothing that depends on the clock
	// Approximation says how the random effects were integrated out. Likelihoods of
	// different approximations must not be compared.
	Approximation string `json:"approximation"` // how the random effects were integrated out; likelihoods of different approximations cannot be compared
	// Method says where standard errors and intervals come from.
	Method           string            `json:"method"`                   // how standard errors, intervals and p-values of the effects came about
	Fixed            []Coefficient     `json:"fixed"`                    // the fixed effects on the scale of the link, the intercept first where there is one
	Thresholds       []Threshold       `json:"thresholds,omitempty"`     // of grades: the thresholds between neighbours, P(at or below) = F(threshold − effects)
	ZeroInflation    []Coefficient     `json:"zero_inflation,omitempty"` // of counts: effects on the logit of the probability of a zero beside the spread's own
	Dispersion       float64           `json:"dispersion,omitempty"`     // of counts: the negative binomial's size, variance μ + μ²/size
	Random           []mixed.RandomFit `json:"random"`                   // the random terms, in the order of the model, on the scale of the link
	mixed.Inferences                   // the notes, and the rest by [Fit.Infer]

	model      mixed.Model
	d          *design
	psi        []float64
	covariance *mat.SymDense // of ψ
	standing   approximation // at ψ
	apart      *separation   // nil where there is none
	rest       []evidence    // by column of the fixed effects
	few        *fewTerms     // found where a mean asks for them
}

// Model is the model that was fitted, as it was given.
func (f *Fit) Model() mixed.Model { return f.model }

// OutcomeLevels are the grades in rising order, or no and yes as the table has them;
// empty for counts and for successes of trials.
func (f *Fit) OutcomeLevels() []string { return f.d.lay.OutcomeLevels }

// New fits a model of grades, of yes or no or of counts to a table. What is wrong
// with the model for this table comes back as a [*table.Fault] with every problem
// found. A fit that ended on the boundary of the parameters says so in its notes.
func New(m mixed.Model, t *table.Table) (*Fit, error) {
	begun := time.Now()
	d, err := newDesign(m, t)
	if err != nil {
		return nil, err
	}
	f, err := d.fit(m)
	if err != nil {
		return nil, err
	}
	f.Seconds = time.Since(begun).Seconds()
	return f, nil
}

// profileWhatIsApart gives the effects that the data bound on one side only their
// intervals by profile of the penalised likelihood, in place of those by the standard
// error, which are of little use there (Heinze and Schemper 2002).
func (f *Fit) profileWhatIsApart() error {
	for i := range f.Fixed {
		c := &f.Fixed[i]
		if !f.apart.namesThem(c.Term) {
			continue
		}
		profile, err := f.Profile(c.Term)
		if err != nil {
			return err
		}
		if !profile.OpenLow && !profile.OpenHigh { // the likelihood ratio goes with it
			ratio := f.ridge(slices.Index(f.d.parameterNames(), c.Term)).statistic(0)
			if ratio > 0 && c.Estimate != 0 {
				c.T = math.Copysign(math.Sqrt(ratio), c.Estimate)
				c.SE, c.DF, c.Method = c.Estimate/c.T, nil, byPenalised
				c.P = distuv.ChiSquared{K: 1}.Survival(ratio)
				c.Low, c.High = profile.Low, profile.High
			}
			continue
		}
		f.Notes = append(f.Notes, fmt.Sprintf("The interval of %s is open on one side by its profile likelihood: only the nearer end of the one shown can be relied on.", c.Term))
	}
	return nil
}

// Check lays a model over a table and reports everything that is wrong with it,
// without fitting it.
func Check(m mixed.Model, t *table.Table) error {
	_, err := newDesign(m, t)
	return err
}

// fit finds the optimum and everything that follows.
func (d *design) fit(m mixed.Model) (*Fit, error) {
	apart := d.findSeparation()
	end := d.optimise(way{points: m.Points, penalised: apart != nil})
	if math.IsInf(end.logLik, 0) || math.IsNaN(end.logLik) || end.hessian == nil {
		return nil, d.noLikelihood()
	}
	if d.spreadAsPoisson(end.psi) {
		return d.poisson(m)
	}
	f := &Fit{N: len(d.lay.Rows), Estimate: "full", LogLik: end.logLik, MinusTwiceLogLik: -2 * end.logLik, Converged: end.settled,
		Boundary: []string{}, Random: []mixed.RandomFit{}, Inferences: mixed.Inferences{Notes: append([]string{}, d.lay.Notes...)},
		Approximation: d.approximationWords(m.Points), model: m, d: d, few: &fewTerms{}, psi: end.psi, standing: end.standing}
	f.Method = "standard errors from the observed information of the log likelihood as approximated, in all parameters at once; intervals and p by the normal distribution, or, for effects that are the same in all rows of each group, by Student's t with as many degrees of freedom as there are groups more than such effects and the standard error enlarged by √(groups/degrees); the part of an adjusted mean's variance that a random term has is enlarged by groups/degrees, and its degrees of freedom are Satterthwaite's (1946)"
	f.apart = apart
	if apart != nil {
		f.Method += "; the likelihood penalised, see the notes, and effects that the data bound on one side only by the ratio of the penalised likelihoods, their standard error that which gives the same p"
		f.Notes = append(f.Notes, apart.words(d.random.q > 0))
	}
	d.random.settleSigns(f.psi[d.size:])
	f.standing.logLik(f.psi)
	f.covariance = inverse(end.hessian)
	if err := f.checkOrder(); err != nil {
		return nil, err
	}
	f.describe()
	f.describeRandom()
	if !f.Converged {
		f.Notes = append(f.Notes, "The fit did not converge. Do not use these numbers: take out random terms, or look for a column with very unlike sizes.")
	}
	for _, check := range []func() error{f.checkZeros, f.checkFinite} {
		if err := check(); err != nil {
			return nil, err
		}
	}
	if apart != nil {
		return f, f.profileWhatIsApart()
	}
	return f, nil
}

// closeToPoisson is how many times the largest count the size of a negative binomial is
// where its variance counts as Poisson's.
const closeToPoisson = 1e4

// spreadAsPoisson tells whether a negative binomial's size grew without end.
func (d *design) spreadAsPoisson(psi []float64) bool {
	k, ok := d.kind.(counts)
	return ok && k.negative && psi[len(d.lay.Fixed)] > math.Log(closeToPoisson*(1+slices.Max(d.lay.Outcome)))
}

// poisson is the fit of the same model with the spread of Poisson.
func (d *design) poisson(m mixed.Model) (*Fit, error) {
	lay := *d.lay
	m.Spread, lay.Model.Spread = "Poisson", "Poisson"
	other, err := designOf(&lay)
	if err != nil {
		return nil, err
	}
	f, err := other.fit(m)
	if err != nil {
		return nil, err
	}
	f.Boundary = append(f.Boundary, "spread")
	f.Notes = append(f.Notes, "The counts spread no more than Poisson’s, so that the size of a negative binomial has no end: the fit is that of Poisson. Write spread = \"Poisson\".")
	return f, nil
}

// approximationWords names how the random effects are integrated out.
func (d *design) approximationWords(points int) string {
	switch {
	case d.random.q == 0:
		return "none: no random terms"
	case points == 0 && d.propagates():
		return "expectation propagation"
	case points > 1:
		return fmt.Sprintf("adaptive Gauss–Hermite quadrature, %d points", points)
	}
	return "Laplace, exact Hessian"
}

// noLikelihood is the fault of a likelihood that could not be computed.
func (d *design) noLikelihood() error {
	var ps table.Problems
	ps.Add(d.lay.Problem(-1, d.lay.Model.Outcome, "no likelihood at the starting values", "a model whose likelihood can be computed",
		"columns of very large numbers do this: give them in other units, near one in size"))
	return ps.Err()
}

// inverse is the inverse of a Hessian over the directions in which it is clearly
// positive.
func inverse(h *mat.SymDense) *mat.SymDense {
	n := h.SymmetricDim()
	scale := make([]float64, n)
	for i := range scale {
		scale[i] = 1
		if v := h.At(i, i); v > 0 {
			scale[i] = 1 / math.Sqrt(v)
		}
	}
	scaled := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			scaled.SetSym(i, j, h.At(i, j)*scale[i]*scale[j])
		}
	}
	out := mat.NewSymDense(n, nil)
	var eigen mat.EigenSym
	if !eigen.Factorize(scaled, true) {
		return out
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	for k, value := range eigen.Values(nil) {
		if value < 1e-9 {
			continue
		}
		for i := range n {
			for j := range i + 1 {
				out.SetSym(i, j, out.At(i, j)+vectors.At(i, k)*vectors.At(j, k)/value*scale[i]*scale[j])
			}
		}
	}
	return out
}

// normalQuantile is that of 0.975.
var normalQuantile = distuv.UnitNormal.Quantile(0.975)

// coefficient is a weighted sum of parameters.
func (f *Fit) coefficient(term string, weights map[int]float64) Coefficient {
	c := Coefficient{Term: term}
	variance := 0.0
	places := slices.Sorted(maps.Keys(weights)) // sums in one order come to one number
	for _, i := range places {
		c.Estimate += weights[i] * f.psi[i]
		for _, j := range places {
			variance += weights[i] * weights[j] * f.covariance.At(i, j)
		}
	}
	c.own = math.Sqrt(variance)
	c.restOn(evidence{math.Inf(1), 1})
	return c
}

// effect is the coefficient of a column that is a parameter by itself.
func (f *Fit) effect(term string, parameter, column int) Coefficient {
	c := f.coefficient(term, map[int]float64{parameter: 1})
	c.restOn(f.rest[column])
	return c
}

// restOn gives t, p and the interval by what they rest on.
func (c *Coefficient) restOn(e evidence) {
	c.SE, c.Method = c.own*e.enlarge, byNormal
	c.T = c.Estimate / c.SE
	half := student.Half(0.95, e.df) * c.SE
	c.P = student.TwoSided(c.T, e.df)
	if !math.IsInf(e.df, 1) {
		c.DF, c.Method = &e.df, byGroups
	}
	c.Low, c.High = c.Estimate-half, c.Estimate+half
}

// describe gives the fixed effects their names.
func (f *Fit) describe() {
	d, lay := f.d, f.d.lay
	f.rest = d.columnEvidence()
	switch k := d.kind.(type) {
	case grades:
		f.describeGrades()
	case counts:
		for j, c := range lay.Fixed {
			f.Fixed = append(f.Fixed, f.effect(c.Name, j, j))
		}
		next := len(lay.Fixed)
		if k.negative {
			f.Dispersion = math.Exp(f.psi[next])
			next++
		}
		for j, c := range lay.Zero {
			f.ZeroInflation = append(f.ZeroInflation, f.coefficient(c.Name, map[int]float64{next + j: 1}))
		}
	default:
		for j, c := range lay.Fixed {
			f.Fixed = append(f.Fixed, f.effect(c.Name, j, j))
		}
	}
}

// describeGrades gives the thresholds and the effects of a model of grades.
func (f *Fit) describeGrades() {
	d, lay := f.d, f.d.lay
	levels := lay.OutcomeLevels
	shape := thresholdShape(f.model.Thresholds, d.width)
	for j, row := range shape {
		weights := map[int]float64{}
		for k, v := range row {
			if v != 0 {
				weights[k] = v
			}
		}
		c := f.coefficient("", weights)
		f.Thresholds = append(f.Thresholds, Threshold{levels[j], levels[j+1], c.Estimate, c.SE})
	}
	f.Fixed = []Coefficient{}
	next := len(shape[0])
	for c := 1; c < len(lay.Fixed); c++ {
		name := lay.Fixed[c].Name
		if !lay.Differs[c] {
			f.Fixed = append(f.Fixed, f.effect(name, next, c))
			next++
			continue
		}
		for j := range d.width {
			f.Fixed = append(f.Fixed, f.effect(name+" at "+levels[j]+"|"+levels[j+1], next, c))
			next++
		}
	}
	if d.width == 1 && f.model.Link == "complementary log-log" {
		f.Notes = append(f.Notes, "Two grades under the complementary log-log are not the yes or no of that link: for grades it is the lower grade whose probability is 1 − exp(−exp(θ − xβ)). The two agree, effects with their signs changed, where the levels are given in the other order.")
	}
}

// settleSigns turns columns of Λ with a negative diagonal over: ΛΛ' alone counts.
func (r *random) settleSigns(theta []float64) {
	for i, e := range r.entries {
		if e.row != e.column || theta[i] >= 0 {
			continue
		}
		for j, o := range r.entries {
			if o.factor == e.factor && o.column == e.column {
				theta[j] = -theta[j]
			}
		}
	}
}

// nearZero is the size below which a standard deviation of a term, in units of its
// column's root mean square, counts as zero.
const nearZero = 1e-4

// describeRandom gives the standard deviations and correlations of the random terms.
func (f *Fit) describeRandom() {
	lambda := f.d.random.newLambda()
	f.d.random.set(lambda, f.psi[f.d.size:])
	f.Random = make([]mixed.RandomFit, len(f.model.Random))
	for k := range f.d.lay.Factors {
		fac := &f.d.lay.Factors[k]
		for _, v := range fac.Blocks {
			out := mixed.RandomFit{By: fac.By, Groups: len(fac.Groups)}
			size := len(fac.Z)
			covariance := func(a, b int) float64 {
				sum := 0.0
				for c := range size {
					sum += lambda[k][(v.First+a)*size+c] * lambda[k][(v.First+b)*size+c]
				}
				return sum
			}
			for a := range v.Size {
				name := fac.Z[v.First+a].Name
				sd := math.Sqrt(covariance(a, a))
				out.Terms = append(out.Terms, name)
				if sd < nearZero {
					sd = 0
					f.atZero(name, fac)
				}
				out.SD = append(out.SD, sd/fac.Units[v.First+a])
				row := make([]float64, v.Size)
				for b := range v.Size {
					switch product := covariance(a, a) * covariance(b, b); {
					case a == b:
						row[b] = 1
					case product > 0:
						row[b] = math.Max(-1, math.Min(1, covariance(a, b)/math.Sqrt(product)))
						if b < a && math.Abs(row[b]) > 1-1e-6 {
							f.alike(fac.Z[v.First+b].Name, name, fac)
						}
					}
				}
				out.Correlation = append(out.Correlation, row)
			}
			f.Random[v.Random] = out
		}
	}
}

func (f *Fit) atZero(name string, fac *mixed.Factor) {
	by := joined(fac.By)
	f.Boundary = append(f.Boundary, name+" by "+by)
	f.Notes = append(f.Notes, fmt.Sprintf("The variance of %s by %s is estimated as zero. This does not prove that its %d groups are alike: few groups or few rows in each often cannot tell. "+
		"The estimates stand; keep the term where the groups were part of the plan, or take it out and compare.", name, by, len(fac.Groups)))
}

func (f *Fit) alike(one, other string, fac *mixed.Factor) {
	by := joined(fac.By)
	f.Boundary = append(f.Boundary, one+" and "+other+" by "+by)
	f.Notes = append(f.Notes, fmt.Sprintf("The correlation of %s and %s by %s is estimated as 1 or −1: the data cannot tell that each varies in its own way. Do not read it as a finding; "+
		"set correlated = false for this term, or leave one of its terms out, and see whether the answer changes.", one, other, by))
}

// checkFinite refuses a fit of which some number cannot be told.
func (f *Fit) checkFinite() error {
	var ps table.Problems
	for _, c := range slices.Concat(f.Fixed, f.ZeroInflation) {
		if !finite(c.Estimate) || !finite(c.SE) || c.SE == 0 || !finite(c.T) {
			ps.Add(f.d.lay.Problem(-1, c.Term, "an effect without a standard error", "effects that the data bound on both sides",
				"the likelihood is flat in it: take "+c.Term+" out of the model, or look whether its levels have rows enough"))
		}
	}
	return ps.Err()
}

// wideOnLogit is a standard error on the logit that tells that a probability went to zero
// or one without end.
const wideOnLogit = 100

// checkZeros refuses zeros beside the spread's own of which the data say that there are
// none.
func (f *Fit) checkZeros() error {
	var ps table.Problems
	for _, c := range f.ZeroInflation {
		if c.SE > 0 && c.SE < wideOnLogit {
			continue
		}
		zeros := 0
		for _, v := range f.d.lay.Outcome {
			if v == 0 {
				zeros++
			}
		}
		remedy := "without them the rows have no more zeros than the spread gives: delete zero_inflation"
		if len(f.ZeroInflation) > 1 {
			remedy = "the logit of their probability has no end in " + c.Term + ": take it out of zero_inflation, or write zero_inflation = true"
		}
		ps.Add(f.d.lay.Problem(-1, f.model.Outcome, fmt.Sprintf("%d zeros in %d rows", zeros, f.N), "zeros enough to tell the probability of those beside the spread's own", remedy))
		break
	}
	return ps.Err()
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
