package hypotheses

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// CircularShifts say how features are pushed round their books.
type CircularShifts struct {
	Along  string // column of places along the book
	Within string // column naming the books; empty: all rows are one book
	Draws  int    // arrangements drawn at random beside the one seen, where there are more; 0: 999
	Seed   uint64 // of the draws; the same seed gives the same answer on any number of cores
}

// A CircularShiftTest is a question's answer by shifting, or across books where these are too few
// for it.
type CircularShiftTest struct {
	Question     Question `json:"question"`     // the question as the study file has it
	Columns      []string `json:"columns"`      // the columns that are pushed round
	Books        int      `json:"books"`        // books that tell the effect, each fitted by itself with a straight trend along it
	Left         int      `json:"left"`         // books that do not tell it
	AcrossBooks  bool     `json:"across_books"` // whether the books are too few for shifting, two to five, so that p is that of a t test across them
	Statistic    float64  `json:"t"`            // estimate divided by its standard error, as seen: of one book's fit, or of the mean over the books by their differences
	P            float64  `json:"p"`            // p-value in the asked direction
	Arrangements int      `json:"arrangements"` // arrangements fitted, the one seen among them; 0 across books
	Exact        bool     `json:"exact"`        // whether these are all that there are
	Failed       int      `json:"failed"`       // those that could not be fitted, which count as no less extreme
	Sentence     string   `json:"sentence"`     // the answer in words
}

// byShifting answers a question by pushing features round, see [CircularShift].
func byShifting() Way {
	return Way{
		Of:    "arrangements",
		By:    "by pushing the feature round",
		Draws: func(q Question) int { return q.Shift },
		Needs: []string{alongBook},
		check: func(q Question, add func(key, value, expected, remedy string)) {
			if q.Shift < 0 || q.Shift > mostDraws {
				add("shift", strconv.Itoa(q.Shift), fmt.Sprintf("how many arrangements to draw, from 0 to %d", mostDraws), "write shift = 999, or leave it out")
			}
		},
		Refused: func(q Question, m mixed.Model) table.Problem {
			p := table.Problem{Column: "shift", Value: strconv.Itoa(q.Shift)}
			if !m.IsMeasure() {
				p.Expected, p.Remedy = "no shifting of a model of traces", "leave shift out: books, pages and observers are in the model as random terms"
			}
			return p
		},
		Plan: func(b Basis) (Drawing, error) {
			plan, err := PlanCircularShift(b.Question, b.Model, b.Pages, CircularShifts{Along: alongBook, Within: "book", Draws: b.Question.Shift, Seed: b.Question.Seed})
			if err != nil {
				return Drawing{}, err
			}
			return Drawing{Count: plan.Count(), Draw: plan.Fit, Settle: func(a *Answer, values []float64) (err error) {
				a.CircularShift, err = plan.Answer(values)
				return err
			}}, nil
		},
		Sentence: func(a *Answer) string {
			if a.CircularShift == nil {
				return ""
			}
			return a.CircularShift.Sentence
		},
		Method: func(answers []Answer) string {
			shifted := counted(answers, func(a Answer) bool { return a.CircularShift != nil && !a.CircularShift.AcrossBooks })
			across := counted(answers, func(a Answer) bool { return a.CircularShift != nil && a.CircularShift.AcrossBooks })
			text := ""
			if shifted > 0 {
				text += fmt.Sprintf(" For %s the feature asked about was also pushed round inside each book, which keeps the order of the pages (Lotwick and Silverman 1982), and each book fitted by itself with a straight trend at each arrangement; of several books t is that across their estimates (Chung and Romano 2013), and p counts the arrangement seen with the others (Phipson and Smyth 2010).", wording.Count(shifted, "answer", "answers"))
			}
			if across > 0 {
				text += fmt.Sprintf(" For %s each book was also fitted by itself with a straight trend, and its estimates compared by a t test across the books, too few for shifting.", wording.Count(across, "answer", "answers"))
			}
			return text
		},
	}
}

// alongBook is the column along which a study's pages are pushed round.
const alongBook = "position"

// defaultDraws makes the smallest p-value 1/1000.
const defaultDraws = 999

// CircularShift answers a question without trusting the model's standard error. In each book
// the fixed effects of the model that vary there are fitted by themselves, with a
// straight trend along the book beside them. The columns in the contrast are pushed
// round inside each book, all rows by the same number of places, the last pages coming
// in again at the front, while the wear and all other columns stay where they are; and
// each book is fitted again. P is the share of arrangements, the one seen among them,
// whose t is at least as far in the asked direction. Wear that runs on from page to
// page, and pictures that stand in runs, keep their runs, so that neighbouring pages
// being alike does not count as evidence. This is the toroidal shift of Lotwick and
// Silverman (1982, J. R. Stat. Soc. B 44, 406–413) along a line closed to a ring.
//
// Of one book, t is that of its fit. Of several it is the mean of the books' estimates
// over the standard error that their differences give it, so that an effect that varies
// about zero from book to book is not taken for one in all (a permutation test with a
// studentised statistic: Chung and Romano 2013, Ann. Stat. 41, 484–507). Where fewer
// than fewBooks tell the effect even this does not hold, and what is given is the t test
// across the books.
//
// Where there are no more arrangements than Draws + 1, all are taken and P is
// exact: with one book of n rows it cannot be below 1/n. Else P counts the
// arrangement seen with those drawn (Phipson and Smyth 2010, Stat. Appl. Genet.
// Mol. Biol. 9(1), article 39).
//
// It supposes that wear has no place of its own in the book apart from the trend and
// the model's other terms, so that any arrangement might have been; a column that
// the model needs beside the asked one (the section's kind, the distance from
// the book's ends) belongs in the model. Rows with a missing value in any of the
// model's columns are left out first; pages not measured or lost are thus passed
// over by the shift.
//
// The error says in words why the question cannot be asked so: problems of the
// question, columns missing, nothing that varies inside a book, no fit.
//
// Where arrangements are to be shared out among machines, see [PlanCircularShift].
func CircularShift(ctx context.Context, q Question, m mixed.Model, data *table.Table, s CircularShifts) (*CircularShiftTest, error) {
	plan, err := PlanCircularShift(q, m, data, s)
	if err != nil {
		return nil, err
	}
	ts, err := plan.Fit(ctx, 0, plan.Count(), nil)
	if err != nil {
		return nil, err
	}
	return plan.Answer(ts)
}

// fewBooks is below how many books only a t test across them is given: simulated, the
// share of true nulls that shifting rejects at 5 % is told in SHIFTS.md.
const fewBooks = 6

// Answer gives the answer from the t of all arrangements, in their order (see
// [CircularShiftPlan.Fit]). It fails where the model cannot be fitted to the pages as they
// stand.
func (p *CircularShiftPlan) Answer(ts []float64) (*CircularShiftTest, error) {
	seen, err := p.statistic(nil)
	if err != nil {
		return nil, fmt.Errorf("the model cannot be fitted to the pages as they stand: %w", err)
	}
	out := &CircularShiftTest{Question: p.q, Columns: p.columns, Books: len(p.books), Left: p.left, Statistic: seen}
	if p.across() {
		out.AcrossBooks = true
		out.P = p.q.evidence(mixed.Coefficient{Estimate: seen, SE: 1, DF: float64(len(p.books) - 1)})
		out.Sentence = out.sentence()
		return out, nil
	}
	out.Exact, out.Arrangements = p.exact, len(ts)+1
	reach := p.q.reach(seen)
	extreme := 0
	for _, t := range ts {
		if math.IsNaN(t) {
			out.Failed++
		}
		if math.IsNaN(t) || p.q.reach(t) >= reach-sameReach*math.Max(1, math.Abs(reach)) {
			extreme++
		}
	}
	out.P = float64(1+extreme) / float64(out.Arrangements)
	out.Sentence = out.sentence()
	return out, nil
}

// sameReach is the relative difference below which two t are one: the same
// arrangement may differ in its last digits.
const sameReach = 1e-7

// reach is how far a t lies in the asked direction.
func (q Question) reach(t float64) float64 {
	switch q.direction() {
	case more:
		return t
	case less:
		return -t
	}
	return math.Abs(t)
}

func (s *CircularShiftTest) sentence() string {
	fitted := "the book"
	if s.Books > 1 {
		fitted = fmt.Sprintf("each of %d books", s.Books)
	}
	fitted = fmt.Sprintf("With %s fitted by itself, a straight trend along it taken out", fitted)
	if s.Left > 0 {
		fitted += fmt.Sprintf(" (%d books do not tell the effect)", s.Left)
	}
	if s.AcrossBooks {
		return fmt.Sprintf("%s, a t test across the books gives %s on %d degrees of freedom, with %s. Pushing the feature round would hold for these books alone and not for others like them: that needs %d books or more.",
			fitted, signed(s.Statistic, 2), s.Books-1, probability(s.P), fewBooks)
	}
	which := fmt.Sprintf("%d arrangements, the one seen and %d drawn by chance", s.Arrangements, s.Arrangements-1)
	if s.Exact {
		which = fmt.Sprintf("all %d arrangements", s.Arrangements)
	}
	said := fmt.Sprintf("%s, and %s pushed round inside the books (%s), a t as far in the asked direction as the one seen, %s, comes with %s.", fitted, strings.Join(s.Columns, " and "), which, signed(s.Statistic, 2), probability(s.P))
	if s.Books == 1 {
		said += " It speaks of this book alone."
	}
	if 1/float64(s.Arrangements) > level {
		said += fmt.Sprintf(" No p below 1/%d can come of so few; measure more pages or books.", s.Arrangements)
	}
	if s.Failed > 0 {
		said += fmt.Sprintf(" %d arrangements could not be fitted and count against the finding.", s.Failed)
	}
	return said + " It supposes that wear has no other place of its own in the book beyond the model’s terms."
}
