package generalised

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
)

const (
	chiSquare95 = 3.841458820694124 // quantile 0.95 of χ² with one degree of freedom
	farthest    = 60.0              // standard errors from the estimate to look for an end
)

// Profile is the 95 % interval of a parameter, by its name in [Fit.Parameters], by its
// profile likelihood: the values at which the log likelihood, all other parameters at
// their best, is less than half of 3.84 below its maximum (Venzon and Moolgavkar 1988,
// Applied Statistics 37, 87–94), or of more where it rests on few groups (fewgroups.go). A side on which the likelihood falls too little,
// however far one goes, is open. Under a penalty it is that of the penalised likelihood
// (Heinze and Schemper 2002, Statistics in Medicine 21, 2409–2419).
func (f *Fit) Profile(name string) (mixed.Interval, error) {
	places := f.parameters()
	k := slices.IndexFunc(places, func(p parameter) bool { return p.Name == name })
	if k < 0 {
		var names []string
		for _, p := range places {
			names = append(names, p.Name)
		}
		return mixed.Interval{}, fmt.Errorf("the model has no parameter %q; it has %s: name one of these", name, strings.Join(names, ", "))
	}
	return f.profile(places[k]), nil
}

// profile is the interval of one parameter.
func (f *Fit) profile(p parameter) mixed.Interval {
	out := mixed.Interval{Parameter: p.Parameter, Level: mixed.InferenceLevel, Low: math.Inf(-1), High: math.Inf(1), OpenLow: true, OpenHigh: true}
	if p.psi < 0 {
		out.OpenLow, out.OpenHigh, out.Low, out.High = false, false, math.NaN(), math.NaN()
		out.Note = "no profile likelihood where it is no single parameter of the model: ask for intervals by bootstrap"
		return out
	}
	if p.Kind == mixed.GroupDeviation {
		out.Low = 0
		if f.psi[p.psi] > 0 && f.ridge(p.psi).statistic(0) > p.reach {
			out.Low, out.OpenLow = p.value(f.between(p, 0)), false
		}
	} else if v, ok := f.end(p, -1); ok {
		out.Low, out.OpenLow = p.value(v), false
	}
	if v, ok := f.end(p, 1); ok {
		out.High, out.OpenHigh = p.value(v), false
	}
	return out
}

// held is a criterion with parameter k held at a value.
type held struct {
	criterion
	k    int
	at   float64
	full []float64
	g    []float64
}

func (h *held) fill(x []float64) {
	copy(h.full[:h.k], x[:h.k])
	h.full[h.k] = h.at
	copy(h.full[h.k+1:], x[h.k:])
}

func (h *held) value(x []float64) float64 {
	h.fill(x)
	return h.criterion.value(h.full)
}

func (h *held) slope(g []float64) {
	h.criterion.slope(h.g)
	copy(g[:h.k], h.g[:h.k])
	copy(g[h.k:], h.g[h.k+1:])
}

// A ridge is the profile likelihood of one parameter, walked along from the estimate.
type ridge struct {
	held
	f        *Fit
	best     float64
	rest     *mat.SymDense // the Hessian by the others
	x        []float64     // they
	from     float64
	variance float64
}

func (f *Fit) ridge(k int) *ridge {
	n := len(f.psi)
	r := &ridge{held: held{criterion: criterion{f.d.criterion(f.way())}, k: k, full: make([]float64, n), g: make([]float64, n)},
		f: f, rest: mat.NewSymDense(max(n-1, 1), nil), x: make([]float64, n-1), from: f.psi[k], variance: f.covariance.At(k, k)}
	r.best = r.criterion.value(f.psi)
	information := inverse(f.covariance)
	for i := range r.x {
		r.x[i] = f.psi[r.other(i)]
		for j := range i + 1 {
			r.rest.SetSym(i, j, information.At(r.other(i), r.other(j)))
		}
	}
	return r
}

// other is the parameter that stands at place i of those not held.
func (r *ridge) other(i int) int {
	if i >= r.k {
		return i + 1
	}
	return i
}

// statistic is twice what the log likelihood loses where the parameter is v.
func (r *ridge) statistic(v float64) float64 {
	r.at = v
	for i := range r.x { // along the ridge of the quadratic approximation
		r.x[i] += r.f.covariance.At(r.other(i), r.k) / r.variance * (v - r.from)
	}
	r.from = v
	if len(r.x) == 0 {
		return 2 * (r.held.value(nil) - r.best)
	}
	end := minimise(&r.held, r.x, r.rest, closelyNear, nil)
	if !math.IsInf(end.f, 1) {
		copy(r.x, end.x)
	}
	return math.Max(0, 2*(end.f-r.best))
}

// end finds one end of a profile interval, way −1 or 1; false where that side is open.
func (f *Fit) end(p parameter, way float64) (float64, bool) {
	k, reach := p.psi, math.Sqrt(p.reach)
	r := f.ridge(k)
	fall := func(v float64) float64 { return math.Sqrt(r.statistic(v)) - reach }
	se := math.Sqrt(r.variance)
	inner, innerFall := f.psi[k], -reach
	step := reach * se
	outer := inner + way*step
	outerFall := fall(outer)
	for outerFall < 0 {
		inner, innerFall = outer, outerFall
		step *= 1.3
		outer += way * step
		if math.Abs(outer-f.psi[k]) > farthest*se {
			return 0, false
		}
		outerFall = fall(outer)
	}
	return root(fall, inner, innerFall, outer, outerFall, 1e-5*se), true
}

// between finds the end of a profile interval between a value beyond it and the
// estimate.
func (f *Fit) between(p parameter, beyond float64) float64 {
	r, reach, estimate := f.ridge(p.psi), math.Sqrt(p.reach), f.psi[p.psi]
	fall := func(v float64) float64 { return math.Sqrt(r.statistic(v)) - reach }
	return root(fall, estimate, -reach, beyond, fall(beyond), 1e-5*math.Abs(estimate-beyond))
}

// root is where fall is zero between inner, where it is below, and outer: by false
// position, the end that stays halved (Illinois).
func root(fall func(float64) float64, inner, innerFall, outer, outerFall, near float64) float64 {
	for range 60 {
		if math.Abs(outer-inner) < near {
			break
		}
		at := (inner + outer) / 2
		if !math.IsInf(outerFall, 1) {
			at = outer - outerFall*(outer-inner)/(outerFall-innerFall)
		}
		v := fall(at)
		if math.Abs(v) < 1e-6 {
			return at
		}
		if v > 0 {
			outer, outerFall = at, v
			innerFall /= 2
		} else {
			inner, innerFall = at, v
			if !math.IsInf(outerFall, 1) {
				outerFall /= 2
			}
		}
	}
	return (inner + outer) / 2
}

// way is how the fit was made.
func (f *Fit) way() way { return way{points: f.model.Points, penalised: f.apart != nil} }
