package workbook

import (
	"slices"

	"thumbed/models/codex"
)

// A text is a section as the workbook has it.
type text struct {
	row
	from    int // place of its page among the rows' pages
	section int // index into Book.Sections that it was; −1 where it is new
	moved   bool
}

// textsChanged tells whether anything was changed that texts are made of.
func (t *taker) textsChanged() bool {
	if len(t.removed) > 0 {
		return true
	}
	for _, cells := range t.cells {
		for column := range cells {
			if slices.Contains(textColumns, column) {
				return true
			}
		}
	}
	return slices.ContainsFunc(t.added, func(r row) bool { return r.cells[columnText] != "" })
}

// applyTexts writes the sections anew where they differ: their names and kinds, where
// they begin and end. An end that nobody states is where the next text begins.
func (t *taker) applyTexts(there map[key]row) {
	var pages []string // in order, each once
	var texts []text
	for _, r := range t.edited {
		if r.key.page != "" && !slices.Contains(pages, r.key.page) {
			pages = append(pages, r.key.page)
		}
		known, ok := there[r.key]
		section := -1
		if ok {
			section = known.section
		}
		if r.cells[columnText] != "" {
			texts = append(texts, text{row: r, from: len(pages) - 1, section: section})
		} else if section >= 0 {
			t.forget(section)
		}
	}
	for k := range t.removed {
		t.forget(there[k].section)
	}
	t.follow(texts)
	last := t.sections.lastRow(t.book.ID)
	for i := range texts {
		t.applyText(texts, i, pages, last)
	}
}

// forget takes a section's row out of the table; follow may put it back.
func (t *taker) forget(section int) {
	if section >= 0 {
		t.sections.remove(t.book.Sections[section].Row)
	}
}

// follow finds texts that stand on another page than before: a new one of the same
// name as one that is gone keeps its row, with the opening words and the language.
func (t *taker) follow(texts []text) {
	for i := range texts {
		if texts[i].section >= 0 {
			continue
		}
		for s := range t.book.Sections {
			section := &t.book.Sections[s]
			if t.sections.gone[section.Row] != nil && section.Name == texts[i].cells[columnText] {
				t.sections.restore(section.Row)
				texts[i].section, texts[i].moved = s, true
				break
			}
		}
	}
}

// applyText writes one text.
func (t *taker) applyText(texts []text, i int, pages []string, last int) {
	x := texts[i]
	values := map[string]string{codex.ColumnSection: x.cells[columnText]}
	for _, column := range []string{codex.ColumnKind, codex.ColumnSet, codex.ColumnOffice} {
		values[column] = x.cells[column]
	}
	extent, by := t.extent(texts, i, pages)
	values[codex.ColumnExtent], values[codex.ColumnExtentBy] = extent, by
	if x.section < 0 {
		values[codex.ColumnBook] = t.book.ID
		t.sections.insert(last, values)
		return
	}
	section := &t.book.Sections[x.section]
	for column, value := range values {
		switch column {
		case codex.ColumnOffice:
			if office, err := codex.ParseOffice(t.sections.cell(section.Row, column)); err == nil && office.String() == value {
				continue // as the scholar spells it
			}
		case codex.ColumnExtent:
			if written, err := codex.ParseExtent(value); err == nil && sameRanges(written, section.Extent) {
				continue // as the scholar writes it
			}
		}
		t.sections.set(section.Row, column, value)
	}
}

func sameRanges(a, b codex.Extent) bool { return slices.Equal(a.Ranges, b.Ranges) }

// extent writes where a text stands, and by what its end was inferred. An end that
// the workbook does not state is the page before the next text; one that was inferred
// before is inferred anew only where a text now begins or no longer begins inside it
// or right behind it.
func (t *taker) extent(texts []text, i int, pages []string) (extent, by string) {
	x := texts[i]
	end := x.cells[columnUntil]
	if x.section >= 0 && !x.moved {
		was := &t.book.Sections[x.section]
		if was.ExtentBy != "" && end == until(was.Extent) {
			if !t.disturbed(texts, x, pages) {
				return extentOf(x.key.page, end), was.ExtentBy
			}
			end = ""
		}
	}
	if end != "" {
		return extentOf(x.key.page, end), ""
	}
	last, by := len(pages)-1, codex.ByLastLeaf
	if next := slices.IndexFunc(texts[i+1:], func(o text) bool { return o.from > x.from }); next >= 0 {
		last, by = texts[i+1+next].from-1, codex.ByNextText
	}
	for last > x.from && !isPage(pages[last]) { // a lost leaf without a number
		last--
	}
	if was := x.cells[columnUntil]; was != pages[last] {
		t.changes = append(t.changes, Change{"page " + x.key.String(), columnUntil + " (inferred)", was, pages[last]})
	}
	return extentOf(x.key.page, pages[last]), by
}

// disturbed tells whether a text begins on a page of this one, or right behind it,
// where none did, or none where one did.
func (t *taker) disturbed(texts []text, x text, pages []string) bool {
	ranges := t.book.Sections[x.section].Extent.Ranges
	end := slices.Index(pages, ranges[len(ranges)-1].To.String())
	inside := func(page int) bool { return page > x.from && page <= end+1 }
	for _, o := range texts {
		if (o.section < 0 || o.moved) && inside(o.from) {
			return true
		}
	}
	for s := range t.book.Sections {
		stays := slices.ContainsFunc(texts, func(o text) bool { return o.section == s && !o.moved })
		if page, ok := firstPage(t.book, s); ok && !stays && inside(slices.Index(pages, t.book.Pages[page].Label.String())) {
			return true
		}
	}
	return false
}

func extentOf(from, to string) string {
	if from == to {
		return "f. " + from
	}
	return "ff. " + from + "–" + to
}

func isPage(label string) bool {
	_, err := codex.ParsePage(label)
	return err == nil
}
