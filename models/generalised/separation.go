package generalised

import (
	"fmt"
	"math"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/wording"
)

// Separation. The likelihood has no maximum where the parameters can go on for ever
// in a direction along which no row becomes less probable and some become more so: a
// level of which all rows have one answer, a part never touched (Albert and Anderson
// 1984, Biometrika 71, 1–10, for yes or no; the same holds for grades and counts with
// the sides named below). Random effects change nothing in it, since it is so given
// any value of them.

// A separation is such a direction.
type separation struct {
	terms []string // that alone bear on it
	rows  int      // of the table, that become more probable along it
}

// mostNumbers is how many numbers the search for a separation looks at beforehand.
const mostNumbers = 2_000_000

// findSeparation looks for a separation among the fixed effects; nil where there is
// none, or too many patterns to look at.
func (d *design) findSeparation() *separation {
	if d.patterns*d.width*d.size > mostNumbers {
		return nil
	}
	rows, side, weight := d.cone()
	along := mixed.OpenDirection(rows, side)
	if along == nil {
		return nil
	}
	out := &separation{}
	moved := 0.0
	for i, row := range rows {
		if v := dot(row, along) * float64(side[i]); v > 1e-7 {
			moved += weight[i]
		}
	}
	out.rows = int(math.Round(moved))
	most := 0.0
	for _, v := range along {
		most = math.Max(most, math.Abs(v))
	}
	for i, name := range d.parameterNames() {
		if i < len(along) && math.Abs(along[i]) > 1e-6*most {
			out.terms = append(out.terms, name)
		}
	}
	return out
}

// cone lists how each parameter moves what rows may move in a direction: the sides
// are those to which a predictor makes its rows more probable, 0 where it must stay.
// Weights are the table's rows.
func (d *design) cone() (rows [][]float64, side []int, weight []float64) {
	type sides struct{ up, down, weight float64 }
	at := make([]sides, d.patterns*d.width)
	for i, p := range d.pattern {
		first := int(p) * d.width
		w := d.weight[i]
		switch k := d.kind.(type) {
		case yesNo:
			at[first].up += d.y[i]
			at[first].down += d.no[i]
			at[first].weight += w
		case grades:
			if d.y[i] < k.last {
				at[first+int(d.y[i])].up += w
				at[first+int(d.y[i])].weight += w
			}
			if d.y[i] > 0 {
				at[first+int(d.y[i])-1].down += w
				at[first+int(d.y[i])-1].weight += w
			}
		case counts:
			at[first].down += w
			at[first].weight += w
			if d.y[i] > 0 {
				at[first].up += w
			}
			if k.inflated { // no zero: the less inflation the better; zeros alone: the more
				last := first + d.width - 1
				at[last].weight += w
				if d.y[i] > 0 {
					at[last].down += w
				} else {
					at[last].up += w
				}
			}
		}
	}
	for p := range d.patterns {
		for j, uses := range d.uses {
			s := at[p*d.width+j]
			if s.up == 0 && s.down == 0 {
				continue
			}
			row := make([]float64, d.size)
			for _, u := range uses {
				row[u.parameter] += u.coefficient * d.x[p*d.columns+u.column]
			}
			way := 0
			switch {
			case s.down == 0:
				way = 1
			case s.up == 0:
				way = -1
			}
			rows, side, weight = append(rows, row), append(side, way), append(weight, s.weight)
		}
	}
	return rows, side, weight
}

// parameterNames names the parameters of the predictors.
func (d *design) parameterNames() []string {
	var out []string
	lay := d.lay
	switch k := d.kind.(type) {
	case grades:
		for j := range thresholdShape(lay.Model.Thresholds, d.width)[0] {
			if lay.Model.Thresholds == "free" || lay.Model.Thresholds == "" {
				out = append(out, "the threshold between "+lay.OutcomeLevels[j]+" and "+lay.OutcomeLevels[j+1])
			} else {
				out = append(out, fmt.Sprintf("the thresholds' parameter %d", j+1))
			}
		}
		for c := 1; c < len(lay.Fixed); c++ {
			if !lay.Differs[c] {
				out = append(out, lay.Fixed[c].Name)
				continue
			}
			for j := range d.width {
				out = append(out, lay.Fixed[c].Name+" at "+lay.OutcomeLevels[j]+"|"+lay.OutcomeLevels[j+1])
			}
		}
	case counts:
		for _, c := range lay.Fixed {
			out = append(out, c.Name)
		}
		if k.negative {
			out = append(out, "log size")
		}
		for _, c := range lay.Zero {
			out = append(out, "zero inflation of "+c.Name)
		}
	default:
		for _, c := range lay.Fixed {
			out = append(out, c.Name)
		}
	}
	return out
}

// InWords has the fit's notes name effects in words: by term, those of a fixed effect.
func (f *Fit) InWords(term func(name string) string) {
	if f.apart == nil {
		return
	}
	named := *f.apart
	named.terms = nil
	for _, name := range f.apart.terms {
		if !strings.HasPrefix(name, "the threshold") {
			name = term(strings.TrimSpace(name))
		}
		named.terms = append(named.terms, name)
	}
	for i, note := range f.Notes {
		if note == f.apart.words(f.d.random.q > 0) {
			f.Notes[i] = named.words(f.d.random.q > 0)
		}
	}
}

// words tells a separation and what was done about it.
func (s *separation) words(mixedTerms bool) string {
	penalty := "Firth's (1993): half the logarithm of the determinant of the expected information is added to the log likelihood"
	if mixedTerms {
		penalty = "the soft one of Sterzinger and Kosmidis (2023): √(p/n) times the logarithm of the determinant of the expected information without random terms, and of twice Huber's loss of the logarithms of the random terms' deviations"
	}
	return fmt.Sprintf("The data bound %s on one side only: in %s every answer is the one that such an effect without end would give, so that the likelihood has no maximum. "+
		"The estimates are therefore those of a penalised likelihood, %s. Its interval and p are by that likelihood and not by the standard error.",
		wording.List(s.terms), wording.Count(s.rows, "row", "rows"), penalty)
}

// namesThem tells whether a separation bears on a term.
func (s *separation) namesThem(term string) bool {
	for _, name := range s.terms {
		if strings.TrimSpace(name) == term {
			return true
		}
	}
	return false
}
