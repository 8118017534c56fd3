package hypotheses

import (
	"context"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A Way answers a question once more, beside its model, from draws by chance. Each draw
// comes to one number that depends on the question, its seed and the draw's own number
// alone.
type Way struct {
	Of    string               // what is drawn
	By    string               // how a question is answered so, in words
	Draws func(q Question) int // how many a question asks for; 0 where it does not ask to be answered so
	Needs []string             // columns of pages that it needs beside the model's
	// Refused is what is expected in place of a question that the model cannot answer so,
	// at which key and how to mend it; "" where it can.
	Refused func(q Question, m mixed.Model) table.Problem
	Plan    func(b Basis) (Drawing, error)
	// Sentence is the answer in words; "" where there is none. Method says for the methods
	// section which answers were given so; "" where none was.
	Sentence func(a *Answer) string
	Method   func(answers []Answer) string

	check func(q Question, add func(key, value, expected, remedy string))
}

// A Basis is what draws are made from.
type Basis struct {
	Question Question
	Model    mixed.Model
	Pages    *table.Table
	Fit      func() (*mixed.Fit, error) // the fitted model, when they are drawn
}

// A Drawing is what is to be drawn for one question.
type Drawing struct {
	Count int // draws in all

	// Draw gives those numbered from up to but not including to.
	Draw   func(ctx context.Context, from, to int, progress func(done, of int)) ([]float64, error)
	Settle func(a *Answer, values []float64) error // puts what all came to into the answer
}

// Again are the answer's other ways of being answered, in words. There are none where
// the question asks for none.
func (a *Answer) Again() []string {
	var said []string
	for _, w := range Ways() {
		if again := w.Sentence(a); again != "" {
			said = append(said, again)
		}
	}
	return said
}

// counted is how many answers are of a kind.
func counted(answers []Answer, kind func(a Answer) bool) int {
	n := 0
	for _, a := range answers {
		if kind(a) {
			n++
		}
	}
	return n
}
