package deposit

import (
	"fmt"
	"path"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/study"
	"thumbed/models/study/corpus"
)

// A subject is what is bundled: a study, or a corpus with its folders.
type subject struct {
	kind, verb          string // of its record; of the command that runs it
	path                string // of its file
	title, author, note string
	invented            bool
	inputs              []study.FileSum
	roles               func(input string) (role, string) // of what it was read from, but its own file
	about               string                            // its own file
	books               []*codex.Book
	instruments         []readings.Instrument
	first, last         string // days of the first and last reading or look
	read, looked        bool   // whether there are readings, and looks
	folders             []string
}

// subjectAt opens what stands at a path: a study or a corpus, or the folder of one.
func subjectAt(at string) (*subject, error) {
	ofCorpus, err := corpus.Is(at)
	if err != nil {
		return nil, err
	}
	if ofCorpus {
		return corpusAt(at)
	}
	return studyAt(at)
}

func studyAt(at string) (*subject, error) {
	s, err := study.Open(at)
	if err != nil {
		return nil, err
	}
	out := &subject{kind: study.OfStudy, verb: "run", path: s.Path, title: s.Title, author: s.Author, note: s.Note, invented: s.Invented,
		inputs: s.Inputs(), books: s.Books, read: s.Log != nil, looked: s.Looks != nil, about: "the study: its tables, models and questions"}
	out.roles = func(input string) (role, string) { return roleIn(s.Tables, input) }
	out.first, out.last = s.Days()
	if s.Log != nil {
		out.instruments = s.Log.Instruments
	}
	return out, nil
}

func corpusAt(at string) (*subject, error) {
	c, err := corpus.Open(at)
	if err != nil {
		return nil, err
	}
	held := c.Contents(nil)
	out := &subject{kind: study.OfCorpus, verb: corpus.Verb, path: c.Path, title: c.Title, author: c.Author, note: c.Note, invented: c.Invented,
		inputs: held.Inputs, instruments: held.Instruments, first: held.First, last: held.Last, read: true, folders: c.Folders,
		about: "the corpus: its folders, models and questions"}
	for i := range held.Books {
		out.books = append(out.books, &held.Books[i])
	}
	out.roles = func(input string) (role, string) {
		if input == path.Clean(c.Instruments) {
			return "instruments", "one row a densitometer"
		}
		dir := out.folder(input)
		if dir == "" {
			return roleIn(study.Tables{}, input)
		}
		t := c.Tables
		name := input[len(dir)+1:]
		t.Readings = nil
		for _, pattern := range c.Tables.Readings {
			if ok, err := path.Match(pattern, name); ok && err == nil {
				t.Readings = []string{name}
			}
		}
		return roleIn(t, name)
	}
	return out, nil
}

// roleIn is what an input is among these tables.
func roleIn(t study.Tables, input string) (role, string) {
	switch {
	case slices.Contains(t.Readings, input):
		return "readings", "the log: one row a placing of the instrument"
	case slices.Contains(t.Traces, input):
		return "traces", "the looks: one row a look at a trace"
	case input == study.SealName:
		return roleInput, "the seal of the questions and models, made before the readings"
	}
	for _, k := range []struct {
		path string
		role role
		says string
	}{{t.Books, "books", "one row a book"}, {t.Leaves, "leaves", "one row a leaf in physical order"}, {t.Pages, "pages", "one row a page of which there is something to say"},
		{t.Sections, "sections", "one row a text and where it stands"}, {t.Instruments, "instruments", "one row a densitometer"}, {t.Paired, "paired", "spots that several instruments read"}} {
		if k.path == input {
			return k.role, k.says
		}
	}
	return roleInput, "the library's images of a book (IIIF manifest)"
}

// folder is the folder of a corpus in which an input lies; empty where it lies in none.
func (s *subject) folder(input string) string {
	for dir := path.Dir(input); dir != "."; dir = path.Dir(dir) {
		if slices.Contains(s.folders, dir) {
			return dir
		}
	}
	return ""
}

// word is what it is called.
func (s *subject) word() string {
	if s.kind == study.OfCorpus {
		return "corpus"
	}
	return "study"
}

// run is the command that makes its results.
func (s *subject) run() string { return fmt.Sprintf("thumbed %s %s", s.verb, s.path) }
