package generalised

import (
	"fmt"
	"math"
	"strings"

	"thumbed/models/mixed"
)

// A parameter is one of the fit's, as it is told.
type parameter struct {
	mixed.Parameter
	se    float64                 // of effects and thresholds; else 0
	psi   int                     // place in ψ; −1 where it is made of several
	value func(v float64) float64 // of ψ there
	reach float64                 // how far twice the log likelihood may fall inside its profile interval
}

// Parameters are all parameters of the fit: thresholds, effects, the counts'
// dispersion, and the standard deviations and correlations of the random terms.
func (f *Fit) Parameters() []mixed.Parameter {
	var out []mixed.Parameter
	for _, p := range f.parameters() {
		out = append(out, p.Parameter)
	}
	return out
}

func same(v float64) float64 { return v }

func (f *Fit) parameters() []parameter {
	var out []parameter
	add := func(kind mixed.ParameterKind, name string, estimate, se float64, psi int, value func(float64) float64, on evidence, of ...string) {
		out = append(out, parameter{mixed.Parameter{Name: name, Kind: kind, Value: estimate, Terms: of}, se, psi, value, on.reach()})
	}
	many := evidence{math.Inf(1), 1}
	free := f.model.Thresholds == "" || f.model.Thresholds == "free"
	for j, t := range f.Thresholds {
		k := j
		if !free { // each is made of several parameters
			k = -1
		}
		add(mixed.ThresholdBetween, "threshold between "+t.Below+" and "+t.Above, t.Estimate, t.SE, k, same, f.rest[0], t.Below, t.Above)
	}
	for j, at := range f.effectPlaces() {
		c := f.Fixed[j]
		add(mixed.FixedEffect, c.Term, c.Estimate, c.own, at.parameter, same, f.rest[at.column])
	}
	first := f.firstEffect() + len(f.Fixed)
	if f.Dispersion > 0 {
		add(mixed.DispersionOf, "size of the negative binomial", f.Dispersion, 0, first, math.Exp, many)
		first++
	}
	for j, c := range f.ZeroInflation {
		add(mixed.FixedEffect, c.Term+" of zeros beside the spread's own", c.Estimate, c.own, first+j, same, many, c.Term)
	}
	for t, r := range f.Random {
		out = append(out, f.spreads(t, r)...)
	}
	return out
}

// spreads are the standard deviations and correlations of the model's random term t.
func (f *Fit) spreads(t int, r mixed.RandomFit) []parameter {
	var out []parameter
	by := " by " + strings.Join(r.By, " and ")
	for a, name := range r.Terms {
		k, unit, reach := f.entryOf(t, a)
		out = append(out, parameter{mixed.Parameter{Name: "standard deviation of " + name + by, Kind: mixed.GroupDeviation, Value: r.SD[a], By: r.By, Terms: []string{name}}, 0, k, func(v float64) float64 { return math.Abs(v) / unit }, reach})
	}
	if !f.model.Random[t].Correlated {
		return out
	}
	for a, name := range r.Terms {
		for b, other := range r.Terms[:a] {
			out = append(out, parameter{mixed.Parameter{Name: fmt.Sprintf("correlation of %s and %s%s", other, name, by), Kind: mixed.GroupCorrelation, Value: r.Correlation[a][b], By: r.By, Terms: []string{other, name}}, 0, -1, same, chiSquare95})
		}
	}
	return out
}

// entryOf is the place in ψ of the standard deviation of column a of random term t,
// its unit and the reach of its profile; −1 where it is made of several parameters.
func (f *Fit) entryOf(t, a int) (psi int, unit, reach float64) {
	for k := range f.d.lay.Factors {
		for _, v := range f.d.lay.Factors[k].Blocks {
			if v.Random != t {
				continue
			}
			unit = f.d.lay.Factors[k].Units[v.First+a]
			if v.Correlated && a > 0 {
				return -1, unit, reach
			}
			for i, e := range f.d.random.entries {
				if e.factor == k && e.row == v.First+a && e.column == v.First+a {
					return f.d.size + i, unit, f.d.evidenceOf(&f.d.random.factors[k])[0].spreadReach()
				}
			}
		}
	}
	return -1, 1, 0
}

// GiveDeviations gives the fit the intervals of its standard deviations, as [Fit.Infer]
// does where the model asks for none.
func (f *Fit) GiveDeviations() { f.Deviations = f.deviations() }

// leastTold is how many degrees of freedom a standard deviation must have here for an
// interval: twice as many as one of a measure, since the curvature of the likelihood
// tells less of it. How often such intervals hold the truth was not counted.
const leastTold = 2

// deviations are the intervals of the standard deviations between groups. Those of full
// likelihood are too small where they rest on few groups: with G of them G times their
// square is taken as χ² with the degrees of freedom that G leaves, as in fewgroups.go.
func (f *Fit) deviations() []mixed.Interval {
	var out []mixed.Interval
	for t, r := range f.Random {
		for _, p := range f.spreads(t, r)[:len(r.Terms)] {
			variance, share := math.Inf(1), 1.0
			if p.psi >= 0 {
				variance = f.covariance.At(p.psi, p.psi) / (f.psi[p.psi] * f.psi[p.psi])
				if share = f.leftTo(t); share/(2*variance) < leastTold {
					variance = math.Inf(1)
				}
			}
			i := mixed.DeviationInterval(p.Parameter, variance, share)
			if p.psi < 0 {
				i.Note = "made of several parameters of the model: ask for intervals by bootstrap"
			}
			out = append(out, i)
		}
	}
	return out
}

// leftTo is the share of the groups of random term t that the fixed effects
// leave to its standard deviation.
func (f *Fit) leftTo(t int) float64 {
	for k := range f.d.lay.Factors {
		for _, v := range f.d.lay.Factors[k].Blocks {
			if v.Random == t {
				if e := f.d.evidenceOf(&f.d.random.factors[k])[0]; !math.IsInf(e.df, 1) {
					return e.df / e.groups()
				}
			}
		}
	}
	return 1
}
