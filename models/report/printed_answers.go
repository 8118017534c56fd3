package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// answers are a paragraph for each question, and the table of all.
func (r printing) answers() PrintedSection {
	var p PrintedPart
	for _, q := range r.asked() {
		p.Said = append(p.Said, Said{q.words, []string{r.answerWords(q) + " " + questionFoot(q.answers[0])}})
	}
	if len(r.Answers) > 0 {
		p.Tables = append(p.Tables, r.answerTable())
	}
	return PrintedSection{ID: "answers", Heading: "The answers", Parts: []PrintedPart{p}}
}

// mostListed is how many things a sentence lists; more stand in a table.
const mostListed = 5

// answerWords tell a question's answer, or those of all books, in one sentence.
func (r *Results) answerWords(q askedQuestion) string {
	if len(q.answers) == 1 && q.answers[0].Book == "" {
		return wording.Capital(q.answers[0].Verdict) + ": " + r.effectInFull(q.answers[0]) + "."
	}
	var parts []string
	for _, verdict := range verdicts {
		var books []string
		for _, a := range q.answers {
			if a.Verdict == verdict {
				books = append(books, r.shortByID(a.Book)+" ("+r.effectInFull(a)+")")
			}
		}
		switch n := len(books); {
		case n == 0:
		case len(q.answers) > mostListed:
			parts = append(parts, fmt.Sprintf("%s in %s of %s", verdict, wording.Whole(n), wording.Count(len(q.answers), "book", "books")))
		default:
			parts = append(parts, verdict+" in "+wording.List(books))
		}
	}
	return wording.Sentence(strings.Join(parts, "; "))
}

// effectInFull is an effect with its interval and its unit.
func (r *Results) effectInFull(a hypotheses.Answer) string {
	if a.Told != nil {
		return a.Told.Brief()
	}
	return strings.TrimSpace(wording.Estimate(a.Effect.Estimate, a.Effect.Low, a.Effect.High, wording.Decimals(a.Effect.SE)) + " " + r.outcomeUnit(a.Question.Model))
}

// answersInFull are the sentences of all answers, for the appendix.
func (r printing) answersInFull() PrintedSection {
	var p PrintedPart
	for _, q := range r.questionViews() {
		said := Said{Head: q.Words}
		for _, a := range q.Answers {
			text := a.Sentence
			if a.Book != "" {
				text = "In “" + a.Book + "”: " + text
			}
			said.Paragraphs = append(said.Paragraphs, strings.Join(append([]string{text}, a.Again...), " "))
		}
		p.Said = append(p.Said, said)
	}
	return PrintedSection{ID: "answers-in-full", Heading: "The answers in full", Parts: []PrintedPart{p}}
}

// answerTable holds the answers under their questions: one for all books, or one
// for each.
func (r *Results) answerTable() grid.Grid {
	t := grid.Grid{Name: "answers", Title: "The questions asked and their answers",
		Note: fmt.Sprintf("Estimates are effects in %s; p is against no effect in the asked direction, alone and adjusted over the family.", wording.List(r.answerUnits()))}
	against := slices.ContainsFunc(r.Answers, func(a hypotheses.Answer) bool { return a.Against != nil })
	if against {
		t.Note += " The p against is that against an effect as large as would matter, adjusted likewise: a small one speaks for no."
	}
	for _, q := range r.asked() {
		m := grid.Of("", "", q.answers)
		m.Show("Books", func(a hypotheses.Answer) grid.Cell {
			return grid.Words(r.answeredIn(a))
		})
		m.Show("Estimate#", func(a hypotheses.Answer) grid.Cell {
			return grid.Number(a.Effect.Estimate, wording.Decimals(a.Effect.SE))
		})
		m.Show(interval95+"#", func(a hypotheses.Answer) grid.Cell {
			return grid.Interval(a.Effect.Low, a.Effect.High, wording.Decimals(a.Effect.SE))
		})
		m.Show("Degrees of freedom#", func(a hypotheses.Answer) grid.Cell { return grid.Shown(a.Effect.DF, wording.DF(a.Effect.DF)) })
		m.Show("p#", func(a hypotheses.Answer) grid.Cell { return grid.Shown(a.P, wording.PValue(a.P)) })
		m.Show("p, adjusted#", func(a hypotheses.Answer) grid.Cell { return grid.Shown(a.Adjusted, wording.PValue(a.Adjusted)) })
		if against {
			m.Show("p, against#", func(a hypotheses.Answer) grid.Cell {
				if a.AgainstAdjusted == nil {
					return grid.Instead("")
				}
				return grid.Shown(*a.AgainstAdjusted, wording.PValue(*a.AgainstAdjusted))
			})
		}
		m.Show("Answer", func(a hypotheses.Answer) grid.Cell { return grid.Words(a.Verdict) })
		t.Join(wording.Sentence(q.words)+r.matters(q.answers[0].Question), m.Made())
	}
	return t
}

// answeredIn is the book that an answer is of.
func (r *Results) answeredIn(a hypotheses.Answer) string {
	if a.Book == "" {
		return "all together"
	}
	return r.shortByID(a.Book)
}

// matters is the smallest effect that would matter to a question, with its unit.
func (r *Results) matters(q hypotheses.Question) string {
	unit := r.outcomeUnit(q.Model)
	if q.Smallest == 0 {
		return " (" + unit + ")"
	}
	return fmt.Sprintf(" (matters from %s)", strings.TrimSpace(number(q.Smallest)+" "+unit))
}

// number is one that the scholar wrote. Of a probability it is made into log odds: more
// digits would be those of a processor.
func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

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
			one, many := "page", "pages"
			if stated.Told != nil {
				one, many = "look", "looks"
			}
			shows = fmt.Sprintf("The study’s own answer rests on %s.", wording.Count(stated.N, one, many))
		}
		part := PrintedPart{ID: b.file(r.Results)}
		part.Figures = r.figures("robustness-"+part.ID, shows)
		part.Tables = append(part.Tables, r.robustGrid(b).Named("robustness-"+part.ID, "Each row answers the question anew, with one choice made otherwise than the study file has it; p stands alone, in the asked direction, without adjustment."))
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
		part := PrintedPart{ID: r.modelFile(m.Name), Figures: r.figures("effects-"+r.modelFile(m.Name), r.answersOf(m.Name))}
		if said := r.modelSaid(m); len(said.Paragraphs) > 0 {
			part.Said = []Said{said}
		}
		if fits := r.fitsOf(m.Name); len(fits) > 0 {
			part.Tables = []grid.Grid{r.printedFixed(m.Name, fits), r.printedRandom(m.Name, fits)}
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

func fitFacts(m ModelResult) string {
	return fmt.Sprintf("%s, −2 log likelihood %s", wording.Count(m.Fit.N, "page", "pages"), wording.Fixed(m.Fit.MinusTwiceLogLik, 3))
}

// fitsNote says what a table of fits rests on.
func fitsNote(fits []ModelResult) string {
	if fits[0].Book == "" {
		return wording.Sentence(fitFacts(fits[0]))
	}
	return fmt.Sprintf("Fitted in each of %s by itself.", wording.Count(len(fits), "book", "books"))
}

// fitsTable gathers the tables of a model's fits, one a panel where it is fitted book
// by book.
func (r *Results) fitsTable(name, title string, fits []ModelResult, of func(ModelResult) grid.Grid) grid.Grid {
	t := grid.Grid{Name: name, Title: title, Note: fitsNote(fits)}
	for _, m := range fits {
		heading := ""
		if m.Book != "" {
			heading = fmt.Sprintf("%s (%s)", r.bookNameByID(m.Book), fitFacts(m))
		}
		t.Join(heading, of(m))
	}
	return t
}

func (r *Results) printedFixed(name string, fits []ModelResult) grid.Grid {
	t := r.fitsTable("fixed-"+r.modelFile(name), fmt.Sprintf("Effects of the model “%s” on %s (%s)", name, r.Labels.Column(fits[0].Model.Outcome), r.outcomeUnit(name)), fits, r.fixedGrid)
	t.Note += " p is two-sided."
	return t.Without(len(t.Heads) - 1) // drawn on the page only
}

func (r *Results) printedRandom(name string, fits []ModelResult) grid.Grid {
	t := r.fitsTable("random-"+r.modelFile(name), fmt.Sprintf("What varies between groups in the model “%s” (%s)", name, r.outcomeUnit(name)), fits, r.randomGrid)
	t.Note = strings.TrimSpace(t.Note + " " + deviationNote(each(fits, func(m ModelResult) []randomRow { return betweenGroups(m.randomRows()) })))
	if len(fits) == 1 {
		t.Note += " " + strings.Join(r.variationSentences(fits[0], "page", "pages"), " ")
	} else {
		t.Note += " The residuals, and correlations where there are any, stand in the table of random effects on disk."
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
