package report

import (
	"math"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/outcome"
	"thumbed/models/wording"
)

// A Topic is what a sentence speaks of.
type Topic string

// The topics, in the order in which a reader wants them.
const (
	Asked    Topic = "question" // the scholar's own question
	Read     Topic = "read"     // what was read
	Pictures Topic = "pictures" // which pages attract handling
	Stopped  Topic = "stopped"  // where the reader stopped
	Sure     Topic = "sure"     // how sure all this is
)

// Heading is the topic as a heading of a page or a terminal.
func (t Topic) Heading() string {
	switch t {
	case Asked:
		return "The questions asked"
	case Read:
		return "What was read"
	case Pictures:
		return "Which pages attract handling"
	case Stopped:
		return "Where wear drops"
	case Sure:
		return "How sure this is"
	}
	return string(t)
}

// A Number is one value that a sentence states, at full precision.
type Number struct {
	Name  string  `json:"name"`  // what it is
	Value float64 `json:"value"` // the number
	Low   float64 `json:"low"`   // lower end of its 95 % interval; null where none is stated
	High  float64 `json:"high"`  // upper end of it
	Unit  string  `json:"unit"`  // its unit in words: density, share, probability, p, pages …; empty for a plain count
}

// A Sentence is one answer in words, with the numbers that it carries.
type Sentence struct {
	Topic   Topic    `json:"topic"`   // heading under which it stands
	Book    string   `json:"book"`    // id of the book that it speaks of; empty where of the whole study
	Text    string   `json:"text"`    // the sentence
	Numbers []Number `json:"numbers"` // its numbers at full precision
	// Aside says that it is for the referee: the page folds it away.
	Aside bool `json:"aside"` // whether it is for the referee, folded away on the page
}

// Sentences are the answers in words with their intervals: first the scholar's
// own questions, then for each book what was read, which pages attract handling
// and where the reader stopped, then what books say of that together, and at the
// end how sure that is. Every face
// shows these same sentences.
func (r *Results) Sentences() []Sentence {
	var out []Sentence
	out = append(out, r.answerSentences()...)
	for i := range r.Books {
		out = append(out, r.spreadSentences(i)...)
	}
	out = append(out, r.togetherSentences()...)
	for i := range r.Books {
		out = append(out, aside(r.bookSentences(i))...)
	}
	for _, s := range r.Shared {
		out = append(out, aside([]Sentence{r.sharedSentence(s)})...)
	}
	for _, p := range r.Pairs {
		if p.Asked {
			out = append(out, aside([]Sentence{r.pairSentence(p)})...)
		}
	}
	return append(out, aside(r.sureSentences())...)
}

// aside marks sentences as the referee's.
func aside(sentences []Sentence) []Sentence {
	for i := range sentences {
		sentences[i].Aside = true
	}
	return sentences
}

func (r *Results) answerSentences() []Sentence {
	var out []Sentence
	for _, a := range r.Answers {
		text := wording.Sentence(a.Question.Words)
		if a.Book != "" {
			text += " In " + r.quotedNameByID(a.Book) + ":"
		}
		text += " " + wording.Typeset(wording.Sentence(a.Sentence))
		for _, again := range a.Again() {
			text += " " + wording.Typeset(again)
		}
		unit := r.outcomeUnit(a.Question.Model)
		numbers := []Number{
			{Name: a.Effect.Term, Value: a.Effect.Estimate, Low: a.Effect.Low, High: a.Effect.High, Unit: unit},
			plain("t", a.Effect.T, ""),
			plain("degrees of freedom", a.Effect.DF, ""),
			plain("p in the asked direction", a.P, "p"),
			plain("p adjusted over the family", a.Adjusted, "p"),
		}
		if b := a.Bootstrapped; b != nil {
			numbers = append(numbers, Number{Name: a.Effect.Term + ", by bootstrap", Value: a.Effect.Estimate, Low: b.Low, High: b.High, Unit: unit},
				plain("p in the asked direction, by bootstrap", b.P, "p"))
		}
		out = append(out, Sentence{Topic: Asked, Book: a.Book, Text: text, Numbers: numbers})
	}
	return out
}

// plain is a number without an interval.
func plain(name string, value float64, unit string) Number {
	return Number{Name: name, Value: value, Low: math.NaN(), High: math.NaN(), Unit: unit}
}

// outcomeUnit is the unit of the effects of the model so named.
func (r *Results) outcomeUnit(model string) string {
	for _, m := range r.Models {
		if m.Name == model {
			return outcome.Of(m.Model).UnitOf()
		}
	}
	return ""
}

// bookName is how the text calls a book: its title without what stands in
// brackets at its end (mostly the shelf mark, which is told once), with the id
// where another book of the study would bear the same name; or the id alone.
func (r *Results) bookName(b *codex.Book) string {
	name := shortTitle(b)
	if name == "" {
		return b.ID
	}
	for _, other := range r.Books {
		if other.Book != b && shortTitle(other.Book) == name {
			return name + " (" + b.ID + ")"
		}
	}
	return name
}

func shortTitle(b *codex.Book) string {
	if at := strings.IndexByte(b.Title, '('); at > 0 && strings.HasSuffix(b.Title, ")") {
		return strings.TrimSpace(b.Title[:at])
	}
	return b.Title
}

// quotedName is the book's name as a sentence sets it off: a title in quotation
// marks, a bare id without.
func (r *Results) quotedName(b *codex.Book) string {
	if b.Title == "" {
		return b.ID
	}
	return "“" + r.bookName(b) + "”"
}

func (r *Results) quotedNameByID(id string) string {
	for _, b := range r.Books {
		if b.Book.ID == id {
			return r.quotedName(b.Book)
		}
	}
	return id
}

func (r *Results) bookNameByID(id string) string {
	for _, b := range r.Books {
		if b.Book.ID == id {
			return r.bookName(b.Book)
		}
	}
	return id
}
