package study

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// Found is what a study holds, counted.
type Found struct {
	Books                        []FoundBook
	Readings, Excluded           int // rows of the log; of these left out by the scholar
	Days, Observers, Instruments int // that the log names
	Models, Questions            int
	Looks, Traces                int      // kept looks, and traces of the coding book
	Coded                        []string // of each trace, in sentences: its things in their three states over all books, and what was coded twice
	Formulas                     []string // tables with cells that a spreadsheet would take for formulas, in sentences
	Confounded                   []string // what goes with who measured, when or with what: see [Study.Confounded]
}

// FoundBook is what a study holds of one book, counted.
type FoundBook struct {
	ID           string
	Leaves, Lost int // leaves still there; leaves lost
	Sections     int
	Pictures     int      // pages with a picture
	Measured     int      // pages with a reading of their own that is kept
	Notes        []string // what is to be known of it: see [codex.Book.Notes]
}

// Check reads a study and all its tables, counts what it holds, and looks ahead
// to what a run would fail on. Its error is as that of [Open]; what only a
// run would fail on stands beside what was found.
func Check(path string) (Found, error) {
	s, err := Open(path)
	if err != nil {
		return Found{}, err
	}
	var ps table.Problems
	s.lookAhead(&ps)
	found := s.Found()
	found.Formulas = s.formulas()
	if ps.Err() == nil {
		found.Confounded, err = s.Confounded()
	}
	return found, errors.Join(ps.Err(), err)
}

// formulas tells of tables whose cells a spreadsheet would take for formulas: text that
// begins with =, +, - or @ and is no number.
func (s *Study) formulas() (found []string) {
	t := s.Tables
	for _, path := range append([]string{t.Books, t.Leaves, t.Pages, t.Sections, t.Instruments}, t.Readings...) {
		var ps table.Problems // told already
		if path == "" {
			continue
		}
		read := table.ReadFile(s.near(path), &ps)
		if read == nil {
			continue
		}
		for _, c := range read.Columns() {
			if c.IsNumber() {
				continue
			}
			levels, codes := c.Levels()
			for k, label := range levels {
				if !strings.ContainsRune("=+-@", rune(label[0])) {
					continue
				}
				if _, err := strconv.ParseFloat(label, 64); err == nil {
					continue
				}
				row := slices.Index(codes, int32(k))
				found = append(found, fmt.Sprintf("%s, line %d, column %s: “%s” is text here, and a formula to a spreadsheet that opens the file. Open the workbook of thumbed book or of the results, tables/tables.xlsx, there instead.", path, read.Line(row), c.Name, label))
				break
			}
		}
	}
	return found
}

// Found counts what the study holds.
func (s *Study) Found() Found {
	found := Found{Models: len(s.Models), Questions: len(s.Questions)}
	log := s.Log
	if log == nil {
		log = &readings.Log{}
	}
	found.Readings = len(log.Readings)
	type page struct{ book, page int }
	measured := map[page]bool{}
	days, observers, instruments := map[string]bool{}, map[string]bool{}, map[int]bool{}
	for _, r := range log.Readings {
		days[r.Day] = true
		observers[r.Observer] = true
		instruments[r.Instrument] = true
		switch {
		case r.Excluded != "":
			found.Excluded++
		case r.Target == readings.OnPage:
			measured[page{r.Book, r.Page}] = true
		}
	}
	delete(observers, "")
	found.Days, found.Observers, found.Instruments = len(days), len(observers), len(instruments)
	found.Books = make([]FoundBook, len(s.Books))
	for i, b := range s.Books {
		found.Books[i] = countBook(b)
	}
	s.findLooks(&found)
	for p := range measured {
		found.Books[p.book].Measured++
	}
	return found
}

func countBook(b *codex.Book) FoundBook {
	found := FoundBook{ID: b.ID, Sections: len(b.Sections), Pictures: b.Pictures(), Notes: b.Notes()}
	for i := range b.Leaves {
		if b.Leaves[i].State == codex.Lost {
			found.Lost++
		} else {
			found.Leaves++
		}
	}
	return found
}
