package report

import (
	"fmt"
	"slices"

	"thumbed/models/dropoff"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

func (r printing) wear() PrintedSection {
	s := PrintedSection{ID: "wear", Heading: "The wear, page by page"}
	for i, b := range r.Books {
		part := PrintedPart{ID: r.bookFile(b.Book)}
		paragraphs := []string{bookFacts(b.Book)}
		for _, s := range r.spreadSentences(i) {
			paragraphs[0] += " " + s.Text
		}
		part.Said = []Said{{r.bookName(b.Book), append(paragraphs, sentences(wording.TypesetAll(b.Failed))...)}}
		if p := b.Profile; p != nil {
			shows := fmt.Sprintf("%s measured; of %s tested, %s with pictures, %s out at a false-discovery rate of %s.",
				wording.Capital(wording.Count(len(r.wearOf(i)), "page", "pages")), wording.Whole(p.Tested), wording.Whole(p.Pictures), standing(len(p.Standouts)), wording.Rate(p.Rate))
			part.Figures = r.figures("wear-"+part.ID, shows)
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

func (r printing) texts() PrintedSection {
	s := PrintedSection{ID: "texts", Heading: "The texts"}
	for i, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		part := PrintedPart{ID: r.bookFile(b.Book)}
		part.Figures = r.figures("sections-"+part.ID, readSentence(r.quotedName(b.Book), b).Text)
		if g := r.sectionGrid(i); g.Count() > 0 {
			part.Tables = []grid.Grid{g.Named("sections-"+part.ID, fmt.Sprintf("%s; an interval stands for each of them alone.", wording.Capital(wording.Count(g.Count(), "text", "texts"))))}
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

// notes gathers what is to be borne in mind of each book, each note once.
func (r printing) notes() PrintedSection {
	s := PrintedSection{ID: "notes", Heading: "Notes on the books"}
	for _, b := range r.Books {
		notes := b.notes()
		for _, c := range b.Declines {
			notes = append(notes, seriesNotes(c.Changes, c.Notes)...)
		}
		if h := b.Habits; h != nil {
			notes = append(notes, seriesNotes(h.Changes, h.Notes)...)
		}
		said := Said{Head: r.bookName(b.Book)}
		for _, note := range sentences(notes) {
			if !slices.Contains(said.Paragraphs, note) {
				said.Paragraphs = append(said.Paragraphs, note)
			}
		}
		if len(said.Paragraphs) > 0 {
			s.Parts = append(s.Parts, PrintedPart{ID: r.bookFile(b.Book), Said: []Said{said}})
		}
	}
	return s
}

func (r printing) quires() PrintedSection {
	s := PrintedSection{ID: "quires", Heading: "Quire structure"}
	for _, b := range r.Books {
		part := PrintedPart{ID: r.bookFile(b.Book)}
		if part.Figures = r.figures("quires-"+part.ID, ""); len(part.Figures) > 0 {
			part.Said = []Said{{r.bookName(b.Book), []string{"Collation: " + b.Book.Collation() + "."}}}
			s.Parts = append(s.Parts, part)
		}
	}
	return s
}

func (r printing) standouts() PrintedSection {
	var part PrintedPart
	t := grid.Grid{Name: "standouts", Title: "Pages that stand above the text pages of their own section"}
	count := 0
	for i, b := range r.Books {
		if b.Profile == nil {
			continue
		}
		part.Said = append(part.Said, Said{Paragraphs: []string{pictureSentence(r.quotedName(b.Book), b).Text}})
		g := r.standoutGrid(i)
		t.Join(r.bookName(b.Book), g)
		count += g.Count()
	}
	if count > 0 {
		t.Note = fmt.Sprintf("%s in all, with the density by which each stands above the level of its section; p is adjusted over all pages of its book that were tested.", wording.Capital(wording.Count(count, "page", "pages")))
		part.Tables = append(part.Tables, t)
	}
	return PrintedSection{ID: "standouts", Heading: "Pages that stand out", Parts: []PrintedPart{part}}
}

func (r printing) stops() PrintedSection {
	s := PrintedSection{ID: "stops", Heading: Stopped.Heading()}
	offices := grid.Grid{Name: "offices", Title: "Wear of the day’s offices against the first"}
	changes := grid.Grid{Name: "changes", Title: "Changes of level along the day’s offices"}
	pages, found := 0, 0
	for _, b := range r.Books {
		for _, c := range b.Declines {
			part := PrintedPart{ID: r.setFile(b.Book, c)}
			part.Figures = r.figures("dropoff-"+part.ID, stopSentence(r.quotedName(b.Book), c).Text)
			heading := r.bookName(b.Book) + ": " + setName(c.Set)
			o, g := r.officeGrid(b.Book, c), r.changeGrid(b.Book, c)
			o.Empty = uncompared(c)
			offices.Join(heading, o)
			changes.Join(heading, g)
			for _, office := range c.Offices {
				pages += office.Pages
			}
			found += g.Count()
			s.Parts = append(s.Parts, part)
		}
	}
	if len(offices.Panels) > 0 {
		offices.Note = fmt.Sprintf("%s, %s measured; shares are of the wear of the first office.", wording.Capital(wording.Count(len(offices.Panels), "set of hours", "sets of hours")), wording.Count(pages, "page", "pages"))
		changes.Note = fmt.Sprintf("%s in %s; the place of a change and its size each have an interval.", wording.Capital(wording.Count(found, "change", "changes")), wording.Count(len(offices.Panels), "set of hours", "sets of hours"))
		s.Parts = append(s.Parts, PrintedPart{ID: "all", Tables: []grid.Grid{offices, changes}})
	}
	s.Parts = append(s.Parts, r.sharedParts()...)
	return s
}

// sharedParts are what books say together of where their readers stopped.
func (r printing) sharedParts() []PrintedPart {
	var out []PrintedPart
	for _, shared := range r.Shared {
		part := PrintedPart{ID: "shared-" + r.sharedFile(shared)}
		said := r.sharedSentence(shared).Text
		if part.Figures = r.figures(part.ID, said); part.Figures == nil {
			part.Said = []Said{{Paragraphs: []string{said}}}
		}
		if g := r.sharedGrid(shared); g.Count() > 0 {
			part.Tables = []grid.Grid{g.Named(part.ID, fmt.Sprintf("%s, one a row.", wording.Capital(wording.Count(g.Count(), "book", "books"))))}
		}
		out = append(out, part)
	}
	if len(r.Pairs) > 0 {
		part := PrintedPart{ID: "pairs", Said: []Said{{Head: "The readers side by side"}}}
		for _, s := range r.togetherSentences()[len(r.Shared):] {
			part.Said[0].Paragraphs = append(part.Said[0].Paragraphs, s.Text)
		}
		part.Tables = []grid.Grid{r.pairTable().Named("reader-pairs", fmt.Sprintf("%s; shares are of the first office that both have; p is adjusted over them.", wording.Capital(wording.Count(len(r.Pairs), "pair", "pairs"))))}
		out = append(out, part)
	}
	return out
}

func (r printing) habits() PrintedSection {
	s := PrintedSection{ID: "habits", Heading: "Where the level of wear changes"}
	t := grid.Grid{Name: "habits", Title: "Changes of level along whole books"}
	found := 0
	for _, b := range r.Books {
		if b.Habits == nil {
			continue
		}
		part := PrintedPart{ID: r.bookFile(b.Book)}
		said := habitSentence(r.quotedName(b.Book), b).Text
		if b.Habits.Changes != nil {
			g := r.habitGrid(b)
			t.Join(r.bookName(b.Book), g)
			found += g.Count()
		}
		if part.Figures = r.figures("habits-"+part.ID, said); part.Figures == nil {
			part.Said = []Said{{r.bookName(b.Book), []string{said}}}
		}
		s.Parts = append(s.Parts, part)
	}
	if len(t.Panels) > 0 {
		t.Note = fmt.Sprintf("%s in %s, found with no place given by the sections; the place of a change and its size each have an interval.", wording.Capital(wording.Count(found, "change", "changes")), wording.Count(len(t.Panels), "book", "books"))
		s.Parts = append(s.Parts, PrintedPart{ID: "all", Tables: []grid.Grid{t}})
	}
	return s
}

// uncompared says why a set of hours has no offices to show.
func uncompared(c *dropoff.Decline) string {
	if c.Refused == "" {
		return "No office of this set could be compared."
	}
	return wording.Typeset(wording.Sentence(c.Refused))
}

func (r printing) measuring() PrintedSection {
	var sure []string
	for _, said := range []Sentence{r.precisionSentence(), r.limitSentence(), cautionSentence()} {
		if said.Text != "" {
			sure = append(sure, said.Text)
		}
	}
	part := PrintedPart{}
	if r.Readings != nil {
		sure = append(sure, sentences(wording.TypesetAll(r.Readings.Notes))...)
		part = r.measuringPart()
	}
	part.Said = []Said{{Paragraphs: sure}}
	if len(r.Notes) > 0 {
		part.Said = append(part.Said, Said{Head: "On the study", Paragraphs: sentences(wording.TypesetAll(r.Notes))})
	}
	return PrintedSection{ID: "measuring", Heading: "The measuring", Parts: []PrintedPart{part}}
}

// measuringPart is the figure and the tables of the measuring.
func (r printing) measuringPart() PrintedPart {
	var part PrintedPart
	c := r.Readings.Counted
	days := wording.Count(c.Days, "day", "days")
	part.Tables = append(part.Tables, r.precisionGrid().Named("precision", fmt.Sprintf("%s on %s.", wording.Capital(wording.Count(c.Readings, "reading", "readings")), days)))
	if g := r.driftTable(); g.Count() > 0 {
		part.Figures = r.figures("drift", fmt.Sprintf("%s on %s.", wording.Capital(wording.Count(c.Tile, "reading of a tile", "readings of a tile")), days))
		part.Tables = append(part.Tables, g.Named("drift", "In density, with the standard error of the correction at mid-day."))
	}
	part.Figures = append(part.Figures, r.figures("agreement", "")...)
	if g := r.excludedTable(); g.Count() > 0 {
		part.Tables = append(part.Tables, g.Named("excluded", fmt.Sprintf("%s of %s.", wording.Whole(c.Excluded), wording.Count(c.Readings, "reading", "readings"))))
	}
	return part
}
