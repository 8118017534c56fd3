package report

import (
	"cmp"
	"fmt"
	"html/template"
	"slices"

	"thumbed/models/hypotheses"
	"thumbed/models/student"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// The first screen of a study that looked at traces and measured nothing.

// looksAlone tells whether traces were looked at and nothing was measured.
func (r *Results) looksAlone() bool { return r.Readings == nil && r.looked() }

// Seen tells what was seen of traces in the book, where nothing was measured.
func (row OverviewRow) Seen() (f Finding, alone bool) { return row.seen, row.alone }

// seenRows are the states of a book in which something can be told, those with the trace
// most often first; those of all books where book is empty, each trace and part once.
func (r *Results) seenRows(book string) []traces.State {
	var out []traces.State
	for i := range r.Traces.Coding {
		t := &r.Traces.Coding[i]
		for _, part := range t.PartsOfPage() {
			sum := r.Traces.total(func(s traces.State) bool {
				return s.Trace == t.Name && s.Part == part && (book == "" || s.Book == book)
			})
			sum.Trace, sum.Part = t.Name, part
			if sum.There+sum.Nothing > 0 {
				out = append(out, sum)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b traces.State) int {
		return cmp.Compare(b.There*(a.There+a.Nothing), a.There*(b.There+b.Nothing))
	})
	return out
}

// seenFinding counts on how much of what can be told the trace is that is seen most often.
func (r *Results) seenFinding(book string) Finding {
	rows := r.seenRows(book)
	if len(rows) == 0 {
		return Finding{Void: true, Words: "Nothing can be told", P: 1}
	}
	s := rows[0]
	share, low, high := thereShare(s)
	return Finding{Void: true, Words: wording.Capital(r.thereName(s)), Detail: fmt.Sprintf("seen on %d of %s: %s", s.There, r.thereOn(s), wording.PercentEstimate(share, low, high)), P: 1,
		Numbers: []Number{{Name: "share with " + r.thereName(s), Value: share, Low: low, High: high, Unit: "share"}}}
}

// thereName names a trace, with the part that it is looked for on.
func (r *Results) thereName(s traces.State) string {
	if s.Part == "" {
		return r.Labels.Column(s.Trace)
	}
	return r.Labels.Column(s.Trace) + " on the " + s.Part
}

// thereOn counts what could be judged.
func (r *Results) thereOn(s traces.State) string {
	n := s.There + s.Nothing
	for i := range r.Traces.Coding {
		if t := &r.Traces.Coding[i]; t.Name == s.Trace && t.On == traces.OnPictures {
			return wording.Plain(n, "picture", "pictures")
		}
	}
	return wording.Plain(n, "page", "pages")
}

// thereShare is the share with the trace of what can be told, with its interval (Wilson
// 1927).
func thereShare(s traces.State) (share, low, high float64) {
	told := float64(s.There + s.Nothing)
	share = float64(s.There) / told
	low, high = student.Wilson(share, told)
	return share, low, high
}

// seenChart draws the shares with a trace of one book, those seen most often first.
func (r *Results) seenChart(book string) template.HTML {
	rows := r.seenRows(book)
	rows = rows[:min(4, len(rows))]
	if len(rows) == 0 {
		return ""
	}
	const pitch = 18.0
	foot := 4 + pitch*float64(len(rows))
	s := svgDrawing{width: readWidth, height: foot + 14}
	room := readLeft
	for _, row := range r.seenRows("") { // of all books, whose charts share a scale
		room = max(room, nameRoom(r.thereName(row)))
	}
	x := func(v float64) float64 { return room + (readWidth-room-14)*v }
	for _, v := range []float64{0, 0.5, 1} {
		s.line("g", x(v), 2, x(v), foot)
		s.text("ax", atMiddle, x(v), foot+12, wording.Percent(v))
	}
	what := "How often each trace was seen, of what could be judged:"
	for i, row := range rows {
		y := 4 + pitch*(float64(i)+0.5)
		share, low, high := thereShare(row)
		s.rowName("lb", room, y, pitch, wording.Capital(r.thereName(row)))
		s.line("w", x(low), y, x(high), y)
		s.dot("k", x(share), y, 4.2)
		what += fmt.Sprintf(" %s %s;", r.thereName(row), wording.Percent(share))
	}
	return template.HTML(s.drawing("mini", what))
}

// goesWith tells what is shown to go with a trace in a book, or over all of them.
func (r *Results) goesWith(row OverviewRow) Finding {
	if row.Touched != nil && row.Touched.Clear {
		return *row.Touched
	}
	for _, a := range r.Answers {
		if a.Told != nil && (a.Book == "" || a.Book == row.Book) {
			return Finding{Words: "Not settled", Detail: "numbers: with the questions below", P: 1}
		}
	}
	return Finding{Void: true, Words: "No question of this book", P: 1}
}

// asksOfTraces tells whether any question on traces was answered.
func (r *Results) asksOfTraces() bool {
	return slices.ContainsFunc(r.Answers, func(a hypotheses.Answer) bool { return a.Told != nil })
}

// agreedLine says how far observers agree, and what traces are.
func (r *Results) agreedLine() string {
	said := ""
	for _, a := range r.Traces.Agreement {
		alpha := wording.Fixed(a.Alpha.Value, 2)
		if finite(a.Alpha.Low) && finite(a.Alpha.High) {
			alpha = wording.Estimate(a.Alpha.Value, a.Alpha.Low, a.Alpha.High, 2)
		}
		if finite(a.Alpha.Value) {
			said += fmt.Sprintf("Observers agree on %s by an alpha of %s, where 1 is full agreement. ", r.Labels.Column(a.Trace), alpha)
		}
	}
	if said == "" {
		said = "How far observers agree is not known: nothing was coded twice. "
	}
	return said + "Traces show what was done to a page, not who did it, when, or why."
}
