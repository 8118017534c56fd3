package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/report/grid"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// Robustness is the sensitivity of one question's answers to other choices than those of the
// study file: scale, pages, days and books left out, and so on.
type Robustness struct {
	Question hypotheses.Question
	Book     string // set where the model is fitted book by book
	Rows     []RobustRow
}

// AsStated is the choice of the row that repeats the study's own answer.
const AsStated = "as the study file has it"

// Extrapolated ends a choice that allows for a feature's error by simulation.
const Extrapolated = " allowed for by simulation and extrapolation"

// A RobustRow is the answer under one choice.
type RobustRow struct {
	Choice   string             `json:"choice"`          // the choice in words
	Rescaled bool               `json:"rescaled"`        // whether the effect is in another unit than in the other rows
	N        int                `json:"n"`               // rows that the fit rests on
	Effect   *mixed.Coefficient `json:"effect"`          // the contrast's estimate; p in it is two-sided; null where there is no answer
	Unit     string             `json:"unit"`            // unit of the effect, in words
	P        float64            `json:"p"`               // p-value in the asked direction, unadjusted
	Added    []string           `json:"added,omitempty"` // groups that were added to the model for this question
	Verdict  string             `json:"verdict"`         // what the model says under this choice alone; where rescaled, no smallest effect was held against it
	Failed   string             `json:"failed"`          // a sentence why there is no answer; else empty
	Told     *hypotheses.Told   `json:"told,omitempty"`  // of a question on traces: the answer in probabilities or rates

	From []traces.Enlarged `json:"from,omitempty"` // where a feature's error is allowed for by simulation: what the effect was followed back from, the first without error added
}

// file is the question's name for files and places.
func (b Robustness) file(r *Results) string {
	var names []string
	for _, other := range r.Robustness {
		names = append(names, wording.Clipped(strings.TrimSpace(other.Question.Words+" "+other.Book), 48))
		if other.Question.Words == b.Question.Words && other.Question.Model == b.Question.Model && other.Book == b.Book {
			break
		}
	}
	return distinct(names)
}

// head is the question with its book.
func (b Robustness) head(r *Results) string {
	if b.Book == "" {
		return wording.Sentence(b.Question.Words)
	}
	return r.bookNameByID(b.Book) + ": " + wording.Sentence(b.Question.Words)
}

// robustSentence counts the choices under which the answer stays what it is, and
// tells between which values the effect lies.
func (r *Results) robustSentence(b Robustness) Sentence {
	s := r.robustSaid(b)
	s.Text = b.head(r) + " " + s.Text
	return s
}

// robustSaid is that without the question.
func (r *Results) robustSaid(b Robustness) Sentence {
	s := Sentence{Topic: Sure, Book: b.Book}
	stated := b.stated()
	if stated == nil {
		s.Text = "This cannot be tried for sensitivity, since there is no answer as the study file has it."
		return s
	}
	same, tried, failed := 0, 0, 0
	low, high := stated.Effect.Estimate, stated.Effect.Estimate
	for _, row := range b.Rows {
		switch {
		case row.Choice == AsStated:
			continue
		case row.Effect == nil:
			failed++
			continue
		}
		tried++
		if sameSide(*stated, row) {
			same++
		}
		if !row.Rescaled {
			low, high = math.Min(low, row.Effect.Estimate), math.Max(high, row.Effect.Estimate)
		}
	}
	decimals := wording.Decimals(stated.Effect.SE)
	s.Numbers = []Number{plain("choices tried", float64(tried), ""), plain("choices under which the answer stays", float64(same), ""),
		plain("least estimate", low, stated.Unit), plain("greatest estimate", high, stated.Unit)}
	if stated.Told != nil {
		s.Numbers = append(s.Numbers[:2], b.toldNumbers()...)
	}
	under := fmt.Sprintf("all %s other choices", wording.Whole(tried))
	if same < tried {
		under = fmt.Sprintf("%s of %s", wording.Whole(same), wording.Count(tried, "other choice", "other choices"))
	}
	between := fmt.Sprintf("in the same unit, the estimate lies between %s and %s", wording.Fixed(low, decimals), wording.Fixed(high, decimals))
	if stated.Told != nil {
		between = b.toldBetween(stated.Told)
	}
	s.Text = fmt.Sprintf("Under %s the interval %s, as it does in the study’s own answer; %s.", under, stated.lies(), between)
	if failed > 0 {
		s.Text += fmt.Sprintf(" %s could not be tried; the table says why.", wording.Capital(wording.Count(failed, "choice", "choices")))
	}
	return s
}

// toldNumbers are the least and the greatest probability or rate, as asked about and as
// what that is set against, over all choices.
func (b Robustness) toldNumbers() []Number {
	var asked, against []float64
	for _, row := range b.Rows {
		if row.Told != nil {
			asked, against = append(asked, row.Told.Asked.Mean), append(against, row.Told.Against.Mean)
		}
	}
	return []Number{plain("least as asked about", slices.Min(asked), ""), plain("greatest as asked about", slices.Max(asked), ""),
		plain("least of what that is set against", slices.Min(against), ""), plain("greatest of what that is set against", slices.Max(against), "")}
}

// toldBetween says the same in words.
func (b Robustness) toldBetween(t *hypotheses.Told) string {
	v := b.toldNumbers()
	shown := func(v Number) string {
		if t.Rate {
			return wording.Fixed(v.Value, 2)
		}
		return wording.Percent(v.Value)
	}
	asked, against := t.Sides()
	return fmt.Sprintf("%s: between %s and %s %s, and between %s and %s %s", t.Outcome+t.Per, shown(v[0]), shown(v[1]), asked, shown(v[2]), shown(v[3]), against)
}

// stated is the row of the study's own choices; nil where it has no answer.
func (b Robustness) stated() *RobustRow {
	for i := range b.Rows {
		if b.Rows[i].Choice == AsStated && b.Rows[i].Effect != nil {
			return &b.Rows[i]
		}
	}
	return nil
}

// side is where an effect's interval lies: above zero, below it, or about it.
func (row RobustRow) side() int {
	switch {
	case row.Effect.Low > 0:
		return 1
	case row.Effect.High < 0:
		return -1
	}
	return 0
}

func sameSide(a, b RobustRow) bool { return a.side() == b.side() }

// lies says where the interval is.
func (row RobustRow) lies() string {
	return map[int]string{1: "lies above zero", -1: "lies below zero", 0: "takes in zero"}[row.side()]
}

func (r *Results) robustCharts() []sketch {
	var out []sketch
	for _, b := range r.Robustness {
		if b.stated() != nil {
			out = append(out, r.robustChart(b))
		}
	}
	return out
}

// robustChart draws the rows that are in the unit of the study's own answer; of
// the others, and of those that failed, it says so in their place.
func (r *Results) robustChart(b Robustness) sketch {
	stated := b.stated()
	var rows []dotRow
	for _, row := range b.Rows {
		dot := dotRow{label: wording.Clipped(row.Choice, 46), value: math.NaN(), low: math.NaN(), high: math.NaN()}
		switch {
		case row.Effect == nil:
			dot.note = "not answered: see the table"
		case row.Rescaled && row.Told != nil:
			dot.note = row.Told.Brief() + "; on another scale"
		case row.Rescaled:
			dot.note = "in another unit: " + wording.Estimate(row.Effect.Estimate, row.Effect.Low, row.Effect.High, wording.Decimals(row.Effect.SE))
		default:
			dot.value, dot.low, dot.high, dot.open = row.Effect.Estimate, row.Effect.Low, row.Effect.High, row.side() == 0
			dot.note = wording.Estimate(row.Effect.Estimate, row.Effect.Low, row.Effect.High, wording.Decimals(stated.Effect.SE))
		}
		if row.Told != nil && !row.Rescaled {
			dot.note = row.Told.Brief()
		}
		rows = append(rows, dot)
	}
	chart := dotChart{rows: rows, axis: "effect (" + r.effectUnit(b) + ")", noteHead: "estimate (95" + wording.Narrow + "% interval)", zero: true, mark: mark{square, 2.6, blue, false, 0}}
	f := Figure{
		Name: "robustness-" + b.file(r), Title: "Sensitivity: " + b.head(r), Width: figureWidth, Height: chart.height(),
		Caption: fmt.Sprintf("%s The effect of %s, with 95%s%% intervals, as the study file has it (first row) and with one choice made otherwise. Filled squares: the interval leaves out zero; open squares: it does not. %s", b.head(r), b.Question.Effect(r.Labels, r.levelsOf(b.Question.Model)), wording.Narrow, r.robustSaid(b).Text),
	}
	f.Alt = "Squares with intervals, one a choice."
	for _, row := range rows {
		f.Alt += " " + row.label + ", " + row.note + "."
	}
	return sketch{Figure: f, paint: chart.paint}
}

// effectUnit is the unit of a question's effect, in words.
func (r *Results) effectUnit(b Robustness) string {
	if t := b.stated().Told; t != nil {
		return "logarithm of the " + strings.ToLower(t.RatioName())
	}
	return r.outcomeUnit(b.Question.Model)
}

type robustView struct {
	Head, Said string
	Figure     []*figureView
	Grid       grid.Grid
}

func (r *Results) robustViews(shelf *figureShelf) []robustView {
	var out []robustView
	for _, b := range r.Robustness {
		g := r.robustGrid(b)
		out = append(out, robustView{Head: b.head(r), Said: r.robustSaid(b).Text, Grid: g, Figure: shelf.take("robustness-"+b.file(r), g.Name)})
	}
	return out
}

func (r *Results) robustGrid(b Robustness) grid.Grid {
	heads, cells := grid.Heads("Choice", "Pages#", "Estimate#", interval95+"#", "Degrees of freedom#", "p, alone#", "Unit"), robustCells
	if stated := b.stated(); stated != nil && stated.Told != nil {
		told := stated.Told
		heads, cells = grid.Heads("Choice", "Looks#", wording.Capital(told.Level)+"#", wording.Capital(told.Other)+"#", told.RatioName()+"#", "p, alone#", "Remark"), toldRobustCells
	}
	g := grid.Grid{Name: "robustness-of-" + b.file(r), Title: "Sensitivity: " + b.head(r), Heads: heads}
	none := grid.Instead("–")
	for _, row := range b.Rows {
		if row.Effect == nil {
			g.Add(grid.Words(row.Choice), none, none, none, none, none, grid.Words(wording.Typeset(row.Failed)))
			continue
		}
		g.Add(append([]grid.Cell{grid.Words(row.Choice), grid.Whole(row.N)}, cells(row)...)...)
	}
	return g
}

// robustCells are a row's from the estimate on.
func robustCells(row RobustRow) []grid.Cell {
	e, decimals, unit := row.Effect, wording.Decimals(row.Effect.SE), row.Unit
	if unit == "" && row.Rescaled {
		unit = "share of the area"
	}
	return []grid.Cell{grid.Number(e.Estimate, decimals), grid.Interval(e.Low, e.High, decimals), grid.Shown(e.DF, wording.DF(e.DF)), grid.Shown(row.P, wording.PValue(row.P)), grid.Words(unit)}
}

// toldRobustCells are those of a question on traces, in probabilities or rates.
func toldRobustCells(row RobustRow) []grid.Cell {
	asked, against, ratio, remark := grid.Instead("–"), grid.Instead("–"), ratioCell(row.Effect.Estimate, row.Effect.Low, row.Effect.High), ""
	if t := row.Told; t != nil {
		asked, against = sideCell(t, t.Asked), sideCell(t, t.Against)
	}
	if row.Rescaled {
		ratio, remark = grid.Instead("–"), "the effect is on another scale"
	}
	return []grid.Cell{asked, against, ratio, grid.Shown(row.P, wording.PValue(row.P)), grid.Words(remark)}
}

// A robustLine is a row of the table of all questions.
type robustLine = rowOf[Robustness, RobustRow]

func (r *Results) robustSheet() grid.Grid {
	lines := each(r.Robustness, func(b Robustness) []robustLine { return rowsUnder(b, b.Rows) })
	effect := numbersOf(func(l robustLine) *mixed.Coefficient { return l.row.Effect })
	m := grid.Of("robustness", "Sensitivity of the answers to other choices", lines)
	m.Label("question", "in the scholar's words", func(l robustLine) string { return l.of.Question.Words })
	m.Label("model", "the model asked", func(l robustLine) string { return l.of.Question.Model })
	m.Label("book", "set where the model is fitted book by book", func(l robustLine) string { return l.of.Book })
	m.Label("choice", "what was done otherwise than the study file has it", func(l robustLine) string { return l.row.Choice })
	m.YesNo("rescaled", "whether the effect is in another unit than that of the study's own answer", func(l robustLine) bool { return l.row.Rescaled })
	m.Label("unit", "of the effect; empty for an outcome without a named one", func(l robustLine) string { return l.row.Unit })
	m.Count("n", "rows used", func(l robustLine) int { return l.row.N })
	m.Number("estimate", "the effect", effect(func(c *mixed.Coefficient) float64 { return c.Estimate }))
	m.Number("se", "its standard error", effect(func(c *mixed.Coefficient) float64 { return c.SE }))
	m.Number("df", "its degrees of freedom", effect(func(c *mixed.Coefficient) float64 { return c.DF }))
	m.Number("low", "lower end of the 95 % interval", effect(func(c *mixed.Coefficient) float64 { return c.Low }))
	m.Number("high", "upper end of the 95 % interval", effect(func(c *mixed.Coefficient) float64 { return c.High }))
	m.Number("p", "p-value in the asked direction, unadjusted", func(l robustLine) float64 {
		if l.row.Effect == nil {
			return math.NaN()
		}
		return l.row.P
	})
	m.Label("added", "groups that were added to the model for this question", func(l robustLine) string { return strings.Join(l.row.Added, "; ") })
	told := numbersOf(func(l robustLine) *hypotheses.Told { return l.row.Told })
	m.Number("asked", "of a question on traces: the probability or rate as asked about", told(func(t *hypotheses.Told) float64 { return t.Asked.Mean }))
	m.Number("against", "of a question on traces: that of what it is set against", told(func(t *hypotheses.Told) float64 { return t.Against.Mean }))
	m.Label("verdict", "yes, no or open, of this row alone; empty where not answered", func(l robustLine) string { return l.row.Verdict })
	m.Label("failed", "why it could not be answered; empty where it could", func(l robustLine) string { return l.row.Failed })
	return m.Made()
}

// An enlargedLine is what one answer that allows for a feature's error by simulation was
// followed back from, with one size of error.
type enlargedLine = rowOf[robustLine, traces.Enlarged]

func (r *Results) enlargedLines() []enlargedLine {
	return each(r.Robustness, func(b Robustness) []enlargedLine {
		return each(rowsUnder(b, b.Rows), func(l robustLine) []enlargedLine { return rowsUnder(l, l.row.From) })
	})
}

func (r *Results) enlargedSheet() grid.Grid {
	m := grid.Of("robustness_from", "What answers that allow for a feature's error by simulation were followed back from, by a parabola to -1", r.enlargedLines())
	m.Label("question", "in the scholar's words", func(l enlargedLine) string { return l.of.of.Question.Words })
	m.Label("model", "the model asked", func(l enlargedLine) string { return l.of.of.Question.Model })
	m.Label("book", "set where the model is fitted book by book", func(l enlargedLine) string { return l.of.of.Book })
	m.Label("choice", "as in the table robustness", func(l enlargedLine) string { return l.of.row.Choice })
	m.Number("by", "by how much the variance of the feature's error is enlarged, in times; 0 as measured", func(l enlargedLine) float64 { return l.row.By })
	m.Count("fits", "fits, each with errors of its own added", func(l enlargedLine) int { return l.row.Fits })
	m.Number("estimate", "mean of the effect", func(l enlargedLine) float64 { return l.row.Estimate })
	m.Number("variance", "mean of the squares of its standard errors", func(l enlargedLine) float64 { return l.row.Variance })
	m.Number("between", "variance of the effect between the fits, which is taken off", func(l enlargedLine) float64 { return l.row.Between })
	return m.Made()
}
