package generalised

import (
	"fmt"
	"math"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// narrowest is how little may lie between two thresholds of a row, on the scale of the
// link, before the fit counts as held by their order: a grade between them would have a
// probability of some 1e-4.
const narrowest = 1e-3

// mostRowsTold is how many patterns a refusal names.
const mostRowsTold = 5

// checkOrder refuses a fit of terms that differ by threshold where the order of the
// thresholds holds it: the likelihood has no ordinary maximum there, and no standard
// error means anything.
func (f *Fit) checkOrder() error {
	k, ok := f.d.kind.(grades)
	if !ok || len(f.model.ByThreshold) == 0 || k.last < 2 {
		return nil
	}
	d := f.d
	predictors := make([]float64, d.patterns*d.width)
	d.predict(f.psi[:d.size], predictors)
	var ps table.Problems
	told := 0
	for p := range d.patterns {
		row := predictors[p*d.width : (p+1)*d.width]
		for j := 1; j < len(row); j++ {
			if row[j]-row[j-1] > narrowest {
				continue
			}
			if told++; told > mostRowsTold {
				break
			}
			levels := d.lay.OutcomeLevels
			ps.Add(d.lay.Problem(int(d.example[p]), d.lay.Model.Outcome, fmt.Sprintf("no probability left for %s", levels[j]),
				"fitted probabilities above zero for every grade in every row",
				fmt.Sprintf("with effects of %s by threshold the thresholds between %s and %s and between %s and %s would cross in rows like this one: let fewer terms differ by threshold, or join these grades",
					termList(f.model.ByThreshold), levels[j-1], levels[j], levels[j], levels[j+1])))
		}
	}
	return ps.Err()
}

func termList(terms []mixed.Term) string {
	var out []string
	for _, t := range terms {
		out = append(out, strings.Join(t, " × "))
	}
	return strings.Join(out, ", ")
}

// ordered tells whether the fitted thresholds keep their order where some columns have
// other values, and what is wrong where they do not: predictions are refused there.
func (f *Fit) ordered(places []place) error {
	if _, ok := f.d.kind.(grades); !ok || len(f.model.ByThreshold) == 0 {
		return nil
	}
	for _, p := range places {
		before := math.Inf(-1)
		for j, uses := range f.d.uses {
			v := 0.0
			for _, u := range uses {
				v += u.coefficient * f.psi[u.parameter] * p.x[u.column]
			}
			if v <= before {
				levels := f.d.lay.OutcomeLevels
				return fmt.Errorf("where the columns have these values the thresholds between %s and %s and between %s and %s cross, so that %s would have a probability below zero: ask for means within the values of the table, or let fewer terms differ by threshold",
					levels[j-1], levels[j], levels[j], levels[j+1], levels[j])
			}
			before = v
		}
	}
	return nil
}
