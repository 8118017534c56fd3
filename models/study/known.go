package study

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// A Break is a place of a book at which wear may differ for a reason known before
// it was measured: a change of scribe, a rebinding, a new quire set.
type Break struct {
	Book   string `toml:"book" required:"true"`   // the book's id
	Before string `toml:"before" required:"true"` // the first page after the break, such as 57r
	Reason string `toml:"reason" required:"true"` // why it is known, in the scholar's words: a second scribe begins
}

// An Unbroken is a stretch of a book inside which no change is looked for: a cycle of
// pictures, a single prayer.
type Unbroken struct {
	Book   string `toml:"book" required:"true"`   // the book's id
	Pages  string `toml:"pages" required:"true"`  // the stretch, such as 13r–16v
	Reason string `toml:"reason" required:"true"` // why it holds no change, in the scholar's words: one prayer, read as a whole
}

// checkKnown checks what can be told without the tables.
func (c *fileCheck) checkKnown() {
	for i, b := range c.file.Breaks {
		c.named(b.Book, b.Reason, "the break", "break", i)
		if _, err := codex.ParsePage(b.Before); err != nil {
			c.unread(b.Before, "the first page after the break", `write before = "57r"`, err, "break", i, "before")
		}
	}
	for i, w := range c.file.Unbroken {
		c.named(w.Book, w.Reason, "the stretch", "whole", i)
		extent, err := codex.ParseExtent(w.Pages)
		switch {
		case err != nil:
			c.unread(w.Pages, "the pages of the stretch", `write pages = "13r–16v"`, err, "whole", i, "pages")
		case len(extent.Ranges) > 1:
			c.problem(w.Pages, "one stretch of pages", "give each its own [[whole]]", "whole", i, "pages")
		case extent.Ranges[0].From == extent.Ranges[0].To:
			c.problem(w.Pages, "two pages or more: a single page holds no change", "give the last page too, or delete the stretch", "whole", i, "pages")
		}
	}
}

// named checks that the book and the reason are given.
func (c *fileCheck) named(book, reason, what, section string, i int) {
	if book == "" {
		c.problem("", "the id of a book", fmt.Sprintf(`write book = "…" under [[%s]]`, section), section, i, "book")
	}
	if reason == "" {
		c.problem("", "why "+what+" is known, in your own words", fmt.Sprintf(`write reason = "…" under [[%s]]: the results repeat it`, section), section, i, "reason")
	}
}

// unread tells of a label that is missing or cannot be read.
func (c *fileCheck) unread(value, expected, remedy string, err error, at ...any) {
	var label *codex.LabelError
	if value != "" && errors.As(err, &label) {
		expected, remedy = label.Expected, label.Remedy
	}
	c.problem(value, expected, remedy, at...)
}

// placeKnown finds the books and pages of known breaks and stretches, and hands
// them to the books.
func (s *Study) placeKnown(ps *table.Problems) {
	c := knownCheck{fileCheck{path: s.Path, file: &s.File, where: s.where, ps: ps}, s}
	var breaks []placedBreak
	for i, b := range s.Breaks {
		if at, ok := c.findBreak(i, b); ok {
			breaks = append(breaks, at)
		}
	}
	var whole []placedWhole
	for i, w := range s.Unbroken {
		if at, ok := c.findWhole(i, w); ok {
			whole = append(whole, at)
		}
	}
	c.agree(breaks, whole)
	for _, b := range breaks {
		known := &s.Books[b.book].Known
		known.Breaks = append(known.Breaks, b.Break)
		slices.SortFunc(known.Breaks, func(a, b codex.Break) int { return cmp.Compare(a.Page, b.Page) })
	}
	for _, w := range whole {
		known := &s.Books[w.book].Known
		known.Unbroken = append(known.Unbroken, w.Stretch)
		slices.SortFunc(known.Unbroken, func(a, b codex.Stretch) int { return cmp.Compare(a.From, b.From) })
	}
}

// A placedBreak is a known break with its book and its place in the file.
type placedBreak struct {
	codex.Break
	index, book int
}

// A placedWhole is a stretch with its book and its place in the file.
type placedWhole struct {
	codex.Stretch
	index, book int
}

// A knownCheck looks for what is known of the books in their tables.
type knownCheck struct {
	fileCheck
	study *Study
}

// book is the index of a book; false with a problem where there is none.
func (c *knownCheck) book(id string, at ...any) (int, bool) {
	book := c.study.index(id)
	if book < 0 && id != "" {
		_, err := c.study.Book(id)
		c.problem(id, "a book of the study", err.Error(), append(at, "book")...)
	}
	return book, book >= 0
}

// page is the index of a page of a book that is still there; false with a problem
// where there is none.
func (c *knownCheck) page(b *codex.Book, label codex.PageLabel, value string, at ...any) (int, bool) {
	page, ok := b.Find(label)
	switch {
	case !ok:
		c.problem(value, fmt.Sprintf("pages of book %s, which has no %s", b.ID, label), b.NearestRemedy(label), at...)
	case b.Pages[page].Lost:
		c.problem(value, fmt.Sprintf("a page that is still there; leaf %s of book %s is lost", b.Pages[page].Label.Folio, b.ID),
			b.NearestRemedy(label)+"; name the first page still there that is meant, or correct the state of the leaf in the table of leaves", at...)
	default:
		return page, true
	}
	return 0, false
}

func (c *knownCheck) findBreak(i int, b Break) (placedBreak, bool) {
	out := placedBreak{codex.Break{Reason: b.Reason}, i, 0}
	label, err := codex.ParsePage(b.Before)
	book, found := c.book(b.Book, "break", i)
	if err != nil || !found {
		return out, false // an unread label is told already
	}
	out.book = book
	page, found := c.page(c.study.Books[book], label, b.Before, "break", i, "before")
	if !found {
		return out, false
	}
	out.Page = page
	if page == c.study.Books[book].Present()[0] {
		c.problem(b.Before, "a page with others before it: a break lies between pages", "name the first page after the break, or delete it", "break", i, "before")
		return out, false
	}
	return out, true
}

func (c *knownCheck) findWhole(i int, w Unbroken) (placedWhole, bool) {
	out := placedWhole{codex.Stretch{Reason: w.Reason}, i, 0}
	extent, err := codex.ParseExtent(w.Pages)
	book, found := c.book(w.Book, "whole", i)
	if err != nil || len(extent.Ranges) > 1 || !found {
		return out, false
	}
	out.book = book
	b, pages := c.study.Books[book], extent.Ranges[0]
	from, fromOK := c.page(b, pages.From, w.Pages, "whole", i, "pages")
	to, toOK := from, fromOK
	if pages.To != pages.From {
		to, toOK = c.page(b, pages.To, w.Pages, "whole", i, "pages")
	}
	if !fromOK || !toOK {
		return out, false
	}
	if out.From, out.To = from, to; to < from {
		c.problem(w.Pages, fmt.Sprintf("a stretch that runs forward along the book; %s comes before %s", pages.To, pages.From),
			"write "+codex.Range{From: pages.To, To: pages.From}.String()+", if that is meant", "whole", i, "pages")
		return out, false
	}
	return out, true
}

// agree reports what contradicts itself: two breaks at one place, stretches that
// overlap, a break inside a stretch.
func (c *knownCheck) agree(breaks []placedBreak, whole []placedWhole) {
	for k, b := range breaks {
		value := c.file.Breaks[b.index].Before
		for _, other := range breaks[:k] {
			if other.book == b.book && other.Page == b.Page {
				c.problem(value, fmt.Sprintf("each break once (line %d has it already)", c.where.Line("break", other.index)), "join the two reasons, and delete one of the two", "break", b.index, "before")
			}
		}
		for _, w := range whole {
			if w.book == b.book && w.From < b.Page && b.Page <= w.To {
				c.problem(value, fmt.Sprintf("a break outside the stretches that hold no change (line %d has %s)", c.where.Line("whole", w.index), c.file.Unbroken[w.index].Pages),
					"end the stretch before the break, or delete one of the two", "break", b.index, "before")
			}
		}
	}
	for k, w := range whole {
		for _, other := range whole[:k] {
			if other.book == w.book && other.From <= w.To && w.From <= other.To {
				c.problem(c.file.Unbroken[w.index].Pages, fmt.Sprintf("stretches that share no page (line %d has %s)", c.where.Line("whole", other.index), c.file.Unbroken[other.index].Pages),
					"make one stretch of the two, or correct their pages", "whole", w.index, "pages")
			}
		}
	}
}
