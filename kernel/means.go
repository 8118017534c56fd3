package kernel

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/go-gota/gota/series"
	"github.com/kniren/gota/dataframe"
	"gonum.org/v1/gonum/stat"
)

// Means tells, for each group of rows that have the same labels in the columns
// by, how many have a value in the column of numbers, their mean and their
// standard deviation (NaN for a single row). Groups stand in the order of their
// first rows; rows without a value are left out.
func Means(frame dataframe.DataFrame, column string, by ...string) dataframe.DataFrame {
	Check(frame.Err)
	names := frame.Names()
	for _, name := range append([]string{column}, by...) {
		if !slices.Contains(names, name) {
			Check(fmt.Errorf("the data frame has no column %q; it has %s", name, strings.Join(names, ", ")))
		}
	}
	labels := make([][]string, len(by))
	for k, name := range by {
		labels[k] = frame.Col(name).Records()
	}
	var order []string
	groups := map[string][]float64{}
	first := map[string]int{}
	for i, v := range frame.Col(column).Float() {
		if math.IsNaN(v) {
			continue
		}
		var key strings.Builder
		for k := range by {
			key.WriteString(labels[k][i] + "\x00")
		}
		if groups[key.String()] == nil {
			order = append(order, key.String())
			first[key.String()] = i
		}
		groups[key.String()] = append(groups[key.String()], v)
	}
	columns := make([][]string, len(by))
	var count []int
	var mean, sd []float64
	for _, key := range order {
		for k := range by {
			columns[k] = append(columns[k], labels[k][first[key]])
		}
		m, s := stat.MeanStdDev(groups[key], nil)
		count, mean, sd = append(count, len(groups[key])), append(mean, m), append(sd, s)
	}
	var all []series.Series
	for k, name := range by {
		all = append(all, series.New(columns[k], series.String, name))
	}
	all = append(all, series.New(count, series.Int, "rows"), series.New(mean, series.Float, "mean"), series.New(sd, series.Float, "sd"))
	return dataframe.New(all...)
}
