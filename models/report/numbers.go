package report

import (
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
)

// The shape of results.json. Its keys are a promise; see [Results.JSON].

type studyNumbers struct {
	Program   string              `json:"program"`
	Title     string              `json:"title"`
	Author    string              `json:"author"`
	Note      string              `json:"note"`
	Invented  bool                `json:"invented"`
	Overview  Overview            `json:"overview"`
	Sentences []Sentence          `json:"sentences"`
	Answers   []hypotheses.Answer `json:"answers"`
	Seal      *Seal               `json:"seal,omitempty"`
	Robust    []robustNumbers     `json:"robustness"`
	Books     []bookNumbers       `json:"books"`
	Shared    []sharedNumbers     `json:"shared_drops"`
	Pairs     []pairNumbers       `json:"reader_pairs"`
	Models    []modelNumbers      `json:"models"`
	Readings  *readingNumbers     `json:"readings"`
	Notes     []string            `json:"notes"`
}

type robustNumbers struct {
	Question string      `json:"question"`
	Model    string      `json:"model"`
	Book     string      `json:"book"`
	Choices  []RobustRow `json:"choices"`
}

type bookNumbers struct {
	ID        string            `json:"id"`
	Title     string            `json:"title"`
	Owner     string            `json:"owner"`
	Leaves    int               `json:"leaves"`
	Lost      int               `json:"lost"`
	Measured  int               `json:"measured"`
	Wear      []wearNumbers     `json:"wear"`
	Curve     *curveNumbers     `json:"curve"`
	Sections  []areaNumbers     `json:"sections"`
	Tested    int               `json:"tested"`
	Pictures  int               `json:"pictures_tested"`
	Rate      float64           `json:"false_discovery_rate"`
	Tests     []standoutNumbers `json:"tests"`
	Standouts []standoutNumbers `json:"standouts"`
	Carried   []declineNumbers  `json:"carried"`
	Habits    *habitNumbers     `json:"habits"`
	Notes     []string          `json:"notes"`
	Failed    []string          `json:"failed"`
}

type wearNumbers struct {
	Page       string  `json:"page"`
	Position   int     `json:"position"`
	Wear       float64 `json:"wear"`
	SE         float64 `json:"wear_se"`
	DF         float64 `json:"wear_df"`
	Limit      string  `json:"limit"`
	Coverage   float64 `json:"coverage"`
	CoverageSE float64 `json:"coverage_se"`
	Placings   int     `json:"placings"`
	Zeros      int     `json:"zeros"`
	AtLimit    int     `json:"at_limit"`
	Sittings   int     `json:"sittings"`
	Spot       string  `json:"spot"`
}

type curveNumbers struct {
	Position []int     `json:"position"`
	Estimate []float64 `json:"estimate"`
	SE       []float64 `json:"se"`
	Low      []float64 `json:"low"`
	High     []float64 `json:"high"`
	Breaks   []int     `json:"breaks"`
	Smooth   float64   `json:"effective_df"`
	Between  float64   `json:"between_sections"`
	Scatter  float64   `json:"scatter"`
	DF       float64   `json:"df"`
	LogLik   float64   `json:"loglik"`

	Picture   float64 `json:"picture"` // zero with picture_se where the book does not tell
	PictureSE float64 `json:"picture_se"`
}

type areaNumbers struct {
	Section     string  `json:"section"`
	Kind        string  `json:"kind"`
	Set         string  `json:"set"`
	Office      string  `json:"office"`
	Extent      string  `json:"extent"`
	Pages       int     `json:"pages"`
	Measured    int     `json:"measured"`
	AtLimit     int     `json:"at_limit"`
	Total       float64 `json:"total"`
	TotalSE     float64 `json:"total_se"`
	TotalLow    float64 `json:"total_low"`
	TotalHigh   float64 `json:"total_high"`
	PerPage     float64 `json:"per_page"`
	PerPageSE   float64 `json:"per_page_se"`
	PerPageLow  float64 `json:"per_page_low"`
	PerPageHigh float64 `json:"per_page_high"`
	DF          float64 `json:"df"`
}

type standoutNumbers struct {
	Page    string  `json:"page"`
	Section string  `json:"section"`
	Picture bool    `json:"picture"`
	Subject string  `json:"subject"`
	Level   float64 `json:"level"`
	AtLeast bool    `json:"at_least"`
	Excess  float64 `json:"excess"`
	SE      float64 `json:"excess_se"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	P       float64 `json:"p"`
	Q       float64 `json:"q"`
	DF      float64 `json:"df"`
}

type declineNumbers struct {
	Set               string           `json:"set"`
	Share             float64          `json:"share"`
	Low               float64          `json:"low"`
	High              float64          `json:"high"`
	Refused           string           `json:"refused"`
	Adjusted          []string         `json:"adjusted"`
	Offices           []officeNumbers  `json:"offices"`
	Curve             *fallingNumbers  `json:"curve"` // the shares as a curve that never rises; null where none can be given
	Pages             []string         `json:"pages"`
	Values            []float64        `json:"values"`
	SE                []float64        `json:"se"`
	Changes           *dropoff.Changes `json:"changes"`
	ChangeProbability []float64        `json:"each_probability"`
	Number            []float64        `json:"number_probability"`
	Scatter           float64          `json:"scatter"`
	Notes             []string         `json:"notes"`
}

type officeNumbers struct {
	Office string  `json:"office"`
	Order  int     `json:"order"`
	Pages  int     `json:"pages"`
	Wear   float64 `json:"wear"`
	SE     float64 `json:"wear_se"`
	Share  float64 `json:"share"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

type modelNumbers struct {
	Name   string      `json:"name"`
	About  string      `json:"about"`
	Book   string      `json:"book"`
	Model  mixed.Model `json:"model"`
	Fit    *mixed.Fit  `json:"fit"`
	Failed string      `json:"failed"`
}

type readingNumbers struct {
	Precision precisionNumbers  `json:"precision"`
	Shared    []sourceNumbers   `json:"shared"`
	Counted   countedNumbers    `json:"counted"`
	Drift     []driftNumbers    `json:"drift"`
	Excluded  []excludedNumbers `json:"excluded"`
	Notes     []string          `json:"notes"`
}

type sourceNumbers struct {
	By       string   `json:"by"`
	Known    bool     `json:"known"`
	SD       float64  `json:"sd"`
	SpreadDF float64  `json:"sd_df"`
	Upper    float64  `json:"upper"`
	DF       float64  `json:"df"`
	From     string   `json:"from"`
	Levels   []string `json:"levels"`
	Why      string   `json:"why"`
}

type precisionNumbers struct {
	Repeatability   float64  `json:"repeatability"`
	DF              float64  `json:"df"`
	Cells           int      `json:"cells"`
	OnPage          float64  `json:"on_page"`
	OnPageDF        float64  `json:"on_page_df"`
	OnZero          float64  `json:"on_zero"`
	OnZeroDF        float64  `json:"on_zero_df"`
	Between         float64  `json:"between"`
	Reproducibility float64  `json:"reproducibility"`
	Levels          int      `json:"levels"`
	BetweenDays     float64  `json:"between_days"`
	Again           int      `json:"again"`
	Groups          []string `json:"groups"`
	SpotSpread      float64  `json:"spot_spread"`
	SpotSpreadDF    float64  `json:"spot_spread_df"`
	Spots           int      `json:"spots"`
	TileSD          float64  `json:"tile_sd"`
	TileDF          float64  `json:"tile_df"`
	Placing         float64  `json:"placing"`
	PlacingDF       float64  `json:"placing_df"`
	Twice           int      `json:"measured_again"`
}

type countedNumbers struct {
	Readings  int `json:"readings"`
	Page      int `json:"page"`
	Zero      int `json:"zero"`
	Tile      int `json:"tile"`
	Excluded  int `json:"excluded"`
	AtFloor   int `json:"at_floor"`
	AtCeiling int `json:"at_ceiling"`
	Pages     int `json:"pages"`
	Days      int `json:"days"`
	Unclear   int `json:"unclear"`
}

type driftNumbers struct {
	Day        string  `json:"day"`
	Instrument string  `json:"instrument"`
	Readings   int     `json:"readings"`
	From       float64 `json:"from"`
	To         float64 `json:"to"`
	Start      float64 `json:"start"`
	End        float64 `json:"end"`
	Slope      float64 `json:"slope"`
	SlopeSE    float64 `json:"slope_se"`
	P          float64 `json:"p"`
	SE         float64 `json:"se"`
	DF         float64 `json:"df"`
	Correction string  `json:"correction"`
}

type excludedNumbers struct {
	File    string  `json:"file"`
	Line    int     `json:"line"`
	Book    string  `json:"book"`
	Page    string  `json:"page"`
	Density float64 `json:"density"`
	Reason  string  `json:"reason"`
}

func (r *Results) numbers() studyNumbers {
	out := studyNumbers{
		Program: r.Meta.Program, Title: r.Meta.Title, Author: r.Meta.Author, Note: r.Meta.Note, Invented: r.Meta.Invented,
		Overview: r.Overview(), Sentences: r.Sentences(), Answers: r.Answers, Seal: r.Seal, Notes: r.Notes,
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
		n := modelNumbers{Name: m.Name, About: m.About, Book: m.Book, Model: m.Model, Failed: m.Failed}
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
