package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
)

// allowedDraws is how many sets of spreads are drawn from what a pilot allows.
const allowedDraws = 25

// profileLevels are those of the profile intervals whose ends make the
// distribution of a spread.
var profileLevels = []float64{0.2, 0.5, 0.8, 0.95}

// An allowance is what a pilot allows for one spread: its confidence distribution
// (Schweder and Hjort 2002, Scand. J. Stat. 29, 309–332). Of many groups the ends of
// profile likelihood intervals are its quantiles. Of few these ends lie too low: a
// variance between four books is known as a χ² of three degrees of freedom tells it, and
// no better. So there the spread is drawn as from a variance that is seen with an error,
// σ² + v, estimated by t on as many degrees of freedom ν as groups leave: ν t / χ² is its
// confidence distribution, and σ² what lies beyond v. What v (and, where the estimate is
// zero, t) are is read off the profile likelihood, which that of t should follow.
type allowance struct {
	name       string
	at, values []float64 // quantiles, in rising order

	freedom, error, total float64 // ν, v and t; ν is 0 where the quantiles count
}

// fewGroups is the number of groups up to which the ends of profile likelihood
// intervals are not taken for quantiles.
const fewGroups = 30

// quantile of the allowance, straight between the known ones; beyond them it stays
// at the outermost.
func (a *allowance) quantile(u float64) float64 {
	if a.freedom > 0 {
		return math.Sqrt(math.Max(0, a.freedom*a.total/distuv.ChiSquared{K: a.freedom}.Quantile(1-u)-a.error))
	}
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

// fit takes the allowance for that of a spread between few groups, with the estimate
// sd, by least squares of the log likelihood at the known ends.
func (a *allowance) fit(sd float64, groups int) {
	nu := float64(groups - 1)
	best := math.Inf(1)
	scale := a.values[len(a.values)-1] // the widest end
	if !(scale > 0) {
		return
	}
	minus := func(variance, v, t float64) float64 { return nu * (math.Log(variance+v) + t/(variance+v)) } // −2 log likelihood
	off := func(v, t float64) float64 {
		least, sum := minus(math.Max(0, t-v), v, t), 0.0
		for k, u := range a.at {
			if a.values[k] > 1e-3*scale { // else the interval ends at zero
				z := distuv.UnitNormal.Quantile(u)
				d := minus(a.values[k]*a.values[k], v, t) - least - z*z
				sum += d * d
			}
		}
		return sum
	}
	share := []float64{1} // of v that t is, beside the variance
	if sd <= 1e-3*scale {
		sd, share = 0, []float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}
	}
	for k := range 121 { // v from a ten-thousandth of the scale's square up to it
		v := scale * scale * math.Pow(10, float64(k)/30-4)
		for _, c := range share {
			if t := sd*sd + c*v; off(v, t) < best {
				best, a.freedom, a.error, a.total = off(v, t), nu, v, t
			}
		}
	}
}

// allowances of all spreads that the profile of the fit tells.
func allowances(fit *mixed.Fit, names []string) ([]allowance, error) {
	if len(names) == 0 {
		return nil, nil
	}
	ends := map[string][][2]float64{}
	for _, level := range profileLevels {
		intervals, err := fit.Profile(level, names...)
		if err != nil {
			return nil, fmt.Errorf("what the pilot allows for its spreads cannot be told: %w; write spreads = %q", err, asEstimated)
		}
		for _, i := range intervals {
			ends[i.Name] = append(ends[i.Name], [2]float64{i.Low, i.High})
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
			if sd, groups := between(fit, name); groups >= 2 && groups <= fewGroups {
				a.fit(sd, groups)
			}
			out = append(out, a)
		}
	}
	return out, nil
}

// between finds the spread of that name between groups, and how many these are; 0 for
// that of single pages.
func between(fit *mixed.Fit, name string) (sd float64, groups int) {
	for _, r := range fit.Random {
		for j, term := range r.Terms {
			if spreadName(term, r.By) == name {
				return r.SD[j], r.Groups
			}
		}
	}
	return 0, 0
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
	words := map[string]string{residualName: "spread of single pages"}
	for _, r := range truth.Random {
		for _, term := range r.Terms {
			name := spreadName(term, r.By)
			words[name] = "spread between " + p.pilot.Labels.Groups(r.By)
			if term != "intercept" {
				words[name] = fmt.Sprintf("spread between %s of what %s adds", p.pilot.Labels.Groups(r.By), p.pilot.Labels.Term(term, nil))
			}
		}
	}
	known, err := allowances(fit, spreadNames(truth))
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
	p.say("Power is averaged over what the pilot allows for its spreads: %d sets of them were drawn from their confidence distributions, which few groups leave wide.", allowedDraws)
	return draws, spreads, nil
}
