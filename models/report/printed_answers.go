package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/wording"
)

func (r printing) answers() PrintedSection {
	var p PrintedPart
	for _, q := range r.questionViews() {
		said := Said{Head: q.Words}
		for _, a := range q.Answers {
			text := a.Sentence
			if a.Verdict != "" {
				text = a.Verdict + ": " + text
			}
			if a.Book != "" {
				text = "In “" + a.Book + "”: " + text
			}
			said.Paragraphs = append(said.Paragraphs, strings.Join(append([]string{text}, a.Again...), " "))
		}
		said.Paragraphs = append(said.Paragraphs, q.Foot)
		p.Said = append(p.Said, said)
	}
	if len(r.Answers) > 0 {
		p.Tables = append(p.Tables, r.answerTable())
	}
	return PrintedSection{"answers", "The answers", []PrintedPart{p}}
}

// answerTable holds the answers under their questions: one for all books, or one
// for each.
func (r *Results) answerTable() PrintedTable {
	t := PrintedTable{Name: "answers", Title: "The questions asked and their answers"}
	units := r.answerUnits()
	against := slices.ContainsFunc(r.Answers, func(a hypotheses.Answer) bool { return a.Against != nil })
	t.Heads = heads("Books", "Estimate#", "95"+wording.Narrow+"% interval#", "Degrees of freedom#", "p#", "p, adjusted#")
	if against {
		t.Heads = append(t.Heads, heads("p, against#")...)
	}
	t.Heads = append(t.Heads, heads("Answer")...)
	t.Caption = captioned(t.Title, fmt.Sprintf("Estimates are effects in %s; p is against no effect in the asked direction, alone and adjusted over the family.", wording.List(units)))
	if against {
		t.Caption += " The p against is that against an effect as large as would matter, adjusted likewise: a small one speaks for no."
	}
	asked := ""
	for _, a := range r.Answers {
		if key := a.Question.Model + "\x00" + a.Question.Words; key != asked {
			asked = key
			t.Panels = append(t.Panels, Panel{Heading: wording.Sentence(a.Question.Words) + r.matters(a.Question)})
		}
		name := "all together"
		if a.Book != "" {
			name = r.bookNameByID(a.Book)
		}
		last := &t.Panels[len(t.Panels)-1]
		last.Rows = append(last.Rows, answerRow(name, a, against))
	}
	return t
}

func answerRow(name string, a hypotheses.Answer, against bool) []Cell {
	decimals := wording.Decimals(a.Effect.SE)
	row := []Cell{words(name), number(a.Effect.Estimate, decimals), interval(a.Effect.Low, a.Effect.High, decimals),
		shown(a.Effect.DF, wording.DF(a.Effect.DF)), shown(a.P, wording.PValue(a.P)), shown(a.Adjusted, wording.PValue(a.Adjusted))}
	if against {
		cell := instead("")
		if a.AgainstAdjusted != nil {
			cell = shown(*a.AgainstAdjusted, wording.PValue(*a.AgainstAdjusted))
		}
		row = append(row, cell)
	}
	return append(row, words(a.Verdict))
}

// matters is the smallest effect that would matter to a question, with its unit.
func (r *Results) matters(q hypotheses.Question) string {
	unit := r.outcomeUnit(q.Model)
	if q.Smallest == 0 {
		return " (" + unit + ")"
	}
	return fmt.Sprintf(" (matters from %s %s)", strconv.FormatFloat(q.Smallest, 'f', -1, 64), unit)
}

// answerUnits are the units of the answers' effects, each once.
func (r *Results) answerUnits() []string {
	var out []string
	for _, a := range r.Answers {
		if unit := r.outcomeUnit(a.Question.Model); unit != "" && !slices.Contains(out, unit) {
			out = append(out, unit)
		}
	}
	return out
}

func (r printing) robustness() PrintedSection {
	s := PrintedSection{ID: "robustness", Heading: "Sensitivity of the answers to other choices"}
	for _, b := range r.Robustness {
		shows := ""
		if stated := b.stated(); stated != nil {
			shows = fmt.Sprintf("The study’s own answer rests on %s.", wording.Count(stated.N, "page", "pages"))
		}
		part := PrintedPart{ID: b.file(r.Results)}
		part.Figures = r.figure("robustness-"+part.ID, shows)
		part.Tables = append(part.Tables, r.robustGrid(b).print("robustness-"+part.ID, "Each row answers the question anew, with one choice made otherwise than the study file has it; p stands alone, in the asked direction, without adjustment."))
		s.Parts = append(s.Parts, part)
	}
	return s
}

func (r printing) models() PrintedSection {
	s := PrintedSection{ID: "models", Heading: "The models"}
	var names []string
	for _, m := range r.Models {
		if slices.Contains(names, m.Name) {
			continue
		}
		names = append(names, m.Name)
		part := PrintedPart{ID: r.modelFile(m.Name), Figures: r.figure("effects-"+r.modelFile(m.Name), r.answersOf(m.Name))}
		if said := r.modelSaid(m); len(said.Paragraphs) > 0 {
			part.Said = []Said{said}
		}
		if fits := r.fitsOf(m.Name); len(fits) > 0 {
			part.Tables = []PrintedTable{r.fixedTable(m.Name, fits), r.randomTable(m.Name, fits)}
		}
		s.Parts = append(s.Parts, part)
	}
	return s
}

// modelSaid is what a model's numbers need said beside them; what holds for several
// books is said once.
func (r *Results) modelSaid(first ModelResult) Said {
	said := Said{Head: "The model “" + first.Name + "”"}
	books := map[string][]string{}
	for _, m := range r.Models {
		if m.Name != first.Name {
			continue
		}
		for _, text := range r.fitSaid(m) {
			if _, known := books[text]; !known {
				said.Paragraphs = append(said.Paragraphs, text)
			}
			books[text] = append(books[text], m.Book)
		}
	}
	for i, text := range said.Paragraphs {
		if of := books[text]; of[0] != "" {
			names := make([]string, len(of))
			for k, id := range of {
				names[k] = r.quotedNameByID(id)
			}
			said.Paragraphs[i] = "In " + wording.List(names) + ": " + text
		}
	}
	if first.About != "" {
		said.Paragraphs = append([]string{wording.Sentence(first.About)}, said.Paragraphs...)
	}
	return said
}

// fitSaid is what one fit's numbers need said beside them.
func (r *Results) fitSaid(m ModelResult) []string {
	v := r.modelView(m)
	var out []string
	if v.Failed != "" {
		out = append(out, "Not fitted. "+v.Failed)
	}
	if len(v.Boundary) > 0 {
		out = append(out, "On the boundary: "+strings.Join(v.Boundary, "; ")+".")
	}
	return append(out, sentences(v.Notes)...)
}

func (r *Results) fitsOf(name string) []ModelResult {
	var out []ModelResult
	for _, m := range r.Models {
		if m.Name == name && m.Fit != nil {
			out = append(out, m)
		}
	}
	return out
}

// fitPanel is a panel of one fit: under the book where the model is fitted book
// by book, with what it rests on.
func (r *Results) fitPanel(m ModelResult, rows [][]Cell) Panel {
	if m.Book == "" {
		return Panel{Rows: rows}
	}
	return Panel{Heading: fmt.Sprintf("%s (%s)", r.bookNameByID(m.Book), fitFacts(m)), Rows: rows}
}

func fitFacts(m ModelResult) string {
	return fmt.Sprintf("%s, −2 log likelihood %s", wording.Count(m.Fit.N, "page", "pages"), wording.Fixed(m.Fit.MinusTwiceLogLik, 3))
}

// fitsCaption says of a table of fits what it rests on.
func fitsCaption(title string, fits []ModelResult) string {
	if fits[0].Book == "" {
		return captioned(title, wording.Sentence(fitFacts(fits[0])))
	}
	return captioned(title, fmt.Sprintf("Fitted in each of %s by itself.", wording.Count(len(fits), "book", "books")))
}

func (r *Results) fixedTable(name string, fits []ModelResult) PrintedTable {
	title := fmt.Sprintf("Effects of the model “%s” on %s (%s)", name, fits[0].Model.Outcome, r.outcomeUnit(name))
	t := PrintedTable{Name: "fixed-" + r.modelFile(name), Title: title}
	t.Caption = fitsCaption(title, fits) + " p is two-sided."
	for _, m := range fits {
		g := r.fixedGrid(m)
		g.dropLast() // drawn on the page only
		t.Heads = g.Heads
		t.Panels = append(t.Panels, r.fitPanel(m, g.Rows))
	}
	return t
}

func (r *Results) randomTable(name string, fits []ModelResult) PrintedTable {
	title := fmt.Sprintf("What varies between groups in the model “%s” (%s)", name, r.outcomeUnit(name))
	t := PrintedTable{Name: "random-" + r.modelFile(name), Title: title, Caption: fitsCaption(title, fits)}
	if len(fits) == 1 {
		t.Caption += " " + strings.Join(r.variationSentences(fits[0]), " ")
	} else {
		t.Caption += " The residuals, and correlations where there are any, stand in the table of random effects on disk."
	}
	for _, m := range fits {
		g := r.randomGrid(m)
		t.Heads = g.Heads
		t.Panels = append(t.Panels, Panel{Heading: r.bookNameByID(m.Book), Rows: g.Rows})
	}
	return t
}

// answersOf tells in brief what a model answered.
func (r *Results) answersOf(model string) string {
	var told []string
	words := ""
	for _, a := range r.Answers {
		if a.Question.Model != model {
			continue
		}
		effect := fmt.Sprintf("%s: %s, adjusted %s", a.Verdict, wording.Estimate(a.Effect.Estimate, a.Effect.Low, a.Effect.High, wording.Decimals(a.Effect.SE)), wording.P(a.Adjusted))
		if a.Book != "" {
			effect = r.quotedNameByID(a.Book) + " " + effect
		}
		if a.Question.Words == words {
			told[len(told)-1] += "; " + effect
			continue
		}
		words = a.Question.Words
		told = append(told, wording.Sentence(words)+" "+wording.Capital(effect))
	}
	if len(told) == 0 {
		return ""
	}
	return strings.Join(told, ". ") + "."
}
