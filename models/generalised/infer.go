package generalised

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
	"thumbed/models/sparse"
	"thumbed/models/student"
)

const (
	mostDiagnosed = 100_000   // rows of which sets are drawn unasked
	mostInfluence = 2_000_000 // groups × distinct rows of which influence is looked at unasked: one of very many groups decides nothing
	diagnosisSeed = 20260101
)

// Infer makes what the model's [mixed.Inference] asks for, but for the comparison;
// adjusted means of every column of labels where it names none; and looks for what
// must be known unasked. What cannot be given is told in Notes. It fails where ctx
// ends.
func (f *Fit) Infer(ctx context.Context, o mixed.Inferring) error {
	f.Answer(f.model.Inference, mixed.Ways{
		Profile: func() (string, []mixed.Interval, error) { return f.profileAll(ctx) },
		Bootstrap: func(replicates int) ([]mixed.BootstrapParameter, []string, error) {
			return f.bootstrapAll(ctx, replicates)
		},
		Deviations:  f.deviations,
		Tests:       f.TermTests,
		Means:       f.meansBy,
		Unasked:     f.Means,
		Predictions: func() ([]mixed.RowPrediction, error) { return f.predictUnread(o) },
		Shares:      f.RSquared,
	})
	if f.N <= mostDiagnosed {
		f.Diagnosed = append(f.Diagnosis(diagnosisSeed), f.decisiveGroups(ctx, o)...)
	}
	return ctx.Err()
}

// profileAll are the profile intervals of all parameters, and what they are.
func (f *Fit) profileAll(ctx context.Context) (method string, intervals []mixed.Interval, err error) {
	method = "profile likelihood (" + f.Approximation + ")"
	if f.apart != nil {
		method = "profile of the penalised likelihood (" + f.Approximation + ")"
	}
	own := f.parameters()
	if slices.ContainsFunc(own, func(p parameter) bool { return p.reach > chiSquare95 }) {
		method += ", its limit set for the number of groups where an effect or a standard deviation rests on few"
	}
	intervals = make([]mixed.Interval, len(own))
	sparse.InParallel(len(own), func(i int) {
		if ctx.Err() == nil {
			intervals[i] = f.profile(own[i])
		}
	})
	return method, intervals, ctx.Err()
}

// bootstrapAll is [Fit.Bootstrap], with a note on refits that came to no end.
func (f *Fit) bootstrapAll(ctx context.Context, replicates int) (parameters []mixed.BootstrapParameter, notes []string, err error) {
	parameters, failed, err := f.Bootstrap(ctx, Bootstrapping{Replicates: replicates, Seed: mixed.InferenceSeed})
	if failed > 0 {
		notes = append(notes, fmt.Sprintf("%d of %d refits of the bootstrap came to no end and are left out.", failed, replicates))
	}
	return parameters, notes, err
}

// TermTests tests each fixed term, whether all of its coefficients are zero, by Wald's
// statistic; where an effect rests on few groups, as an F statistic with the standard
// errors and the degrees of freedom that its t has.
func (f *Fit) TermTests() ([]mixed.JointTest, error) {
	var out []mixed.JointTest
	places := f.effectPlaces()
	column, effect := 1, f.d.leading() // of lay.Fixed, and of f.Fixed
	for _, term := range f.d.lay.Model.Fixed {
		test := mixed.JointTest{Name: f.d.lay.Model.TestName(term), DF: student.Many, Method: "Wald"}
		wide := 1.0
		column += f.d.lay.ColumnsOf(term)
		first := effect
		for ; effect < len(places) && places[effect].column < column; effect++ {
			e := f.rest[places[effect].column]
			test.DF, wide = math.Min(test.DF, e.df), math.Max(wide, e.enlarge)
			test.Terms = append(test.Terms, f.Fixed[effect].Term)
		}
		at := places[first:effect]
		b, c := mat.NewVecDense(len(at), nil), mat.NewSymDense(len(at), nil)
		for i, k := range at {
			b.SetVec(i, f.psi[k.parameter])
			for j, l := range at[:i+1] {
				c.SetSym(i, j, f.covariance.At(k.parameter, l.parameter))
			}
		}
		var solved mat.VecDense
		if err := solved.SolveVec(c, b); err != nil {
			return nil, fmt.Errorf("the covariance matrix of the effects of %s cannot be inverted: take terms out of the model", test.Name)
		}
		test.NumDF = float64(len(at))
		test.F = mat.Dot(b, &solved) / test.NumDF / (wide * wide)
		test.P = student.FSurvival(test.F, test.NumDF, test.DF)
		if test.DF < student.Many {
			test.Method = "Wald, with the degrees of freedom of few groups"
		}
		out = append(out, test)
	}
	return out, nil
}

// leading is how many of the fixed effects come before those of the model's terms: the
// intercept, which grades have none of.
func (d *design) leading() int {
	if _, ok := d.kind.(grades); ok {
		return 0
	}
	return 1
}

// firstEffect is the place in ψ of the first of f.Fixed.
func (f *Fit) firstEffect() int {
	if f.d.leading() == 1 {
		return 0
	}
	return len(thresholdShape(f.model.Thresholds, f.d.width)[0])
}

// RSquared tells how the outcome's variance divides on the scale of the link: the
// residual's is that of the link's distribution, for counts log(1 + 1/μ + 1/size) with
// μ the mean count (Nakagawa, Johnson and Schielzeth 2017, Journal of the Royal Society
// Interface 14, 20170213, table 1 and section 3.2).
func (f *Fit) RSquared() (*mixed.RSquared, error) {
	d := f.d
	out := &mixed.RSquared{}
	switch k := d.kind.(type) {
	case counts:
		if k.inflated {
			return nil, fmt.Errorf("with zeros beside the spread's own the variance on the scale of the logarithm is not defined: take zero_inflation out to see the shares without it")
		}
		mean := sum(d.lay.Outcome) / float64(len(d.lay.Outcome))
		rate := 1 / mean
		if k.negative {
			rate += 1 / f.Dispersion
		}
		out.Residual = math.Log1p(rate)
	default:
		out.Residual = map[string]float64{"probit": 1, "complementary log-log": math.Pi * math.Pi / 6}[f.model.Link]
		if out.Residual == 0 {
			out.Residual = math.Pi * math.Pi / 3
		}
	}
	lambda := d.random.newLambda()
	d.random.set(lambda, f.psi[d.size:])
	total, mean, square := 0.0, 0.0, 0.0
	for i := range d.n {
		p, w := int(d.pattern[i]), d.weight[i]
		eta := 0.0
		for j := range d.width { // the mean of effects that differ by threshold
			if j > 0 && d.leading() == 1 {
				break
			}
			for _, u := range d.uses[j] {
				if u.column > 0 {
					eta += u.coefficient * f.psi[u.parameter] * d.x[p*d.columns+u.column] / float64(d.thresholds())
				}
			}
		}
		total += w
		mean += w * eta
		square += w * eta * eta
		for k := range d.random.factors {
			fac := &d.random.factors[k]
			for c := range fac.k {
				v := 0.0
				for a := c; a < fac.k; a++ {
					v += lambda[k][a*fac.k+c] * fac.at(i, a)
				}
				out.Random += w * v * v
			}
		}
	}
	out.Random /= total
	mean /= total
	out.Fixed = square/total - mean*mean
	all := out.Fixed + out.Random + out.Residual
	out.Marginal, out.Conditional = out.Fixed/all, (out.Fixed+out.Random)/all
	return out, nil
}

// thresholds is the number of predictors that an effect enters.
func (d *design) thresholds() int {
	if d.leading() == 1 {
		return 1
	}
	return d.width
}
