package report

import (
	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// TraceResults is all that a study computes of its traces.
type TraceResults struct {
	Coding    []traces.Trace     `json:"coding_book"` // the traces, with their grades or what counts as one
	States    []traces.State     `json:"states"`      // things in their three states, by trace, book and part
	Agreement []traces.Agreement `json:"agreement"`   // how far observers agree on what was coded twice
	Prints    []traces.Print     `json:"prints"`      // whether traces on facing pages may be prints of each other
	Models    []TraceModel       `json:"models"`      // the models of traces as fitted

	Looks *traces.Looks `json:"-"` // as they were read
	Table *table.Table  `json:"-"` // every kept look with the features of its page: the rows that models are fitted to
}

// looked tells whether anybody looked for traces.
func (r *Results) looked() bool { return r.Traces != nil && r.Traces.Looks != nil }

// A TraceModel is one model of a trace and its fit.
type TraceModel struct {
	Name     string             `json:"name"`               // its name
	About    string             `json:"about"`              // what it is for, in the scholar's words
	Book     string             `json:"book,omitempty"`     // set where it is fitted book by book
	Model    mixed.Model        `json:"model"`              // the model as fitted, with its usual random terms
	Usual    []string           `json:"usual,omitempty"`    // random terms that the study file does not name and that were added: books, pages, things coded more than once, observers with how each drifts along a book, days of each observer
	Again    int                `json:"again,omitempty"`    // looks at things that another look of the model is at: they tell how far observers agree, and do not enter it
	Added    []string           `json:"added,omitempty"`    // groups that were added for some of its questions
	Allowed  []traces.Allowance `json:"allowed,omitempty"`  // features measured with error, and what was put in their place
	Fit      *generalised.Fit   `json:"fit"`                // the fit; null where it failed
	Expected []TraceExpected    `json:"expected,omitempty"` // what was seen against what the model expects, by the levels of its features
	Failed   string             `json:"failed,omitempty"`   // why it could not be fitted
}

// TraceExpected is what was seen of some looks, and what the model expects of such
// looks in books, pages and by observers not seen before.
type TraceExpected struct {
	Column   string  `json:"column"`   // the feature
	Level    string  `json:"level"`    // its level
	Of       string  `json:"of"`       // the value whose share it is; of counts "count": the mean count
	Looks    int     `json:"looks"`    // looks with this level
	Seen     float64 `json:"seen"`     // share, or mean count, that was seen
	Expected float64 `json:"expected"` // the same as the model expects it
}
