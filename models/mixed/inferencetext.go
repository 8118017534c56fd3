package mixed

import (
	"fmt"
	"strings"

	"thumbed/models/wording"
)

// A Listing is a small table for reading: its title, and its rows of cells, the first
// of which are the heads.
type Listing struct {
	Title string
	Rows  [][]string
}

// Listings are the inferences that are tables, for every face, in the words of the
// model's labels and levels.
func (x *Inferences) Listings(labels wording.Labels, levels map[string][]string) []Listing {
	term := func(name string) string { return wording.Capital(labels.Term(name, levels)) }
	var out []Listing
	if x.Intervals != nil {
		l := Listing{"Intervals of 95 % by " + x.Intervals.Method, [][]string{{"", "estimate", "95 % interval"}}}
		for _, p := range x.Intervals.Parameters {
			l.Rows = append(l.Rows, p.cells(wording.Capital(p.Words(labels, levels))))
		}
		out = append(out, l)
	}
	if len(x.Tests) > 0 {
		l := Listing{"Whether all coefficients of a term are zero", [][]string{{"", "F", "coefficients", "degrees of freedom", "p"}}}
		for _, t := range x.Tests {
			df := "many (χ²)"
			if t.DF < manyDegrees {
				df = wording.DF(t.DF)
			}
			l.Rows = append(l.Rows, []string{term(t.Name), wording.Fixed(t.F, 3), wording.Fixed(t.NumDF, 0), df, wording.PValue(t.P)})
		}
		out = append(out, l)
	}
	if len(x.Adjusted) > 0 {
		l := Listing{"Means, the rows as they are otherwise, averaged over the groups", [][]string{{"", "of", "mean", "95 % interval"}}}
		switch x.Adjusted[0].Of {
		case "mean":
		case "count":
			l.Title = "Expected counts, the rows as they are otherwise, averaged over the groups"
		default:
			l.Title = "Probabilities, the rows as they are otherwise, averaged over the groups"
		}
		for _, m := range x.Adjusted {
			mean, interval := meanCells(m.Of, m.Mean, m.Low, m.High)
			l.Rows = append(l.Rows, []string{wording.Capital(labels.Term(m.name(), nil)), ofCell(m.Of), mean, interval})
		}
		out = append(out, withoutEmpty(l, 1))
	}
	if len(x.Predictions) > 0 {
		l := Listing{"Predictions of rows without an outcome", [][]string{{"", "of", "mean", "95 % interval", "one such row", "known groups"}}}
		for _, p := range x.Predictions {
			mean, interval := meanCells(p.Of, p.Mean, p.Low, p.High)
			row := ""
			if p.RowLow != nil {
				_, row = meanCells(p.Of, p.Mean, *p.RowLow, *p.RowHigh)
			}
			known := strings.Join(p.Known, ", ")
			if known == "" {
				known = "none"
			}
			l.Rows = append(l.Rows, []string{p.Where, ofCell(p.Of), mean, interval, row, known})
		}
		out = append(out, withoutEmpty(withoutEmpty(l, 4), 1))
	}
	return out
}

// ofCell names what a mean is of, where that needs to be said.
func ofCell(of string) string {
	if of == "mean" || of == "count" {
		return ""
	}
	return of
}

// withoutEmpty takes a column out of a listing in which it is empty in all rows.
func withoutEmpty(l Listing, column int) Listing {
	for _, cells := range l.Rows[1:] {
		if cells[column] != "" {
			return l
		}
	}
	for k, cells := range l.Rows {
		l.Rows[k] = append(cells[:column:column], cells[column+1:]...)
	}
	return l
}

// meanCells writes a mean and its interval: a probability as a percentage.
func meanCells(of string, mean, low, high float64) (string, string) {
	if of == "mean" || of == "count" {
		places := wording.Decimals((high - low) / 4)
		return wording.Fixed(mean, places), wording.Interval(low, high, places)
	}
	places := 0
	if low < 0.01 || high > 0.99 { // no probability is told as 0 or 100 %
		places = 1
	}
	percent := func(v float64) string {
		return wording.Fixed(100*min(max(v, 0.001), 0.999), places) + wording.Narrow + "%"
	}
	return percent(mean), percent(low) + " to " + percent(high)
}

// name is the mean's columns and levels as a term is written.
func (m AdjustedMean) name() string {
	columns, levels := strings.Split(m.Column, productSign), strings.Split(m.Level, productSign)
	for k := range min(len(columns), len(levels)) {
		columns[k] += "=" + levels[k]
	}
	return strings.Join(columns, productSign)
}

func (i Interval) cells(name string) []string {
	places := 3
	if finite(i.Low) && finite(i.High) {
		places = wording.Decimals((i.High - i.Low) / 4)
	}
	interval := wording.Interval(i.Low, i.High, places)
	if i.Note != "" && !finite(i.Low) && !finite(i.High) {
		interval = i.Note
	}
	return []string{name, wording.Fixed(i.Value, places), interval}
}

// Sentences are the inferences that are told in words: how the variance divides, and
// the comparison with another model.
func (x *Inferences) Sentences() []string {
	var out []string
	if s := x.Shares; s != nil {
		out = append(out, s.sentence())
	}
	if c := x.Comparison; c != nil {
		other, which := "smaller", "larger"
		if !c.Larger {
			other, which = which, other
		}
		verdict := "the larger explains more than chance would bring"
		if c.P > 0.05 {
			verdict = "that the larger explains more is not shown"
		}
		out = append(out, fmt.Sprintf("Compared with the %s model %s, this is the %s: twice the difference of the log likelihoods is %s, p %s; %s. %s",
			other, c.With, which, wording.Fixed(c.Statistic, 2), wording.PValue(c.P), verdict, wording.Sentence(c.Note)))
	}
	return out
}
