package mixed

import (
	"fmt"
	"slices"
	"strings"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// A column is one column of a model matrix. Values nil stands for ones.
type column struct {
	name   string
	values []float64
}

func (c column) at(i int) float64 {
	if c.values == nil {
		return 1
	}
	return c.values[i]
}

// mostLevels is how many levels a column of labels may have as a fixed effect
// or slope: each makes a column of the model matrix.
const mostLevels = 1000

// features gives the columns that stand for one table column in a model matrix:
// itself where it holds numbers, one indicator for each level but the baseline
// where it holds labels.
func (l *layer) features(name string) []column {
	if known, ok := l.cache[name]; ok {
		return known
	}
	var out []column
	c := l.table.Column(name)
	switch {
	case name == interceptName:
		out = []column{{name: interceptName}}
	case c.IsNumber() && !l.labels[name]:
		out = []column{{name: name, values: l.values(name)}}
	default:
		levels, codes := l.levelCodes(name)
		if len(levels) > mostLevels {
			l.problem(name, fmt.Sprintf("%d different labels, such as %q", len(levels), levels[1]), fmt.Sprintf("at most %d levels of a fixed effect or slope", mostLevels),
				"let them be the groups of a random term instead, or was a column of numbers meant whose cells are not all numbers?")
			levels = levels[:1]
		}
		for k := 1; k < len(levels); k++ {
			indicator := make([]float64, len(codes))
			for i, code := range codes {
				if int(code) == k {
					indicator[i] = 1
				}
			}
			out = append(out, column{name: name + "=" + levels[k], values: indicator})
		}
	}
	l.cache[name] = out
	return out
}

// levelCodes gives the levels of a column of labels, the baseline first, and
// the level of each row used. Labels that the model's levels do not name are
// reported.
func (l *layer) levelCodes(name string) ([]string, []int32) {
	c := l.table.Column(name)
	given, fixed := l.model.Levels[name]
	levels := slices.Clone(given)
	index := map[string]int32{}
	for k, level := range levels {
		index[level] = int32(k)
	}
	seen := make([]bool, len(levels))
	codes := make([]int32, len(l.rows))
	reported := map[string]bool{}
	for k, i := range l.rows {
		label := c.Label(i)
		code, ok := index[label]
		switch {
		case !ok && fixed:
			if !reported[label] {
				remedy := "add it to the levels of " + name + " or correct the row"
				l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(i), Column: name, Value: label,
					Expected: "one of the levels " + strings.Join(given, ", "), Remedy: remedy})
				reported[label] = true
			}
			continue
		case !ok:
			code = int32(len(levels))
			index[label] = code
			levels = append(levels, label)
			seen = append(seen, true)
		}
		seen[code] = true
		codes[k] = code
	}
	for k, level := range levels {
		if !seen[k] && len(reported) == 0 {
			l.problem(name, level, "a level that has rows", fmt.Sprintf("no row of %s says %q: take it out of the levels, or correct its spelling", name, level))
		}
	}
	if len(levels) == 1 {
		l.problem(name, levels[0], "a column with at least two levels", "it is the same in every row used, so that it can explain nothing: take "+name+" out of the model")
	}
	l.used[name] = levels
	return levels, codes
}

// product gives the columns of a term: the products of its columns' features,
// the first column's level varying fastest.
func (l *layer) product(term Term) []column {
	out := []column{{}}
	for _, name := range term {
		var next []column
		for _, f := range l.features(name) {
			for _, so := range out {
				next = append(next, times(so, f))
			}
		}
		out = next
	}
	return out
}

func times(a, b column) column {
	if a.name == "" {
		return b
	}
	out := column{name: a.name + productSign + b.name, values: make([]float64, len(b.values))}
	for i, v := range b.values {
		out.values[i] = v * a.at(i)
	}
	return out
}

// fixedColumns are the columns of the fixed effects, the intercept first.
func (l *layer) fixedColumns(d *design) []column {
	columns := []column{{name: interceptName}}
	for _, term := range l.model.Fixed {
		columns = append(columns, l.product(term)...)
	}
	for _, s := range l.model.Smooth { // each curve's straight line
		if !slices.ContainsFunc(columns, func(c column) bool { return c.name == s.Column }) {
			columns = append(columns, column{name: s.Column, values: l.values(s.Column)})
		}
	}
	for _, c := range columns {
		d.fixed.names = append(d.fixed.names, c.name)
	}
	if d.n <= len(columns) {
		l.problem(l.model.Outcome, wording.Plain(d.n, "row", "rows"), fmt.Sprintf("more rows than fixed effects (%d)", len(columns)),
			"measure more pages or ask for fewer effects")
	}
	return columns
}
