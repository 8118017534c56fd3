package generalised

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// fitted is the optimum of a design's approximated likelihood.
type fitted struct {
	d        *design
	psi      []float64
	logLik   float64
	hessian  *mat.SymDense // of −log likelihood by ψ
	settled  bool
	standing approximation // at ψ
}

// criterion is the approximated likelihood as something to go down.
type criterion struct {
	approximation
}

// An approximation integrates the random effects out.
type approximation interface {
	logLik(psi []float64) float64
	gradient(out []float64)
	// reset forgets the mode of the trial before, so that the next does not depend
	// on it.
	anchor(from []float64)
	mode() []float64
}

func (c criterion) value(x []float64) float64 {
	if v := c.logLik(x); !math.IsNaN(v) {
		return -v
	}
	return math.Inf(1)
}

func (c criterion) slope(g []float64) {
	c.gradient(g)
	for i := range g {
		g[i] = -g[i]
	}
}

func (t *trial) mode() []float64 { return t.u }

func (t *trial) anchor(u []float64) {
	copy(t.u, u)
	t.ready = true
}

// differenceHessian is the Hessian by central differences of the gradient, steps a
// thousandth of each variable's scale; every difference starts from the same mode.
func differenceHessian(make func() approximation, standing approximation) func(x, g, scale []float64) *mat.SymDense {
	return func(x, _, scale []float64) *mat.SymDense {
		n := len(x)
		rows := mat.NewDense(n, n, nil)
		u := slices.Clone(standing.mode())
		inParallel(n, make, func(a approximation, i int) {
			c := criterion{a}
			at := slices.Clone(x)
			h := 1e-3 * scale[i]
			var slopes [2][]float64
			for side, shift := range []float64{-h, h} {
				slopes[side] = append([]float64(nil), x...)
				at[i] = x[i] + shift
				a.anchor(u)
				if v := c.value(at); math.IsInf(v, 1) {
					clear(slopes[side])
					continue
				}
				c.slope(slopes[side])
			}
			for j := range n {
				rows.Set(i, j, (slopes[1][j]-slopes[0][j])/(2*h))
			}
		})
		out := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				out.SetSym(i, j, (rows.At(i, j)+rows.At(j, i))/2)
			}
		}
		return out
	}
}

// optimise finds the maximum of the likelihood.
func (d *design) optimise(points int) *fitted {
	start, information := d.withoutRandom()
	if d.random.q == 0 {
		return start
	}
	n := d.size + len(d.random.entries)
	psi := append(slices.Clone(start.psi), make([]float64, n-d.size)...)
	first := mat.NewSymDense(n, nil)
	for i := range d.size {
		for j := range i + 1 {
			first.SetSym(i, j, information.At(i, j))
		}
	}
	for i, e := range d.random.entries {
		if e.row == e.column {
			psi[d.size+i] = 0.6
		}
		first.SetSym(d.size+i, d.size+i, 2*float64(d.random.factors[e.factor].groups))
	}
	fresh := func() approximation { return d.approximation(points) }
	standing := d.approximation(points)
	end := minimise(criterion{standing}, psi, first, differenceHessian(fresh, standing))
	out := &fitted{d: d, psi: end.x, logLik: d.base - end.f, hessian: end.hessian, settled: end.settled, standing: standing}
	standing.logLik(end.x)
	return out
}

// approximation is Laplace's, or quadrature with more points than one.
func (d *design) approximation(points int) approximation {
	if points > 1 {
		return newQuadrature(d, points)
	}
	return newTrial(d)
}

// withoutRandom fits the model without its random terms, by Newton's steps from
// rough starting values.
func (d *design) withoutRandom() (*fitted, *mat.SymDense) {
	bare := *d
	bare.random = random{}
	standing := newTrial(&bare)
	fresh := func() approximation { return newTrial(&bare) }
	x := bare.start()
	differences := differenceHessian(fresh, standing)
	scale := make([]float64, len(x))
	for i := range scale {
		scale[i] = 1e-2
	}
	first := differences(x, nil, scale)
	end := minimise(criterion{standing}, x, first, differences)
	return &fitted{d: &bare, psi: end.x, logLik: d.base - end.f, hessian: end.hessian, settled: end.settled, standing: standing}, end.hessian
}

// start gives rough values of the parameters: the outcome's overall level, no
// effects.
func (d *design) start() []float64 {
	out := make([]float64, d.size)
	switch k := d.kind.(type) {
	case yesNo:
		yes, all := 0.0, 0.0
		for i, y := range d.y {
			yes += y
			all += y + d.no[i]
		}
		out[0] = quantile(k.link, (yes+0.5)/(all+1))
	case counts:
		total, exposure := 0.0, 0.0
		for i, y := range d.y {
			if k.negative || k.inflated {
				y *= d.weight[i]
			}
			total += y
			e := 1.0
			if d.offset != nil {
				e = math.Exp(d.offset[d.pattern[i]])
			}
			exposure += e * d.weight[i]
		}
		out[0] = math.Log((total + 0.5) / exposure)
		if k.inflated {
			out[len(out)-len(d.uses[d.width-1])] = -1
		}
	case grades:
		share := make([]float64, d.width+1)
		all := 1.0
		for i, y := range d.y {
			share[int(y)] += d.weight[i]
			all += d.weight[i]
		}
		below := 0.0
		targets := make([]float64, d.width)
		for j := range targets {
			below += share[j]
			targets[j] = quantile(k.link, (below+0.5)/all)
		}
		d.startThresholds(targets, out)
	}
	return out
}

// startThresholds gives the thresholds' parameters values near the targets.
func (d *design) startThresholds(targets, out []float64) {
	m := len(targets)
	switch d.lay.Model.Thresholds {
	case "symmetric":
		out[0] = (targets[0] + targets[m-1]) / 2
		for k := range m / 2 {
			out[1+k] = (targets[m-1-k] - targets[k]) / 2
		}
	case "equal":
		out[0] = targets[0]
		if m > 1 {
			out[1] = (targets[m-1] - targets[0]) / float64(m-1)
		}
	default:
		copy(out, targets)
	}
}

// quantile is the x at which a link's distribution is p, by halving.
func quantile(l link, p float64) float64 {
	low, high := -40.0, 40.0
	for range 80 {
		if mid := (low + high) / 2; l.at(mid).F < p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

var _ = time.Now
var _ table.Problem
var _ mixed.Model
