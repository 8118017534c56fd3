package generalised

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"

	"thumbed/models/mixed"
)

// A Mean is a probability or a rate that the model expects; see [mixed.AdjustedMean].
type Mean = mixed.AdjustedMean

// Means gives the adjusted means of every column of labels among the fixed effects:
// marginal standardisation, each row with the level in place of its own, the normal
// distribution of the random terms integrated out by quadrature. Intervals are by the
// delta method on the logit of a probability and the logarithm of a rate, the
// spreads' own uncertainty included, and wider where groups are few (fewgroups.go).
func (f *Fit) Means() ([]Mean, error) {
	var out []Mean
	for _, term := range f.d.lay.Model.Fixed {
		if len(term) != 1 {
			continue
		}
		own, err := f.meansBy(term)
		if err != nil {
			return nil, err
		}
		out = append(out, own...)
	}
	return out, nil
}

// meansBy gives the means at every combination of some columns' levels.
func (f *Fit) meansBy(columns mixed.Term) ([]Mean, error) {
	var out []Mean
	for _, levels := range f.d.lay.Combinations(columns) {
		instead := map[string]string{}
		for k, name := range columns {
			instead[name] = levels[k]
		}
		own, err := f.meansAt(instead)
		if err != nil {
			return nil, err
		}
		for _, m := range own {
			out = append(out, m.Where(columns, levels))
		}
	}
	return out, nil
}

// meansAt gives the means over all rows with some columns' values replaced, one for a
// yes or a count, one for each grade.
func (f *Fit) meansAt(instead map[string]string) ([]Mean, error) {
	points, err := f.places(instead)
	if err != nil {
		return nil, err
	}
	if err := f.ordered(points); err != nil {
		return nil, err
	}
	at := f.expect(points, f.psi)
	halves := f.halves(func(psi []float64) []float64 {
		out := f.expect(points, psi)
		for k, v := range out {
			out[k] = f.stretch(v)
		}
		return out
	})
	var out []Mean
	for k, v := range at {
		if f.model.Kind == mixed.YesNo && k == 0 {
			continue
		}
		m, err := f.mean(f.outcomeName(k), f.stretch(v), halves[k])
		if err != nil {
			return nil, err
		}
		m.Mean = v // not stretched and shrunk
		out = append(out, m)
	}
	return out, nil
}

// mean is the mean that stretches to at, with half the width of its interval there.
func (f *Fit) mean(of string, at, half float64) (Mean, error) {
	m := Mean{Of: of, Mean: f.shrink(at), Low: f.shrink(at - half), High: f.shrink(at + half)}
	if !finite(m.Mean) || !finite(m.Low) || !finite(m.High) {
		return Mean{}, fmt.Errorf("the mean of %s cannot be told with an interval: its variance is not a number; take out the random term that is on its boundary", of)
	}
	return m, nil
}

// halves are half the widths of the 95 % intervals of what of gives by ψ: variances by
// the delta method with central differences, widened for few groups (fewgroups.go).
func (f *Fit) halves(of func(psi []float64) []float64) []float64 {
	slopes := make([][]float64, len(f.psi))
	for i := range slopes {
		h := 1e-4 * math.Max(0.1, math.Abs(f.psi[i]))
		psi := slices.Clone(f.psi)
		psi[i] += h
		slopes[i] = of(psi)
		psi[i] -= 2 * h
		for k, down := range of(psi) {
			slopes[i][k] = (slopes[i][k] - down) / (2 * h)
		}
	}
	var out []float64
	for k := range slopes[0] {
		variance := 0.0
		for i := range slopes {
			for j := range slopes {
				variance += slopes[i][k] * slopes[j][k] * f.covariance.At(i, j)
			}
		}
		out = append(out, f.halfOf(variance, func(i int) float64 { return slopes[i][k] }))
	}
	return out
}

// outcomeName names the outcome's level k.
func (f *Fit) outcomeName(k int) string {
	switch {
	case f.model.Kind == mixed.Counts:
		return "count"
	case len(f.d.lay.OutcomeLevels) > 0:
		return f.d.lay.OutcomeLevels[k]
	}
	return "share"
}

// stretch takes a mean to the scale on which it is nearly normal, shrink back.
func (f *Fit) stretch(v float64) float64 {
	if f.model.Kind == mixed.Counts {
		return math.Log(v)
	}
	return math.Log(v / (1 - v))
}

func (f *Fit) shrink(v float64) float64 {
	if f.model.Kind == mixed.Counts {
		return math.Exp(v)
	}
	F, _ := logisticShares(v)
	return F
}

// A place is what a mean is taken over: rows of all columns, how many of the table's
// rows it stands for, and its columns of the random terms.
type place struct {
	x      []float64
	weight float64
	z      [][]float64
	shift  float64 // added on the scale of the link
}

// places are the rows used with some values replaced, equal ones as one.
func (f *Fit) places(instead map[string]string) ([]place, error) {
	var out placeSet
	first, weight := f.d.sorts()
	for k, row := range first {
		one := f.placeOf(f.d.lay.Features(row, instead))
		if slices.ContainsFunc(one.x, math.IsNaN) {
			return nil, fmt.Errorf("a value given for a column of numbers is none: give it as digits")
		}
		one.weight = weight[k]
		out.add(one)
	}
	return out.all, nil
}

// sorts are the rows used that are alike in all columns of fixed and of random terms: the
// first of each sort, and how many there are.
func (d *design) sorts() (first []int, weight []float64) {
	var varying [][]float64
	for _, factor := range d.lay.Factors {
		for _, c := range factor.Z {
			if c.Values != nil {
				varying = append(varying, c.Values)
			}
		}
	}
	row := make([]float64, 1+len(varying))
	key := make([]byte, 8*len(row))
	g := newGatherer(len(key), len(d.of))
	for i, pattern := range d.of {
		row[0] = float64(pattern)
		for k, values := range varying {
			row[1+k] = values[i]
		}
		putNumbers(key, row)
		k, known := g.number(key)
		if !known {
			first, weight = append(first, i), append(weight, 0)
		}
		weight[k]++
	}
	return first, weight
}

// placeOf is the place of one row with these features.
func (f *Fit) placeOf(of func(column string) []float64) place {
	lay := f.d.lay
	out := place{x: lay.FixedRow(of), weight: 1}
	if len(lay.Zero) > 0 {
		out.x = append(out.x, lay.ZeroRow(of)[1:]...)
	}
	for k := range lay.Factors {
		out.z = append(out.z, lay.RandomRow(k, of))
	}
	return out
}

// A placeSet gathers places, equal ones as one.
type placeSet struct {
	all []place
	at  map[string]int
}

func (s *placeSet) add(p place) {
	row := append(slices.Concat(p.z...), p.shift)
	row = append(row, p.x...)
	key := make([]byte, 8*len(row))
	putNumbers(key, row)
	if k, known := s.at[string(key)]; known {
		s.all[k].weight += p.weight
		return
	}
	if s.at == nil {
		s.at = map[string]int{}
	}
	s.at[string(key)] = len(s.all)
	s.all = append(s.all, p)
}

// meanPoints is the number of quadrature points over the random terms: with a spread
// of 3 on the scale of the logit 31 leave an error below 1e-6.
const meanPoints = 31

// expect is the mean over places of the probability of each level, or of the count
// for each unit of exposure.
func (f *Fit) expect(places []place, psi []float64) []float64 {
	d := f.d
	lambda := d.random.newLambda()
	d.random.set(lambda, psi[d.size:])
	x, weights := make([]float64, meanPoints), make([]float64, meanPoints)
	quad.Hermite{}.FixedLocations(x, weights, math.Inf(-1), math.Inf(1))
	levels := 1
	switch d.kind.(type) {
	case yesNo:
		levels = 2
	case grades:
		levels = d.width + 1
	}
	out := make([]float64, levels)
	predictors := make([]float64, d.width)
	total := 0.0
	for _, p := range places {
		for j, uses := range d.uses {
			predictors[j] = 0
			for _, u := range uses {
				predictors[j] += u.coefficient * psi[u.parameter] * p.x[u.column]
			}
		}
		if _, graded := d.kind.(grades); graded {
			for j := range predictors {
				predictors[j] -= p.shift
			}
		} else {
			predictors[0] += p.shift
		}
		variance := 0.0
		for k, z := range p.z {
			size := len(z)
			for c := range size {
				sum := 0.0
				for a := c; a < size; a++ {
					sum += lambda[k][a*size+c] * z[a]
				}
				variance += sum * sum
			}
		}
		total += p.weight
		if k, ok := d.kind.(counts); ok {
			rate := math.Exp(predictors[0] + variance/2)
			if k.inflated {
				_, S := logisticShares(predictors[d.width-1])
				rate *= S
			}
			out[0] += p.weight * rate
			continue
		}
		for m := range x {
			r := math.Sqrt(2*variance) * x[m]
			share := p.weight * weights[m] / math.Sqrt(math.Pi)
			switch k := d.kind.(type) {
			case yesNo:
				at := k.link.at(predictors[0] + r)
				out[0] += share * at.S
				out[1] += share * at.F
			case grades:
				below := 0.0
				for j, v := range predictors {
					F := k.link.at(v - r).F
					out[j] += share * (F - below)
					below = F
				}
				out[levels-1] += share * (1 - below)
			}
		}
	}
	for k := range out {
		out[k] /= total
	}
	return out
}
