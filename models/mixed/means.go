package mixed

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"thumbed/models/wording"
)

// Weighing of the other columns in marginal means.
const (
	// EqualWeights: every level of the other columns of labels counts the same,
	// columns of numbers stand at their mean: what a balanced corpus would show
	// (Searle, Speed and Milliken 1980).
	EqualWeights = "equal"
	// RowWeights: the other columns are as they are in the rows used, so that
	// common kinds of pages count more.
	RowWeights = "rows"
)

// A MarginalMean is the model's mean of the outcome for one level, or one
// combination of levels, the other columns averaged over.
type MarginalMean struct {
	Levels []string    `json:"levels"` // one for each column asked for
	Mean   Coefficient `json:"mean"`   // on the model's scale
	weight []float64
}

// A MarginalMeans holds the means of every combination of some columns' levels.
type MarginalMeans struct {
	Columns []string       `json:"columns"`
	Weights string         `json:"weights"`
	Means   []MarginalMean `json:"means"`
	f       *Fit
	infer   func(string, []float64) Coefficient
}

// MarginalMeans gives the mean of the outcome for each combination of the levels
// of columns, which must be columns of labels among the fixed effects; weights is
// [EqualWeights] or [RowWeights]. at fixes columns of numbers at values of one's
// choice instead of their mean; nil fixes none. Standard errors and degrees of
// freedom are the fit's (Satterthwaite's).
func (f *Fit) MarginalMeans(columns []string, weights string, at map[string]float64) (*MarginalMeans, error) {
	return f.marginalMeans(columns, weights, at, f.contrast)
}

// MarginalMeans gives marginal means as [Fit.MarginalMeans] does, with the
// adjusted covariance and degrees of freedom.
func (k *KenwardRoger) MarginalMeans(columns []string, weights string, at map[string]float64) (*MarginalMeans, error) {
	return k.f.marginalMeans(columns, weights, at, k.contrast)
}

func (f *Fit) marginalMeans(columns []string, weights string, at map[string]float64, infer func(string, []float64) Coefficient) (*MarginalMeans, error) {
	if weights != EqualWeights && weights != RowWeights {
		return nil, fmt.Errorf("the weights of marginal means are %q; expected %q or %q", weights, EqualWeights, RowWeights)
	}
	if err := f.d.checkMarginal(columns, at); err != nil {
		return nil, err
	}
	out := &MarginalMeans{Columns: columns, Weights: weights, f: f, infer: infer}
	for _, levels := range f.d.combinations(columns) {
		set := map[string][]float64{}
		for k, name := range columns {
			set[name] = indicators(f.d.levels[name], levels[k])
		}
		for name, v := range at {
			set[name] = []float64{v}
		}
		row, err := f.d.averagedRow(set, weights)
		if err != nil {
			return nil, err
		}
		out.Means = append(out.Means, MarginalMean{Levels: levels, weight: row, Mean: infer(strings.Join(levels, ", "), row)})
	}
	return out, nil
}

// checkMarginal reports columns that marginal means cannot be asked for.
func (d *design) checkMarginal(columns []string, at map[string]float64) error {
	used := d.fixedColumnsUsed()
	for k, name := range columns {
		_, label := d.levels[name]
		switch {
		case !slices.Contains(used, name) || !label:
			return fmt.Errorf("marginal means are of the levels of columns of labels among the fixed effects; %q is none: the fixed effects use %s", name, strings.Join(used, ", "))
		case slices.Contains(columns[:k], name):
			return fmt.Errorf("%q is asked for twice: name each column once", name)
		}
	}
	if len(columns) == 0 {
		return fmt.Errorf("no column to give means of: name one or several of %s", strings.Join(used, ", "))
	}
	for name, v := range at {
		if _, label := d.levels[name]; label || !slices.Contains(used, name) || !finite(v) {
			return fmt.Errorf("%s cannot stand at %g: it must be a column of numbers among the fixed effects, and the value finite", name, v)
		}
	}
	return nil
}

// fixedColumnsUsed are the table's columns that make up the fixed part.
func (d *design) fixedColumnsUsed() []string {
	var out []string
	for _, t := range d.model.Fixed {
		for _, name := range t {
			if !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	for _, s := range d.model.Smooth {
		if !slices.Contains(out, s.Column) {
			out = append(out, s.Column)
		}
	}
	return out
}

// combinations are all combinations of some columns' levels, the first column's
// varying slowest.
func (d *design) combinations(columns []string) [][]string {
	out := [][]string{nil}
	for _, name := range columns {
		var next [][]string
		for _, so := range out {
			for _, level := range d.levels[name] {
				next = append(next, append(slices.Clone(so), level))
			}
		}
		out = next
	}
	return out
}

// averagedRow is the row of X with some columns' features set and the others
// averaged. With equal weights the grid is complete, so that the mean of a
// product of columns is the product of their means.
func (d *design) averagedRow(set map[string][]float64, weights string) ([]float64, error) {
	if weights == RowWeights {
		return d.averagedOverRows(set)
	}
	values := map[string][]float64{}
	for _, name := range d.fixedColumnsUsed() {
		if v, ok := set[name]; ok {
			values[name] = v
			continue
		}
		if levels, ok := d.levels[name]; ok {
			v := make([]float64, len(levels)-1)
			for k := range v {
				v[k] = 1 / float64(len(levels))
			}
			values[name] = v
			continue
		}
		mean, err := d.columnMean(name)
		if err != nil {
			return nil, err
		}
		values[name] = []float64{mean}
	}
	return d.fixedRowOf(func(name string) []float64 { return values[name] }), nil
}

// averagedOverRows is the mean over the rows used of the row of X with some
// columns set.
func (d *design) averagedOverRows(set map[string][]float64) ([]float64, error) {
	places := map[string][]int{}
	for _, name := range d.fixedColumnsUsed() {
		if _, ok := set[name]; ok {
			continue
		}
		at, err := d.placesOf(name)
		if err != nil {
			return nil, err
		}
		places[name] = at
	}
	p := d.fixed.p
	x, sum := make([]float64, p), make([]float64, p)
	for i := range d.n {
		d.rowOfX(i, x)
		row := d.fixedRowOf(func(name string) []float64 {
			if v, ok := set[name]; ok {
				return v
			}
			out := make([]float64, len(places[name]))
			for k, j := range places[name] {
				out[k] = x[j]
			}
			return out
		})
		for j, v := range row {
			sum[j] += v / float64(d.n)
		}
	}
	return sum, nil
}

// placesOf are the places of a column's own features among the columns of X.
func (d *design) placesOf(name string) ([]int, error) {
	var out []int
	for j, column := range d.fixed.names {
		if column == name || (strings.HasPrefix(column, name+"=") && !strings.Contains(column, productSign)) {
			out = append(out, j)
		}
	}
	want := 1
	if levels, ok := d.levels[name]; ok {
		want = len(levels) - 1
	}
	if len(out) != want {
		return nil, fmt.Errorf("%s is in the model only inside products, so that the rows' own values of it are not known here: add %s to fixed, or use equal weights with its value given", name, name)
	}
	return out, nil
}

// rowOfX writes row i of X = QR.
func (d *design) rowOfX(i int, out []float64) {
	p := d.fixed.p
	q := d.fixed.q[i*p : (i+1)*p]
	for j := range p {
		sum := 0.0
		for k := range j + 1 {
			sum += q[k] * d.fixed.r[k*p+j]
		}
		out[j] = sum
	}
}

// Differences are the differences of each two means, the later less the
// earlier. Their p are of each by itself: with several of them, adjust for that.
func (m *MarginalMeans) Differences() []Coefficient {
	var out []Coefficient
	w := make([]float64, m.f.d.fixed.p)
	for a := range m.Means {
		for b := range a {
			zero := true
			for j := range w {
				w[j] = m.Means[a].weight[j] - m.Means[b].weight[j]
				zero = zero && w[j] == 0
			}
			if zero {
				continue
			}
			out = append(out, m.infer(strings.Join(m.Means[a].Levels, ", ")+" less "+strings.Join(m.Means[b].Levels, ", "), w))
		}
	}
	return out
}

// OutcomeMeans are the means in the outcome's own unit, see [Fit.OutcomeMean].
func (m *MarginalMeans) OutcomeMeans() []Mean {
	var out []Mean
	for _, mean := range m.Means {
		out = append(out, m.f.OutcomeMean(mean.Mean))
	}
	return out
}

// Text writes the means and their differences for reading.
func (m *MarginalMeans) Text(w io.Writer) error {
	var b strings.Builder
	averaged := "every level of the other columns counting the same, numbers at their mean"
	if m.Weights == RowWeights {
		averaged = "the other columns as they are in the rows"
	}
	fmt.Fprintf(&b, "%s\n", wording.Wrapped(fmt.Sprintf("Means by %s, %s", strings.Join(m.Columns, " and "), averaged)))
	rows := newRows(&b)
	rows.add("", "mean", "95 % interval", "standard error", "df")
	for _, mean := range m.Means {
		c := mean.Mean
		places := placesFor(c.SE)
		rows.add(c.Term, decimals(c.Estimate, places), decimals(c.Low, places)+" to "+decimals(c.High, places), decimals(c.SE, places), decimals(c.DF, 1))
	}
	rows.end()
	b.WriteString("\nDifferences\n")
	rows = newRows(&b)
	rows.add("", "difference", "95 % interval", "df", "p")
	for _, c := range m.Differences() {
		places := placesFor(c.SE)
		rows.add(c.Term, decimals(c.Estimate, places), decimals(c.Low, places)+" to "+decimals(c.High, places), decimals(c.DF, 1), probability(c.P))
	}
	rows.end()
	_, err := io.WriteString(w, b.String())
	return err
}
