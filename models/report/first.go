package report

import (
	"cmp"
	"html/template"
	"slices"
	"strings"

	"thumbed/models/wording"
)

// mostOverview is how many books the first screen shows, and mostQuestions how many
// questions; the others stand below.
const (
	mostOverview  = 8
	mostQuestions = 8
)

// A firstView is the page's first screen.
type firstView struct {
	Headline      string
	Rows          []firstRow
	Compact, Left bool
	Shown, All    int
	Sure          string
	Questions     []questionLineView
	MoreQuestions string
}

type firstRow struct {
	ID, Name, Facts           string
	Read, Pictures, Fell      Finding
	ReadChart, Strip, Offices template.HTML
	Touched                   Finding
	Touches                   template.HTML // traces along the book; empty where nobody looked
}

type questionLineView struct {
	Words, Verdict, Answer string
	Settled                bool
}

func (r *Results) firstView() firstView {
	o := r.Overview()
	rows := mostTelling(o.Rows)
	v := firstView{Headline: o.Headline, Sure: wording.Typeset(o.Sure), Compact: len(rows) > 4, Left: len(rows) < len(o.Rows), Shown: len(rows), All: len(o.Rows)}
	scale := r.overviewScale(rows)
	for _, row := range rows {
		b := r.Books[row.index].Book
		facts := wording.Count(len(r.wearOf(row.index)), "page", "pages")
		if owner := shortOwner(b.Owner, r.short(b)); owner != "" {
			facts = owner + "; " + facts
		}
		shown := firstRow{ID: "book-" + r.bookFile(b), Name: r.short(b), Facts: facts, Read: row.Read, Pictures: row.Pictures, Fell: row.Fell,
			ReadChart: r.readChart(row, scale), Strip: r.pageStrip(row, scale), Offices: r.officeChart(row, scale)}
		if row.Touched != nil {
			shown.Touched, shown.Touches = *row.Touched, r.touchStrip(row.index)
		}
		v.Rows = append(v.Rows, shown)
	}
	for k, q := range o.Questions {
		if k == mostQuestions {
			v.MoreQuestions = wording.Count(len(o.Questions)-k, "more question", "more questions")
			break
		}
		v.Questions = append(v.Questions, questionLineView{q.Words, wording.Capital(q.Verdict), q.Answer, q.Clear})
	}
	return v
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
