package portion

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"thumbed/models/study/folder"
	"thumbed/models/table"
)

// fileKind and fileVersion open every file, so that a later program knows what
// it reads.
const (
	fileKind    = "part of divided work"
	fileVersion = 1
)

// A Work is what is divided; see [Work.Same].
type Work struct {
	Verb    string `json:"verb"`    // verb of the command that does the work and puts it together
	Of      string `json:"of"`      // SHA-256, in hexadecimal, of all that decides its numbers
	Source  string `json:"source"`  // the file that says what to do, as it was given
	Program string `json:"program"` // name and version of the program
	Total   int    `json:"total"`   // number of pieces in all
}

// Same tells whether portions of the two works belong together. The source may
// stand elsewhere on another machine.
func (w Work) Same(other Work) bool {
	w.Source = other.Source
	return w == other
}

// A File is what one portion of a work came to.
type File struct {
	Kind      string            `json:"kind" words:"part of divided work"` // says that it is a part of divided work
	Version   int               `json:"version"`                           // version of this form of file
	Work      Work              `json:"work"`                              // what was divided
	Part      int               `json:"part"`                              // number of this part, from 1
	Parts     int               `json:"parts"`                             // number of parts
	Processor string            `json:"processor"`                         // family of processors within which all digits are the same
	Pieces    []json.RawMessage `json:"pieces"`                            // what each piece of the part came to, in their order
}

// New makes the file of a portion; pieces are what each of its pieces came to,
// in their order.
func New[T any](w Work, p Portion, processor string, pieces []T) (*File, error) {
	f := &File{Kind: fileKind, Version: fileVersion, Work: w, Part: max(p.Part, 1), Parts: max(p.Parts, 1),
		Processor: processor, Pieces: make([]json.RawMessage, len(pieces))}
	for i, piece := range pieces {
		text, err := json.Marshal(piece)
		if err != nil {
			return nil, fmt.Errorf("piece %d of the work cannot be written: %w", i+1, err)
		}
		f.Pieces[i] = text
	}
	return f, f.check()
}

// portion is the file's share of the work.
func (f *File) portion() Portion { return Portion{f.Part, f.Parts} }

// check tells whether the file holds what its head says.
func (f *File) check() error {
	if f.Kind != fileKind {
		return errors.New("it is no part of divided work: give the files that --part wrote")
	}
	if f.Version != fileVersion {
		return fmt.Errorf("it is of version %d; this program reads version %d: compute all parts with one version of the program", f.Version, fileVersion)
	}
	if f.Parts < 1 || f.Parts > most || f.Part < 1 || f.Part > f.Parts || f.Work.Total < 0 {
		return fmt.Errorf("it says that it is part %d of %d of %d pieces, which cannot be: compute it again", f.Part, f.Parts, f.Work.Total)
	}
	if from, to := f.portion().Pieces(f.Work.Total); len(f.Pieces) != to-from {
		return fmt.Errorf("it holds %d pieces where part %d of %d has %d: compute it again", len(f.Pieces), f.Part, f.Parts, to-from)
	}
	return nil
}

// largest is the size of a part, in bytes, beyond which it is surely something
// else.
const largest = 4 << 30

// Read reads the file of a portion.
func Read(path string) (*File, error) {
	text, err := table.Content(path, largest)
	if err != nil {
		return nil, fmt.Errorf("the part cannot be read: %w", err)
	}
	f := &File{}
	if err := json.Unmarshal(text, f); err != nil {
		return nil, fmt.Errorf("%s is broken off or no part of divided work (%w): compute it again", path, err)
	}
	if err := f.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return f, nil
}

// Done tells whether path holds this portion of this work already, so that a
// job that is started twice need not do it twice. Where another file stands
// there, the error says so; it is not to be written over.
func Done(path string, w Work, p Portion) (bool, error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	f, err := Read(path)
	if err != nil {
		return false, err
	}
	if !f.Work.Same(w) || f.Part != max(p.Part, 1) || f.Parts != max(p.Parts, 1) {
		return false, fmt.Errorf("%s holds part %s of other work; nothing was changed: name another place, or remove it", path, f.portion())
	}
	return true, nil
}

// Write writes the file to path, whole or not at all; the folder around it is
// made where it is not there. Nothing may stand at path yet: see [Done].
func (f *File) Write(path string) error {
	text, err := json.Marshal(f)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return fmt.Errorf("the folder for the part cannot be made: %w", err)
	}
	return folder.WriteFile(path, func(w io.Writer) error {
		_, err := w.Write(append(text, '\n'))
		return err
	})
}
