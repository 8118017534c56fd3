package mixed

import (
	"math"
	"strings"

	"thumbed/models/wording"
)

// A ParameterKind says what a parameter of a model is.
type ParameterKind string

// The kinds of parameters.
const (
	FixedEffect       ParameterKind = "fixed effect"
	GroupDeviation    ParameterKind = "standard deviation"
	GroupCorrelation  ParameterKind = "correlation"
	CurveDeviation    ParameterKind = "bends"
	ResidualDeviation ParameterKind = "residual"
	Autocorrelation   ParameterKind = "autocorrelation"
	ThresholdBetween  ParameterKind = "threshold"  // of grades
	DispersionOf      ParameterKind = "dispersion" // of counts
)

// A Parameter is one parameter of a model as estimated.
type Parameter struct {
	Name  string        `json:"name"`  // its name in words
	Kind  ParameterKind `json:"kind"`  // fixed effect, standard deviation, correlation, bends, residual or autocorrelation; threshold or dispersion of outcomes that are no measures
	Value float64       `json:"value"` // its estimate
	// By and Terms are what the name is made of: the columns that name the groups and
	// what varies between them (two terms of a correlation); of a fixed effect of zeros
	// its term; of a curve's bends or an autocorrelation the column; of a residual that
	// differs by level column and level; of a threshold the grades on its two sides.
	By    []string `json:"by,omitempty"`    // the columns that name the groups
	Terms []string `json:"terms,omitempty"` // what varies between the groups; of other kinds the column, level or grades that the name is made of
}

// Words are its name in the words of a model's labels and levels.
func (p Parameter) Words(labels wording.Labels, levels map[string][]string) string {
	varying := func(term string) string {
		if term == interceptName {
			return "the level"
		}
		return labels.Term(term, levels)
	}
	switch {
	case p.Kind == FixedEffect && len(p.Terms) > 0:
		return labels.Term(p.Terms[0], levels) + ", of the zeros besides"
	case p.Kind == FixedEffect:
		return labels.Term(p.Name, levels)
	case p.Kind == GroupDeviation && len(p.Terms) > 0:
		return "standard deviation of " + varying(p.Terms[0]) + " between " + labels.Groups(p.By)
	case p.Kind == GroupCorrelation && len(p.Terms) > 1:
		return "correlation of " + varying(p.Terms[0]) + " and " + varying(p.Terms[1]) + " between " + labels.Groups(p.By)
	case p.Kind == CurveDeviation && len(p.Terms) > 0:
		return "bends along " + labels.Column(p.Terms[0])
	case p.Kind == ResidualDeviation && len(p.Terms) > 0:
		return "residual standard deviation of " + labels.Level(p.By[0], p.Terms[0])
	case p.Kind == Autocorrelation && len(p.Terms) > 0:
		return "correlation of the residuals of neighbours along " + labels.Column(p.Terms[0])
	}
	return p.Name
}

// Parameters are all parameters of the fit: the fixed effects, the standard
// deviations and correlations of each random term, the curves' bends, the
// residual.
func (f *Fit) Parameters() []Parameter {
	places := f.d.parameterPlaces()
	out := make([]Parameter, len(places))
	values := f.like.values(places, f.phi, f.sigma, f.fixedEstimates())
	for i, p := range places {
		out[i] = Parameter{Name: p.name, Kind: p.kind, Value: values[i], By: p.by, Terms: p.terms}
	}
	return out
}

func (f *Fit) fixedEstimates() []float64 {
	out := make([]float64, len(f.Fixed))
	for i, c := range f.Fixed {
		out[i] = c.Estimate
	}
	return out
}

// A parameterPlace says where in the design a parameter is.
type parameterPlace struct {
	kind     ParameterKind
	name     string
	by       []string // as in Parameter
	terms    []string
	fixed    int // the fixed effect
	factor   int
	a, b     int // rows of the factor's Λ
	block    varying
	residual residualParameter // nil for all others
}

// parameterPlaces lists the parameters in the order in which they are told.
func (d *design) parameterPlaces() []parameterPlace {
	var out []parameterPlace
	for j, name := range d.fixed.names {
		out = append(out, parameterPlace{kind: FixedEffect, name: name, fixed: j})
	}
	byTerm := make([][]parameterPlace, len(d.model.Random))
	var curves []parameterPlace
	for k := range d.factors {
		for _, v := range d.factors[k].blocks {
			if v.random < 0 {
				curves = append(curves, parameterPlace{kind: CurveDeviation, name: "bends of " + d.model.Smooth[d.factors[k].smooth].Column, terms: []string{d.model.Smooth[d.factors[k].smooth].Column}, factor: k, block: v})
				continue
			}
			byTerm[v.random] = d.factors[k].places(k, v)
		}
	}
	for _, places := range byTerm {
		out = append(out, places...)
	}
	out = append(out, curves...)
	for _, p := range d.errors.parameters() {
		place := p.place()
		place.residual = p
		out = append(out, place)
	}
	return out
}

// words say by what a random term varies.
func (fac *factor) words() string { return " by " + strings.Join(fac.by, " and ") }

// places are the parameters of one random term.
func (fac *factor) places(k int, v varying) []parameterPlace {
	var out []parameterPlace
	by := fac.words()
	for a := v.first; a < v.first+v.size; a++ {
		out = append(out, parameterPlace{kind: GroupDeviation, name: "standard deviation of " + fac.z[a].name + by, by: fac.by, terms: []string{fac.z[a].name}, factor: k, a: a, block: v})
	}
	if !v.correlated {
		return out
	}
	for a := v.first; a < v.first+v.size; a++ {
		for b := v.first; b < a; b++ {
			out = append(out, parameterPlace{kind: GroupCorrelation, name: "correlation of " + fac.z[b].name + " and " + fac.z[a].name + by, by: fac.by, terms: []string{fac.z[b].name, fac.z[a].name}, factor: k, a: a, b: b, block: v})
		}
	}
	return out
}

// values gives the parameters at variance parameters φ, σ (as
// likelihood.sigma) and fixed effects beta.
func (l *likelihood) values(places []parameterPlace, phi []float64, sigma float64, beta []float64) []float64 {
	out := make([]float64, len(places))
	l.set(phi)
	if l.weighing != nil {
		l.weighing.state.set(l.weighing.parameters, phi[len(l.parameters):])
	}
	unit := sigma * l.s.d.fixed.scale
	for i, p := range places {
		out[i] = l.valueAt(p, unit, beta)
	}
	return out
}

// valueAt is one parameter where φ has been set.
func (l *likelihood) valueAt(p parameterPlace, unit float64, beta []float64) float64 {
	switch p.kind {
	case FixedEffect:
		return beta[p.fixed]
	case GroupDeviation:
		row := l.lambdaRow(p.factor, p.a)
		return math.Sqrt(inner(row, row)) * unit / l.s.factors[p.factor].unit(p.a)
	case CurveDeviation:
		return math.Abs(l.trial.Lambda[p.factor][0]) * unit / l.s.factors[p.factor].unit(0)
	case GroupCorrelation:
		a, b := l.lambdaRow(p.factor, p.a), l.lambdaRow(p.factor, p.b)
		if length := math.Sqrt(inner(a, a) * inner(b, b)); length > 0 {
			return math.Max(-1, math.Min(1, inner(a, b)/length))
		}
		return 0
	default:
		if l.weighing == nil {
			return unit
		}
		return p.residual.told(l.weighing.state, unit)
	}
}

// lambdaRow is row a of a factor's Λ.
func (l *likelihood) lambdaRow(f, a int) []float64 {
	k := l.s.factors[f].k
	return l.trial.Lambda[f][a*k : (a+1)*k]
}
