package claims

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/student"
	"thumbed/models/study"
	"thumbed/models/study/demo"
)

// judge runs the study as the program's user does and holds what it says against
// the truth.
func (w *World) judge(cell string) *Outcome {
	o := newOutcome(cell, w.Seed)
	begun := time.Now()
	if err := w.judgeInto(o); err != nil {
		o.Failed = err.Error()
	}
	o.Seconds = time.Since(begun).Seconds()
	return o
}

func (w *World) judgeInto(o *Outcome) error {
	made, err := w.made()
	if err != nil {
		return err
	}
	s, results, err := run(made)
	if err != nil {
		return err
	}
	t := w.truth(made, s.Books)
	results.Answers = slices.DeleteFunc(results.Answers, func(a hypotheses.Answer) bool { return slices.Contains(ofTraces, a.Question.Model) })
	j := &judgement{Outcome: o, truth: t, study: s, results: results}
	j.answers()
	j.effects()
	j.wear()
	for b := range results.Books {
		j.book(b)
	}
	j.readers()
	return nil
}

// ofTraces are the demonstration's models of traces, whose truth is no part of these
// cells.
var ofTraces = []string{"rubbing", "touched", "wax", "wear of pictures"}

// made draws the study's files.
func (w *World) made() (*demo.Made, error) { return w.scenario.Make(w.Seed) }

// run writes the study's files into a folder of their own, opens and runs it.
func run(made *demo.Made) (*study.Study, *report.Results, error) {
	dir, err := os.MkdirTemp("", "claims")
	if err != nil {
		return nil, nil, err
	}
	defer os.RemoveAll(dir)
	for name, text := range made.Files {
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
			return nil, nil, err
		}
	}
	s, err := study.Open(dir)
	if err != nil {
		return nil, nil, err
	}
	results, err := s.Run(nil)
	var incomplete *study.Incomplete
	if err != nil && !errors.As(err, &incomplete) { // what is refused is no claim
		return nil, nil, err
	}
	return s, results, nil
}

// A judgement holds the results of one study against its truth.
type judgement struct {
	*Outcome
	truth   *truth
	study   *study.Study
	results *report.Results

	measured map[pageKey]*sitting // see sittings
}

// answers judges what was asked.
func (j *judgement) answers() {
	oracle := j.oracles()
	for i, a := range j.results.Answers {
		effect, exact := j.truth.answer(a.Question, a.Book)
		j.answer(a, effect)
		if !exact {
			continue
		}
		j.interval("answers", effect, a.Effect.Low, a.Effect.High)
		if o := oracle[i].oracle; o.known && j.truth.identified(a.Question) {
			level := a.Level // of the interval alone, where it holds at once with others
			j.beside("answers", a.Effect.High-a.Effect.Low, 2*student.Quantile(1-level/2, o.df)*o.se)
		}
	}
	j.power(oracle)
}

// answer judges one verdict.
func (j *judgement) answer(a hypotheses.Answer, effect float64) {
	words := fmt.Sprintf("%s %s (%.4f to %.4f, truly %.4f)", a.Question.Words, a.Book, a.Effect.Low, a.Effect.High, effect)
	switch a.Verdict {
	case hypotheses.Yes:
		j.claim(j.Answers, "yes", inDirection(a.Question, a.Effect.Estimate, effect) > 0, words)
	case hypotheses.No:
		j.claim(j.Answers, "no", inDirection(a.Question, effect, effect) < smallest(a.Question), words)
	}
}

// inDirection is the effect in the direction that the question asks for, or in
// that of the estimate where it asks for either.
func inDirection(q hypotheses.Question, estimate, effect float64) float64 {
	if q.Direction == "less" || q.Direction != "more" && estimate < 0 {
		return -effect
	}
	return effect
}

// smallest is the smallest effect that would matter: where none is stated, any.
func smallest(q hypotheses.Question) float64 {
	if q.Smallest == 0 {
		return math.SmallestNonzeroFloat64
	}
	return q.Smallest * (1 - 1e-9)
}

// leavingOut are the intervals of effects that are said to leave out what sections, days,
// observers or the like differ by: they are counted apart, and held to no aim.
const leavingOut = "effects said to leave something out"

// effects judges the intervals of all effects of all models.
func (j *judgement) effects() {
	for _, m := range j.results.Models {
		if m.Fit == nil {
			continue
		}
		asked, _, _ := strings.Cut(m.Name, ", with ") // groups that a question needed added leave what is true as it is
		for _, e := range m.Fit.Fixed {
			if value, known := j.truth.effect(asked, m.Book, e.Term); known {
				kind := "effects"
				if len(e.LeavesOut) > 0 {
					kind = leavingOut
				}
				j.interval(kind, value, e.Low, e.High)
			}
		}
	}
}

// wear judges the intervals of single pages.
func (j *judgement) wear() {
	if j.unknown() {
		return
	}
	for _, wear := range j.results.Readings.Wear {
		low, high := wear.Interval(0.95)
		j.interval("pages", j.truth.wear(wear.Book, wear.Page), low, high)
	}
}

// unknown tells whether the study says that it does not know what days, observers or
// instruments differ by: intervals of pages and sections are then told to be without
// that, and there is no truth to hold.
func (j *judgement) unknown() bool {
	return slices.ContainsFunc(j.results.Readings.Shared, func(s readings.Source) bool { return !s.Known })
}

// book judges what is said of one book unasked.
func (j *judgement) book(b int) {
	result := j.results.Books[b]
	if result.Profile != nil {
		j.sections(b)
		j.standouts(b)
		j.ranking(b)
	}
	if h := result.Habits; h != nil && h.Changes != nil {
		j.changes("along books", b, h.Pages, h.Changes)
	}
	for _, c := range result.Declines {
		j.shares(b, c)
		if c.Changes != nil {
			j.changes("among the hours", b, c.Pages, c.Changes)
		}
	}
}

func (j *judgement) sections(b int) {
	if j.unknown() {
		return
	}
	for _, a := range j.results.Books[b].Profile.Areas {
		j.interval("sections", j.truth.sectionWear(b, a.Section), a.PerPageLow, a.PerPageHigh)
	}
}

func (j *judgement) standouts(b int) {
	for _, s := range j.results.Books[b].Profile.Standouts {
		own := j.truth.own(b, s.Page)
		page := j.truth.page(b, s.Page)
		j.claim(j.Found, "pages that stand out", own > 1e-9, fmt.Sprintf("%s %s (q %.4f)", j.truth.ids[b], page.Label, s.Q))
		if !s.AtLeast {
			j.interval("excess of pages", j.truth.wear(b, s.Page)-j.truth.plain(b, s.Page), s.Low, s.High)
		}
	}
	for _, stain := range j.truth.scenario.Books[b].Standouts {
		p := at(j.Power, "stained pages")
		p.There++
		p.Oracle++ // who knows the page
		for _, s := range j.results.Books[b].Profile.Standouts {
			if j.truth.page(b, s.Page).Label == stain.Page {
				p.Found++
			}
		}
	}
}

// ranking judges which texts are said not to be the most worn.
func (j *judgement) ranking(b int) {
	r := j.results.Books[b].Profile.Rank()
	if len(r.Order) < 2 {
		return
	}
	alike := map[int]bool{}
	for _, a := range r.Alike {
		alike[a.Section] = true
	}
	most := 0.0
	for _, a := range r.Order {
		most = max(most, j.truth.sectionLevel(b, a.Section))
	}
	for _, a := range r.Order[1:] {
		own := j.truth.sectionLevel(b, a.Section)
		if less := own < most-1e-9; !alike[a.Section] {
			j.claim(j.Found, "texts said not to be read most", less, fmt.Sprintf("%s: %s (%.4f of %.4f)", j.truth.ids[b], j.truth.books[b].Sections[a.Section].Name, own, most))
		}
	}
}

// changes judges where the level of a series is said to change.
func (j *judgement) changes(where string, b int, pages []int, c *dropoff.Changes) {
	levels := j.truth.levels(b, pages)
	real := steps(levels)
	for k, change := range c.Changes {
		j.claim(j.Found, "changes "+where, holdsStep(change, real), fmt.Sprintf("%s after %s (%d to %d, p %.2f, tentative %v, best %s)", j.truth.ids[b], change.At, change.Low, change.High, change.Probability, c.Tentative, best(c)))
		if len(real) == 0 {
			continue
		}
		held := 0.0
		if holdsStep(change, real) {
			held = 1
		}
		j.interval("places of changes", 1, held, held)
		if size, ok := sizeOf(levels, real, c.Changes, k); ok {
			j.interval("sizes of changes", size, change.SizeLow, change.SizeHigh)
		}
	}
	if c.Compared != nil && len(c.Changes) == 0 && gradual(c.Compared.Best) {
		j.claim(j.Found, "gradual changes "+where, !j.truth.flat(b, pages), fmt.Sprintf("%s: %s", j.truth.ids[b], c.Compared.Best))
	}
}

func best(c *dropoff.Changes) string {
	if c.Compared == nil {
		return ""
	}
	return c.Compared.Best
}

func gradual(account string) bool { return account == dropoff.Steady || account == dropoff.BrokenLine }

// sizeOf is the true size of a change that was found; ok is false where it is not
// one step between two levels.
func sizeOf(levels []float64, steps []int, found []dropoff.Change, k int) (size float64, ok bool) {
	from, to := 0, len(levels)
	if k > 0 {
		from = found[k-1].After
	}
	if k+1 < len(found) {
		to = found[k+1].After
	}
	at := -1
	for _, s := range steps {
		if s <= from || s >= to {
			continue
		}
		if at >= 0 {
			return 0, false
		}
		at = s
	}
	if at < 0 || at < found[k].Low || at > found[k].High {
		return 0, false
	}
	return levels[at] - levels[at-1], true
}

// shares judges how far readings are said to be carried on.
func (j *judgement) shares(b int, c *dropoff.Decline) {
	if c.Refused != "" || len(c.Offices) == 0 {
		return
	}
	first := c.Offices[0].Office
	for _, o := range c.Offices[1:] {
		j.interval("shares of offices", j.truth.share(b, c.Set, first, o.Office), o.Low, o.High)
	}
	share := j.truth.share(b, c.Set, first, c.Offices[len(c.Offices)-1].Office)
	words := fmt.Sprintf("%s %s (%.2f to %.2f, truly %.2f)", j.truth.ids[b], c.Set, c.Low, c.High, share)
	const same = 1e-9
	switch {
	case c.Less:
		j.claim(j.Found, "last office against first", share < 1-same, words)
	case c.More:
		j.claim(j.Found, "last office against first", share > 1+same, words)
	}
}

// apartLevel is the adjusted p at or below which two readers are told apart.
const apartLevel = 0.05

// readers judges what is said of several readers.
func (j *judgement) readers() {
	for _, p := range j.results.Pairs {
		if p.Difference == nil || !(p.Adjusted <= apartLevel) {
			continue
		}
		j.claim(j.Found, "readers told apart", j.differ(p), fmt.Sprintf("%s %s", j.truth.ids[p.One.Book], j.truth.ids[p.Other.Book]))
	}
	for _, s := range j.results.Shared {
		if s.Shared == nil {
			continue
		}
		if have, _ := s.Shared.Having(); s.Shared.Claimed() && have >= 2 {
			j.claim(j.Found, "shared drops", j.drops(s) >= 2, fmt.Sprintf("%s after %v", s.Set, s.Shared.After))
		}
	}
}

// differ tells whether two readers truly carried on differently.
func (j *judgement) differ(p report.ReaderPair) bool {
	one, other := j.results.DeclineBy(p.One), j.results.DeclineBy(p.Other)
	first := one.Offices[0].Office
	for _, o := range p.Difference.Offices {
		a, b := j.truth.share(one.Book, one.Set, first, o.Office), j.truth.share(other.Book, other.Set, first, o.Office)
		if math.Abs(a-b) > 1e-9 {
			return true
		}
	}
	return false
}

// drops counts the readers whose wear truly drops after the shared place.
func (j *judgement) drops(s report.SharedDrop) int {
	n := 0
	for _, c := range s.Readers {
		var before, after, early, late float64
		for _, o := range c.Offices {
			level := j.truth.office(c.Book, c.Set, o.Office)
			if o.Office > s.Shared.After {
				after, late = after+level, late+1
			} else {
				before, early = before+level, early+1
			}
		}
		if late > 0 && early > 0 && after/late < before/early-1e-9 {
			n++
		}
	}
	return n
}
