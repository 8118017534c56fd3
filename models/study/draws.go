package study

import (
	"context"
	"fmt"
	"math"
	"slices"

	"thumbed/models/hypotheses"
	"thumbed/models/table"
)

// A drawing answers one question of one fit once more, from draws by chance. Each
// draw comes to one number that depends on the question, its seed and the draw's
// own number alone.
type drawing struct {
	fit      *fit
	question int    // index into the study's questions
	of       string // what is drawn
	by       string // how the question is answered so, in words
	count    int    // draws in all

	// draw gives those numbered from up to but not including to.
	draw   func(from, to int, progress func(done, of int)) ([]float64, error)
	settle func(a *hypotheses.Answer, values []float64) error // puts what all came to into the answer
	values []float64
	err    error // why the question cannot be answered so
}

// What is drawn, and how questions are answered by it.
const (
	arrangements = "arrangements"
	outcomes     = "outcomes"
)

// drawings lists what the questions want drawn of some fits, in the order of the
// fits and, of one, of the questions. Nothing is fitted yet.
func (s *Study) drawings(fits []*fit, data *table.Table) []*drawing {
	var out []*drawing
	for _, f := range fits {
		for q, question := range s.Questions {
			if question.Model != f.result.Name {
				continue
			}
			if question.Shift > 0 {
				out = append(out, f.circularShift(q, question, f.pages(data)))
			}
			if question.Bootstrap > 0 {
				out = append(out, f.bootstrapping(q, question))
			}
		}
	}
	return out
}

// circularShift answers a question by pushing features round; see [hypotheses.CircularShift].
func (f *fit) circularShift(q int, question hypotheses.Question, pages *table.Table) *drawing {
	d := &drawing{fit: f, question: q, of: arrangements, by: "by pushing the feature round"}
	plan, err := hypotheses.PlanCircularShift(question, f.result.Model, pages,
		hypotheses.CircularShifts{Along: "position", Within: "book", Draws: question.Shift, Seed: question.Seed})
	if err != nil {
		d.err = err
		return d
	}
	d.count = plan.Count()
	d.draw = func(from, to int, progress func(done, of int)) ([]float64, error) {
		return plan.Fit(context.Background(), from, to, progress)
	}
	d.settle = func(a *hypotheses.Answer, values []float64) (err error) {
		a.CircularShift, err = plan.Answer(values)
		return err
	}
	return d
}

// bootstrapping answers a question from outcomes drawn from its model; see
// [hypotheses.Answer.Bootstrap]. The model must have been fitted when they are
// drawn.
func (f *fit) bootstrapping(q int, question hypotheses.Question) *drawing {
	d := &drawing{fit: f, question: q, of: outcomes, by: "by bootstrap", count: question.Bootstrap}
	d.draw = func(from, to int, progress func(done, of int)) ([]float64, error) {
		if f.err != nil {
			return nil, f.err
		}
		return hypotheses.Pivots(context.Background(), question, f.result.Fit, from, to, progress)
	}
	d.settle = (*hypotheses.Answer).Bootstrap
	return d
}

// take draws those from up to but not including to. What cannot be drawn is NaN.
func (d *drawing) take(from, to int, progress func(done, of int)) []float64 {
	if to == from {
		return nil
	}
	values, err := d.draw(from, to, progress)
	if err != nil {
		d.err = err
		return slices.Repeat([]float64{math.NaN()}, to-from)
	}
	return values
}

// answer is the answer that the drawing adds to; nil where the question has none,
// and has said why.
func (d *drawing) answer() *hypotheses.Answer {
	if k := slices.Index(d.fit.of, d.question); k >= 0 {
		return &d.fit.answers[k]
	}
	return nil
}

// finish gives the answer what was drawn, and says where that comes to nothing.
func (d *drawing) finish(s *Study) {
	a := d.answer()
	if a == nil {
		return
	}
	if d.err == nil {
		d.err = d.settle(a, d.values)
	}
	if f := d.fit; d.err != nil {
		f.silent = append(f.silent, fmt.Sprintf("“%s” could not be answered %s, for the model %s. %s",
			a.Question.Words, d.by, f.called(s), sentence(d.err.Error())))
	}
}

// drawAll answers from draws, those given, or its own where none are. A question
// without an answer needs none.
func (s *Study) drawAll(drawings []*drawing, drawn []float64, progress Progress) {
	done := 0
	for _, d := range drawings {
		switch {
		case drawn != nil:
			d.values = drawn[done : done+d.count]
		case d.answer() != nil:
			d.values = d.take(0, d.count, d.telling(s, progress.after(done)))
		}
		d.finish(s)
		done += d.count
	}
}

// telling tells of draws as parts of a run.
func (d *drawing) telling(s *Study, progress Progress) func(done, of int) {
	if progress == nil {
		return nil
	}
	part := fmt.Sprintf("the %s for “%s”", d.of, s.Questions[d.question].Words)
	return func(done, of int) { progress(done, of, part) }
}

// total is the number of draws of some drawings.
func total(drawings []*drawing) int {
	n := 0
	for _, d := range drawings {
		n += d.count
	}
	return n
}

// seeds are those of all that the study draws by chance.
func (s *Study) seeds() []Seed {
	var out []Seed
	for _, q := range s.Questions {
		note := func(draws int, of string) {
			if draws > 0 {
				out = append(out, Seed{Of: fmt.Sprintf("%s for “%s” of the model “%s”", of, q.Words, q.Model), Seed: q.Seed})
			}
		}
		note(q.Shift, arrangements)
		note(q.Bootstrap, outcomes)
	}
	return out
}
