package report

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// A Plan is what a plan of a campaign came to, once; every face renders this
// value.
type Plan struct {
	Meta     Meta
	Result   *power.Result
	Truth    mixed.Parameters // that campaigns were drawn from
	Measured power.Measuring  // how
	Sources  []string         // sentences: where the numbers come from
	Labels   wording.Labels   // words of columns and levels
}

// planNumbers is the shape of a plan's results.json. Its keys are a promise.
type planNumbers struct {
	Program    string           `json:"program"`    // name and version of the program
	Title      string           `json:"title"`      // what the plan is for
	Author     string           `json:"author"`     // who asks
	Note       string           `json:"note"`       // a sentence or two on the plan
	Invented   bool             `json:"invented"`   // whether the books are invented
	Power      *power.Result    `json:"power"`      // what came of the designs
	Truth      mixed.Parameters `json:"truth"`      // the parameters that campaigns were drawn from
	Measuring  power.Measuring  `json:"measuring"`  // how the campaigns measure
	Instrument planInstrument   `json:"instrument"` // the densitometer
	Sources    []string         `json:"sources"`    // sentences: where the parameters come from
}

type planInstrument struct {
	Name       string  `json:"name"`                      // name of the instrument
	Floor      float64 `json:"floor" unit:"density"`      // lowest density that it shows
	Ceiling    float64 `json:"ceiling" unit:"density"`    // highest density that it shows
	Resolution float64 `json:"resolution" unit:"density"` // step of its last digit
}

// JSON is every number of the plan as one JSON object.
func (p *Plan) JSON() ([]byte, error) { return planJSON(p.numbers()) }

func (p *Plan) numbers() planNumbers {
	n := planNumbers{Program: p.Meta.Program, Title: p.Meta.Title, Author: p.Meta.Author, Note: p.Meta.Note, Invented: p.Meta.Invented,
		Power: p.Result, Truth: p.Truth, Measuring: p.Measured, Sources: p.Sources}
	in := p.Measured.Instrument
	n.Instrument = planInstrument{in.ID, in.Floor, in.Ceiling, in.Resolution}
	return n
}

// Text writes the plan for reading: what it says, the designs, and where the
// numbers come from.
func (p *Plan) Text(w io.Writer) error {
	if err := p.Result.Text(w); err != nil {
		return err
	}
	var b strings.Builder
	for _, source := range p.Sources {
		fmt.Fprintf(&b, "\nSource. %s\n", source)
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// sheets are the plan's tables.
func (p *Plan) sheets() []grid.Grid {
	designs := grid.Of("designs", "What each design tried comes to", p.Result.Designs)
	designs.Count("books", "books measured", func(t power.Tried) int { return t.Books })
	designs.Count("pages", "pages measured of each book; all where it has fewer", func(t power.Tried) int { return t.Pages })
	designs.Count("placings", "placings on the thumbed place of each page; of traces, looks at each thing", func(t power.Tried) int { return t.Design.Placings })
	share := func(name, about string, of func(power.Tried) power.Share) {
		designs.Number(name, "share of campaigns that "+about, func(t power.Tried) float64 { return of(t).Value })
		designs.Number(name+"_low", "lower end of its 95 % Monte Carlo interval (Wilson)", func(t power.Tried) float64 { return of(t).Low })
		designs.Number(name+"_high", "upper end of its 95 % Monte Carlo interval (Wilson)", func(t power.Tried) float64 { return of(t).High })
	}
	share("power", "claim the effect, where it is there", func(t power.Tried) power.Share { return t.Power })
	if slices.ContainsFunc(p.Result.Designs, func(t power.Tried) bool { return t.Band != nil }) {
		band := numbersOf(func(t power.Tried) *power.Band { return t.Band })
		designs.Number("power_band_low", "lower end of the power in eight of ten sets of spreads that the pilot allows", band(func(b *power.Band) float64 { return b.Low }))
		designs.Number("power_band_high", "upper end of the same", band(func(b *power.Band) float64 { return b.High }))
		designs.Label("matters", "the spread on which most of the power hangs", func(t power.Tried) string { return t.Matters })
	}
	share("false", "claim an effect in the asked direction, where there is none", func(t power.Tried) power.Share { return t.False })
	share("absent", "rule out an effect that would matter, where there is none", func(t power.Tried) power.Share { return t.Absent })
	share("boundary", "estimate a variance as zero or a correlation as ±1", func(t power.Tried) power.Share { return t.Boundary })
	designs.Number("width", "mean width of the interval", func(t power.Tried) float64 { return t.Width })
	designs.Number("width_ninety", "width that nine of ten intervals do not exceed", func(t power.Tried) float64 { return t.WidthNinety })
	designs.Number("bias", "mean estimate less the effect", func(t power.Tried) float64 { return t.Bias })
	designs.Number("bias_se", "Monte Carlo standard error of bias", func(t power.Tried) float64 { return t.BiasSE })
	designs.Count("campaigns", "campaigns drawn", func(t power.Tried) int { return t.Campaigns })
	designs.Count("failed", "campaigns without an answer", func(t power.Tried) int { return t.Failed })
	designs.Number("pages_in_all", "mean number of pages measured in a campaign", func(t power.Tried) float64 { return t.PagesMean })
	designs.Number("touches", "mean number of placings on pages and zeros; of traces, of looks", func(t power.Tried) float64 { return t.Placings })
	designs.Number("turns", "mean number of openings turned to", func(t power.Tried) float64 { return t.Turns })
	designs.Number("hours", "hours of measuring, with the tile", func(t power.Tried) float64 { return t.Hours })
	designs.Number("days", "days of measuring", func(t power.Tried) float64 { return t.Days })
	designs.Number("bounds", "share of pages of which the instrument gives a bound only", func(t power.Tried) float64 { return t.Bounds })
	designs.Label("reaches", "whether the aim is reached: yes, no, or perhaps", func(t power.Tried) string { return t.Reaches })
	return []grid.Grid{designs.Made("books", "pages", "placings")}
}

// grid is the table of designs as the page shows it.
func (p *Plan) grid() grid.Grid {
	m := grid.Of("designs", "What each design comes to", p.Result.Designs)
	m.Note = "Touches are placings on pages and zeros in all; nine of ten intervals are no wider than the last width. Intervals of shares are Monte Carlo intervals, 95" + wording.Narrow + "%."
	m.Show("Books#", func(t power.Tried) grid.Cell { return grid.Whole(t.Books) })
	m.Show("Pages of each#", func(t power.Tried) grid.Cell { return grid.Whole(t.Pages) })
	if !p.Result.Looks {
		m.Show("Placings on each#", func(t power.Tried) grid.Cell { return grid.Whole(t.Design.Placings) })
	}
	m.Show("Power#", func(t power.Tried) grid.Cell { return shareCell(t.Power) })
	m.Show("Power as a bar, from 0 to 1", func(t power.Tried) grid.Cell { return grid.Bar(t.Power.Value, t.Power.Low, t.Power.High, 0, 1) })
	m.Show("False claims#", func(t power.Tried) grid.Cell { return shareCell(t.False) })
	m.Show("On the boundary#", func(t power.Tried) grid.Cell { return grid.Percent(t.Boundary.Value) })
	m.Show("Mean width#", func(t power.Tried) grid.Cell { return grid.Number(t.Width, wording.Decimals(t.Width)) })
	m.Show("Nine of ten#", func(t power.Tried) grid.Cell { return grid.Number(t.WidthNinety, wording.Decimals(t.Width)) })
	touches := "Touches#"
	if p.Result.Looks {
		touches = "Looks#"
		m.Note = "Nine of ten intervals are no wider than the last width, " + cmp.Or(p.Result.Widths, p.Result.Unit) + ". Intervals of shares are Monte Carlo intervals, 95" + wording.Narrow + "%."
	}
	m.Show(touches, func(t power.Tried) grid.Cell { return grid.Number(t.Placings, 0) })
	m.Show("Hours#", func(t power.Tried) grid.Cell { return grid.Number(t.Hours, 1) })
	if p.Result.Aim != (power.Aim{}) {
		m.Show("Aim reached", func(t power.Tried) grid.Cell { return grid.Words(t.Reaches) })
	}
	return m.Made()
}

// shareCell is "83 % (80 to 86 %)".
func shareCell(s power.Share) grid.Cell {
	return grid.Percent(s.Value).InBrackets(grid.PercentInterval(s.Low, s.High))
}

// truthGrid is what campaigns were drawn from.
func (p *Plan) truthGrid() grid.Grid {
	g := grid.Grid{Name: "truth", Title: "What the campaigns were drawn from (" + p.Result.Unit + ")", Note: "The effect asked about is set to the one planned for, and to none.", Heads: grid.Heads("Parameter", "Value#")}
	for _, term := range sortedTerms(p.Truth.Fixed) {
		what := p.Labels.Term(term, nil)
		if term != "intercept" {
			what = "effect of " + what
		}
		g.Add(grid.Words(what), grid.Number(p.Truth.Fixed[term], wording.DensityDecimals))
	}
	for _, r := range p.Truth.Random {
		by := ""
		if len(r.By) > 0 {
			by = " between " + p.Labels.Groups(r.By)
		}
		for k, term := range r.Terms {
			g.Add(grid.Words("standard deviation of "+p.Labels.Term(term, nil)+by), grid.Number(r.SD[k], wording.DensityDecimals))
		}
	}
	if p.Result.Looks {
		return g
	}
	g.Add(grid.Words("standard deviation between single pages"), grid.Number(p.Truth.Residual.SD, wording.DensityDecimals))
	if p.Truth.Residual.Rho > 0 {
		g.Add(grid.Words("correlation of neighbouring pages"), grid.Number(p.Truth.Residual.Rho, 2))
	}
	m := p.Measured
	g.Add(grid.Words("standard deviation of one placing on a page"), grid.Number(m.OnPage, 4))
	g.Add(grid.Words("standard deviation of one placing on a zero"), grid.Number(m.OnZero, 4))
	g.Add(grid.Words("placings on the zero of each page"), grid.Whole(m.Zeros))
	if m.Between > 0 {
		g.Add(grid.Words("standard deviation between observers"), grid.Number(m.Between, 4))
	}
	if m.BetweenDays > 0 {
		g.Add(grid.Words("standard deviation between days"), grid.Number(m.BetweenDays, 4))
	}
	if m.Drift > 0 {
		g.Add(grid.Words("drift of the instrument over a day, standard deviation"), grid.Number(m.Drift, 4))
	}
	g.Add(grid.Words("the instrument shows densities from"), grid.Number(m.Instrument.Floor, 2))
	g.Add(grid.Words("the instrument shows densities to"), grid.Number(m.Instrument.Ceiling, 2))
	return g
}

//go:embed plan.html.tmpl
var planTemplate string

var planMaker = template.Must(template.Must(pageMaker.Clone()).New("plan").Parse(planTemplate))

// A planView is all that the plan's page shows.
type planView struct {
	Meta      Meta
	Style     template.CSS
	Question  string
	Foot      string
	Headline  string
	Sentences []string
	Figures   []*figureView
	Grid      grid.Grid
	Truth     grid.Grid
	Sources   []string
	Notes     []string
	Cautions  []caution
}

// Page writes the plan as one self-contained HTML file, in the manner of
// [Results.Page].
func (p *Plan) Page(w io.Writer) error {
	figures, err := p.Figures()
	if err != nil {
		return err
	}
	return p.page(w, figures)
}

func (p *Plan) page(w io.Writer, figures []Figure) error {
	r := p.Result
	v := planView{Meta: p.Meta, Style: template.CSS(inkStyle() + pageStyle), Question: r.Question.Words, Foot: p.foot(),
		Headline: wording.Typeset(r.Sentences[0]), Sentences: wording.TypesetAll(r.Sentences[1:]), Grid: p.grid(), Truth: p.truthGrid(), Sources: wording.TypesetAll(p.Sources), Notes: wording.TypesetAll(r.Notes), Cautions: cautions}
	if r.Looks {
		v.Cautions = TraceCautions()
	}
	if v.Meta.Title == "" {
		v.Meta.Title = "A plan of measuring"
	}
	shelf := newFigureShelf(figures)
	for _, f := range figures {
		v.Figures = append(v.Figures, shelf.take(f.Name, v.Grid.Name)...)
	}
	return writePage(w, planMaker, "plan", v)
}

// foot says what is counted as a claim.
func (p *Plan) foot() string {
	r := p.Result
	which := "beyond zero"
	switch r.Question.Direction {
	case "more":
		which = "above zero"
	case "less":
		which = "below zero"
	}
	if k := max(r.Best, 0); r.Designs[k].Together > 1 {
		return wording.Sentence(fmt.Sprintf("a campaign claims the effect where all of the interval of this answer lies %s, and the intervals of all answers of the study hold at once at %s; the effect planned for is %s (%s)", which, wording.Percent(1-r.Level), wording.Fixed(r.Effect, 3), r.Unit))
	}
	return wording.Sentence(fmt.Sprintf("a campaign claims the effect where all of its %s interval lies %s; the effect planned for is %s (%s)", wording.Percent(1-r.Level), which, wording.Fixed(r.Effect, 3), r.Unit))
}

// Write writes every face of the plan into dir, a folder that exists and is
// empty, as [Results.Write] does: index.html, figures/, tables/ and results.json.
func (p *Plan) Write(dir string) error { return writeFaces(dir, p) }
