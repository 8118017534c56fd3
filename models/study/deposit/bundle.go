package deposit

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"time"

	"thumbed/models/study"
	"thumbed/models/table"
)

// A Bundle is a study, or a corpus, with its results, ready to be written as one folder or file.
type Bundle struct {
	Notes []string // sentences: what the scholar may want to know or mend first

	of        *subject
	record    *study.Record
	statement *Statement
	results   string  // folder of results, as a path from here
	home      string  // folder of the study or corpus file in the bundle; empty where it is the bundle itself
	files     []*file // in the order of the data package; its own descriptor is the last
}

// A file of a bundle.
type file struct {
	path   string // in the bundle, with forward slashes
	from   string // path from here; empty for what is made for the bundle
	text   []byte // of what is made for the bundle
	size   int64
	sha256 string
	about  string // a phrase
	role   role
}

// A role is what a file is to the study.
type role string

// Roles of files. Tables of the study have the name of their kind.
const (
	roleStudy   role = "study"
	roleRecord  role = "record"
	roleInput   role = "input" // any other file that went into the run
	roleSchema  role = "schema"
	roleOutput  role = "output"
	roleSaying  role = "statement"
	roleForUser role = "readme"
)

// Pack gathers a study or a corpus and its results. path is study.toml, corpus.toml or
// the folder of one; results is the folder of results, empty for the folder results
// beside it; source is
// the folder of the program's source, empty where that is not to be bundled. Nothing
// is written. The error says where the results are missing, or are not those of
// the study as it stands, and what to do.
func Pack(path, results, source string) (*Bundle, error) {
	s, err := subjectAt(path)
	if err != nil {
		return nil, err
	}
	if results == "" {
		results = filepath.Join(filepath.Dir(s.path), "results")
	}
	b := &Bundle{of: s, results: results}
	if b.record, err = readRecord(s, results); err != nil {
		return nil, err
	}
	if err := checkFresh(s, b.record, results); err != nil {
		return nil, err
	}
	if b.statement, err = readStatement(filepath.Join(filepath.Dir(s.path), StatementName)); err != nil {
		return nil, err
	}
	if b.home, err = homeOf(b.record.Inputs); err != nil {
		return nil, err
	}
	if err := b.gather(); err != nil {
		return nil, err
	}
	if source != "" {
		if err := b.addSource(source); err != nil {
			return nil, err
		}
	}
	b.note()
	return b, b.describe()
}

// Word is what the bundle is of: study or corpus.
func (b *Bundle) Word() string { return b.of.word() }

// readRecord reads the record of the results.
func readRecord(s *subject, results string) (*study.Record, error) {
	if _, err := os.Stat(filepath.Join(results, study.RecordName)); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s holds no results of this %s: make them with %s, or name their folder with --results", results, s.word(), s.run())
	}
	record, err := study.ReadRecord(results)
	if err != nil {
		return nil, err
	}
	if record.Kind != s.kind {
		return nil, fmt.Errorf("%s holds a “%s”; a bundle of this %s is made of the results of thumbed %s", results, record.Kind, s.word(), s.verb)
	}
	return record, nil
}

// checkFresh tells whether the results are those of the study's files as they
// stand, and whether nobody has changed them since.
func checkFresh(s *subject, record *study.Record, results string) error {
	var stale []string
	now := map[string]string{}
	for _, input := range s.inputs {
		now[input.Path] = input.SHA256
	}
	for _, then := range record.Inputs {
		switch sum, there := now[then.Path]; {
		case !there:
			stale = append(stale, then.Path+" is no longer part of the "+s.word())
		case sum != then.SHA256:
			stale = append(stale, then.Path+" has changed")
		}
		delete(now, then.Path)
	}
	for _, input := range s.inputs {
		if _, fresh := now[input.Path]; fresh {
			stale = append(stale, input.Path+" is new")
		}
	}
	if len(stale) > 0 {
		return fmt.Errorf("the results in %s are not those of the %s as it stands: since the run %s. Run it again with %s, and look at what changed", results, s.word(), strings.Join(stale, "; "), s.run())
	}
	var touched []string
	for _, output := range record.Outputs {
		sum, _, err := sumFile(filepath.Join(results, filepath.FromSlash(output.Path)))
		switch {
		case errors.Is(err, fs.ErrNotExist):
			touched = append(touched, output.Path+" is missing")
		case err != nil:
			return err
		case sum != output.SHA256:
			touched = append(touched, output.Path+" was changed")
		}
	}
	if len(touched) > 0 {
		return fmt.Errorf("the results in %s are not what the run wrote: %s. Move what you changed elsewhere, and run again with %s", results, strings.Join(touched, "; "), s.run())
	}
	return nil
}

// homeOf is the folder for study.toml in a bundle. Where a table stands above the
// study's own folder, as in "../shared/books.csv", the study stands as deep in the
// bundle, so that the path leads to the same table there.
func homeOf(inputs []study.FileSum) (string, error) {
	up := 0
	for _, input := range inputs {
		if path.IsAbs(input.Path) || filepath.IsAbs(filepath.FromSlash(input.Path)) {
			return "", fmt.Errorf("the study names %s by its place on this machine, which no other has: write its path as seen from the folder of the study file, run again, and bundle", input.Path)
		}
		above := 0
		for rest := path.Clean(input.Path); strings.HasPrefix(rest, "../"); rest = rest[len("../"):] {
			above++
		}
		up = max(up, above)
	}
	if up == 0 {
		return "", nil
	}
	return strings.Repeat("above/", up-1) + "study", nil
}

// gather lists the files of the study and of its results.
func (b *Bundle) gather() error {
	dir := filepath.Dir(b.of.path)
	for i, input := range b.record.Inputs {
		from := filepath.Join(dir, filepath.FromSlash(input.Path))
		if i == 0 {
			from = b.of.path
		}
		f := &file{path: path.Join(b.home, input.Path), from: from, sha256: input.SHA256}
		if f.role, f.about = roleStudy, b.of.about; i > 0 {
			f.role, f.about = b.of.roles(input.Path)
		}
		b.files = append(b.files, f)
		if beside := schemaBeside(from); beside != "" && strings.HasSuffix(from, ".csv") {
			b.files = append(b.files, &file{path: table.SchemaPath(f.path), from: beside, role: roleSchema, about: "schema of " + path.Base(f.path)})
		}
	}
	if said := filepath.Join(dir, StatementName); isRegular(said) {
		b.files = append(b.files, &file{path: path.Join(b.home, StatementName), from: said, role: roleSaying, about: "what the repository was told"})
	}
	results := path.Join(b.home, "results")
	b.files = append(b.files, &file{path: path.Join(results, study.RecordName), from: filepath.Join(b.results, study.RecordName), role: roleRecord,
		about: "what the results were made from and by, and every number of them"})
	for _, output := range b.record.Outputs {
		b.files = append(b.files, &file{path: path.Join(results, output.Path), from: filepath.Join(b.results, filepath.FromSlash(output.Path)),
			sha256: output.SHA256, role: roleOutput, about: aboutOutput(output.Path)})
	}
	for _, f := range b.files {
		sum, size, err := sumFile(f.from)
		if err != nil {
			return err
		}
		if f.sha256 != "" && sum != f.sha256 {
			return fmt.Errorf("%s changed while it was read: bundle again when nobody else works on the files", f.from)
		}
		f.sha256, f.size = sum, size
	}
	return nil
}

// note tells what the scholar may want to say before depositing.
func (b *Bundle) note() {
	if b.statement.Licence == "" {
		b.Notes = append(b.Notes, fmt.Sprintf("No licence is stated, so nobody may use the data beyond what the law allows. To state one, write licence = \"CC-BY-4.0\", or another, into %s beside the study file.", StatementName))
	}
	if b.statement.Date == "" {
		b.Notes = append(b.Notes, fmt.Sprintf("As date of publication stands %s, the day of the last reading or look. To give another, write date = \"…\" into %s.", b.of.last, StatementName))
	}
	if len(b.people()) == 0 {
		b.Notes = append(b.Notes, fmt.Sprintf("No author is named: write author = \"…\" into the study file, or [[creator]] into %s.", StatementName))
	}
	if left := b.leftOut(); len(left) > 0 {
		b.Notes = append(b.Notes, "Left out, since the run did not write it: "+strings.Join(left, ", ")+".")
	}
}

// leftOut lists the files among the results that the run did not write.
func (b *Bundle) leftOut() []string {
	var left []string
	known := map[string]bool{study.RecordName: true}
	for _, output := range b.record.Outputs {
		known[output.Path] = true
	}
	// What cannot be looked at is not the run's: the record's own files were read.
	_ = filepath.WalkDir(b.results, func(at string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return nil
		}
		if name, err := filepath.Rel(b.results, at); err == nil && !known[filepath.ToSlash(name)] {
			left = append(left, at)
		}
		return nil
	})
	return left
}

// published is the date of publication.
func (b *Bundle) published() string {
	if b.statement.Date != "" {
		return b.statement.Date
	}
	return b.of.last
}

// moment is the time that the bundle's files bear. A .zip knows none before 1980.
func (b *Bundle) moment() time.Time {
	at, err := time.Parse(time.DateOnly, b.of.last)
	if first := time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC); err != nil || at.Before(first) {
		return first
	}
	return at
}

// people are the creators, or the study's author.
func (b *Bundle) people() []Creator {
	if len(b.statement.Creators) > 0 || b.of.author == "" {
		return b.statement.Creators
	}
	return []Creator{{Name: b.of.author}}
}

// licence is the licence stated; its zero value where there is none.
func (b *Bundle) licence() Licence {
	l, _ := parseLicence(b.statement.Licence) // checked when it was read
	return l
}

// title is that of the study or corpus.
func (b *Bundle) title() string {
	if b.of.title == "" {
		return "A study of wear in manuscript books"
	}
	return b.of.title
}

// description says what the bundle is, in sentences.
func (b *Bundle) description() string {
	var said []string
	if b.of.invented {
		said = append(said, "The books and readings of this "+b.of.word()+" are invented.")
	}
	if b.statement.Description != "" {
		said = append(said, b.statement.Description)
	} else {
		said = append(said, "Wear of the pages of manuscript books from densitometer readings: the log, the description of the books, the models and questions, their answers, and the record of the run.")
	}
	if b.of.note != "" && b.statement.Description == "" {
		said = append(said, b.of.note)
	}
	return strings.Join(said, " ")
}
