package generalised

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/mixed"
)

// What a question asks of a fit: a weighted sum of effects, and the probabilities or
// rates that say it in words.

// An effectPlace is where a fixed effect stands: its parameter, and its column of the patterns.
type effectPlace struct{ parameter, column int }

// effectPlaces are those of f.Fixed, in its order.
func (f *Fit) effectPlaces() []effectPlace {
	var out []effectPlace
	first := f.firstEffect()
	for c := 1 - f.d.leading(); c < len(f.d.lay.Fixed); c++ {
		times := 1
		if f.d.lay.Differs[c] {
			times = f.d.width
		}
		for range times {
			out = append(out, effectPlace{first + len(out), c})
		}
	}
	return out
}

// Terms are the names of the fixed effects.
func (f *Fit) Terms() []string {
	var out []string
	for _, c := range f.Fixed {
		out = append(out, c.Term)
	}
	return out
}

// Covariance is that of the estimates of the fixed effects, in the order of Fixed.
func (f *Fit) Covariance() *mat.SymDense {
	at := f.effectPlaces()
	out := mat.NewSymDense(len(at), nil)
	for i := range at {
		for j := range i + 1 {
			out.SetSym(i, j, f.covariance.At(at[i].parameter, at[j].parameter))
		}
	}
	return out
}

// Contrast is a weighted sum of fixed effects on the scale of the link; degrees of
// freedom are +∞ where it varies inside all groups. Of several columns the fewest
// count. An effect of which the data bound one side only has the standard error with
// which its test is that of the penalised likelihood ratio, since its own says little
// (Heinze and Schemper 2002).
func (f *Fit) Contrast(name string, weights map[string]float64) (mixed.Coefficient, error) {
	terms, at := f.Terms(), f.effectPlaces()
	by := map[int]float64{}
	rest := evidence{math.Inf(1), 1}
	single := -1
	for _, term := range slices.Sorted(maps.Keys(weights)) {
		w := weights[term]
		k := slices.Index(terms, term)
		if k < 0 {
			return mixed.Coefficient{}, fmt.Errorf("the model has no effect %q; it has %q", term, terms)
		}
		if w == 0 {
			continue
		}
		single = k
		by[at[k].parameter] = w
		if e := f.rest[at[k].column]; e.df < rest.df {
			rest = e
		}
	}
	c := f.coefficient(name, by)
	c.restOn(rest)
	out := mixed.Coefficient{Term: name, Estimate: c.Estimate, SE: c.SE, DF: rest.df, T: c.T, P: c.P, Low: c.Low, High: c.High}
	if len(by) == 1 && f.Fixed[single].Method == byPenalised {
		own, w := f.Fixed[single], weights[terms[single]]
		out.SE, out.DF, out.T, out.P = own.SE*math.Abs(w), math.Inf(1), own.T*math.Copysign(1, w), own.P
		out.Low, out.High = min(w*own.Low, w*own.High), max(w*own.Low, w*own.High)
	}
	return out, nil
}

// Least gives the mean over all rows, with some columns' values replaced, of the
// probability of a level of the outcome or a higher one (of yes or no: of yes; of
// counts: the rate), with its 95 % interval as [Fit.Means] has it.
func (f *Fit) Least(level string, instead map[string]string) (Mean, error) {
	points, err := f.places(instead)
	if err != nil {
		return Mean{}, err
	}
	if err := f.ordered(points); err != nil {
		return Mean{}, err
	}
	from := f.levelFrom(level)
	value := func(psi []float64) []float64 { return []float64{f.stretch(f.least(points, psi, from))} }
	return f.mean(level, value(f.psi)[0], f.halves(value)[0])
}

// levelFrom is the place of a level of the outcome; the highest where there is none of
// that name.
func (f *Fit) levelFrom(level string) int {
	levels := f.d.lay.OutcomeLevels
	if k := slices.Index(levels, level); k > 0 {
		return k
	}
	return max(1, len(levels)-1)
}

func (f *Fit) least(points []place, psi []float64, from int) float64 {
	at := f.expect(points, psi)
	if len(at) == 1 {
		return at[0]
	}
	sum := 0.0
	for _, v := range at[from:] {
		sum += v
	}
	return sum
}

// Step is by how much the link's scale must move, at some columns' values, for the
// mean of [Fit.Least] to become wanted; ±∞ where it cannot become that.
func (f *Fit) Step(level string, instead map[string]string, wanted float64) (float64, error) {
	points, err := f.places(instead)
	if err != nil {
		return 0, err
	}
	from := f.levelFrom(level)
	if f.model.Kind != mixed.Counts && wanted >= 1 || math.IsInf(wanted, 1) {
		return math.Inf(1), nil
	}
	if wanted <= 0 {
		return math.Inf(-1), nil
	}
	low, high := -40.0, 40.0
	for range 60 { // bisection: the mean rises with the shift
		middle := (low + high) / 2
		for i := range points {
			points[i].shift = middle
		}
		if f.least(points, f.psi, from) < wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return (low + high) / 2, nil
}

// Expected gives, for groups of the rows used, the mean number of each level of the
// outcome (of counts the mean count) that is seen and that the model expects of such
// rows in groups of the random terms not seen before. group gives the group of a row
// of the table, below zero for none.
func (f *Fit) Expected(groups int, group func(row int) int) (rows []int, seen, expected [][]float64) {
	lay := f.d.lay
	levels := max(1, len(lay.OutcomeLevels))
	rows = make([]int, groups)
	seen, expected = make([][]float64, groups), make([][]float64, groups)
	places := make([]placeSet, groups)
	for g := range groups {
		seen[g], expected[g] = make([]float64, levels), make([]float64, levels)
	}
	for k, row := range lay.Rows {
		g := group(row)
		if g < 0 {
			continue
		}
		rows[g]++
		if lay.Codes != nil {
			seen[g][lay.Codes[k]]++
		} else {
			seen[g][0] += lay.Outcome[k]
		}
		p := f.placeOf(lay.Features(k, nil))
		if lay.Exposure != nil {
			p.shift = math.Log(lay.Exposure[k])
		}
		places[g].add(p)
	}
	for g := range groups {
		if rows[g] == 0 {
			continue
		}
		expected[g] = f.expect(places[g].all, f.psi)
		for k := range seen[g] {
			seen[g][k] /= float64(rows[g])
		}
	}
	return rows, seen, expected
}
