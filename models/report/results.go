package report

import (
	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// Meta is what the study says of itself.
type Meta struct {
	Title    string
	Author   string
	Note     string // any statement of the scholar's, shown near the top
	Invented bool   // the data are invented; the page says so first
	Program  string // name and version of the program
}

// A BookResult is everything about one book.
type BookResult struct {
	Book     *codex.Book
	Profile  *profile.Profile   // nil where the book has no usable wear
	Declines []*dropoff.Decline // one for each set of hours
	Habits   *dropoff.Habits    // along the whole book; nil where they could not be looked for
	Failed   []string           // sentences: what could not be computed and why
}

// A ModelResult is one model of the study file and its fit.
type ModelResult struct {
	Name    string             `json:"name"`              // name of the model
	About   string             `json:"about"`             // what it is for, in the scholar's words
	Book    string             `json:"book"`              // the book, where it is fitted book by book
	Model   mixed.Model        `json:"model"`             // the model as the study file has it
	Fit     *mixed.Fit         `json:"fit"`               // the fit; null where there is none
	Rows    []int              `json:"-"`                 // of [Results.Pages], those that the fit took
	Failed  string             `json:"failed"`            // a sentence why there is none; else empty
	Allowed []traces.Allowance `json:"allowed,omitempty"` // features measured with error, and what was put in their place
	Added   []string           `json:"-"`                 // groups that were added for some of its questions; see [hypotheses.ungrouped]
}

// Results is all that a study computes, once; every face renders this value.
// Books stand in the order that readings.Wear.Book counts in.
type Results struct {
	Meta     Meta
	Labels   wording.Labels // words of columns and levels, as the study file has them
	Books    []BookResult
	Readings *readings.Result
	Pages    *table.Table // every page with its features and its wear, as [readings.Join] gives it; models are fitted to its rows
	Shared   []SharedDrop // one for each set of hours that several books have
	Pairs    []ReaderPair // readers compared two by two
	Models   []ModelResult
	Answers  []hypotheses.Answer
	// Unanswered are the questions that got no answer; Notes say why.
	Unanswered []Unanswered
	Traces     *TraceResults // nil where no trace was looked for
	Seal       *Seal         // nil where the study was not sealed
	// Robustness is the sensitivity of the answers to other choices, those of the study file
	// first in each; empty where none were tried.
	Robustness []Robustness
	Notes      []string
	Images     []Images // of books on whose images the wear is said; see [Results.Annotate]
}

// An Unanswered is a question that got no answer from its model, or from that of one book
// where it is fitted book by book.
type Unanswered struct {
	Question hypotheses.Question
	Book     string // empty where the model is one of all books
}

// A Seal is the statement of questions and models made before the readings; each
// answer tells whether it was foreseen by it.
type Seal struct {
	Day    string `json:"day"`    // day of the seal, as a date of the log
	SHA256 string `json:"sha256"` // SHA-256 of seal.json, in hexadecimal
}

// wearOf lists the wear of the pages of the book at index book, in page order.
func (r *Results) wearOf(book int) []readings.Wear {
	if r.Readings == nil {
		return nil
	}
	return r.Readings.OfBook(book)
}
