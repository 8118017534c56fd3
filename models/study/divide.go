package study

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/report"
	"thumbed/models/study/portion"
)

// RunVerb is the verb of the work that [Study.Divide] divides.
const RunVerb = "run"

// A Division is all that a study draws by chance, the outcomes and arrangements of
// its questions, as one row of numbered pieces that can be shared out.
type Division struct {
	Work     portion.Work
	study    *Study
	drawings []*drawing
}

// Divide lays out what the study draws. The error says so where it draws nothing.
func (s *Study) Divide() (*Division, error) {
	data, err := s.Data()
	if err != nil {
		return nil, fmt.Errorf("the wear cannot be joined to the pages: %w", err)
	}
	fits, _ := s.fits(data)
	d := &Division{study: s, drawings: s.drawings(fits, data)}
	n := total(d.drawings)
	if n == 0 {
		return nil, errors.New("the study draws nothing by chance that could be divided: no question has bootstrap or shift; run it at once, without --part")
	}
	d.Work, err = NewWork(RunVerb, s.Path, s.inputs, n)
	return d, err
}

// NewWork is the work of a verb on the file at path, in so many pieces. Its
// identity is all that decides the numbers of a run but the processor: what was
// read, and what the program is made of.
func NewWork(verb, path string, inputs []FileSum, pieces int) (portion.Work, error) {
	b := ThisBuild()
	text, err := json.Marshal([]any{b.Program, b.Revision, b.Go, b.Modules, inputs})
	if err != nil {
		return portion.Work{}, err
	}
	source, err := filepath.Abs(path)
	return portion.Work{Verb: verb, Of: sealOf(text), Source: source, Program: b.Program, Total: pieces}, err
}

// Compute draws one portion. Only the models that it needs are fitted. progress
// may be nil.
func (d *Division) Compute(p portion.Portion, progress Progress) (*portion.File, error) {
	from, to := p.Pieces(d.Work.Total)
	values := make([]*float64, 0, to-from) // nil where the model could not be fitted to a draw
	first := 0                             // number of the drawing's first draw
	for _, drawing := range d.drawings {
		a, b := max(from-first, 0), min(to-first, drawing.Count)
		if a < b {
			tell := func(done, _ int) {
				if progress != nil {
					progress(len(values)+done, to-from, drawing.way.Of)
				}
			}
			for _, v := range drawing.take(a, b, tell) {
				values = append(values, known(v))
			}
		}
		first += drawing.Count
	}
	return portion.New(d.Work, p, ThisBuild().Processor, values)
}

func known(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// RunGathered is [Study.Run] with what the study draws taken from its parts: the
// results are the same to the last digit. The error says so where the parts are
// not of the study as it stands now.
func (s *Study) RunGathered(whole *portion.Whole, progress Progress) (*report.Results, error) {
	d, err := s.Divide()
	if err != nil {
		return nil, err
	}
	if !d.Work.Same(whole.Work) {
		return nil, s.foreignParts(d.Work, whole.Work)
	}
	pieces, err := portion.Decode[*float64](whole)
	if err != nil {
		return nil, err
	}
	drawn := make([]float64, len(pieces))
	for k, v := range pieces {
		if drawn[k] = math.NaN(); v != nil {
			drawn[k] = *v
		}
	}
	s.processors = whole.Processors
	return s.run(drawn, progress)
}

// foreignParts says why parts do not belong to the study.
func (s *Study) foreignParts(now, then portion.Work) error {
	if now.Program != then.Program {
		return fmt.Errorf("the parts were computed by %s, and this is %s: gather them with that, or compute them again with this", then.Program, now.Program)
	}
	return fmt.Errorf("%s, one of its tables, or the program changed since the parts were computed: put back what was there, or compute all parts again", s.Path)
}

// processor is the family of processors that the study's numbers come from: this
// one, or all where parts of them come from others.
func (s *Study) processor() string {
	all := append(slices.Clone(s.processors), ThisBuild().Processor)
	slices.Sort(all)
	return strings.Join(slices.Compact(all), "; ")
}
