package generalised

import (
	"context"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
	"thumbed/models/sparse"
)

// predictUnread gives the probabilities or rates of the rows that have no outcome but
// all else. The random effects of groups that the fit knows enter at their modes, or by
// expectation propagation at their means, with their uncertainty in the interval; over others is averaged. Intervals are by the
// delta method as those of [Fit.Means].
func (f *Fit) predictUnread(o mixed.Inferring) ([]mixed.RowPrediction, error) {
	lay := f.d.lay
	rows, err := lay.Unread()
	if err != nil {
		return nil, err
	}
	p := f.newPredictor()
	var out []mixed.RowPrediction
	for _, row := range rows {
		at := f.placeOf(lay.RowFeatures(row))
		known := []string{}
		groups := lay.GroupsOf(row)
		for k, g := range groups {
			if g >= 0 {
				known = append(known, strings.Join(lay.Factors[k].By, " / ")+" "+lay.Factors[k].Groups[g])
			}
		}
		if err := f.ordered([]place{at}); err != nil {
			return nil, err
		}
		for _, m := range p.predict(at, groups) {
			out = append(out, mixed.RowPrediction{Row: row + 1, Where: o.Place(row), Known: known, Of: m.Of, Mean: m.Mean, Low: m.Low, High: m.High})
		}
	}
	return out, nil
}

// A predictor holds the modes of the random effects, or their means where the fit is by
// expectation propagation, at ψ and a little to either side of each parameter.
type predictor struct {
	f        *Fit
	standing approximation
	modes    [][]float64 // at ψ, then up and down of each parameter
	psi      [][]float64
	step     []float64
}

func (f *Fit) newPredictor() *predictor {
	p := &predictor{f: f, standing: f.d.approximation(f.model.Points)}
	p.standing.settle(modeSharp)
	add := func(psi []float64) {
		p.standing.logLik(psi)
		p.psi = append(p.psi, psi)
		p.modes = append(p.modes, slices.Clone(p.standing.mode()))
	}
	add(slices.Clone(f.psi))
	for i, v := range f.psi {
		h := 1e-4 * math.Max(0.1, math.Abs(v))
		p.step = append(p.step, h)
		for _, shift := range []float64{h, -h} {
			psi := slices.Clone(f.psi)
			psi[i] += shift
			add(psi)
		}
	}
	p.standing.logLik(f.psi)
	return p
}

// sum is what the known groups' random effects add to a place at the j-th point, and
// the weights of the random effects in it.
func (p *predictor) sum(at place, groups []int, j int) (r float64, weights []float64) {
	random := &p.f.d.random
	lambda := random.newLambda()
	random.set(lambda, p.psi[j][p.f.d.size:])
	weights = make([]float64, random.q)
	for k, g := range groups {
		if g < 0 {
			continue
		}
		fac := &random.factors[k]
		for c := range fac.k {
			for a := c; a < fac.k; a++ {
				weights[fac.first+g*fac.k+c] += lambda[k][a*fac.k+c] * at.z[k][a]
			}
		}
	}
	return dot(weights, p.modes[j]), weights
}

// predict gives the outcome's levels at a place.
func (p *predictor) predict(at place, groups []int) []Mean {
	f := p.f
	open := at // the groups over which is averaged
	open.z = slices.Clone(at.z)
	for k, g := range groups {
		if g >= 0 {
			open.z[k] = make([]float64, len(at.z[k]))
		}
	}
	expect := func(j int, shift float64) []float64 {
		r, _ := p.sum(at, groups, j)
		open.shift = r + shift
		return f.expect([]place{open}, p.psi[j])
	}
	middle := expect(0, 0)
	own := 0.0 // the variance of the known groups' sum, ψ held
	if f.d.random.q > 0 {
		_, v := p.sum(at, groups, 0)
		w := slices.Clone(v)
		p.standing.solve(w)
		own = dot(v, w)
	}
	const h = 1e-4
	up, down := expect(0, h), expect(0, -h)
	slopes := mat.NewDense(len(middle), len(f.psi), nil)
	for i := range f.psi {
		above, below := expect(1+2*i, 0), expect(2+2*i, 0)
		for k := range middle {
			slopes.Set(k, i, (f.stretch(above[k])-f.stretch(below[k]))/(2*p.step[i]))
		}
	}
	var out []Mean
	for k, v := range middle {
		if f.model.Kind == mixed.YesNo && k == 0 {
			continue
		}
		along := (f.stretch(up[k]) - f.stretch(down[k])) / (2 * h)
		variance := mat.Inner(slopes.RowView(k), f.covariance, slopes.RowView(k)) + along*along*own
		half := normalQuantile * math.Sqrt(variance)
		out = append(out, Mean{Of: f.outcomeName(k), Mean: v, Low: f.shrink(f.stretch(v) - half), High: f.shrink(f.stretch(v) + half)})
	}
	return out
}

// decisiveGroups tells of each fixed effect on which single groups it rests: by
// refits without each, from where the fit stands.
func (f *Fit) decisiveGroups(ctx context.Context, o mixed.Inferring) []string {
	if f.apart != nil || f.d.random.q == 0 {
		return nil
	}
	var out []string
	places := f.effectPlaces()
	information := inverse(f.covariance)
	for k := range f.d.random.factors {
		fac := &f.d.random.factors[k]
		if fac.groups*f.d.n > mostInfluence || fac.groups >= f.d.n {
			continue
		}
		lay := &f.d.lay.Factors[k]
		names := make([]string, fac.groups)
		without := make([][]float64, fac.groups)
		sparse.InParallel(fac.groups, func(g int) {
			names[g] = o.GroupWords(lay.By, lay.Groups[g])
			if ctx.Err() == nil {
				without[g] = f.refitWithout(fac, g, information)
			}
		})
		for j, c := range f.Fixed {
			if c.Term == "intercept" {
				continue
			}
			values := make([]float64, fac.groups)
			for g := range values {
				values[g] = math.NaN()
				if without[g] == nil {
					continue
				}
				// what moves farther has no end without the group
				if v := without[g][places[j].parameter]; math.Abs(v-c.Estimate) < 10*c.SE {
					values[g] = v
				}
			}
			if sentence := mixed.RestsOn(f.model.Words(c.Term), c.Estimate, c.Low, c.High, names, values); sentence != "" {
				out = append(out, sentence)
			}
		}
	}
	return out
}

// refitWithout gives ψ as it is without a group, from where the fit stands; nil where
// there is no likelihood.
func (f *Fit) refitWithout(fac *factor, group int, information *mat.SymDense) []float64 {
	end := minimise(criterion{f.d.without(fac, int32(group)).criterion(f.way())}, f.psi, information, roughlyNear, nil)
	if math.IsInf(end.f, 1) {
		return nil
	}
	return end.x
}

// without is the design with the rows of one group counting for nothing.
func (d *design) without(fac *factor, group int32) *design {
	out := *d
	out.weight = slices.Clone(d.weight)
	out.y = slices.Clone(d.y)
	out.no = slices.Clone(d.no)
	merged := d.direct()
	for i, g := range fac.code {
		if g != group {
			continue
		}
		out.weight[i] = 0
		if merged {
			out.y[i] = 0
		}
		if d.no != nil {
			out.no[i] = 0
		}
	}
	return &out
}
