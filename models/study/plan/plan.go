package plan

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"

	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/portion"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/wording"
)

// A Plan is a plan file with all that it rests on, read and checked.
type Plan struct {
	Path    string // of the plan file, as it was given
	File    *File
	Setting power.Setting
	// Sources say, in sentences, where the numbers come from.
	Sources []string

	text  []byte       // of the plan file
	pilot *study.Study // nil where all is assumed
	where document.Where

	described *study.Study // whose sheet is made without a plan
	chosen    []string     // sentences: which of its pages are measured
}

// Open reads a plan and all that it names. The error is a [*table.Fault] with
// every problem of the file, or says what is wrong with what it names.
func Open(path string) (*Plan, error) {
	text, problem := study.ReadText(path, shape.What, fileName)
	if problem != nil {
		var ps table.Problems
		ps.Add(*problem)
		return nil, ps.Err()
	}
	return Read(path, text)
}

// Read is [Open] for a plan whose text is at hand, in a notebook for example;
// path names it in messages, and what it names is looked for from path's folder.
func Read(path string, text []byte) (*Plan, error) {
	var ps table.Problems
	file, where := parse(path, text, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	if file.Pilot.Study != "" && file.Pilot.Model == "" {
		ps.Add(where.Problem(path, "", "the name of one of the pilot's models", `write model = "pictures"; without one, thumbed plan plans for all that the study asks`, "pilot", "model"))
		return nil, ps.Err()
	}
	return made(path, text, file, where, nil)
}

// made makes a plan of what its file says; pilot is the study that the file names,
// where it is at hand.
func made(path string, text []byte, file *File, where document.Where, pilot *study.Study) (*Plan, error) {
	p := &Plan{Path: path, File: file, text: text, where: where, pilot: pilot}
	d := file.Designs
	p.Setting = power.Setting{Level: file.Question.Level, Designs: d.designs(), Keep: d.Keep, Replicates: d.Replicates, Seed: d.Seed,
		Aim: power.Aim{Power: file.Aim.Power, Width: file.Aim.Width}}
	for _, c := range file.Columns {
		if c.Of == "book" {
			p.Setting.ByBook = append(p.Setting.ByBook, power.BookColumn{Name: c.Name, Labels: c.Labels, Shares: c.Shares})
		}
	}
	use := p.useAssumed
	if file.Pilot.Study != "" {
		use = p.usePilot
	}
	if err := use(); err != nil {
		return nil, err
	}
	if p.Setting.Looks != nil {
		return p, p.settleLooks()
	}
	p.overrule()
	if file.Sheet != nil {
		p.Setting.Schedule = p.schedule
		p.Setting.Observers = len(file.Sheet.Observers)
		p.say("Pages are measured in the order of the sheet: by day and observer as it deals them out, what these differ by is adjusted for or told as a study does, and so is the drift of the instrument over a day, by the tile.")
	}
	if err := p.settleLayout(); err != nil {
		return nil, err
	}
	if err := p.checkColumns(); err != nil {
		return nil, err
	}
	if err := p.Setting.Check(); err != nil {
		return nil, fmt.Errorf("the plan %s cannot be tried: %w", path, err)
	}
	return p, nil
}

// fault is the error of one problem of the plan file.
func (p *Plan) fault(value, expected, remedy string, at ...any) error {
	var ps table.Problems
	c := checker{p.Path, p.where, &ps}
	var shown any
	if value != "" {
		shown = value
	}
	c.problem(shown, expected, remedy, at...)
	return ps.Err()
}

// say notes where a number comes from.
func (p *Plan) say(format string, args ...any) {
	p.Sources = append(p.Sources, fmt.Sprintf(format, args...))
}

// useAssumed takes model, spreads and measuring from the plan file alone.
func (p *Plan) useAssumed() error {
	f := p.File
	p.Setting.Model = f.Model.Model
	truth := mixed.Parameters{Fixed: f.Assumed.Fixed, Residual: mixed.ResidualFit{SD: f.Assumed.Page, Rho: f.Assumed.Neighbours}}
	for _, r := range f.Assumed.Random {
		truth.Random = append(truth.Random, r.fit())
	}
	for _, sd := range f.Assumed.Bends {
		truth.Smooth = append(truth.Smooth, mixed.SmoothFit{SD: sd})
	}
	for _, level := range sortedKeys(f.Assumed.Pages) {
		truth.Residual.Levels = append(truth.Residual.Levels, mixed.LevelSpread{Level: level, SD: f.Assumed.Pages[level]})
	}
	p.Setting.Truth = truth
	p.Setting.Measuring = power.Measuring{Instrument: readings.Instrument{ID: "assumed", Floor: -1, Ceiling: 4, Resolution: 0.01, Tile: usualTile},
		OnPage: *f.Measuring.OnPage, OnZero: *f.Measuring.OnPage, OnTile: *f.Measuring.OnPage, Correction: study.UsualMeasuring().Drift, Zeros: usualZeros, Ground: 0.1, Observers: 1}
	p.say("Model, spreads and measuring are assumed, as the plan file has them; the power is as good as they are.")
	return p.settleQuestion()
}

// fit gives a spread as the fit of a random term has it.
func (s Spread) fit() mixed.RandomFit {
	out := mixed.RandomFit{Terms: sortedKeys(s.SD)}
	for a, term := range out.Terms {
		out.SD = append(out.SD, s.SD[term])
		row := make([]float64, len(out.Terms))
		for b := range row {
			row[b] = s.Correlation
		}
		row[a] = 1
		out.Correlation = append(out.Correlation, row)
	}
	return out
}

// overrule puts what the plan file says of the measuring in the place of what
// was taken from elsewhere.
func (p *Plan) overrule() {
	m, given := &p.Setting.Measuring, p.File.Measuring
	p.Setting.Cost = power.Cost{Placing: usualPlacing, Turn: usualTurn, Tiles: usualTiles, Day: usualDay}
	c := &p.Setting.Cost
	for _, n := range []struct{ to, from *float64 }{
		{&m.Instrument.Floor, given.Floor}, {&m.Instrument.Ceiling, given.Ceiling}, {&m.Instrument.Resolution, given.Resolution},
		{&m.OnPage, given.OnPage}, {&m.OnZero, given.OnZero}, {&m.Ground, given.Ground}, {&m.GroundSpread, given.GroundSpread},
		{&m.Between, given.Between}, {&m.BetweenDays, given.BetweenDays}, {&m.Scale, given.Scale}, {&m.Drift, given.Drift},
		{&c.Placing, given.Placing}, {&c.Turn, given.Turn}, {&c.Day, given.Day},
	} {
		if n.from != nil {
			*n.to = *n.from
		}
	}
	for _, n := range []struct{ to, from *int }{{&m.Zeros, given.Zeros}, {&m.Observers, given.Observers}, {&c.Tiles, given.Tiles}} {
		if n.from != nil {
			*n.to = *n.from
		}
	}
	p.say("Each page has %s on its untouched zero. A placing takes %g seconds and a turn to an opening %g; a day has %g hours of measuring and %d placings on the tile.",
		wording.Count(m.Zeros, "placing", "placings"), c.Placing, c.Turn, c.Day, c.Tiles)
}

// settleQuestion takes what the plan file says of the question over what stands
// already, and the effect that the power is for.
func (p *Plan) settleQuestion() error {
	given, q := p.File.Question, &p.Setting.Question
	if given.Words != "" {
		q.Words = given.Words
	}
	if given.Contrast != nil {
		*q = hypotheses.Question{Words: given.Words, Contrast: given.Contrast, Direction: given.Direction, Smallest: given.Smallest}
	}
	if given.Direction != "" {
		q.Direction = given.Direction
	}
	if given.Smallest != 0 {
		q.Smallest = given.Smallest
	}
	var ps table.Problems
	c := checker{p.Path, p.where, &ps}
	for _, problem := range q.Check(nil, nil) {
		var value any
		if problem.Value != "" {
			value = problem.Value
		}
		c.problem(value, problem.Expected, problem.Remedy, "question", problem.Column)
	}
	p.Setting.Effect = given.Effect
	if given.Effect == 0 {
		p.Setting.Effect = q.Smallest
		if q.Direction == "less" {
			p.Setting.Effect = -q.Smallest
		}
	}
	if p.Setting.Effect == 0 {
		c.problem(nil, "the effect that the power is for", "write smallest, the smallest effect that would matter, or effect", "question", "effect")
	}
	if q.Direction == "less" && p.Setting.Effect > 0 || q.Direction == "more" && p.Setting.Effect < 0 {
		c.problem(p.Setting.Effect, "an effect in the asked direction ("+q.Direction+")", "give it the other sign, or ask the other way", "question", "effect")
	}
	return ps.Err()
}

// settleLayout makes the books of the layout, where there is one.
func (p *Plan) settleLayout() error {
	if p.File.Layout == nil {
		return nil
	}
	book, err := p.File.book("planned")
	if err != nil {
		return err
	}
	p.Setting.Books = []*table.Table{pagesOf(book)}
	p.say("Every book is laid out as the plan file has it: %s.", wording.Count(p.File.Layout.Leaves, "leaf", "leaves"))
	return nil
}

// checkColumns looks whether the model can be fitted to a campaign that measures
// every page of all books, and whether the contrast is one of its terms.
func (p *Plan) checkColumns() error {
	terms, err := p.Setting.Terms()
	var fault *table.Fault
	if errors.As(err, &fault) {
		var ps table.Problems
		for _, problem := range fault.Problems {
			problem.File, problem.Line = p.Path, p.where.Line("model")
			ps.Add(problem)
		}
		return ps.Err()
	}
	if err != nil {
		return err
	}
	var ps table.Problems
	c := checker{p.Path, p.where, &ps}
	for _, problem := range p.Setting.Question.Check(nil, terms) {
		c.problem(problem.Value, problem.Expected, problem.Remedy, "question", problem.Column)
	}
	for _, term := range sortedKeys(p.File.Assumed.Fixed) {
		if !slices.Contains(terms, term) {
			c.problem(term, "a fixed effect of the model: "+fmt.Sprint(terms), nearly(term, terms), "assumed", "fixed")
		}
	}
	return ps.Err()
}

// Verb is the verb of the command line that tries plans.
const Verb = "plan"

// Work says what is divided where the plan is tried in portions.
func (p *Plan) Work() (portion.Work, error) {
	sum := sha256.New()
	s := p.Setting
	books := s.Books
	s.Books = nil
	for _, v := range []any{s, p.File.Sheet} {
		if err := json.NewEncoder(sum).Encode(v); err != nil {
			return portion.Work{}, err
		}
	}
	in := s.Instrument
	fmt.Fprintln(sum, in.ID, in.Floor, in.Ceiling, in.Resolution)
	for _, book := range books {
		if err := book.Write(sum); err != nil {
			return portion.Work{}, err
		}
	}
	return portion.Work{Verb: Verb, Of: hex.EncodeToString(sum.Sum(nil)), Source: p.Path, Program: study.ThisBuild().Program, Total: s.Pieces()}, nil
}

// campaigns draws the campaigns of a portion of the plan.
func (p *Plan) campaigns(ctx context.Context, share portion.Portion, progress study.Progress) ([]power.Campaign, error) {
	from, to := share.Pieces(p.Setting.Pieces())
	return p.Setting.Run(ctx, from, to, func(done, total int) {
		if progress != nil {
			progress(done, total, "campaigns")
		}
	})
}

// Part draws the campaigns of a portion of the plan; progress may be nil.
func (p *Plan) Part(ctx context.Context, share portion.Portion, progress study.Progress) (*portion.File, error) {
	return portionOf(ctx, p, share, progress)
}

// Gather puts the portions of the plan together: the same as [Plan.Try], to the
// last digit. It fails where the plan or its pilot is no longer what they were
// drawn by.
func (p *Plan) Gather(whole *portion.Whole) (*report.Plan, error) {
	return gather(p, whole)
}

// result puts all campaigns together.
func (p *Plan) result(campaigns []power.Campaign) (*report.Plan, error) {
	result, err := p.Setting.Summarise(campaigns)
	if err != nil {
		return nil, err
	}
	f := p.File
	var labels wording.Labels
	if p.pilot != nil {
		labels = p.pilot.Labels
	}
	return &report.Plan{
		Meta:     report.Meta{Title: f.Title, Author: f.Author, Note: f.Note, Invented: f.Invented || p.pilot != nil && p.pilot.Invented, Program: study.ThisBuild().Program},
		Result:   result,
		Truth:    p.Setting.Truth,
		Measured: p.Setting.Measuring,
		Sources:  p.Sources,
		Labels:   labels,
	}, nil
}

// Try draws all campaigns and puts them together; progress may be nil. The
// result is the same on every run and with any number of processors.
func (p *Plan) Try(ctx context.Context, progress study.Progress) (*report.Plan, error) {
	return try(ctx, p, progress)
}

func sortedKeys[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }

// three writes a density with three significant digits.
func three(v float64) string {
	if math.Abs(v) < 1e-9 {
		return "0"
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}
