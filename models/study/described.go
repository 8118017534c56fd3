package study

import (
	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// OpenBooks reads a study's books and instruments, for what is done before its
// readings are there; nothing else of it is looked at. path is study.toml or its
// folder. The error is a [*table.Fault].
func OpenBooks(path string) (*Study, []readings.Instrument, error) {
	path = inFolder(path, FileName)
	var ps table.Problems
	text, problem := ReadText(path, shape.What, FileName)
	if problem != nil {
		ps.Add(*problem)
		return nil, nil, ps.Err()
	}
	doc := shape.Split(path, text, &ps)
	if doc == nil {
		return nil, nil, ps.Err()
	}
	s := &Study{Path: path, text: text, where: doc.Where}
	var others table.Problems // of what a run looks at
	doc.Decode(path, &s.File, &others)
	s.misread = others.List()
	for _, t := range []struct{ key, path string }{{"books", s.Tables.Books}, {"leaves", s.Tables.Leaves}, {"instruments", s.Tables.Instruments}} {
		if t.path == "" && !(t.key == "instruments" && len(s.File.Traces) > 0) { // traces alone need none
			ps.Add(doc.Where.Problem(path, "", "the name of the table of "+t.key, `write `+t.key+` = "`+t.key+`.csv" below [tables]`, "tables", t.key))
		}
	}
	if err := ps.Err(); err != nil {
		return nil, nil, err
	}
	s.Books = codex.Load(codex.Paths{Books: s.near(s.Tables.Books), Leaves: s.near(s.Tables.Leaves),
		Pages: s.near(s.Tables.Pages), Sections: s.near(s.Tables.Sections)}, &ps)
	var instruments []readings.Instrument
	if s.Tables.Instruments != "" {
		instruments = readings.LoadInstruments(s.near(s.Tables.Instruments), &ps)
	}
	return s, instruments, ps.Err()
}

// Near gives a path of the study file, which is from its folder, as a path from here.
func (s *Study) Near(path string) string { return s.near(path) }
