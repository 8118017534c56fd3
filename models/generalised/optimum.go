package generalised

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// An optimum is the maximum of a design's approximated likelihood.
type optimum struct {
	psi       []float64
	logLik    float64
	criterion float64       // what was climbed, at ψ: without design.base, with the penalty
	hessian   *mat.SymDense // of −log likelihood by ψ
	settled   bool
	standing  approximation // at ψ
}

// An approximation integrates the random effects out.
type approximation interface {
	// logLik is the log likelihood at ψ without design.base; −∞ where there is none.
	logLik(psi []float64) float64
	// gradient fills its derivative where logLik was last computed.
	gradient(out []float64)
	// settle says how near to the mode logLik goes on: until a step gains less.
	settle(gain float64)
	// mode is where logLik last found the random effects; anchor makes the next
	// search begin from there.
	mode() []float64
	anchor(from []float64)
	// solve replaces v by H⁻¹v where logLik was last computed: H⁻¹ is the covariance of
	// the random effects there.
	solve(v []float64)
}

// approximation is Laplace's, or quadrature with more points than one; without points
// expectation propagation where it serves.
func (d *design) approximation(points int) approximation {
	if points == 0 && d.propagates() {
		return newPropagation(d)
	}
	if points > 1 && d.random.q > 0 {
		return newQuadrature(d, points)
	}
	return newTrial(d)
}

// A way says how a design is fitted.
type way struct {
	points    int
	penalised bool
}

// criterion is what is climbed.
func (d *design) criterion(w way) approximation {
	if w.penalised {
		return d.penalise(d.approximation(w.points))
	}
	return d.approximation(w.points)
}

// A criterion is minus the log likelihood as something to go down.
type criterion struct{ approximation }

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

// differenceHessian is the Hessian by differences of the exact gradient g at x, steps of
// a part of each variable's scale; every difference starts from the same mode.
func differenceHessian(make func() approximation, standing approximation) func(x, g, scale []float64) *mat.SymDense {
	return func(x, g, scale []float64) *mat.SymDense {
		n := len(x)
		rows := mat.NewDense(n, n, nil)
		u := slices.Clone(standing.mode())
		inParallel(n, make, func(a approximation, i int) {
			c := criterion{a}
			c.settle(modeSharp)
			at, slope := slices.Clone(x), slices.Clone(x)
			h := differenceStep * scale[i]
			at[i] += h
			a.anchor(u)
			if math.IsInf(c.value(at), 1) { // outside: the other way
				h = -h
				at[i] = x[i] + h
				a.anchor(u)
				if math.IsInf(c.value(at), 1) {
					return
				}
			}
			c.slope(slope)
			for j := range n {
				rows.Set(i, j, (slope[j]-g[j])/h)
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

// differenceStep is the step of a difference, of a variable's standard error alone: the
// Hessian is off by about its third derivative times half of it.
const differenceStep = 3e-5

// firstSpread is the standard deviation of a random term's column, scaled to a root
// mean square of one, that the search begins from.
const firstSpread = 0.6

// optimise finds the maximum of the likelihood.
func (d *design) optimise(w way) *optimum {
	start := d.withoutRandom(w)
	if d.random.q == 0 || start.hessian == nil {
		return start
	}
	n := d.size + len(d.random.entries)
	psi := append(slices.Clone(start.psi), make([]float64, n-d.size)...)
	first := mat.NewSymDense(n, nil)
	for i := range d.size {
		for j := range i + 1 {
			first.SetSym(i, j, start.hessian.At(i, j))
		}
	}
	for i, e := range d.random.entries {
		if e.row == e.column {
			psi[d.size+i] = firstSpread
		}
		// that of log σ where all random effects are seen as they are
		first.SetSym(d.size+i, d.size+i, 2*float64(d.random.factors[e.factor].groups)/(firstSpread*firstSpread))
	}
	return d.climb(psi, first, w)
}

// climb finds the maximum from a start and a first Hessian. Under a penalty the log
// likelihood and the Hessian at the end are those of the likelihood alone, as for
// standard errors (Sterzinger and Kosmidis 2023, section 2).
func (d *design) climb(from []float64, first *mat.SymDense, w way) *optimum {
	standing := d.criterion(w)
	end := minimise(criterion{standing}, from, first, nearEnough, differenceHessian(func() approximation { return d.criterion(w) }, standing))
	out := &optimum{psi: end.x, criterion: -end.f, hessian: end.hessian, settled: end.settled, standing: d.approximation(w.points)}
	out.standing.anchor(standing.mode())
	out.logLik = d.base + out.standing.logLik(end.x)
	if w.penalised && end.hessian != nil {
		c := criterion{out.standing}
		c.settle(modeSharp)
		c.value(end.x)
		g := make([]float64, len(end.x))
		c.slope(g)
		out.hessian = differenceHessian(func() approximation { return d.approximation(w.points) }, out.standing)(end.x, g, scales(end.hessian))
	}
	return out
}

// withoutRandom fits the model without its random terms from rough starting values:
// where there are none to the end, else only as far as a start needs.
func (d *design) withoutRandom(w way) *optimum {
	bare := *d
	bare.random = random{}
	if d.random.q > 0 {
		bare.rows = d.byPattern()
	}
	w.points = 1
	x := bare.start()
	scale := make([]float64, len(x))
	for i := range scale {
		scale[i] = 1e-2
	}
	standing := newTrial(&bare)
	if math.IsInf(standing.logLik(x), -1) {
		return &optimum{psi: x, logLik: math.Inf(-1)}
	}
	g := make([]float64, len(x))
	criterion{standing}.slope(g)
	first := differenceHessian(func() approximation { return newTrial(&bare) }, standing)(x, g, scale)
	if d.random.q == 0 {
		return bare.climb(x, first, w)
	}
	end := minimise(criterion{bare.criterion(w)}, x, first, roughlyNear, nil)
	return &optimum{psi: end.x, criterion: -end.f, hessian: end.hessian}
}

// byPattern gathers the rows of equal patterns and outcomes, whatever their groups.
func (d *design) byPattern() rows {
	type key struct {
		pattern int32
		y       float64
	}
	var out rows
	at := map[key]int{}
	merges := d.direct() // successes and plain counts are summed whatever they are
	for i, p := range d.pattern {
		k := key{pattern: p}
		if !merges {
			k.y = d.y[i]
		}
		row, known := at[k]
		if !known {
			row = out.n
			at[k] = row
			out.n++
			out.pattern = append(out.pattern, p)
			out.weight = append(out.weight, 0)
			out.y = append(out.y, 0)
			if d.no != nil {
				out.no = append(out.no, 0)
			}
		}
		out.weight[row] += d.weight[i]
		switch {
		case merges:
			out.y[row] += d.y[i]
		default:
			out.y[row] = d.y[i]
		}
		if d.no != nil {
			out.no[row] += d.no[i]
		}
	}
	return out
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
		d.startThresholds(k.link, out)
	}
	return out
}

// startThresholds gives the thresholds' parameters values near those of the shares
// of the grades.
func (d *design) startThresholds(l link, out []float64) {
	share := make([]float64, d.width+1)
	all := 1.0
	for i, y := range d.y {
		share[int(y)] += d.weight[i]
		all += d.weight[i]
	}
	m := d.width
	targets := make([]float64, m)
	below := 0.5
	for j := range targets {
		below += share[j]
		targets[j] = quantile(l, below/all)
	}
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
