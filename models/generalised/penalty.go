package generalised

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A penalised approximation adds a penalty to the log likelihood that keeps
// estimates finite where the data alone do not: Jeffreys' prior of the model without
// its random terms, ½ log det I(β) (Firth 1993, Biometrika 80, 27–38; for other links
// Kosmidis and Firth 2021, Biometrika 108, 71–82). With random terms it is scaled by
// 2√(p/n), and so is the negative Huber loss of log λ for each diagonal entry of Λ and
// of λ for the others (Sterzinger and Kosmidis 2023, Statistics and Computing 33:53,
// section 5).
type penalised struct {
	approximation
	d     *design
	scale float64 // of log det I
	psi   []float64
}

func (d *design) penalise(a approximation) *penalised {
	p := &penalised{approximation: a, d: d, scale: 0.5}
	if d.random.q > 0 {
		p.scale = math.Sqrt(float64(d.size) / float64(len(d.lay.Rows)))
	}
	return p
}

func (p *penalised) logLik(psi []float64) float64 {
	p.psi = append(p.psi[:0], psi...)
	v := p.approximation.logLik(psi)
	if math.IsInf(v, -1) {
		return v
	}
	return v + p.penalty(psi)
}

func (p *penalised) gradient(out []float64) {
	p.approximation.gradient(out)
	at := append([]float64(nil), p.psi...)
	for i := range at {
		h := 1e-5 * math.Max(1, math.Abs(at[i]))
		at[i] = p.psi[i] + h
		up := p.penalty(at)
		at[i] = p.psi[i] - h
		out[i] += (up - p.penalty(at)) / (2 * h)
		at[i] = p.psi[i]
	}
}

// penalty is the penalty alone.
func (p *penalised) penalty(psi []float64) float64 {
	sum := p.scale * p.d.logInformation(psi[:p.d.size])
	if p.d.random.q == 0 {
		return sum
	}
	for i, e := range p.d.random.entries {
		x := psi[p.d.size+i]
		if e.row == e.column {
			x = math.Log(math.Abs(x) + 1e-300)
		}
		if math.Abs(x) <= 1 {
			sum -= p.scale * x * x
		} else {
			sum -= p.scale * (2*math.Abs(x) - 1)
		}
	}
	return sum
}

// logInformation is log det of the expected information of the predictors'
// parameters without random terms; of counts that of the expected count's alone.
func (d *design) logInformation(parameters []float64) float64 {
	predictors := make([]float64, d.patterns*d.width)
	d.predict(parameters, predictors)
	rows := make([]float64, d.patterns)
	for i, p := range d.pattern {
		rows[p] += d.weight[i]
		if d.no != nil {
			rows[p] += d.y[i] + d.no[i] - d.weight[i]
		}
	}
	width, size := d.width, d.size
	if _, ok := d.kind.(counts); ok {
		width, size = 1, len(d.lay.Fixed)
	}
	information := mat.NewSymDense(size, nil)
	own := make([]float64, width*width)
	for p := range d.patterns {
		clear(own)
		d.expected(predictors[p*d.width:(p+1)*d.width], rows[p], own)
		for j := range width {
			for k := range width {
				v := own[j*width+k]
				if v == 0 {
					continue
				}
				for _, a := range d.uses[j] {
					for _, b := range d.uses[k] {
						if b.parameter <= a.parameter {
							information.SetSym(a.parameter, b.parameter, information.At(a.parameter, b.parameter)+
								v*a.coefficient*b.coefficient*d.x[p*d.columns+a.column]*d.x[p*d.columns+b.column])
						}
					}
				}
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(information) {
		return math.Inf(-1)
	}
	return chol.LogDet()
}

// expected adds the expected information of n rows of a pattern by its predictors.
func (d *design) expected(at []float64, n float64, own []float64) {
	switch k := d.kind.(type) {
	case yesNo:
		x := k.link.at(at[0])
		own[0] += n * x.f * x.f / (x.F * x.S)
	case counts:
		mu := math.Exp(at[0])
		if k.negative {
			mu /= 1 + mu/math.Exp(at[1])
		}
		own[0] += n * mu
	case grades:
		m := d.width
		for y := 0; y <= m; y++ {
			var up, low density
			p := 0.0
			switch {
			case y == 0:
				up = k.link.at(at[0])
				p = up.F
			case y == m:
				low = k.link.at(at[m-1])
				p = low.S
			default:
				up, low = k.link.at(at[y]), k.link.at(at[y-1])
				p = k.link.between(at[y-1], at[y])
			}
			if !(p > 0) {
				continue
			}
			if y < m {
				own[y*m+y] += n * up.f * up.f / p
			}
			if y > 0 {
				own[(y-1)*m+y-1] += n * low.f * low.f / p
			}
			if y > 0 && y < m {
				own[y*m+y-1] -= n * up.f * low.f / p
				own[(y-1)*m+y] -= n * up.f * low.f / p
			}
		}
	}
}
