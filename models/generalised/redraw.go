package generalised

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A Redrawing says from what outcomes of other rows are drawn.
type Redrawing struct {
	Contrast map[string]float64 // of fixed effects, which is set …
	Value    float64            // … to this on the scale of the link, by the nearest effects that have it
	Open     bool               // draw each spread between groups from what its standard error leaves open, not as estimated
}

// Redraw draws the outcome for the rows of a table, which has the columns of the model but
// for the outcome, from the fit with one contrast set and with random effects anew: a
// column of levels or of counts, missing in rows that lack a value of a feature. Its error
// is that of a model that cannot be laid over the table, or one with other effects there.
func (f *Fit) Redraw(t *table.Table, r Redrawing, random *rand.Rand) (*table.Column, error) {
	d, err := f.redesign(t)
	if err != nil {
		return nil, err
	}
	psi := slices.Clone(f.psi)
	product, length := 0.0, 0.0
	at := f.effectPlaces()
	for k, c := range f.Fixed {
		w := r.Contrast[c.Term]
		product += w * psi[at[k].parameter]
		length += w * w
	}
	if length == 0 {
		return nil, fmt.Errorf("the contrast names no effect of the model; it has %q", f.Terms())
	}
	for k, c := range f.Fixed {
		psi[at[k].parameter] += r.Contrast[c.Term] * (r.Value - product) / length
	}
	if r.Open {
		for i, entry := range f.d.random.entries {
			if k := f.d.size + i; entry.row == entry.column {
				se := math.Sqrt(f.covariance.At(k, k))
				if !(se < mostOpen) {
					se = mostOpen
				}
				psi[k] = math.Abs(psi[k] + se*random.NormFloat64())
			}
		}
	}
	drawer := Fit{d: d, psi: psi, model: f.model}
	values := drawer.draw(random, false)
	numbers, labels := make([]float64, t.Rows()), make([]string, t.Rows())
	for i := range numbers {
		numbers[i] = math.NaN()
	}
	for i, row := range d.lay.Rows {
		numbers[row] = values[i]
		if levels := f.OutcomeLevels(); levels != nil {
			labels[row] = levels[int(values[i])]
		}
	}
	if f.OutcomeLevels() != nil {
		return table.Labels(f.model.Outcome, labels), nil
	}
	return table.Numbers(f.model.Outcome, numbers), nil
}

// redesign lays the model over other rows, whose outcome does not matter yet.
func (f *Fit) redesign(t *table.Table) (*design, error) {
	levels := f.OutcomeLevels()
	numbers, labels := make([]float64, t.Rows()), make([]string, t.Rows())
	for i := range labels {
		numbers[i] = float64(i % 2)
		if levels != nil {
			labels[i] = levels[i%len(levels)]
		}
	}
	outcome := table.Numbers(f.model.Outcome, numbers)
	if levels != nil {
		outcome = table.Labels(f.model.Outcome, labels)
	}
	d, err := newDesign(f.model, t.With(outcome))
	if err != nil {
		return nil, err
	}
	if !slices.Equal(d.parameterNames(), f.d.parameterNames()) || len(d.random.entries) != len(f.d.random.entries) {
		return nil, fmt.Errorf("these rows have other effects (%q) than the fit (%q): not all levels are among them", d.parameterNames(), f.d.parameterNames())
	}
	return d, nil
}

// Present is a model with those levels of its outcome alone that rows have, and the
// others, which nobody gave.
func Present(m mixed.Model, rows *table.Table) (_ mixed.Model, unused []string) {
	levels := m.Levels[m.Outcome]
	if levels == nil {
		return m, nil
	}
	there, _ := rows.Column(m.Outcome).Levels()
	var used []string
	for _, level := range levels {
		if slices.Contains(there, level) {
			used = append(used, level)
		} else {
			unused = append(unused, level)
		}
	}
	m.Levels = maps.Clone(m.Levels)
	m.Levels[m.Outcome] = used
	return m, unused
}
