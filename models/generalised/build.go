package generalised

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// newDesign lays a model over a table. Its error is a [*table.Fault] with
// everything that is wrong with the model for this table.
func newDesign(m mixed.Model, t *table.Table) (*design, error) {
	lay, err := m.LayOut(t)
	if err != nil {
		return nil, err
	}
	return designOf(lay)
}

// designOf makes the design of a layout.
func designOf(lay *mixed.Layout) (*design, error) {
	m := lay.Model
	b := builder{m: m, lay: lay, d: &design{lay: lay}}
	if links[m.Link] == nil && m.Kind != mixed.Counts {
		b.ps.Add(b.lay.Problem(-1, "link", m.Link, `"logit", "probit" or "complementary log-log"`, "correct the word"))
		return nil, b.ps.Err()
	}
	switch m.Kind {
	case mixed.YesNo:
		b.yesNo()
	case mixed.Counts:
		b.counts()
	case mixed.Grades:
		b.grades()
	}
	if b.ps.Len() == 0 {
		b.checkPoints()
	}
	return b.d, b.ps.Err()
}

// A builder makes a design of a layout, and gathers what is wrong with it.
type builder struct {
	m   mixed.Model
	lay *mixed.Layout
	d   *design
	ps  table.Problems
}

// tooLarge notes that the equations would not fit into memory.
func (b *builder) tooLarge(err error) {
	var fault *table.Fault
	if errors.As(err, &fault) {
		b.ps.Add(fault.Problems...)
	}
}

// mostTold is how many rows one problem is told of.
const mostTold = 20

// numbers checks a column of numbers row by row; wrong says what is wrong with a
// value, or nothing.
func (b *builder) numbers(column string, values []float64, wrong func(i int) (expected, remedy string)) {
	told := 0
	for i, v := range values {
		expected, remedy := wrong(i)
		if expected == "" {
			continue
		}
		if told++; told <= mostTold {
			b.ps.Add(b.lay.Problem(i, column, fmt.Sprint(v), expected, remedy))
		}
	}
}

func whole(v float64) bool { return v == math.Trunc(v) && !math.IsInf(v, 0) }

// same reports an outcome that is the same in all rows.
func (b *builder) same(values []float64, label func(float64) string) {
	for _, v := range values {
		if v != values[0] {
			return
		}
	}
	b.ps.Add(b.lay.Problem(-1, b.m.Outcome, fmt.Sprintf("%s in all %d rows", label(values[0]), len(values)), "an outcome that varies",
		"there is nothing to explain: is this the right column?"))
}

func (b *builder) yesNo() {
	m, lay, d := b.m, b.lay, b.d
	d.kind = yesNo{links[m.Link]}
	n := len(lay.Rows)
	yes, no := make([]float64, n), make([]float64, n)
	if m.Trials == "" {
		if len(lay.OutcomeLevels) != 2 {
			b.ps.Add(b.lay.Problem(-1, m.Outcome, strings.Join(lay.OutcomeLevels, ", "), `two levels, since kind is "yes or no"`,
				`name the level of no first and that of yes second under [levels], or take kind = "grades"`))
			return
		}
		for i, c := range lay.Codes {
			yes[i], no[i] = float64(c), float64(1-c)
		}
		b.same(yes, func(v float64) string { return lay.OutcomeLevels[int(v)] })
	} else {
		b.numbers(m.Trials, lay.Trials, func(i int) (string, string) {
			if v := lay.Trials[i]; !whole(v) || v < 1 {
				return "a whole number of trials, at least one", "correct the row, or empty the cell where nothing was looked at"
			}
			return "", ""
		})
		b.numbers(m.Outcome, lay.Outcome, func(i int) (string, string) {
			v := lay.Outcome[i]
			switch {
			case !whole(v) || v < 0:
				return "a whole number of successes, zero or more", "correct the row: " + m.Outcome + " counts successes among " + m.Trials
			case v > lay.Trials[i]:
				return fmt.Sprintf("at most as many successes as the %g trials in %s", lay.Trials[i], m.Trials), "correct one of the two"
			}
			return "", ""
		})
		copy(yes, lay.Outcome)
		share := make([]float64, n)
		for i := range no {
			no[i] = lay.Trials[i] - yes[i]
			share[i] = yes[i] / lay.Trials[i]
			d.base += lgamma(lay.Trials[i]+1) - lgamma(yes[i]+1) - lgamma(no[i]+1)
		}
		if b.ps.Len() == 0 && (sum(yes) == 0 || sum(no) == 0) {
			b.same(share, func(v float64) string { return fmt.Sprintf("a share of %g", v) })
		}
	}
	if b.ps.Len() > 0 {
		return
	}
	d.width = 1
	d.uses = [][]use{b.fixed(0, 1)}
	d.size = len(lay.Fixed)
	b.tooLarge(d.gather(lay.Fixed[1:], nil, yes, no, false))
}

func sum(values []float64) float64 {
	total := 0.0
	for _, v := range values {
		total += v
	}
	return total
}

// fixed are the uses of all fixed effects, the intercept too, as parameters from
// first on.
func (b *builder) fixed(first int, sign float64) []use {
	var out []use
	for j := range b.lay.Fixed {
		out = append(out, use{first + j, j, sign})
	}
	return out
}

func (b *builder) counts() {
	m, lay, d := b.m, b.lay, b.d
	k := counts{negative: m.Spread == "negative binomial", inflated: !m.ZeroInflation.IsZero()}
	d.kind, d.width = k, k.width()
	b.numbers(m.Outcome, lay.Outcome, func(i int) (string, string) {
		if v := lay.Outcome[i]; !whole(v) || v < 0 {
			return `a whole number, zero or more, since kind is "counts"`, `correct the row, or take kind = "measure" where it is measured and not counted`
		}
		return "", ""
	})
	if m.Exposure != "" {
		b.numbers(m.Exposure, lay.Exposure, func(i int) (string, string) {
			if v := lay.Exposure[i]; !(v > 0) || math.IsInf(v, 0) {
				return "an exposure above zero", "where nothing was looked at there is no count: leave the row out, or correct " + m.Exposure
			}
			return "", ""
		})
	}
	if b.ps.Len() > 0 {
		return
	}
	b.same(lay.Outcome, func(v float64) string { return fmt.Sprint(v) })
	zeros := 0
	for _, v := range lay.Outcome {
		d.base -= lgamma(v + 1)
		if v == 0 {
			zeros++
		}
	}
	if k.inflated && zeros == 0 {
		b.ps.Add(b.lay.Problem(-1, m.Outcome, "no zero in all rows", "zeros, where zero_inflation is asked for",
			"their probability is not distinguishable from none: delete zero_inflation"))
	}
	if b.ps.Len() > 0 {
		return
	}
	d.size = len(lay.Fixed)
	d.uses = [][]use{b.fixed(0, 1)}
	if k.negative {
		d.uses = append(d.uses, []use{{d.size, 0, 1}})
		d.size++
	}
	columns := lay.Fixed[1:]
	if k.inflated {
		var own []use
		for j, c := range lay.Zero {
			column := 0
			if j > 0 {
				columns = append(columns[:len(columns):len(columns)], c)
				column = len(columns)
			}
			own = append(own, use{d.size + j, column, 1})
		}
		d.uses = append(d.uses, own)
		d.size += len(lay.Zero)
	}
	b.tooLarge(d.gather(columns, lay.Exposure, lay.Outcome, nil, k.negative || k.inflated))
}

func (b *builder) grades() {
	m, lay, d := b.m, b.lay, b.d
	levels := len(lay.OutcomeLevels)
	if levels < 2 {
		b.ps.Add(b.lay.Problem(-1, m.Outcome, strings.Join(lay.OutcomeLevels, ", "), "at least two grades", "name all grades in rising order under [levels]"))
		return
	}
	d.kind = grades{links[m.Link], float64(levels - 1)}
	d.width = levels - 1
	shape := thresholdShape(m.Thresholds, d.width)
	d.size = len(shape[0])
	d.uses = make([][]use, d.width)
	for j, row := range shape {
		for k, v := range row {
			if v != 0 {
				d.uses[j] = append(d.uses[j], use{k, 0, v})
			}
		}
	}
	for c := 1; c < len(lay.Fixed); c++ {
		for j := range d.uses {
			d.uses[j] = append(d.uses[j], use{d.size, c, -1})
			if lay.Differs[c] {
				d.size++
			}
		}
		if !lay.Differs[c] {
			d.size++
		}
	}
	y := make([]float64, len(lay.Codes))
	for i, c := range lay.Codes {
		y[i] = float64(c)
	}
	b.tooLarge(d.gather(lay.Fixed[1:], nil, y, nil, true))
}

// thresholdShape gives each threshold as weights of its parameters: of themselves
// where they are free; of the middle and the halves of the distances around it where
// they are symmetric; of the first and the distance where they are equal.
func thresholdShape(shape string, thresholds int) [][]float64 {
	out := make([][]float64, thresholds)
	parameters := thresholds
	switch shape {
	case "symmetric":
		parameters = 1 + thresholds/2
	case "equal":
		parameters = min(2, thresholds)
	}
	for j := range out {
		row := make([]float64, parameters)
		switch shape {
		case "symmetric":
			row[0] = 1
			if k := min(j, thresholds-1-j); 2*j+1 != thresholds {
				row[1+k] = -1
				if j > k {
					row[1+k] = 1
				}
			}
		case "equal":
			row[0] = 1
			if j > 0 {
				row[1] = float64(j)
			}
		default:
			row[j] = 1
		}
		out[j] = row
	}
	return out
}

// checkPoints refuses quadrature where the random term has a column for each of several
// levels; terms too many are told where the model is read.
func (b *builder) checkPoints() {
	r := &b.d.random
	if b.m.Points <= 1 || len(r.factors) == 1 && r.factors[0].k == 1 {
		return
	}
	place, seen := "points", fmt.Sprint(b.m.Points)
	if len(r.factors) == 1 {
		place, seen = b.m.Random[0].Terms[0], fmt.Sprintf("%d columns that vary by %s", r.factors[0].k, joined(b.m.Random[0].By))
	}
	b.ps.Add(b.lay.Problem(-1, place, seen, fmt.Sprintf("one random term with one column, since points is %d", b.m.Points),
		"write points = 1 in the model, or keep one random term with one column alone"))
}
