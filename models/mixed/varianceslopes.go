package mixed

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A varianceSlopes holds what the derivatives of V by its parameters do to the
// fixed effects (Kenward and Roger 1997, section 3, in their notation). All
// matrices are p × p in the basis Q, and all of it is relative to σ² where that is
// profiled out.
type varianceSlopes struct {
	parameters []varianceParameter
	p          []*mat.Dense   // −Pᵢ = X'V⁻¹VᵢV⁻¹X
	pair       [][]*mat.Dense // Qᵢⱼ − PᵢΦPⱼ − ¼Rᵢⱼ, j ≤ i
	curves     [][]*mat.Dense // ¼Rᵢⱼ; nil where V is linear
	covariance *mat.Dense     // asymptotic, of the parameters
}

// mostProducts is how much work the adjustment may be: random effects and rows, and of
// rows that are alike along a line the squares of their numbers, times fixed effects
// times variance parameters.
const mostProducts = 2_000_000_000

// A reaction is how V⁻¹X answers to one parameter: W = VᵢV⁻¹X.
type reaction struct {
	effects  [][]float64 // W = Z·effects, for a covariance: one vector a fixed effect
	rows     []float64   // W itself, n × p, for the residual's
	weighed  []float64   // R⁻¹W of those
	products [][]float64 // [Z X y]'R⁻¹W
	solved   [][]float64 // L⁻¹ of these, with the fixed effects taken out
}

// newVarianceSlopes computes the slopes at the fit's parameters.
func (f *Fit) newVarianceSlopes() (*varianceSlopes, error) {
	l := f.like
	s := l.s
	at := l.variancePoint(f.phi)
	v := &varianceSlopes{parameters: l.varianceParameters(at)}
	work := float64(s.Effects + s.n)
	for _, run := range s.d.errors.split() {
		work += float64(len(run)) * float64(len(run))
	}
	if work*float64(s.p)*float64(len(v.parameters)) > mostProducts {
		return nil, fmt.Errorf("%d rows, %d random effects, %d fixed effects and %d variances are more than the adjustment of Kenward and Roger is computed for", s.n, s.Effects, s.p, len(v.parameters))
	}
	defer l.criterion(f.phi)
	here := l.traces(at, v.parameters)
	if here == nil {
		return nil, errNoAdjustment
	}
	v.react(l, at)
	residual := l.residualSlopes(at)
	curved := l.curvedTraces(v.parameters, residual)
	information := l.expectedInformation(at, v.parameters, here, func(i, j int) float64 { return curved[i][j] })
	if information == nil {
		return nil, errNoAdjustment
	}
	v.invert(l, information)
	return v, nil
}

var errNoAdjustment = errors.New("the covariance matrix of the outcome is not positive definite next to the estimates, so that no adjustment can be computed")

// react fills p and pair, where the factor stands at the point.
func (v *varianceSlopes) react(l *likelihood, at variancePoint) {
	s := l.s
	p := s.p
	sensitivity := l.trial.Sensitivity()
	residual := l.residualSlopes(at)
	var solved []float64 // V⁻¹X, n × p
	if l.weighing != nil {
		solved = sensitivity.Rows()
		l.weighing.solve(solved, p)
	}
	products := sensitivity.Products() // Z'V⁻¹[X y]
	reactions := make([]reaction, len(v.parameters))
	v.p = make([]*mat.Dense, len(v.parameters))
	v.pair = make([][]*mat.Dense, len(v.parameters))
	for i, par := range v.parameters {
		switch {
		case l.weighing == nil && par.kind == ofResidual: // follows from the others
		case par.kind == covarianceOf || par.kind == sharedError:
			reactions[i] = l.effectsReact(par, products)
			v.p[i] = mat.NewDense(p, p, nil)
			for a := range p {
				for b, x := range reactions[i].effects {
					sum := 0.0
					for e, w := range x[:s.Effects] {
						if w != 0 {
							sum += products[e*s.root+a] * w
						}
					}
					v.p[i].Set(a, b, sum)
				}
			}
		default:
			reactions[i] = l.rowsReact(par, residual, solved)
			v.p[i] = crossRows(solved, reactions[i].rows, p)
		}
	}
	for i := range v.parameters {
		v.pair[i] = make([]*mat.Dense, i+1)
		for j := range i + 1 {
			if v.p[i] != nil && v.p[j] != nil {
				v.pair[i][j] = v.meet(l, &reactions[i], &reactions[j])
			}
		}
	}
	v.addCurves(l, residual, solved)
	if l.weighing == nil {
		v.complete(l, at)
	}
}

// effectsReact is the reaction to a covariance of random effects, or to the
// variance of a shared error.
func (l *likelihood) effectsReact(par varianceParameter, products []float64) reaction {
	s := l.s
	var out reaction
	for c := range s.p {
		x := make([]float64, s.Effects+s.root)
		l.eachEntry(par, func(a, b int) {
			x[a] += products[b*s.root+c]
			if a != b {
				x[b] += products[a*s.root+c]
			}
		})
		g := make([]float64, len(x))
		l.trial.CrossTimes(x, g)
		h := append([]float64(nil), g...)
		l.trial.Forward(h)
		out.effects, out.products, out.solved = append(out.effects, x), append(out.products, g), append(out.solved, h)
	}
	return out
}

// eachEntry visits the pairs of random effects whose covariance the parameter is.
func (l *likelihood) eachEntry(par varianceParameter, visit func(a, b int)) {
	s := l.s
	if par.kind == sharedError {
		o := &s.d.offsets[par.term-len(s.factors)]
		if k := o.columns(); k > 1 {
			for c := range k {
				visit(s.First(par.term, 0)+c, s.First(par.term, 0)+c)
			}
			return
		}
		for g := range o.groups {
			visit(s.First(par.term, g), s.First(par.term, g))
		}
		return
	}
	for g := range s.factors[par.term].groups {
		first := s.First(par.term, g)
		for _, e := range par.entries {
			visit(first+e[0], first+e[1])
		}
	}
}

// rowsReact is the reaction to one of the residual's parameters.
func (l *likelihood) rowsReact(par varianceParameter, residual *residualSlopes, solved []float64) reaction {
	s := l.s
	out := reaction{rows: make([]float64, len(solved))}
	residual.times(par, solved, s.p, out.rows)
	out.weighed = append([]float64(nil), out.rows...)
	l.weighing.solve(out.weighed, s.p)
	for c := range s.p {
		g := make([]float64, s.Effects+s.root)
		s.Collect(out.weighed[c:], s.p, g)
		h := append([]float64(nil), g...)
		l.trial.Forward(h)
		out.products, out.solved = append(out.products, g), append(out.solved, h)
	}
	return out
}

// meet is W'PU of two reactions, P what projects the fixed effects out, its
// symmetric part.
func (v *varianceSlopes) meet(l *likelihood, a, b *reaction) *mat.Dense {
	p := l.s.p
	out := mat.NewDense(p, p, nil)
	if a.effects == nil {
		a, b = b, a
	}
	for i := range p {
		for j := range p {
			sum := -inner(a.solved[i], b.solved[j])
			if a.effects != nil {
				sum += inner(a.effects[i][:l.s.Effects], b.products[j])
			}
			out.Set(i, j, sum)
		}
	}
	if a.effects == nil {
		out.Add(out, crossRows(a.rows, b.weighed, p))
	}
	var turned mat.Dense
	turned.CloneFrom(out.T())
	out.Add(out, &turned)
	out.Scale(0.5, out)
	return out
}

// crossRows is a'b of two n × p matrices by rows.
func crossRows(a, b []float64, p int) *mat.Dense {
	out := mat.NewDense(p, p, nil)
	for at := 0; at < len(a); at += p {
		for i, x := range a[at : at+p] {
			to := out.RawRowView(i)
			for j, y := range b[at : at+p] {
				to[j] += x * y
			}
		}
	}
	return out
}

// complete fills in what has σ² as a parameter, rows being independent and alike:
// V = ΣθᵢVᵢ, so that VV⁻¹X = X, which P takes out.
func (v *varianceSlopes) complete(l *likelihood, at variancePoint) {
	own := 0
	values := make([]float64, len(v.parameters))
	for i, par := range v.parameters {
		if par.kind == ofResidual {
			own = i
			continue
		}
		e := par.entries[0]
		values[i] = at.covariances[par.term][e[0]*l.s.factors[par.term].k+e[1]]
	}
	v.p[own] = mat.NewDense(l.s.p, l.s.p, l.trial.Information())
	get := func(i, j int) *mat.Dense { return v.pair[max(i, j)][min(i, j)] }
	row := make([]*mat.Dense, len(v.parameters))
	for i := range row {
		row[i] = mat.NewDense(l.s.p, l.s.p, nil)
	}
	for i := range v.parameters {
		if i == own {
			continue
		}
		addScaled(v.p[own], -values[i], v.p[i])
		for j := range v.parameters {
			if j != own {
				addScaled(row[i], -values[j], get(i, j))
			}
		}
		addScaled(row[own], -values[i], row[i])
	}
	for i := range row {
		v.pair[max(i, own)][min(i, own)] = row[i]
	}
}

func addScaled(to *mat.Dense, by float64, m *mat.Dense) {
	var scaled mat.Dense
	scaled.Scale(by, m)
	to.Add(to, &scaled)
}

// invert turns the information into the parameters' covariance: the inverse over
// those that are estimated. The spread of a shared error was estimated beforehand,
// with variance 2·SD⁴/DF, and carries the others along.
func (v *varianceSlopes) invert(l *likelihood, information [][]float64) {
	n := len(v.parameters)
	free := n
	for free > 0 && v.parameters[free-1].kind == sharedError {
		free--
	}
	v.covariance = mat.NewDense(n, n, nil)
	if free == 0 {
		return
	}
	own := mat.NewSymDense(free, nil)
	for i := range free {
		for j := range i + 1 {
			own.SetSym(i, j, information[i][j])
		}
	}
	inverse := pseudoInverse(own, 1)
	v.covariance.Slice(0, free, 0, free).(*mat.Dense).Copy(inverse)
	for o := free; o < n; o++ {
		part := &l.s.d.offsets[v.parameters[o].term-len(l.s.factors)]
		carried := mat.NewVecDense(n, nil)
		for i := range free {
			for j := range free {
				carried.SetVec(i, carried.AtVec(i)-inverse.At(i, j)*information[j][o])
			}
		}
		carried.SetVec(o, 1)
		v.covariance.RankOne(v.covariance, 2*math.Pow(part.sd, 4)/part.DF, carried, carried)
	}
}
