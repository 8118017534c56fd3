package generalised

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
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
	copy(u, f.standing.mode())
	if !modes {
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

// A Bootstrapped is what refits to drawn outcomes say of one effect.
type Bootstrapped struct {
	Term string  `json:"term"`
	SD   float64 `json:"sd"`   // of the estimates
	Bias float64 `json:"bias"` // their mean less the estimate they were drawn from
	Low  float64 `json:"low"`  // 95 % interval by the quantiles of (estimate − drawn from)/standard error
	High float64 `json:"high"`
}

// Bootstrap draws outcomes from the fit, random effects anew, fits the model to each,
// and gives the bootstrap-t interval of every fixed effect (Efron and Tibshirani 1993,
// section 12.5). Each replicate has a seed of its own, so that nothing depends on the
// number of cores. Replicates whose outcomes cannot be fitted (a grade nobody drew) are
// left out, and counted.
func (f *Fit) Bootstrap(ctx context.Context, b Bootstrapping) (effects []Bootstrapped, failed int, err error) {
	if b.Replicates < 20 {
		return nil, 0, fmt.Errorf("%d replicates; expected at least 20: ask for 999", b.Replicates)
	}
	estimates := make([][]Coefficient, b.Replicates)
	inParallel(b.Replicates, func() struct{} { return struct{}{} }, func(_ struct{}, i int) {
		if ctx.Err() != nil {
			return
		}
		random := rand.New(rand.NewPCG(b.Seed, uint64(i)))
		d, err := f.d.with(f.draw(random, false))
		if err != nil {
			return
		}
		if again, err := d.fit(f.model); err == nil && again.Converged {
			estimates[i] = again.Fixed
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, 0, err
	}
	for _, e := range estimates {
		if e == nil {
			failed++
		}
	}
	if b.Replicates-failed < 20 {
		return nil, failed, fmt.Errorf("of %d replicates only %d could be fitted: too few for an interval; look at the notes of the fit", b.Replicates, b.Replicates-failed)
	}
	for k, c := range f.Fixed {
		var values, pivots []float64
		for _, e := range estimates {
			if e != nil {
				values = append(values, e[k].Estimate)
				pivots = append(pivots, (e[k].Estimate-c.Estimate)/e[k].SE)
			}
		}
		slices.Sort(pivots)
		out := Bootstrapped{Term: c.Term, Low: c.Estimate - quantileOf(pivots, 0.975)*c.SE, High: c.Estimate - quantileOf(pivots, 0.025)*c.SE}
		for _, v := range values {
			out.Bias += (v - c.Estimate) / float64(len(values))
		}
		for _, v := range values {
			out.SD += (v - c.Estimate - out.Bias) * (v - c.Estimate - out.Bias)
		}
		out.SD = math.Sqrt(out.SD / float64(len(values)-1))
		effects = append(effects, out)
	}
	return effects, failed, nil
}

// quantileOf is the quantile of sorted values, by the expected order statistics.
func quantileOf(sorted []float64, p float64) float64 {
	at := p*float64(len(sorted)+1) - 1
	low := min(max(int(math.Floor(at)), 0), len(sorted)-1)
	high := min(low+1, len(sorted)-1)
	share := math.Min(1, math.Max(0, at-float64(low)))
	return sorted[low]*(1-share) + sorted[high]*share
}
