package desk

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// A Step is one placing of the instrument to make.
type Step struct {
	Book   string // empty on the tile
	Page   string
	Target readings.Target
	Spot   readings.Spot // empty except on a page
	Note   string        // as the sheet has it

	done bool
}

// place is where the step is taken: steps of one place follow each other.
func (s Step) place() [2]string { return [2]string{s.Book, s.Page} }

// same tells whether two steps are placings of one kind on one place.
func (s Step) same(o Step) bool { return s.place() == o.place() && s.Target == o.Target }

// where names the place of a step in words.
func (s Step) where() string {
	if s.Target == readings.OnTile {
		return "the reference tile"
	}
	return fmt.Sprintf("%s, f.\u00a0%s", s.Book, s.Page)
}

// on says what the instrument is placed on.
func (s Step) on() string {
	switch s.Target {
	case readings.OnTile:
		return "tile"
	case readings.OnZero:
		return "untouched spot"
	}
	return "thumbed corner"
}

// A Sheet is the placings of one day in their order.
type Sheet struct {
	Day        string // that they are planned for
	Instrument string
	Observer   string
	Steps      []Step
}

// ReadSheet reads a sheet as the verb sheet writes it, a table of readings with
// their densities empty, and gives the day that is wanted: the one planned for
// today, or else the first of those that are planned. The error names every
// problem of the table.
func ReadSheet(path, today string, books []*codex.Book) (*Sheet, error) {
	var ps table.Problems
	t := table.ReadFile(path, &ps)
	if t == nil || !readings.ReadingsSchema().Check(t, &ps) || ps.Len() > 0 {
		return nil, ps.Err()
	}
	label := func(column string, row int) string {
		if c := t.Column(column); c != nil {
			return c.Label(row)
		}
		return ""
	}
	days := t.Column("date").Text()
	if len(days) == 0 {
		return nil, fmt.Errorf("%s holds no placing to make", path)
	}
	day := slices.Min(days)
	if slices.Contains(days, today) {
		day = today
	}
	s := &Sheet{Day: day}
	for i := range t.Rows() {
		if days[i] != day {
			continue
		}
		s.Instrument, s.Observer = label("instrument", i), label("observer", i)
		step := Step{Book: label("book", i), Page: label("page", i), Target: readings.Target(label("target", i)), Spot: readings.Spot(label("spot", i)), Note: label("note", i)}
		if step.Target != readings.OnTile {
			if _, err := findPage(books, step.Book, step.Page); err != nil {
				ps.Add(table.Problem{File: path, Line: t.Line(i), Column: "page", Value: step.Page, Expected: "a page of the study", Remedy: err.Error()})
			}
		}
		s.Steps = append(s.Steps, step)
	}
	return s, ps.Err()
}

// pageIn parts what a person names: a page of the book that is at hand, or a book and a
// page of it.
func pageIn(books []*codex.Book, book, words string) (string, string) {
	if first, rest, two := strings.Cut(words, " "); two && slices.ContainsFunc(books, func(b *codex.Book) bool { return b.ID == first }) {
		return first, strings.TrimSpace(rest)
	}
	return book, words
}

// findPage finds a page that is still in its book by the words of the scholar, and
// gives its label as the book has it.
func findPage(books []*codex.Book, book, page string) (string, error) {
	var ids []string
	for _, b := range books {
		ids = append(ids, b.ID)
		if b.ID != book {
			continue
		}
		label, err := codex.ParsePage(page)
		if err != nil {
			return "", fmt.Errorf("write a page such as 12r")
		}
		at, ok := b.Find(label)
		if !ok || b.Pages[at].Lost {
			return "", fmt.Errorf("%s has no page %s; %s", book, page, b.NearestRemedy(label))
		}
		return b.Pages[at].Label.String(), nil
	}
	return "", fmt.Errorf("the study has no book %q; it has %s", book, wording.List(ids))
}
