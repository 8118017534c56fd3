package corpus

import (
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/study"
)

// Contents are what the folders of a corpus hold, as a deposit tells it.
type Contents struct {
	Inputs      []study.FileSum       // as the record of a run has them
	Books       []codex.Book          // id and title alone, in the order of their ids
	Instruments []readings.Instrument // each once
	First, Last string                // days of the first and the last reading; empty where there is none
}

// Contents reads the folders; nothing is measured. One whose tables are not in order
// has no more than its files.
func (c *Corpus) Contents(progress study.Progress) *Contents {
	pieces, found := make([]Piece, len(c.Folders)), make([]Contents, len(c.Folders))
	var folders []study.Part
	for i, folder := range c.Folders {
		folders = append(folders, study.Part{Name: folder, Do: func() {
			p := &pass{corpus: c, piece: Piece{Folder: folder}}
			if s, err := p.open(); err == nil {
				found[i].add(s)
			}
			pieces[i] = p.piece
		}})
	}
	study.RunAll(folders, progress)
	out := &Contents{Inputs: c.allInputs(pieces)}
	for _, f := range found {
		out.Books = append(out.Books, f.Books...)
		out.Instruments = append(out.Instruments, f.Instruments...)
		if f.First != "" && (out.First == "" || f.First < out.First) {
			out.First = f.First
		}
		out.Last = max(out.Last, f.Last)
	}
	slices.SortStableFunc(out.Books, func(a, b codex.Book) int { return strings.Compare(a.ID, b.ID) })
	slices.SortStableFunc(out.Instruments, func(a, b readings.Instrument) int { return strings.Compare(a.ID, b.ID) })
	out.Instruments = slices.CompactFunc(out.Instruments, func(a, b readings.Instrument) bool { return a.ID == b.ID })
	return out
}

// add takes what is told of a folder's study, and lets its tables go.
func (c *Contents) add(s *study.Study) {
	for _, b := range s.Books {
		c.Books = append(c.Books, codex.Book{ID: strings.Clone(b.ID), Title: strings.Clone(b.Title)})
	}
	for _, in := range s.Log.Instruments {
		in.ID = strings.Clone(in.ID)
		c.Instruments = append(c.Instruments, in)
	}
	first, last := s.Days()
	c.First, c.Last = strings.Clone(first), strings.Clone(last)
}
