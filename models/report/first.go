package report

import (
	"cmp"
	"html/template"
	"slices"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/wording"
)

// mostOverview is how many books the first screen shows, and mostQuestions how many
// questions; the others stand below.
const (
	mostOverview  = 8
	mostQuestions = 8
	fewBooks      = 4 // up to so many rows have room for charts of full height
)

// A firstView is the page's first screen.
type firstView struct {
	Headline      string
	Rows          []firstRow
	Key           []keyItem
	Compact, Left bool
	Alone         bool // nothing was measured: Read, Pictures and Fell of each row tell of traces
	Asked         bool // Alone, and questions on traces were answered
	Shown, All    int
	Sure          string
	Questions     []questionLineView
	MoreQuestions string
}

type firstRow struct {
	ID, Name, Facts           string
	Read, Pictures, Fell      Finding
	ReadChart, Strip, Offices template.HTML
	Touched                   *Finding // nil where nobody looked for traces, or where there is no room
}

// A keyItem is one mark of the charts and what it stands for.
type keyItem struct {
	Mark  template.HTML
	Words string
}

type questionLineView struct {
	Words, Verdict, Answer string
	Mark                   template.HTML
}

func (r *Results) firstView() firstView {
	o := r.Overview()
	rows := mostTelling(o.Rows)
	scale := r.overviewScale(rows)
	v := firstView{Headline: o.Headline, Sure: wording.Typeset(o.Sure), Compact: scale.compact, Left: len(rows) < len(o.Rows), Shown: len(rows), All: len(o.Rows)}
	for _, row := range rows {
		b := r.Books[row.index].Book
		facts := r.seen(row.index)
		if owner := shortOwner(b.Owner, r.short(b)); owner != "" {
			facts = owner + "; " + facts
		}
		v.Rows = append(v.Rows, firstRow{ID: "book-" + r.bookFile(b), Name: r.short(b), Facts: facts, Read: row.Read, Pictures: row.Pictures, Fell: row.Fell,
			ReadChart: r.readChart(row, scale), Strip: r.pageStrip(row, scale), Offices: r.officeChart(row, scale)})
		switch last := &v.Rows[len(v.Rows)-1]; {
		case row.alone:
			v.Alone, v.Asked = true, r.asksOfTraces()
			last.Read, last.ReadChart, last.Fell = row.seen, r.seenChart(row.Book), r.goesWith(row)
		case scale.touched:
			last.Touched = row.Touched
		}
	}
	v.Questions, v.MoreQuestions = questionLineViews(o.Questions)
	v.Key = r.key(rows, scale.touched, o.Questions)
	return v
}

// questionLineViews are the first of the questions, and how many more there are.
func questionLineViews(questions []QuestionLine) (shown []questionLineView, more string) {
	for k, q := range questions {
		if k == mostQuestions {
			return shown, wording.Count(len(questions)-k, "more question", "more questions")
		}
		shown = append(shown, questionLineView{q.Words, wording.Capital(q.Verdict), q.Answer, sureMark(q.mark())})
	}
	return shown, ""
}

// mark is the shape that stands before a question's verdict.
func (q QuestionLine) mark() string {
	switch {
	case q.Verdict == differs:
		return differs
	case q.Clear:
		return clearly
	}
	return hypotheses.Open
}

// key explains the marks that the first screen shows, traces among them where they are
// touched, and no others.
func (r *Results) key(rows []OverviewRow, touched bool, questions []QuestionLine) []keyItem {
	out := []keyItem{{sureMark(clearly), clearly}, {sureMark(hypotheses.Open), "open: not settled"}}
	if slices.ContainsFunc(questions, func(q QuestionLine) bool { return q.Verdict == differs }) {
		out = append(out, keyItem{sureMark(differs), "books differ"})
	}
	var standing, other, untested, text, dropped, bars, lost, beside bool
	for _, row := range rows {
		dropped = dropped || row.fall >= 0
		beside = beside || besideOthers(row.carried)
		for _, p := range r.stripPages(row.index) {
			switch picture := p.page.Picture; {
			case p.wear == nil:
				lost = lost || p.page.Lost
				continue
			case picture && p.stands:
				standing = true
			case picture && p.test == nil:
				untested = true
			case picture:
				other = true
			case p.stands:
				text = true
			}
			bars = true
		}
	}
	graded, counted := "", ""
	if touched {
		graded, counted = r.touchedKey()
	}
	for _, item := range []struct {
		shown       bool
		mark, words string
	}{
		{bars, `<rect class="bar" x="3" y="1" width="3" height="11"/><rect class="bar" x="7" y="4" width="3" height="8"/>`, "a page of text"},
		{lost, `<rect class="lostpage" x="3" y="7" width="4" height="4"/>`, "leaf lost"},
		{standing, `<path class="m pic" d="M6 1L11 6L6 11L1 6z"/>`, "picture that stands out"},
		{other, `<path class="m pic open" d="M6 1L11 6L6 11L1 6z"/>`, "picture, not clear"},
		{untested, `<path class="m untested" d="M6 2L10 6L6 10L2 6z"/>`, "picture, not compared"},
		{text, `<rect class="m txt" x="2" y="2" width="8" height="8"/>`, "text page that stands out"},
		{graded != "", `<rect class="touch" x="2" y="0" width="3" height="12"/><rect class="touch" x="7" y="0" width="3" height="6"/>`, graded + ", the longer the worse"},
		{counted != "", `<circle class="count" cx="3" cy="6" r="1.8"/><circle class="count" cx="9" cy="6" r="2.6"/>`, counted},
		{dropped, `<path class="stop" d="M6 0V12"/>`, "wear drops"},
		{bars, `<path class="up" d="M6 2L2.5 10H9.5z"/>`, "beyond the scale"},
	} {
		if item.shown {
			out = append(out, keyItem{template.HTML(`<svg class="mini key-mark" viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">` + item.mark + `</svg>`), item.words})
		}
	}
	lines := "lines: 95" + wording.Narrow + "% intervals"
	if beside {
		lines += "; thin: " + amongTests
	}
	return append(out, keyItem{"", lines})
}

// seen is how much of a book was measured; where nothing was, how much was looked at.
func (r *Results) seen(book int) string {
	if r.Readings != nil || !r.looked() {
		return wording.Count(len(r.wearOf(book)), "page", "pages")
	}
	pages := map[int]bool{}
	for _, look := range r.Traces.Looks.All {
		if look.Book == book && look.Kept() {
			pages[look.Page] = true
		}
	}
	return wording.Count(len(pages), "page", "pages") + " looked at"
}

// shortOwner is what the table of books says of the owner beyond the name that
// stands above it.
func shortOwner(owner, name string) string {
	rest := strings.TrimLeft(strings.TrimPrefix(owner, name), ", ")
	return wording.Clipped(rest, 48)
}

// mostTelling are the rows with the most that is clear, in the order of the books.
func mostTelling(rows []OverviewRow) []OverviewRow {
	if len(rows) <= mostOverview {
		return rows
	}
	telling := func(row OverviewRow) float64 {
		told := 0.0
		for _, f := range []Finding{row.Read, row.Pictures, row.Fell} {
			if f.Clear {
				told += 2 - f.P
			}
		}
		return told
	}
	sorted := slices.Clone(rows)
	slices.SortStableFunc(sorted, func(a, b OverviewRow) int { return cmp.Compare(telling(b), telling(a)) })
	sorted = sorted[:mostOverview]
	slices.SortFunc(sorted, func(a, b OverviewRow) int { return cmp.Compare(a.index, b.index) })
	return sorted
}
