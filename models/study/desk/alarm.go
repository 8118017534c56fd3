package desk

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/readings"
	"thumbed/models/wording"
)

// criticalRange are the factors by which the range of n results, from 2, exceeds
// their repeatability standard deviation in one case of twenty (ISO 5725-6:1994,
// table 1).
var criticalRange = []float64{2.8, 3.3, 3.6, 3.9, 4.0, 4.2, 4.3, 4.4, 4.5}

// fewest is how many degrees of freedom the repeatability must have before a
// placing is held against it (common practice, no source).
const fewest = 10

// A cell is the placings of one kind on one place by one observer with one
// instrument on one day.
type cell struct{ book, page, day, instrument, observer, target string }

// repeatability is the standard deviation of placings of one cell, pooled over all
// cells of the table with this instrument, and its degrees of freedom.
func (s *Session) repeatability() (sd float64, df int) {
	cells := map[cell][]float64{}
	var order []cell
	for _, row := range s.table.rows {
		if density, ok := s.kept(row); ok {
			c := s.cellOf(row)
			if cells[c] == nil {
				order = append(order, c)
			}
			cells[c] = append(cells[c], density)
		}
	}
	squares := 0.0
	for _, c := range order {
		if values := cells[c]; c.instrument == s.Instrument.ID && c.target != string(readings.OnTile) && len(values) > 1 {
			squares += stat.Variance(values, nil) * float64(len(values)-1)
			df += len(values) - 1
		}
	}
	if df == 0 {
		return 0, 0
	}
	// No instrument repeats better than its last digit rounds.
	return math.Max(math.Sqrt(squares/float64(df)), s.Instrument.Resolution/math.Sqrt(12)), df
}

func (s *Session) cellOf(row []string) cell {
	at := func(column string) string { return s.table.cell(row, column) }
	return cell{at("book"), at("page"), at("date"), at("instrument"), at("observer"), at("target")}
}

// kept is the density of a row that is not excluded.
func (s *Session) kept(row []string) (density float64, ok bool) {
	density, err := strconv.ParseFloat(s.table.cell(row, "density"), 64)
	return density, err == nil && s.table.cell(row, "excluded") == ""
}

// today are the densities of a step's cell so far, in the order taken.
func (s *Session) today(step Step) (values []float64) {
	own := cell{step.Book, step.Page, s.day, s.Instrument.ID, s.Observer, string(step.Target)}
	for _, row := range s.table.rows {
		if density, ok := s.kept(row); ok && s.cellOf(row) == own {
			values = append(values, density)
		}
	}
	return values
}

// alarm says what is odd in the placing just made, held against the others of its
// cell; empty where nothing is. It is called once the reading is on disk.
func (s *Session) alarm(step Step) string {
	values := s.today(step)
	sd, df := s.repeatability()
	if len(values) < 2 || df < fewest {
		return ""
	}
	last, before := values[len(values)-1], values[:len(values)-1]
	if step.Target != readings.OnPage {
		mean := stat.Mean(before, nil)
		if math.Abs(last-mean) <= criticalRange[0]*sd*math.Sqrt((1+1/float64(len(before)))/2) {
			return ""
		}
		what := "The zero of this page has"
		if step.Target == readings.OnTile {
			what = "The reading of the tile has"
		}
		return fmt.Sprintf("%s moved by %s since it was first read today (%s before). Check that the instrument lies flat and its window is clean; go on, all readings are used.",
			what, wording.Fixed(math.Abs(last-mean), 3), wording.Fixed(mean, 3))
	}
	spread := slices.Max(values) - slices.Min(values)
	allowed := criticalRange[min(len(values), len(criticalRange)+1)-2] * sd
	if spread <= allowed {
		return ""
	}
	return fmt.Sprintf("The placings on this page lie %s apart; repeatability allows %s. All of them are used. Go on; an extra placing (+) is welcome, but do not repeat until two agree.",
		wording.Fixed(spread, 3), wording.Fixed(allowed, 3))
}
