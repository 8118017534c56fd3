package report

import (
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/profile"
	"thumbed/models/readings"
)

// The shape of results.json. Its keys are a promise; see [Results.JSON].

type studyNumbers struct {
	Program   string              `json:"program"`          // name and version of the program
	Title     string              `json:"title"`            // title of the study
	Author    string              `json:"author"`           // who asks
	Note      string              `json:"note"`             // a sentence or two on the study
	Invented  bool                `json:"invented"`         // whether the books and readings are invented
	Overview  Overview            `json:"overview"`         // the study in one look: the first screen of the page
	Sentences []Sentence          `json:"sentences"`        // what was found, in words, with the numbers of each sentence
	Answers   []hypotheses.Answer `json:"answers"`          // the answers to the questions
	Seal      *Seal               `json:"seal,omitempty"`   // the seal of questions and models, where there is one
	Robust    []robustNumbers     `json:"robustness"`       // sensitivity: the answers with one choice made otherwise
	Books     []bookNumbers       `json:"books"`            // each book: wear, curve, sections, hours, habits
	Shared    []sharedNumbers     `json:"shared_drops"`     // where readers of several books stopped, for each set of hours that they share
	Pairs     []pairNumbers       `json:"reader_pairs"`     // readers compared two by two
	Models    []ModelResult       `json:"models"`           // the models as fitted
	Readings  *readingNumbers     `json:"readings"`         // what is known of the measuring
	Traces    *TraceResults       `json:"traces,omitempty"` // traces: the coding book, what was seen, how far observers agree, and the models; left out where no trace was looked for
	Notes     []string            `json:"notes"`            // plain sentences on what could not be done, and why
}

type robustNumbers struct {
	Question string      `json:"question"` // the question in words
	Model    string      `json:"model"`    // name of the model
	Book     string      `json:"book"`     // the book, where the model is fitted book by book
	Choices  []RobustRow `json:"choices"`  // the answer under each choice, that of the study file first
}

type bookNumbers struct {
	ID        string            `json:"id"`                   // the book's id
	Title     string            `json:"title"`                // the book with its shelfmark
	Owner     string            `json:"owner"`                // who owned and used it
	Leaves    int               `json:"leaves"`               // leaves, lost ones among them
	Lost      int               `json:"lost"`                 // leaves that are lost
	Measured  int               `json:"measured"`             // pages measured
	Wear      []wearNumbers     `json:"wear"`                 // wear of every measured page
	Curve     *profile.Curve    `json:"curve"`                // the curve of wear along the book; null where none could be computed
	Sections  []areaNumbers     `json:"sections"`             // wear of every section
	Tested    int               `json:"tested"`               // pages tested for standing out
	Pictures  int               `json:"pictures_tested"`      // of them, pages with a picture
	Rate      float64           `json:"false_discovery_rate"` // expected share of pages listed in standouts that do not stand out
	Tests     []standoutNumbers `json:"tests"`                // every page tested for standing out, in the order of the book
	Standouts []standoutNumbers `json:"standouts"`            // pages that stand above the text pages of their section
	Carried   []declineNumbers  `json:"carried"`              // wear through the day against the first office, for each set of hours
	Habits    *habitNumbers     `json:"habits"`               // changes of wear along the whole book; null where they could not be looked for
	Notes     []string          `json:"notes"`                // plain sentences on what should be known before the numbers are used
	Failed    []string          `json:"failed"`               // sentences: what could not be computed, and why
}

type wearNumbers struct {
	Page     string `json:"page"`     // the page's label
	Position int    `json:"position"` // its place along the physical book, from 1
	readings.Wear
}

type areaNumbers struct {
	Section string `json:"section"` // name of the section
	Kind    string `json:"kind"`    // its kind
	Set     string `json:"set"`     // which set of hours
	Office  string `json:"office"`  // which office of the day
	Extent  string `json:"extent"`  // where it stands
	profile.Area
}

type standoutNumbers struct {
	Page    string `json:"page"`    // the page's label
	Section string `json:"section"` // the section that it is in
	Picture bool   `json:"picture"` // whether it has a picture
	Subject string `json:"subject"` // what the picture shows
	profile.Standout
}

type declineNumbers struct {
	dropoff.Decline
	Offices           []officeNumbers `json:"offices"`                // wear of each office, and its share of that of the first
	Curve             *fallingNumbers `json:"curve"`                  // the shares as a curve that never rises; null where none can be given
	Pages             []string        `json:"pages"`                  // labels of the pages of the series
	Values            []float64       `json:"values" unit:"density"`  // their wear, adjusted
	SE                []float64       `json:"se" unit:"density"`      // its standard errors
	ChangeProbability []float64       `json:"each_probability"`       // for each row, the probability that a change follows it
	Number            []float64       `json:"number_probability"`     // probability of each number of changes, from none
	Scatter           float64         `json:"scatter" unit:"density"` // standard deviation of pages about the levels
}

type officeNumbers struct {
	Office string `json:"office"` // the office of the day
	Order  int    `json:"order"`  // its place in the day, Matins 1
	dropoff.OfficeShare
}

type readingNumbers struct {
	readings.Result
	Shared []sourceNumbers `json:"shared"` // errors that the pages of one day, observer or instrument share, where there are two or more of them
}

type sourceNumbers struct {
	readings.Source
	Upper float64 `json:"upper" unit:"density"` // its upper 95 % limit
}

func (r *Results) numbers() studyNumbers {
	out := studyNumbers{
		Program: r.Meta.Program, Title: r.Meta.Title, Author: r.Meta.Author, Note: r.Meta.Note, Invented: r.Meta.Invented,
		Overview: r.Overview(), Sentences: r.Sentences(), Answers: r.Answers, Seal: r.Seal, Traces: r.Traces, Notes: r.Notes,
	}
	for _, robust := range r.Robustness {
		out.Robust = append(out.Robust, robustNumbers{robust.Question.Words, robust.Question.Model, robust.Book, robust.Rows})
	}
	for i := range r.Books {
		out.Books = append(out.Books, r.bookNumbers(i))
	}
	out.Shared, out.Pairs = r.sharedNumbers(), r.pairNumbers()
	out.Models = timeless(r.Models)
	out.Readings = readingsNumbers(r.Readings)
	return out
}

// timeless are the models without how long each fit took, the one value of a run that
// another run does not repeat.
func timeless(models []ModelResult) []ModelResult {
	out := slices.Clone(models)
	for i, m := range out {
		if m.Fit != nil {
			fit := *m.Fit
			fit.Seconds = 0
			out[i].Fit = &fit
		}
	}
	return out
}

func (r *Results) bookNumbers(i int) bookNumbers {
	b := r.Books[i]
	out := bookNumbers{ID: b.Book.ID, Title: b.Book.Title, Owner: b.Book.Owner, Leaves: len(b.Book.Leaves), Lost: lostLeaves(b.Book), Failed: b.Failed}
	for _, w := range r.wearOf(i) {
		out.Wear = append(out.Wear, wearNumbers{pageLabel(b.Book, w.Page), b.Book.Pages[w.Page].Position, w})
	}
	if b.Profile != nil {
		out.profile(b.Book, b.Profile)
	}
	for _, c := range b.Declines {
		out.Carried = append(out.Carried, carriedNumbersOf(b.Book, c))
	}
	out.Habits = habitNumbersOf(b.Book, b.Habits)
	return out
}

func lostLeaves(b *codex.Book) int {
	lost := 0
	for _, l := range b.Leaves {
		if l.State == codex.Lost {
			lost++
		}
	}
	return lost
}

func (out *bookNumbers) profile(b *codex.Book, p *profile.Profile) {
	out.Measured, out.Tested, out.Pictures, out.Rate, out.Notes = p.Measured, p.Tested, p.Pictures, p.Rate, p.Notes
	out.Curve = &p.Curve
	for _, a := range p.Areas {
		s := b.Sections[a.Section]
		out.Sections = append(out.Sections, areaNumbers{s.Name, s.Kind, s.Set, s.Office.String(), s.Extent.Written, a})
	}
	out.Tests, out.Standouts = standoutNumbersOf(b, p.Tests), standoutNumbersOf(b, p.Standouts)
}

func standoutNumbersOf(b *codex.Book, pages []profile.Standout) []standoutNumbers {
	var out []standoutNumbers
	for _, o := range pages {
		row := standoutRow{book: b, out: o}
		out = append(out, standoutNumbers{pageLabel(b, o.Page), row.sectionName(), row.page().Picture, row.page().Subject, o})
	}
	return out
}

func carriedNumbersOf(b *codex.Book, c *dropoff.Decline) declineNumbers {
	out := declineNumbers{Decline: *c, Values: c.Series.Values, SE: c.Series.SE, Scatter: math.NaN(), Curve: fallingNumbersOf(c.Curve)}
	if c.Changes != nil {
		out.ChangeProbability, out.Number, out.Scatter = c.Changes.ChangeProbability, c.Changes.CountProbability, c.Changes.Scatter
	}
	for _, page := range c.Pages {
		out.Pages = append(out.Pages, pageLabel(b, page))
	}
	for _, o := range c.Offices {
		out.Offices = append(out.Offices, officeNumbersOf(o))
	}
	return out
}

func officeNumbersOf(o dropoff.OfficeShare) officeNumbers {
	return officeNumbers{o.Office.String(), o.Office.Order(), o}
}

func readingsNumbers(r *readings.Result) *readingNumbers {
	if r == nil {
		return nil
	}
	out := &readingNumbers{Result: *r}
	for _, s := range r.Shared {
		numbers := sourceNumbers{s, s.Upper()}
		if !s.Known {
			numbers.SD, numbers.SpreadDF, numbers.Upper, numbers.DF = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		}
		out.Shared = append(out.Shared, numbers)
	}
	return out
}
