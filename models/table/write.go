package table

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
)

// Write writes the table as CSV (RFC 4180, lines ended by a single line feed).
// Numbers are written in the shortest form that reads back as the same number.
// What [Read] gives back is the same table, but for what it passes over: rows
// whose every cell is missing, spaces at a cell's ends, and carriage returns,
// which become line feeds. An infinite number is an error: no table may hold
// one.
func (t *Table) Write(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(t.Names()); err != nil {
		return err
	}
	record := make([]string, len(t.columns))
	for i := range t.rows {
		for k, c := range t.columns {
			if c.cells == nil && math.IsInf(c.Numbers[i], 0) {
				return fmt.Errorf("column %s, row %d: found %v; expected a finite number; mend it or leave it missing (NaN)", c.Name, i+1, c.Numbers[i])
			}
			record[k] = c.Label(i)
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
