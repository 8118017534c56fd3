package report

import (
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/traces"
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
	Robust    []robustNumbers     `json:"robustness"`       // the answers under other choices
	Books     []bookNumbers       `json:"books"`            // each book: wear, curve, sections, hours, habits
	Shared    []sharedNumbers     `json:"shared_drops"`     // where readers of several books stopped, for each set of hours that they share
	Pairs     []pairNumbers       `json:"reader_pairs"`     // readers compared two by two
	Models    []modelNumbers      `json:"models"`           // the models as fitted
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
	Curve     *curveNumbers     `json:"curve"`                // the curve of wear along the book; null where none could be computed
	Sections  []areaNumbers     `json:"sections"`             // wear of every section
	Tested    int               `json:"tested"`               // pages tested for standing out
	Pictures  int               `json:"pictures_tested"`      // of them, pages with a picture
	Rate      float64           `json:"false_discovery_rate"` // expected share of pages listed in standouts that do not stand out
	Tests     []standoutNumbers `json:"tests"`                // every page tested for standing out, in the order of the book
	Standouts []standoutNumbers `json:"standouts"`            // pages that stand above the text pages of their section
	Carried   []declineNumbers  `json:"carried"`              // how far readings were carried through the day, for each set of hours
	Habits    *habitNumbers     `json:"habits"`               // changes of wear along the whole book; null where they could not be looked for
	Notes     []string          `json:"notes"`                // plain sentences on what should be known before the numbers are used
	Failed    []string          `json:"failed"`               // sentences: what could not be computed, and why
}

type wearNumbers struct {
	Page       string  `json:"page"`                           // the page's label
	Position   int     `json:"position"`                       // its place along the physical book, from 1
	Wear       float64 `json:"wear" unit:"density"`            // density above the page's own zero; the bound where limit is set
	SE         float64 `json:"wear_se" unit:"density"`         // its standard error
	DF         float64 `json:"wear_df"`                        // degrees of freedom of wear_se
	Limit      string  `json:"limit" words:" / below / above"` // below: wear is at most this; above: at least; empty: measured
	Coverage   float64 `json:"coverage"`                       // share of the area covered by solid deposit (Murray–Davies), 0 to 1
	CoverageSE float64 `json:"coverage_se"`                    // its standard error
	Placings   int     `json:"placings"`                       // placings of the instrument on the thumbed place
	Zeros      int     `json:"zeros"`                          // readings of the page's own zero
	AtLimit    int     `json:"at_limit"`                       // of placings and zeros, those at the instrument's floor or ceiling
	Sittings   int     `json:"sittings"`                       // days, instruments and observers
	Spot       string  `json:"spot"`                           // fixed or darkest
}

type curveNumbers struct {
	Position []int     `json:"position"`                // places along the book, from 1
	Estimate []float64 `json:"estimate" unit:"density"` // the curve there
	SE       []float64 `json:"se" unit:"density"`       // its standard error
	Low      []float64 `json:"low" unit:"density"`      // lower end of the 95 % interval
	High     []float64 `json:"high" unit:"density"`     // upper end of the 95 % interval
	// numbers, from 0, of the values at which the curve is drawn anew: leaves are lost
	// before, or another section begins
	Breaks  []int   `json:"breaks"`
	Smooth  float64 `json:"effective_df"`                    // degrees of freedom of the curve, those of the sections' levels and of picture among them; 2 is a straight line
	Between float64 `json:"between_sections" unit:"density"` // standard deviation of the levels of sections about the smooth; 0: none
	Scatter float64 `json:"scatter" unit:"density"`          // standard deviation of pages about the curve, without the error of measuring
	DF      float64 `json:"df"`                              // degrees of freedom of the intervals
	LogLik  float64 `json:"loglik"`                          // logarithm of the restricted likelihood

	Picture   float64 `json:"picture" unit:"density"`    // what a picture adds; zero with picture_se where the book does not tell
	PictureSE float64 `json:"picture_se" unit:"density"` // its standard error
}

type areaNumbers struct {
	Section     string  `json:"section"`                           // name of the section
	Kind        string  `json:"kind"`                              // its kind
	Set         string  `json:"set"`                               // which set of hours
	Office      string  `json:"office"`                            // which office of the day
	Extent      string  `json:"extent"`                            // where it stands
	Pages       int     `json:"pages"`                             // pages present
	Measured    int     `json:"measured"`                          // pages measured
	AtLimit     int     `json:"at_limit"`                          // of those, at an instrument's limit
	Total       float64 `json:"total" unit:"density × pages"`      // area under the pages' wear
	TotalSE     float64 `json:"total_se" unit:"density × pages"`   // its standard error
	TotalLow    float64 `json:"total_low" unit:"density × pages"`  // lower end of its 95 % interval
	TotalHigh   float64 `json:"total_high" unit:"density × pages"` // upper end of its 95 % interval
	PerPage     float64 `json:"per_page" unit:"density"`           // wear per page
	PerPageSE   float64 `json:"per_page_se" unit:"density"`        // its standard error
	PerPageLow  float64 `json:"per_page_low" unit:"density"`       // lower end of its 95 % interval
	PerPageHigh float64 `json:"per_page_high" unit:"density"`      // upper end of its 95 % interval
	DF          float64 `json:"df"`                                // degrees of freedom of the standard errors
}

type standoutNumbers struct {
	Page    string  `json:"page"`                     // the page's label
	Section string  `json:"section"`                  // the section that it is in
	Picture bool    `json:"picture"`                  // whether it has a picture
	Subject string  `json:"subject"`                  // what the picture shows
	Level   float64 `json:"level" unit:"density"`     // median of the section's text pages without this one
	AtLeast bool    `json:"at_least"`                 // whether the page's wear is known only to be at least a bound, and so excess and its interval too
	Excess  float64 `json:"excess" unit:"density"`    // wear above level
	SE      float64 `json:"excess_se" unit:"density"` // its standard error
	Low     float64 `json:"low" unit:"density"`       // lower end of its 95 % interval
	High    float64 `json:"high" unit:"density"`      // upper end of its 95 % interval
	P       float64 `json:"p"`                        // p-value against no excess, one-sided
	Q       float64 `json:"q"`                        // p adjusted over the pages tested in the book (Benjamini–Hochberg)
	DF      float64 `json:"df"`                       // degrees of freedom
}

type declineNumbers struct {
	Set               string           `json:"set"`                    // which set of hours
	Share             float64          `json:"share"`                  // wear of the last office as a share of that of the first
	Low               float64          `json:"low"`                    // lower end of its 95 % interval
	High              float64          `json:"high"`                   // upper end of its 95 % interval
	Refused           string           `json:"refused"`                // why no share is given; else empty
	Adjusted          []string         `json:"adjusted"`               // features whose effect was removed first
	Offices           []officeNumbers  `json:"offices"`                // wear of each office, and the share carried on to it
	Curve             *fallingNumbers  `json:"curve"`                  // the shares as a curve that never rises; null where none can be given
	Pages             []string         `json:"pages"`                  // labels of the pages of the series
	Values            []float64        `json:"values" unit:"density"`  // their wear, adjusted
	SE                []float64        `json:"se" unit:"density"`      // its standard errors
	Changes           *dropoff.Changes `json:"changes"`                // where the series changes
	ChangeProbability []float64        `json:"each_probability"`       // for each row, the probability that a change follows it
	Number            []float64        `json:"number_probability"`     // probability of each number of changes, from none
	Scatter           float64          `json:"scatter" unit:"density"` // standard deviation of pages about the levels
	Notes             []string         `json:"notes"`                  // plain sentences on what should be known before the numbers are used
}

type officeNumbers struct {
	Office string  `json:"office"`                 // the office of the day
	Order  int     `json:"order"`                  // its place in the day, Matins 1
	Pages  int     `json:"pages"`                  // pages measured
	Wear   float64 `json:"wear" unit:"density"`    // mean wear of its pages, adjusted
	SE     float64 `json:"wear_se" unit:"density"` // its standard error
	Share  float64 `json:"share"`                  // its wear as a share of that of the first office
	Low    float64 `json:"low"`                    // lower end of the 95 % interval of share
	High   float64 `json:"high"`                   // upper end of the 95 % interval of share
}

type modelNumbers struct {
	Name   string      `json:"name"`   // name of the model
	About  string      `json:"about"`  // what it is for, in the scholar's words
	Book   string      `json:"book"`   // the book, where it is fitted book by book
	Model  mixed.Model `json:"model"`  // the model as the study file has it
	Fit    *mixed.Fit  `json:"fit"`    // the fit; null where there is none
	Failed string      `json:"failed"` // a sentence why there is none; else empty

	Allowed []traces.Allowance `json:"allowed,omitempty"` // features measured with error, and what was put in their place
}

type readingNumbers struct {
	Precision precisionNumbers  `json:"precision"` // how precise the readings are
	Shared    []sourceNumbers   `json:"shared"`    // errors that the pages of one day, observer or instrument share, where there are two or more of them
	Counted   countedNumbers    `json:"counted"`   // what the log holds
	Drift     []driftNumbers    `json:"drift"`     // the drift of each day and instrument
	Excluded  []excludedNumbers `json:"excluded"`  // readings left out by the scholar, with the reasons
	Notes     []string          `json:"notes"`     // plain sentences on what should be known before the numbers are used
}

type sourceNumbers struct {
	By       string   `json:"by" words:"day / observer / instrument"` // what the pages have in common
	Known    bool     `json:"known"`                                  // whether the spread is known
	SD       float64  `json:"sd" unit:"density"`                      // standard deviation between days, observers or instruments of what a page reads against its zero
	SpreadDF float64  `json:"sd_df"`                                  // its degrees of freedom; none where the study states it
	Upper    float64  `json:"upper" unit:"density"`                   // its upper 95 % limit
	DF       float64  `json:"df"`                                     // degrees of freedom of what stays unknown of the offsets
	From     string   `json:"from" words:"measured again / stated"`   // where the spread comes from
	Levels   []string `json:"levels"`                                 // the days, observers or instruments
	Why      string   `json:"why"`                                    // where the spread is not known, what to do
}

type precisionNumbers struct {
	Repeatability   float64 `json:"repeatability" unit:"density"`   // standard deviation of placings repeated under the same conditions (ISO 5725)
	DF              float64 `json:"df"`                             // its degrees of freedom
	Cells           int     `json:"cells"`                          // groups of repeated placings that it rests on
	OnPage          float64 `json:"on_page" unit:"density"`         // repeatability on the thumbed place
	OnPageDF        float64 `json:"on_page_df"`                     // its degrees of freedom
	OnZero          float64 `json:"on_zero" unit:"density"`         // repeatability on the zero
	OnZeroDF        float64 `json:"on_zero_df"`                     // its degrees of freedom
	Between         float64 `json:"between" unit:"density"`         // standard deviation between observers or instruments (ISO 5725)
	Reproducibility float64 `json:"reproducibility" unit:"density"` // standard deviation of single determinations by different observers or instruments (ISO 5725)
	Levels          int     `json:"levels"`                         // pages that two or more of them measured
	// standard deviation between days of one observer with one instrument on one page,
	// beyond repeatability; null where no page was measured again
	BetweenDays  float64  `json:"between_days" unit:"density"`
	Again        int      `json:"again"`                      // pages measured again on another day
	Groups       []string `json:"groups"`                     // observers with their instruments
	SpotSpread   float64  `json:"spot_spread" unit:"density"` // standard deviation between single readings on spots of one page
	SpotSpreadDF float64  `json:"spot_spread_df"`             // its degrees of freedom
	Spots        int      `json:"spots"`                      // spots logged one by one that tell it; 0 where the study gives it
	TileSD       float64  `json:"tile_sd" unit:"density"`     // standard deviation of readings of the tile about their day's drift line
	TileDF       float64  `json:"tile_df"`                    // its degrees of freedom
	Placing      float64  `json:"placing" unit:"density"`     // standard deviation of placing the instrument anew at another sitting, beyond repeatability
	PlacingDF    float64  `json:"placing_df"`                 // its degrees of freedom; none where the study states it
	Twice        int      `json:"measured_again"`             // pages measured in two sittings or more that tell it
}

type countedNumbers struct {
	Readings  int `json:"readings"`   // rows of the log
	Page      int `json:"page"`       // of them, on a thumbed place
	Zero      int `json:"zero"`       // of them, on a zero
	Tile      int `json:"tile"`       // of them, on a tile
	Excluded  int `json:"excluded"`   // of them, left out by the scholar
	AtFloor   int `json:"at_floor"`   // of them, at the instrument's floor
	AtCeiling int `json:"at_ceiling"` // of them, at the instrument's ceiling
	Pages     int `json:"pages"`      // pages measured
	Days      int `json:"days"`       // days of measuring
	Unclear   int `json:"unclear"`    // pages with readings but no wear
}

type driftNumbers struct {
	Day        string  `json:"day"`                                      // the day
	Instrument string  `json:"instrument"`                               // name of the instrument
	Readings   int     `json:"readings"`                                 // readings of the tile
	From       float64 `json:"from" unit:"h"`                            // first time of day, since midnight
	To         float64 `json:"to" unit:"h"`                              // last time of day, since midnight
	Start      float64 `json:"start" unit:"density"`                     // the drift line at the beginning: departure from the certified density
	End        float64 `json:"end" unit:"density"`                       // the drift line at the end
	Slope      float64 `json:"slope" unit:"density / h"`                 // change in an hour
	SlopeSE    float64 `json:"slope_se" unit:"density / h"`              // its standard error
	P          float64 `json:"p"`                                        // p-value against no slope, two-sided
	SE         float64 `json:"se" unit:"density"`                        // standard error of the correction in the middle of the day
	DF         float64 `json:"df"`                                       // degrees of freedom of se and p
	Correction string  `json:"correction" words:"none / offset / scale"` // how the day was corrected
}

type excludedNumbers struct {
	File    string  `json:"file"`                   // table of readings
	Line    int     `json:"line"`                   // line of it
	Book    string  `json:"book"`                   // the book's id
	Page    string  `json:"page"`                   // the page's label
	Density float64 `json:"density" unit:"density"` // what the instrument showed
	Reason  string  `json:"reason"`                 // why it is left out, in the scholar's words
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
	out.Models = r.modelNumbers()
	out.Readings = readingsNumbers(r.Readings)
	return out
}

func (r *Results) modelNumbers() []modelNumbers {
	var out []modelNumbers
	for _, m := range r.Models {
		n := modelNumbers{Name: m.Name, About: m.About, Book: m.Book, Model: m.Model, Failed: m.Failed, Allowed: m.Allowed}
		if m.Fit != nil {
			fit := *m.Fit
			fit.Seconds = 0 // the one value of a run that another run does not repeat
			n.Fit = &fit
		}
		out = append(out, n)
	}
	return out
}

func (r *Results) bookNumbers(i int) bookNumbers {
	b := r.Books[i]
	out := bookNumbers{ID: b.Book.ID, Title: b.Book.Title, Owner: b.Book.Owner, Leaves: len(b.Book.Leaves), Lost: lostLeaves(b.Book), Failed: b.Failed}
	for _, w := range r.wearOf(i) {
		out.Wear = append(out.Wear, wearNumbers{
			Page: pageLabel(b.Book, w.Page), Position: b.Book.Pages[w.Page].Position,
			Wear: w.Density, SE: w.SE, DF: w.DF, Limit: string(w.Limit), Coverage: w.Coverage, CoverageSE: w.CoverageSE,
			Placings: w.Placings, Zeros: w.Zeros, AtLimit: w.AtLimit, Sittings: w.Sittings, Spot: w.Spot,
		})
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
	c := p.Curve
	out.Curve = &curveNumbers{Position: c.Position, Estimate: c.Estimate, SE: c.SE, Low: c.Low, High: c.High, Breaks: c.Breaks, Between: c.Between, Smooth: c.Smooth, Scatter: c.Scatter, DF: c.DF, LogLik: c.LogLik, Picture: c.Picture, PictureSE: c.PictureSE}
	for _, a := range p.Areas {
		s := b.Sections[a.Section]
		out.Sections = append(out.Sections, areaNumbers{
			Section: s.Name, Kind: s.Kind, Set: s.Set, Office: s.Office.String(), Extent: s.Extent.Written, Pages: a.Pages, Measured: a.Measured, AtLimit: a.AtLimit,
			Total: a.Total, TotalSE: a.TotalSE, TotalLow: a.TotalLow, TotalHigh: a.TotalHigh,
			PerPage: a.PerPage, PerPageSE: a.PerPageSE, PerPageLow: a.PerPageLow, PerPageHigh: a.PerPageHigh, DF: a.DF,
		})
	}
	out.Tests, out.Standouts = standoutNumbersOf(b, p.Tests), standoutNumbersOf(b, p.Standouts)
}

func standoutNumbersOf(b *codex.Book, pages []profile.Standout) []standoutNumbers {
	var out []standoutNumbers
	for _, o := range pages {
		row := standoutRow{b, o}
		out = append(out, standoutNumbers{
			Page: pageLabel(b, o.Page), Section: row.sectionName(), Picture: row.page().Picture, Subject: row.page().Subject,
			Level: o.Level, AtLeast: o.AtLeast, Excess: o.Excess, SE: o.SE, Low: o.Low, High: o.High, P: o.P, Q: o.Q, DF: o.DF,
		})
	}
	return out
}

func carriedNumbersOf(b *codex.Book, c *dropoff.Decline) declineNumbers {
	out := declineNumbers{
		Set: c.Set, Share: c.Share, Low: c.Low, High: c.High, Refused: c.Refused, Adjusted: c.Adjusted,
		Values: c.Series.Values, SE: c.Series.SE, Changes: c.Changes, Scatter: math.NaN(), Notes: c.Notes, Curve: fallingNumbersOf(c.Curve),
	}
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
	return officeNumbers{Office: o.Office.String(), Order: o.Office.Order(), Pages: o.Pages, Wear: o.Wear, SE: o.SE, Share: o.Share, Low: o.Low, High: o.High}
}

func readingsNumbers(r *readings.Result) *readingNumbers {
	if r == nil {
		return nil
	}
	p := r.Precision
	out := &readingNumbers{
		Precision: precisionNumbers{
			BetweenDays: p.BetweenDays, Again: p.Again,
			Repeatability: p.Repeatability, DF: p.DF, Cells: p.Cells,
			OnPage: p.OnPage, OnPageDF: p.OnPageDF, OnZero: p.OnZero, OnZeroDF: p.OnZeroDF,
			Between: p.Between, Reproducibility: p.Reproducibility, Levels: p.Levels, Groups: p.Groups,
			SpotSpread: p.SpotSpread, SpotSpreadDF: p.SpotSpreadDF, Spots: p.Spots, TileSD: p.TileSD, TileDF: p.TileDF,
			Placing: p.Placing, PlacingDF: p.PlacingDF, Twice: p.Twice,
		},
		Counted: countedNumbers{
			Readings: r.Counted.Readings, Page: r.Counted.Page, Zero: r.Counted.Zero, Tile: r.Counted.Tile,
			Excluded: r.Counted.Excluded, AtFloor: r.Counted.AtFloor, AtCeiling: r.Counted.AtCeiling,
			Pages: r.Counted.Pages, Days: r.Counted.Days, Unclear: r.Counted.Unclear,
		},
		Notes: r.Notes,
	}
	for _, s := range r.Shared {
		numbers := sourceNumbers{By: s.By, Known: s.Known, SD: s.SD, SpreadDF: s.SpreadDF, Upper: s.Upper(), DF: s.DF, From: s.From, Levels: s.Levels, Why: s.Why}
		if !s.Known {
			numbers.SD, numbers.SpreadDF, numbers.Upper, numbers.DF = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		}
		out.Shared = append(out.Shared, numbers)
	}
	for _, d := range r.Drift {
		out.Drift = append(out.Drift, driftNumbers{
			Day: d.Day, Instrument: d.Instrument, Readings: d.Readings, From: d.From, To: d.To, Start: d.Start, End: d.End,
			Slope: d.Slope, SlopeSE: d.SlopeSE, P: d.P, SE: d.SE, DF: d.DF, Correction: string(d.Correction),
		})
	}
	for _, e := range r.Excluded {
		out.Excluded = append(out.Excluded, excludedNumbers{File: e.File, Line: e.Line, Book: e.Book, Page: e.Page, Density: e.Density, Reason: e.Reason})
	}
	return out
}
