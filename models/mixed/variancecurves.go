package mixed

import "gonum.org/v1/gonum/mat"

// Where rows are autocorrelated V is not linear in its parameters: what its second
// derivatives add to the slopes.

// addCurves takes ¼Rᵢⱼ, Rᵢⱼ = X'V⁻¹VᵢⱼV⁻¹X, out of pair where V is not linear.
func (v *varianceSlopes) addCurves(l *likelihood, residual *residualSlopes, solved []float64) {
	if !l.s.d.errors.correlated() {
		return
	}
	p := l.s.p
	curved := make([]float64, len(solved))
	for i := range v.parameters {
		v.curves = append(v.curves, make([]*mat.Dense, i+1))
	}
	for i, a := range v.parameters {
		for j, b := range v.parameters[:i+1] {
			if a.kind != ofResidual || b.kind != ofResidual {
				continue
			}
			clear(curved)
			for _, run := range residual.state.e.split() {
				residual.spreadOut(run, residual.derivative(run, a, b), solved, p, curved)
			}
			r := crossRows(solved, curved, p)
			r.Scale(0.25, r)
			v.curves[i][j] = r
			v.pair[i][j].Sub(v.pair[i][j], r)
		}
	}
}

// straighten leaves the second derivatives of V out of pair.
func (v *varianceSlopes) straighten() {
	for i := range v.curves {
		for j, r := range v.curves[i] {
			if r != nil {
				v.pair[i][j].Add(v.pair[i][j], r)
			}
		}
	}
}

// curvedTraces gives tr(P·Vᵢⱼ) where the factor's inverse stands at the point: zero
// but where rows are autocorrelated.
func (l *likelihood) curvedTraces(parameters []varianceParameter, residual *residualSlopes) [][]float64 {
	out := make([][]float64, len(parameters))
	for i := range out {
		out[i] = make([]float64, len(parameters))
	}
	g := l.weighing
	if !l.s.d.errors.correlated() {
		return out
	}
	for r := range l.s.Runs() {
		rows, m := l.s.Run(r)
		n := len(rows)
		solved, diagonal := make([]float64, n*m), make([]float64, n)
		l.s.LoadRun(r, g.left, solved)
		g.solveRun(rows, solved, m, diagonal)
		local := g.local[:m*m]
		g.adjoint.CollectRun(r, local)
		var projected mat.Dense // R⁻¹[Z X y]·H, H the inverse's block
		projected.Mul(mat.NewDense(n, m, solved), mat.NewDense(m, m, append([]float64(nil), local...)))
		for i, a := range parameters {
			for j, b := range parameters[:i+1] {
				if a.kind != ofResidual || b.kind != ofResidual {
					continue
				}
				curve := residual.derivative(rows, a, b)
				if curve == nil {
					continue
				}
				var turned mat.Dense
				turned.Mul(curve, mat.NewDense(n, m, solved))
				sum := -inner(projected.RawMatrix().Data, turned.RawMatrix().Data)
				weighed := mat.DenseCopyOf(curve).RawMatrix().Data
				g.solveRun(rows, weighed, n, diagonal)
				for k := range n {
					sum += weighed[k*n+k]
				}
				out[i][j] += sum
				if i != j {
					out[j][i] += sum
				}
			}
		}
	}
	return out
}
