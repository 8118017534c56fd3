package generalised

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/mixed"
	"thumbed/models/sparse"
)

// draw gives outcomes of the table's used rows drawn from the fit: codes of levels, or
// numbers. With modes the random effects are those of the fit, else they are drawn
// too.
func (f *Fit) draw(random *rand.Rand, modes bool) []float64 {
	d := f.d
	rows, predictors := f.linear(random, modes)
	out := make([]float64, len(d.of))
	for i, p := range d.of {
		out[i] = d.drawOne(random, predictors[int(p)*d.width:][:d.width], rows[i], i)
	}
	return out
}

// linear gives what the random effects add to every used row, and the predictors.
func (f *Fit) linear(random *rand.Rand, modes bool) (rows, predictors []float64) {
	d := f.d
	predictors = make([]float64, d.patterns*d.width)
	d.predict(f.psi[:d.size], predictors)
	rows = make([]float64, len(d.of))
	if d.random.q == 0 {
		return rows, predictors
	}
	lambda := d.random.newLambda()
	d.random.set(lambda, f.psi[d.size:])
	u, b := make([]float64, d.random.q), make([]float64, d.random.q)
	if modes {
		copy(u, f.standing.mode())
	} else {
		for k := range u {
			u[k] = random.NormFloat64()
		}
	}
	d.random.apply(lambda, u, b)
	for k := range d.lay.Factors {
		from, fac := &d.lay.Factors[k], &d.random.factors[k]
		for i, g := range from.Code {
			for c, column := range from.Z {
				v := 1.0
				if column.Values != nil {
					v = column.Values[i]
				}
				rows[i] += v * b[fac.first+int(g)*fac.k+c]
			}
		}
	}
	return rows, predictors
}

// drawOne draws the outcome of used row i.
func (d *design) drawOne(random *rand.Rand, predictors []float64, r float64, i int) float64 {
	switch k := d.kind.(type) {
	case yesNo:
		F := k.link.at(predictors[0] + r).F
		trials := 1
		if d.lay.Trials != nil {
			trials = int(d.lay.Trials[i])
		}
		yes := 0.0
		for range trials {
			if random.Float64() < F {
				yes++
			}
		}
		return yes
	case counts:
		if k.inflated {
			if F, _ := logisticShares(predictors[d.width-1]); random.Float64() < F {
				return 0
			}
		}
		mu := math.Exp(predictors[0] + r)
		if k.negative {
			size := math.Exp(predictors[1])
			mu = distuv.Gamma{Alpha: size, Beta: size / mu, Src: random}.Rand()
		}
		if mu == 0 {
			return 0
		}
		return distuv.Poisson{Lambda: mu, Src: random}.Rand()
	case grades:
		u := random.Float64()
		for j, v := range predictors {
			if u < k.link.at(v-r).F {
				return float64(j)
			}
		}
		return k.last
	}
	return 0
}

// with is the layout with other outcomes.
func (d *design) with(outcome []float64) (*design, error) {
	lay := *d.lay
	if len(lay.OutcomeLevels) > 0 {
		lay.Codes = make([]int32, len(outcome))
		for i, v := range outcome {
			lay.Codes[i] = int32(v)
		}
	} else {
		lay.Outcome = outcome
	}
	return designOf(&lay)
}

// A Bootstrapping says how often outcomes are drawn anew, from which seed.
type Bootstrapping struct {
	Replicates int
	Seed       uint64
}

// Bootstrap draws outcomes from the fit, random effects anew, fits the model to each,
// and gives of every parameter in the order of [Fit.Parameters] its interval by
// quantiles, of effects and thresholds the studentised one too (Efron and Tibshirani
// 1993, section 12.5). Each replicate has a seed of its own, so that nothing depends on
// the number of cores. Replicates whose outcomes cannot be fitted (a grade nobody drew)
// are left out, and counted.
func (f *Fit) Bootstrap(ctx context.Context, b Bootstrapping) (out []mixed.BootstrapParameter, failed int, err error) {
	if b.Replicates < fewestReplicates {
		return nil, 0, fmt.Errorf("%d replicates; expected at least %d: ask for 999", b.Replicates, fewestReplicates)
	}
	own := f.parameters()
	drawn := make([][]parameter, b.Replicates)
	sparse.InParallel(b.Replicates, func(i int) {
		if ctx.Err() != nil {
			return
		}
		random := rand.New(rand.NewPCG(b.Seed, uint64(i)))
		d, err := f.d.with(f.draw(random, false))
		if err != nil {
			return
		}
		if again, err := d.fit(f.model); err == nil && again.Converged {
			drawn[i] = again.parameters()
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, 0, err
	}
	for _, p := range drawn {
		if len(p) != len(own) {
			failed++
		}
	}
	if b.Replicates-failed < fewestReplicates {
		return nil, failed, fmt.Errorf("of %d replicates only %d could be fitted: too few for an interval; look at the notes of the fit", b.Replicates, b.Replicates-failed)
	}
	for k, p := range own {
		var values, pivots []float64
		for _, d := range drawn {
			if len(d) == len(own) {
				values = append(values, d[k].Value)
				pivots = append(pivots, (d[k].Value-p.Value)/d[k].se)
			}
		}
		summary := mixed.SummariseReplicates(p.Parameter, values, mixed.InferenceLevel)
		if p.se > 0 {
			summary.Studentise(pivots, p.se, mixed.InferenceLevel)
		}
		out = append(out, summary)
	}
	return out, failed, nil
}

// fewestReplicates is how many outcomes an interval needs.
const fewestReplicates = 20
