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
	add := func(kind mixed.ParameterKind, name string, estimate, se float64, psi int, value func(float64) float64) {
		out = append(out, parameter{mixed.Parameter{Name: name, Kind: kind, Value: estimate}, se, psi, value})
	}
	free := f.model.Thresholds == "" || f.model.Thresholds == "free"
	for j, t := range f.Thresholds {
		k := j
		if !free { // each is made of several parameters
			k = -1
		}
		add(mixed.ThresholdBetween, "threshold "+t.Below+" | "+t.Above, t.Estimate, t.SE, k, same)
	}
	first := f.firstEffect()
	for j, c := range f.Fixed {
		add(mixed.FixedEffect, c.Term, c.Estimate, c.own, first+j, same)
	}
	first += len(f.Fixed)
	if f.Dispersion > 0 {
		add(mixed.DispersionOf, "size of the negative binomial", f.Dispersion, 0, first, math.Exp)
		first++
	}
	for j, c := range f.ZeroInflation {
		add(mixed.FixedEffect, c.Term+" of zeros beside the spread's own", c.Estimate, c.own, first+j, same)
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
		k, unit := f.entryOf(t, a)
		out = append(out, parameter{mixed.Parameter{Name: "standard deviation of " + name + by, Kind: mixed.GroupDeviation, Value: r.SD[a]}, 0, k, func(v float64) float64 { return math.Abs(v) / unit }})
	}
	if !f.model.Random[t].Correlated {
		return out
	}
	for a, name := range r.Terms {
		for b, other := range r.Terms[:a] {
			out = append(out, parameter{mixed.Parameter{Name: fmt.Sprintf("correlation of %s and %s%s", other, name, by), Kind: mixed.GroupCorrelation, Value: r.Correlation[a][b]}, 0, -1, same})
		}
	}
	return out
}

// entryOf is the place in ψ of the standard deviation of column a of random term t,
// and its unit; −1 where it is made of several parameters.
func (f *Fit) entryOf(t, a int) (psi int, unit float64) {
	for k := range f.d.lay.Factors {
		for _, v := range f.d.lay.Factors[k].Blocks {
			if v.Random != t {
				continue
			}
			unit = f.d.lay.Factors[k].Units[v.First+a]
			if v.Correlated && a > 0 {
				return -1, unit
			}
			for i, e := range f.d.random.entries {
				if e.factor == k && e.row == v.First+a && e.column == v.First+a {
					return f.d.size + i, unit
				}
			}
		}
	}
	return -1, 1
}
