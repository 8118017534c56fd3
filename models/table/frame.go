package table

import (
	"fmt"
	"math"

	"github.com/go-gota/gota/series"
	"github.com/kniren/gota/dataframe"
)

// Frame is the table as a gota data frame, for notebooks: columns of numbers as
// floats, all others as strings.
func (t *Table) Frame() dataframe.DataFrame {
	columns := make([]series.Series, len(t.columns))
	for k, c := range t.columns {
		if c.Numbers != nil {
			columns[k] = series.New(c.Numbers, series.Float, c.Name)
			continue
		}
		columns[k] = series.New(c.Text(), series.String, c.Name)
	}
	return dataframe.New(columns...)
}

// FromFrame is the way back: gota's numbers (and NaN) become numbers, truth
// values yes and no, all else labels. It fails where the frame carries an error
// of its own, and on an infinite number.
func FromFrame(frame dataframe.DataFrame) (*Table, error) {
	if frame.Err != nil {
		return nil, fmt.Errorf("the data frame is not usable: %w; mend the step that made it", frame.Err)
	}
	t := &Table{index: map[string]int{}}
	for _, name := range frame.Names() {
		column := frame.Col(name)
		c := &Column{Name: name}
		switch column.Type() {
		case series.Float, series.Int:
			c.Numbers = column.Float()
			for i, v := range c.Numbers {
				if math.IsInf(v, 0) {
					return nil, fmt.Errorf("column %s, row %d: found %v; expected a finite number; mend or drop the row", name, i+1, v)
				}
			}
		default:
			c.cells = plain(labels(column))
		}
		if err := t.Add(c); err != nil {
			return nil, err
		}
	}
	return t, nil
}

// labels are the cells of a column that is no number, empty where missing.
func labels(column series.Series) []string {
	cells := column.Records()
	for i, cell := range cells {
		switch {
		case column.Elem(i).IsNA():
			cells[i] = ""
		case column.Type() == series.Bool && cell == "true":
			cells[i] = "yes"
		case column.Type() == series.Bool:
			cells[i] = "no"
		}
	}
	return cells
}
