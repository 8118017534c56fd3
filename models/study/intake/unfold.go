package intake

import (
	"maps"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// unfold makes a log of a sheet that has a row a page and several readings in it: one
// row a reading, in the order of the sheet's columns, of those that the mapping names
// under [readings]. An empty cell, or one with a dash, is no reading. It gives the
// table as it is where the mapping names none of its columns.
func unfold(t *table.Table, words *sheet.Mapping) (log *table.Table, none int) {
	var columns, rest []*table.Column
	for _, c := range t.Columns() {
		if words.Readings[c.Name] != "" {
			columns = append(columns, c)
		} else {
			rest = append(rest, c)
		}
	}
	if len(columns) == 0 {
		return t, 0
	}
	cells := make([][]string, len(rest))
	var targets, densities []string
	var lines []int
	for i := range t.Rows() {
		for _, c := range columns {
			density := strings.TrimSpace(c.Label(i))
			if strings.Trim(density, "-–—/ ") == "" {
				if density != "" {
					none++
				}
				continue
			}
			for k := range rest {
				cells[k] = append(cells[k], rest[k].Label(i))
			}
			targets, densities, lines = append(targets, words.Readings[c.Name]), append(densities, density), append(lines, t.Line(i))
		}
	}
	var made []*table.Column
	for k, c := range rest {
		if c.Name != "target" && c.Name != "density" {
			made = append(made, table.Cells(c.Name, cells[k]))
		}
	}
	made = append(made, table.Cells("target", targets), table.Cells("density", densities))
	return placed(newTable(t.File, made), lines), none
}

// onTile gives rows whose page is the word tile that target, and no book and no page.
func onTile(t *table.Table) *table.Table {
	page := t.Column(codex.ColumnPage)
	if page == nil || !slices.Contains(page.Text(), string(readings.OnTile)) {
		return t
	}
	return rewritten(t, func(c *table.Column) []string {
		instead := ""
		switch c.Name {
		case codex.ColumnPage, codex.ColumnBook, "spot", "tried":
		case "target":
			instead = string(readings.OnTile)
		default:
			return nil
		}
		cells := c.Text()
		for i := range cells {
			if page.Label(i) == string(readings.OnTile) {
				cells[i] = instead
			}
		}
		return cells
	})
}

// readingsOf makes the log of a sheet that is one.
func (i *Import) readingsOf(what string, t *table.Table, words *sheet.Mapping, ps *table.Problems) *table.Table {
	before := t.Rows()
	log, none := unfold(t, words)
	if log != t {
		i.Account.Use(0, what, "%s with one reading or more each, as %s", catalogue.Count(before, "row", "rows"), catalogue.Count(log.Rows(), "reading", "readings"))
		if none > 0 {
			i.Account.Leave(0, what, "%s with a dash: no reading", catalogue.Count(none, "cell", "cells"))
		}
	}
	log = onTile(log)
	settle(log, words, ps)
	return log
}

// setWords enters what is said on the command line into a mapping: how days, times and
// numbers are written, and columns that are alike in all rows.
func setWords(words *sheet.Mapping, set map[string]string) {
	for _, name := range slices.Sorted(maps.Keys(set)) {
		if name == "drift" { // it is the study's
			continue
		}
		at := map[string]*string{"dates": &words.Dates, "times": &words.Times, "decimal": &words.Decimal, "delimiter": &words.Delimiter, "encoding": &words.Encoding}[name]
		if at != nil {
			*at = set[name]
			continue
		}
		if words.Constant == nil {
			words.Constant = map[string]string{}
		}
		words.Constant[name] = set[name]
	}
}
