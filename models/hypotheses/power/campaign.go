package power

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// A Campaign is what one drawn campaign came to, with the effect there and with
// none.
type Campaign struct {
	Pages    int            `json:"pages"`           // measured, over all books
	Openings int            `json:"openings"`        // turned to
	Bounds   int            `json:"bounds"`          // pages of which the instrument gave a bound only
	Looks    int            `json:"looks,omitempty"` // looks taken, where it is one of traces
	There    CampaignResult `json:"there"`
	None     CampaignResult `json:"none"`
}

// A CampaignResult is what the model fitted to a drawn campaign said to the question.
type CampaignResult struct {
	Failed   string  `json:"failed,omitempty"` // why there is no answer; all else is then zero
	Estimate float64 `json:"estimate"`
	SE       float64 `json:"se"`
	DF       float64 `json:"df"`
	Width    float64 `json:"width"`              // of the interval
	Share    float64 `json:"share,omitempty"`    // of looks: width of the interval of the share or rate asked about
	Level    float64 `json:"level,omitempty"`    // of this interval alone, where it holds at once with others
	Claimed  bool    `json:"claimed,omitempty"`  // that the effect is there
	Small    bool    `json:"small,omitempty"`    // that an effect that would matter is ruled out
	Boundary bool    `json:"boundary,omitempty"` // a variance was estimated as zero, or a correlation as ±1
}

// campaign draws one campaign of a design. Its random numbers depend on the
// seed, the design and its number alone.
func (s *Setting) campaign(d Design, number int) Campaign {
	stream := streamOf(d, number)
	if s.Looks != nil {
		return s.Looks(d, number, rand.New(rand.NewPCG(s.Seed, stream)))
	}
	pages, openings := s.draw(d, number, rand.New(rand.NewPCG(s.Seed, stream)))
	c := Campaign{Pages: pages.Rows(), Openings: openings}
	there, none := s.truths(number)
	aDay := s.Cost.aDay(d.Placings+s.Zeros, float64(openings)/float64(pages.Rows()))
	c.There, c.Bounds = s.outcome(pages, there, d, aDay, rand.New(rand.NewPCG(s.Seed, stream+1)))
	c.None, _ = s.outcome(pages, none, d, aDay, rand.New(rand.NewPCG(s.Seed, stream+1)))
	return c
}

// streamOf is the place of a campaign's random numbers (FNV-1a of its design
// and number).
func streamOf(d Design, number int) uint64 {
	h := fnv.New64a()
	var bytes []byte
	for _, v := range []int{d.Books, d.Pages, d.Placings, number} {
		bytes = binary.LittleEndian.AppendUint64(bytes, uint64(v))
	}
	h.Write(bytes) // never fails
	return h.Sum64()
}

// outcome draws the wear of the pages, measures it, and puts the question to the
// model fitted to what was measured; bounds counts the pages that are only
// bounds.
func (s *Setting) outcome(pages *table.Table, truth mixed.Parameters, d Design, aDay int, r *rand.Rand) (o CampaignResult, bounds int) {
	model, truth, err := narrowed(s.Model, truth, pages)
	if err != nil {
		return CampaignResult{Failed: err.Error()}, 0
	}
	drawer, err := model.Simulator(pages, truth)
	if err != nil {
		return CampaignResult{Failed: reason(err)}, 0
	}
	latent := make([]float64, len(drawer.Rows()))
	drawer.Draw(r, latent)
	if outcome.Of(model).Log {
		for i, v := range latent {
			latent[i] = math.Exp(v)
		}
	}
	table, model, err := s.read(model, pages.Select(drawer.Rows()), latent, d.Placings, aDay, r)
	if err != nil {
		return CampaignResult{Failed: reason(err)}, 0
	}
	for i := range table.Rows() {
		if table.Column("limit").Label(i) != string(readings.Measured) {
			bounds++
		}
	}
	fit, err := model.Fit(table)
	if err != nil {
		return CampaignResult{Failed: reason(err)}, bounds
	}
	return s.ask(model, fit, table, d.Books), bounds
}

// read measures the pages, and gives them with their wear, and the model that it is
// fitted by.
func (s *Setting) read(model mixed.Model, pages *table.Table, wear []float64, placings, aDay int, r *rand.Rand) (*table.Table, mixed.Model, error) {
	if s.Schedule == nil {
		return withWear(pages, s.measure(wear, placings, aDay, r)), model, nil
	}
	sittings, err := s.Schedule(pages, placings, r)
	if err != nil {
		return nil, model, err
	}
	return s.readLog(model, pages, wear, sittings, r)
}

// ask puts the question to a fit, among those that the study asks beside it.
func (s *Setting) ask(model mixed.Model, fit *mixed.Fit, pages *table.Table, books int) CampaignResult {
	if !fit.Converged {
		return CampaignResult{Failed: "the fit did not converge"}
	}
	if s.Study != nil {
		asked := hypotheses.AskOf(s.Study.Asked, model, fit, pages, nil)
		return s.Settle(asked.Answers, asked.Errs, books, len(fit.Boundary) > 0)
	}
	answer, err := hypotheses.Ask(s.Question, fit)
	return s.Settle([]hypotheses.Answer{answer}, []error{err}, books, len(fit.Boundary) > 0)
}

// Asked are the questions that are put to a campaign's fit: those of the study, where it
// asks several, and else the one that is planned for.
func (s *Setting) Asked() []hypotheses.Question {
	if s.Study != nil {
		return s.Study.Asked
	}
	return []hypotheses.Question{s.Question}
}

// Settle reads the answer to the question that is planned for among those to all of
// [Setting.Asked], or why there is none, as the study would: in a study from an interval
// that holds at once with all others. Boundary tells whether the fit has a variance of zero.
func (s *Setting) Settle(answers []hypotheses.Answer, errs []error, books int, boundary bool) CampaignResult {
	var there []hypotheses.Answer
	this := -1
	for k, q := range s.Asked() {
		switch {
		case errs[k] == nil:
			if q.Words == s.Question.Words {
				this = len(there)
			}
			there = append(there, answers[k])
		case q.Words == s.Question.Words:
			return CampaignResult{Failed: errs[k].Error()}
		}
	}
	if s.Study != nil {
		how := s.Study.Adjustment
		how.Elsewhere = s.elsewhere(books)
		hypotheses.Adjust(there, how)
	}
	a := there[this]
	o := CampaignResult{Estimate: a.Effect.Estimate, SE: a.Effect.SE, DF: a.Effect.DF, Boundary: boundary}
	if math.IsInf(o.DF, 1) {
		o.DF = 0 // by the normal distribution: JSON has no infinite number
	}
	if a.Told != nil {
		o.Share = a.Told.Asked.High - a.Told.Asked.Low
	}
	if s.Study != nil {
		o.Width, o.Level, o.Claimed, o.Small = a.Effect.High-a.Effect.Low, a.Level, a.Verdict == hypotheses.Yes, a.Verdict == hypotheses.No
		return o
	}
	low, high := a.Interval(s.Level)
	o.Width = high - low
	o.Claimed, o.Small = a.Claims(s.Level)
	return o
}

// reason tells the first thing that is wrong, without the place in a table that
// the scholar never sees.
func reason(err error) string {
	var fault *table.Fault
	if !errors.As(err, &fault) {
		return err.Error()
	}
	p := fault.Problems[0]
	found := p.Value
	if p.Column != "" && !strings.Contains(p.Value, p.Column) {
		found = strings.TrimSuffix(p.Column+", "+p.Value, ", ")
	}
	return fmt.Sprintf("found %s; expected %s", found, p.Expected)
}

// withWear puts what was measured beside the features of the pages, in the
// columns of [readings.WearSchema] that models use.
func withWear(pages *table.Table, log []measured) *table.Table {
	wear, se, limit := make([]float64, len(log)), make([]float64, len(log)), make([]string, len(log))
	for i, page := range log {
		wear[i], se[i], limit[i] = page.wear, page.se, string(page.limit)
	}
	for _, c := range []*table.Column{table.Numbers(outcome.Wear, wear), table.Numbers("wear_se", se), table.Labels("limit", limit)} {
		must(pages, pages.Add(c))
	}
	return pages
}

// narrowed is the model without what the pages of a small campaign cannot speak
// of: labels that none of them has, and columns that are the same on all of
// them. It fails where the label that others are set against is the one that is
// missing.
func narrowed(m mixed.Model, truth mixed.Parameters, pages *table.Table) (mixed.Model, mixed.Parameters, error) {
	levels := map[string][]string{}
	still := map[string]bool{} // columns that are the same on all pages
	for name, labels := range m.Levels {
		c := pages.Column(name)
		if c == nil {
			continue
		}
		found, _ := c.Levels()
		for _, label := range labels {
			if slices.Contains(found, label) {
				levels[name] = append(levels[name], label)
			}
		}
		if !slices.Contains(found, labels[0]) {
			return m, truth, fmt.Errorf("no page that was drawn has %s = %s, which the others are set against", name, labels[0])
		}
		still[name] = len(levels[name]) < 2
	}
	dull := func(name string) bool { return still[name] }
	out := m
	out.Levels, out.Fixed, out.Random = levels, nil, nil
	for _, term := range m.Fixed {
		if !slices.ContainsFunc(term, dull) {
			out.Fixed = append(out.Fixed, term)
		}
	}
	spreads := truth.Random
	truth.Random = nil
	for k, r := range m.Random {
		r.Terms = slices.DeleteFunc(slices.Clone(r.Terms), dull)
		if len(r.Terms) > 0 {
			out.Random = append(out.Random, r)
			truth.Random = append(truth.Random, spreads[k])
		}
	}
	for name := range still {
		if still[name] {
			delete(out.Levels, name)
		}
	}
	return out, truth, nil
}
