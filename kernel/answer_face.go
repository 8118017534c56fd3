package kernel

import (
	"io"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/report"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// answerFaces shows questions with their answers.
func answerFaces(answers []hypotheses.Answer) ([]Output, error) {
	text, err := written(func(w io.Writer) error { return hypotheses.Text(w, answers) })
	if err != nil {
		return nil, err
	}
	g := grid.Grid{Title: "Questions and answers", Empty: "No question was asked.",
		Heads: grid.Heads("Question", "Book", "Answer", "Effect#", "95 % interval#", "p, adjusted#")}
	var words []string
	for _, a := range answers {
		decimals := wording.Decimals(a.Effect.SE)
		g.AddTexts(a.Question.Words, a.Book, a.Verdict, wording.Fixed(a.Effect.Estimate, decimals), wording.Interval(a.Effect.Low, a.Effect.High, decimals), wording.PValue(a.Adjusted))
		words = append(words, a.Sentence)
	}
	return []Output{{Plain: text, HTML: g.Notebook() + noteList(words)}}, nil
}

// resultsFaces shows all that a study found: the answers in sentences, then the
// charts.
func resultsFaces(r *report.Results) ([]Output, error) {
	var plain, page strings.Builder
	head := r.Meta.Title
	if r.Meta.Invented {
		head += " – invented data"
	}
	plain.WriteString(head + "\n")
	page.WriteString(paragraphs(head))
	var topic report.Topic
	var book string
	for _, s := range r.Sentences() {
		if s.Topic != topic || s.Book != book {
			topic, book = s.Topic, s.Book
			title := topic.Heading()
			if book != "" && topic != report.Asked {
				title += ": " + book
			}
			if topic != report.Asked || !strings.Contains(plain.String(), title) {
				plain.WriteString("\n" + title + "\n")
				page.WriteString("<h4>" + escapeAll([]string{title})[0] + "</h4>\n")
			}
		}
		plain.WriteString(s.Text + "\n")
		page.WriteString(paragraphs(s.Text))
	}
	figures, err := figureFaces(r.Figures())
	return append([]Output{{Plain: plain.String(), HTML: page.String()}}, figures...), err
}
