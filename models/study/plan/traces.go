package plan

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/folder"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// A CodingSheet is the looks of a study that are to be taken, in their order.
type CodingSheet struct {
	Title  string
	Coding []traces.Trace
	Rows   []CodingRow
	Twice  int // things that are given to two observers, or to one twice
	Seed   uint64
}

// A CodingRow is one look to be taken.
type CodingRow struct{ Observer, Date, Book, Page, Part, Trace, Column string }

// twiceShare is the share of pages that are coded twice (common practice, no source: a
// fifth tells kappa to some ±0.15 with 60 things).
const twiceShare = 0.2

// Coding lays out the looks that the coding book of a study asks for: pages are given to
// observers by chance, so that who looks goes with nothing, and a fifth of them, drawn by
// chance, to another observer too (to the same on the last day, where there is one
// only). dates are the days, gone through in turn; one at least, and one observer.
func Coding(path string, observers, dates []string, seed uint64) (*CodingSheet, error) {
	s, err := study.OpenUnread(path)
	if err != nil {
		return nil, err
	}
	if len(s.File.Traces) == 0 {
		return nil, fmt.Errorf("%s has no coding book: describe each trace in a [[trace]], with its grades or what counts as one", s.Path)
	}
	if len(observers) == 0 || len(dates) == 0 {
		return nil, fmt.Errorf("who looks, and on which days, is not said: give --observers and --dates")
	}
	out := &CodingSheet{Title: s.Title, Coding: s.File.Traces, Seed: seed}
	for b, book := range s.Books {
		rng := rand.New(rand.NewPCG(seed, uint64(b)))
		var again []CodingRow
		for _, p := range book.Present() {
			who := rng.IntN(len(observers))
			twice := rng.Float64() < twiceShare
			day := dates[b%len(dates)]
			for _, item := range traces.Items(s.File.Traces, &book.Pages[p]) {
				row := CodingRow{Observer: observers[who], Date: day, Book: book.ID, Page: book.Pages[p].Label.String(), Part: item.Part, Trace: item.Trace.Name, Column: item.Trace.Column()}
				out.Rows = append(out.Rows, row)
				if twice {
					row.Observer, row.Date = observers[(who+1)%len(observers)], dates[(b+1)%len(dates)]
					again = append(again, row)
				}
			}
		}
		out.Twice += len(again)
		if len(observers) > 1 || len(dates) > 1 { // else the second look would be the first
			out.Rows = append(out.Rows, again...)
		}
	}
	slices.SortStableFunc(out.Rows, func(a, b CodingRow) int {
		return cmp.Or(strings.Compare(a.Date, b.Date), strings.Compare(a.Observer, b.Observer))
	})
	return out, nil
}

// Table is the sheet as a table of looks, values left empty.
func (c *CodingSheet) Table() (*table.Table, error) {
	var columns []*table.Column
	for _, f := range traces.Schema().Fields {
		cells := make([]string, len(c.Rows))
		for i, r := range c.Rows {
			cells[i] = map[string]string{"book": r.Book, "page": r.Page, "part": r.Part, "trace": r.Trace, "observer": r.Observer, "date": r.Date}[f.Name]
		}
		columns = append(columns, table.Labels(f.Name, cells))
	}
	return table.New(columns...)
}

//go:embed traces.html.tmpl
var codingTemplate string

var codingPage = template.Must(template.New("coding").Parse(codingTemplate))

// Write writes the sheet as the new folder dir: traces-to-fill.csv, which a study takes
// once it is filled in, and traces.html to print.
func (c *CodingSheet) Write(dir string) error {
	t, err := c.Table()
	if err != nil {
		return err
	}
	var csv, page bytes.Buffer
	if err := t.Write(&csv); err != nil {
		return err
	}
	schema, err := traces.Schema().JSON()
	if err != nil {
		return err
	}
	type group struct {
		Observer, Date string
		Rows           []CodingRow
	}
	var groups []group
	for _, r := range c.Rows {
		if n := len(groups); n == 0 || groups[n-1].Observer != r.Observer || groups[n-1].Date != r.Date {
			groups = append(groups, group{r.Observer, r.Date, nil})
		}
		groups[len(groups)-1].Rows = append(groups[len(groups)-1].Rows, r)
	}
	if err := codingPage.Execute(&page, map[string]any{"Sheet": c, "Groups": groups, "Cautions": report.TraceCautions()}); err != nil {
		return err
	}
	return folder.Create(dir, func(fresh string) error {
		for name, data := range map[string][]byte{"traces-to-fill.csv": csv.Bytes(), "traces-to-fill.schema.json": schema, "traces.html": page.Bytes()} {
			if err := os.WriteFile(filepath.Join(fresh, name), data, 0o644); err != nil {
				return err
			}
		}
		return nil
	})
}
