package corpus

import (
	"errors"
	"fmt"
	"slices"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/portion"
)

// Verb is that of the work which [Corpus.Part] shares out.
const Verb = "corpus"

// Work is the pass over the folders, one piece a folder. What their tables hold
// is sealed by each piece, and looked at when they are gathered.
func (c *Corpus) Work() (portion.Work, error) {
	inputs := c.ownInputs()
	for _, folder := range c.Folders {
		inputs = append(inputs, study.FileSum{Path: folder})
	}
	return study.NewWork(Verb, c.Path, inputs, len(c.Folders))
}

// Part does the pass over one share of the folders.
func (c *Corpus) Part(p portion.Portion, progress study.Progress) (*portion.File, error) {
	work, err := c.Work()
	if err != nil {
		return nil, err
	}
	from, to := p.Pieces(len(c.Folders))
	return portion.New(work, p, study.ThisBuild().Processor, c.Pieces(from, to, progress))
}

// Gather makes the results of the shares of the pass; see [Corpus.Run]. It fails
// where the folders, or what is in them, are no longer what the shares saw.
func (c *Corpus) Gather(whole *portion.Whole, progress study.Progress) (*report.Corpus, error) {
	work, err := c.Work()
	if err != nil {
		return nil, err
	}
	if !work.Same(whole.Work) {
		return nil, fmt.Errorf("%s, its folders or the program are not what they were when the parts were computed: compute all parts again", c.Path)
	}
	pieces, err := portion.Decode[Piece](whole)
	if err != nil {
		return nil, err
	}
	if changed := c.changed(pieces); changed != nil {
		return nil, fmt.Errorf("since the parts were computed, %w: compute the parts again that hold these folders", changed)
	}
	return c.Finish(pieces, progress)
}

// changed tells which tables are not what the pieces saw.
func (c *Corpus) changed(pieces []Piece) error {
	var faults []error
	for _, p := range pieces {
		changed := slices.ContainsFunc(p.Inputs, func(then study.FileSum) bool {
			now, err := study.SealAt(then.Path, c.path(then.Path))
			return err != nil || now != then
		})
		if changed {
			faults = append(faults, fmt.Errorf("%s has changed", p.Folder))
		}
	}
	return errors.Join(faults...)
}
