package study

import (
	"context"
	"fmt"
	"math"
	"slices"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A drawing answers one question of one fit once more, from draws by chance.
type drawing struct {
	hypotheses.Drawing
	way      *hypotheses.Way
	fit      *fit
	question int // index into the study's questions
	values   []float64
	err      error // why the question cannot be answered so
}

// drawings lists what the questions want drawn of some fits, in the order of the
// fits and, of one, of the questions. Nothing is fitted yet.
func (s *Study) drawings(fits []*fit, data *table.Table) []*drawing {
	var out []*drawing
	for _, f := range fits {
		for q, question := range s.Questions {
			if question.Model != f.result.Name {
				continue
			}
			for _, way := range hypotheses.Ways() {
				if way.Draws(question) == 0 {
					continue
				}
				d := &drawing{way: &way, fit: f, question: q}
				d.Drawing, d.err = way.Plan(hypotheses.Basis{Question: question, Model: f.result.Model, Pages: f.pages(data), Fit: func() (*mixed.Fit, error) {
					if f.result.Fit == nil && f.err == nil {
						f.estimate(s, data)
					}
					return f.result.Fit, f.err
				}})
				out = append(out, d)
			}
		}
	}
	return out
}

// take draws those from up to but not including to. What cannot be drawn is NaN.
func (d *drawing) take(from, to int, progress func(done, of int)) []float64 {
	if to == from {
		return nil
	}
	values, err := d.Draw(context.Background(), from, to, progress)
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
		d.err = d.Settle(a, d.values)
	}
	if f := d.fit; d.err != nil {
		f.silent = append(f.silent, fmt.Sprintf("“%s” could not be answered %s, for the model %s. %s",
			a.Question.Words, d.way.By, f.called(s), sentence(d.err.Error())))
	}
}

// drawAll answers from draws, those given, or its own where none are. A question
// without an answer needs none.
func (s *Study) drawAll(drawings []*drawing, drawn []float64, progress Progress) {
	done := 0
	for _, d := range drawings {
		switch {
		case drawn != nil:
			d.values = drawn[done : done+d.Count]
		case d.answer() != nil:
			d.values = d.take(0, d.Count, d.telling(s, progress.after(done)))
		}
		d.finish(s)
		done += d.Count
	}
}

// telling tells of draws as parts of a run.
func (d *drawing) telling(s *Study, progress Progress) func(done, of int) {
	if progress == nil {
		return nil
	}
	part := fmt.Sprintf("the %s for “%s”", d.way.Of, s.Questions[d.question].Words)
	return func(done, of int) { progress(done, of, part) }
}

// total is the number of draws of some drawings.
func total(drawings []*drawing) int {
	n := 0
	for _, d := range drawings {
		n += d.Count
	}
	return n
}

// seeds are those of all that the study draws by chance.
func (s *Study) seeds() []Seed {
	var out []Seed
	for _, q := range s.Questions {
		for _, way := range hypotheses.Ways() {
			if way.Draws(q) > 0 {
				out = append(out, Seed{Of: fmt.Sprintf("%s for “%s” of the model “%s”", way.Of, q.Words, q.Model), Seed: q.Seed})
			}
		}
	}
	return out
}
