package study

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// mostShared is the share of a feature's variation that may lie between days,
// observers or instruments before it is told (common practice, no source).
const mostShared = 0.5

// Confounded tells, while pages can still be measured again, which features of the
// pages measured so far go with who measured them, when or with what, where nothing
// tells what these differ by; a sentence a source.
func (s *Study) Confounded() ([]string, error) {
	wear, err := s.Wear()
	if err != nil {
		return nil, err
	}
	data, err := s.Data()
	if err != nil {
		return nil, err
	}
	var said []string
	for _, source := range wear.Shared {
		if source.Known {
			continue
		}
		text := source.Why
		if with := s.goesWith(data, source.By); len(with) > 0 {
			text += fmt.Sprintf(" Until then these are not distinguishable from what %ss differ by: %s.", source.By, strings.Join(with, "; "))
		}
		said = append(said, text)
	}
	return said, nil
}

// goesWith lists the features more than half of whose variation among measured pages
// lies between the labels of a source, most first, with that share.
func (s *Study) goesWith(data *table.Table, by string) []string {
	label := data.Column(by)
	var measured []int
	for row := range data.Rows() {
		if label.Label(row) != "" {
			measured = append(measured, row)
		}
	}
	type feature struct {
		words string
		share float64
	}
	var found []feature
	add := func(words string, rows []int, column string) {
		if share := between(data.Column(column), label, rows); share > mostShared {
			found = append(found, feature{words, share})
		}
	}
	add("what differs between books", measured, codex.ColumnBook)
	for _, b := range s.Books {
		var own []int
		for _, row := range measured {
			if data.Column(codex.ColumnBook).Label(row) == b.ID {
				own = append(own, row)
			}
		}
		for _, column := range s.comparedColumns(data) {
			add(fmt.Sprintf("%s in %s", strings.ReplaceAll(column, "_", " "), b.ID), own, column)
		}
	}
	slices.SortStableFunc(found, func(a, b feature) int { return cmp.Compare(b.share, a.share) })
	const most = 12
	var out []string
	for i, f := range found {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more", len(found)-most))
			break
		}
		out = append(out, fmt.Sprintf("%s (%s)", f.words, wording.Percent(f.share)))
	}
	return out
}

// comparedColumns are the features that are compared inside books: those that the
// models name, and sections.
func (s *Study) comparedColumns(data *table.Table) []string {
	columns := []string{"section"}
	for i := range s.Models {
		for _, term := range s.Models[i].Fixed {
			for _, name := range term {
				if name != codex.ColumnBook && data.Column(name) != nil && !slices.Contains(columns, name) {
					columns = append(columns, name)
				}
			}
		}
	}
	return slices.DeleteFunc(columns, func(name string) bool {
		return data.Column(name) == nil || slices.ContainsFunc(readings.WearSchema().Fields, func(f table.Field) bool { return f.Name == name })
	})
}

// between is the share of a column's variation over rows that lies between labels:
// the one-way analysis of variance, less what as many labels would take by chance
// (ω²; Hays 1963); of a column of labels, over the indicators of them. NaN where it
// does not vary or there are too few rows.
func between(values, label *table.Column, rows []int) float64 {
	series := map[string][]float64{}
	for k, row := range rows {
		if values.IsNumber() {
			series[""] = append(series[""], values.Number(row))
			continue
		}
		v := values.Label(row)
		if series[v] == nil {
			series[v] = make([]float64, len(rows))
		}
		series[v][k] = 1
	}
	total, within, groups, n := 0.0, 0.0, 0, 0
	for _, name := range slices.Sorted(maps.Keys(series)) {
		v := series[name]
		type sum struct{ n, sum, squares float64 }
		all, parts := sum{}, map[string]*sum{}
		var order []*sum
		for k, row := range rows {
			if math.IsNaN(v[k]) {
				continue
			}
			p := parts[label.Label(row)]
			if p == nil {
				p = &sum{}
				parts[label.Label(row)], order = p, append(order, p)
			}
			for _, s := range []*sum{&all, p} {
				s.n++
				s.sum += v[k]
				s.squares += v[k] * v[k]
			}
		}
		n, groups = int(all.n), len(order)
		if n == 0 {
			continue
		}
		total += all.squares - all.sum*all.sum/all.n
		for _, p := range order {
			within += p.squares - p.sum*p.sum/p.n
		}
	}
	if groups < 2 || n <= groups || total < 1e-9 {
		return math.NaN()
	}
	return 1 - within/float64(n-groups)/(total/float64(n-1))
}
