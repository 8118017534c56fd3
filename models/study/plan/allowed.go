package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
)

// allowedDraws is how many sets of spreads are drawn from what a pilot allows.
const allowedDraws = 25

// profileLevels are those of the profile intervals whose ends make the
// distribution of a spread.
var profileLevels = []float64{0.2, 0.5, 0.8, 0.95}

// A allowance is what a pilot allows for one spread: its confidence distribution
// (Schweder and Hjort 2002, Scand. J. Stat. 29, 309–332), of which the ends of
// profile likelihood intervals are quantiles.
type allowance struct {
	name       string
	at, values []float64 // quantiles, in rising order
}

// quantile of the allowance, straight between the known ones; beyond them it stays
// at the outermost.
func (a *allowance) quantile(u float64) float64 {
	k, _ := slices.BinarySearch(a.at, u)
	switch k {
	case 0:
		return a.values[0]
	case len(a.at):
		return a.values[k-1]
	}
	share := (u - a.at[k-1]) / (a.at[k] - a.at[k-1])
	return a.values[k-1] + share*(a.values[k]-a.values[k-1])
}

// allowances of all spreads that the profile of the fit tells.
func allowances(fit *mixed.Fit, names []string) ([]allowance, error) {
	ends := map[string][][2]float64{}
	for _, level := range profileLevels {
		intervals, err := fit.Profile(level)
		if err != nil {
			return nil, fmt.Errorf("what the pilot allows for its spreads cannot be told: %w; write spreads = %q", err, asEstimated)
		}
		for _, i := range intervals {
			if slices.Contains(names, i.Name) {
				ends[i.Name] = append(ends[i.Name], [2]float64{i.Low, i.High})
			}
		}
	}
	var out []allowance
	for _, name := range names {
		a := allowance{name: name}
		for k := len(profileLevels) - 1; k >= 0; k-- {
			a.add((1-profileLevels[k])/2, ends[name], k, 0)
		}
		for k := range profileLevels {
			a.add((1+profileLevels[k])/2, ends[name], k, 1)
		}
		if len(a.at) > 1 {
			slices.Sort(a.values)
			out = append(out, a)
		}
	}
	return out, nil
}

// add puts one end of an interval to the quantiles, where it has one.
func (a *allowance) add(at float64, ends [][2]float64, k, end int) {
	if k >= len(ends) {
		return
	}
	if v := ends[k][end]; !math.IsNaN(v) && !math.IsInf(v, 0) {
		a.at, a.values = append(a.at, at), append(a.values, v)
	}
}

// allow draws sets of spreads from what the pilot allows, each spread at as many
// places of its distribution as there are sets, one in each part of it, in an order
// of its own (McKay, Beckman and Conover 1979, Technometrics 21, 239–245).
func (p *Plan) allow(fit *mixed.Fit, truth mixed.Parameters) (draws []power.Draw, spreads []string, err error) {
	var names []string
	words := map[string]string{residualName: "spread of single pages"}
	for _, r := range truth.Random {
		for _, term := range r.Terms {
			name := spreadName(term, r.By)
			names = append(names, name)
			words[name] = "spread between " + p.pilot.Labels.Groups(r.By)
			if term != "intercept" {
				words[name] = fmt.Sprintf("spread between %s of what %s adds", p.pilot.Labels.Groups(r.By), p.pilot.Labels.Term(term, nil))
			}
		}
	}
	if len(truth.Residual.Levels) == 0 {
		names = append(names, residualName)
	}
	known, err := allowances(fit, names)
	if err != nil {
		return nil, nil, err
	}
	rng := rand.New(rand.NewPCG(p.File.Designs.Seed, 0x616c6c6f77)) // a fixed stream
	draws = make([]power.Draw, allowedDraws)
	values := make([]map[string]float64, allowedDraws)
	for k := range values {
		values[k] = map[string]float64{}
	}
	for _, a := range known {
		spreads = append(spreads, words[a.name])
		for k, part := range rng.Perm(allowedDraws) {
			u := (float64(part) + rng.Float64()) / allowedDraws
			draws[k].At = append(draws[k].At, u)
			values[k][a.name] = a.quantile(u)
		}
	}
	for k := range draws {
		draws[k].Truth = spread(truth, func(name string, v float64) float64 {
			if drawn, known := values[k][name]; known {
				return drawn
			}
			return v
		})
	}
	p.say("Power is averaged over what the pilot allows for its spreads: %d sets of them were drawn from the ends of its profile likelihood intervals.", allowedDraws)
	return draws, spreads, nil
}
