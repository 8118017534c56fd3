package study

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"thumbed/models/codex"
	"thumbed/models/hypotheses"
	"thumbed/models/report"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// SealName is the file beside study.toml that holds its seal.
const SealName = "seal.json"

const (
	sealKind    = "seal of a thumbed study"
	sealVersion = 1
)

// A Seal states which questions were asked of which models before there were
// readings, and what was known of the books. It holds SHA-256 sums (FIPS 180-4) of
// what the study file said of each, comments, order and layout apart, so that it
// can be shown later that nothing was changed.
type Seal struct {
	Kind    string    `json:"kind" words:"seal of a thumbed study"` // says that it is a seal
	Version int       `json:"version"`                              // version of this form of seal
	Sealed  time.Time `json:"sealed"`                               // when it was made, in UTC
	Day     string    `json:"day"`                                  // the day by the clock where it was made, as a day of the log
	Program string    `json:"program"`                              // name and version of the program
	Title   string    `json:"title"`                                // title of the study
	// Sums of what the study file said: of the measuring plan, of the breaks and
	// stretches known of the books (empty where there are none), of each model and
	// of each question.
	Measuring string `json:"measuring"` // SHA-256 of what the study file said of the measuring plan
	// SHA-256 of the breaks and stretches that the study file said to be known of the
	// books; left out where it said none
	Known     string      `json:"known,omitempty"`
	Coding    string      `json:"coding,omitempty"` // SHA-256 of the coding book of traces; left out where there is none
	Models    []PartSum   `json:"models"`           // the models
	Questions []PartSum   `json:"questions"`        // the questions
	Readings  []TableRows `json:"readings"`         // the tables of readings that were there already

	sum string // of the file, once read
}

// A PartSum is a model or question by its name or words, and the sum of what
// it said.
type PartSum struct {
	Name   string `json:"name"`   // name of the model, or words of the question
	SHA256 string `json:"sha256"` // SHA-256 of what the study file said of it
}

// A TableRows is a table of readings that was there when the seal was made.
type TableRows struct {
	Path string `json:"path"` // path of the table
	Rows int    `json:"rows"` // its rows
}

// WriteSeal seals the questions and models of a study as they stand and writes
// seal.json beside it; now is the time by the clock. The books must be described,
// since models speak of their columns; readings need not be there yet. A seal is
// never written over. It gives the seal's path and its SHA-256.
func WriteSeal(path string, now time.Time) (written, sum string, err error) {
	s, err := OpenUnread(path)
	if err != nil {
		return "", "", err
	}
	there, err := ReadingsThere(filepath.Dir(s.Path), slices.Concat(s.Tables.Readings, s.Tables.Traces))
	if err != nil {
		return "", "", err
	}
	return s.inquiry().WriteSeal(s.text, there, now)
}

// inquiry is what the study asks, apart from its tables.
func (s *Study) inquiry() *Inquiry { return &Inquiry{s} }

// WriteSeal seals the questions and models of the file that this inquiry is made
// of, as its text says them, and writes seal.json beside it; readings are the
// tables of readings that are there already. See [WriteSeal].
func (q *Inquiry) WriteSeal(text []byte, readings []TableRows, now time.Time) (written, sum string, err error) {
	path := q.study.Path
	if len(q.study.Questions) == 0 {
		return "", "", fmt.Errorf("%s asks no question, so there is nothing to seal: write a [[question]] for each thing that you want to know", path)
	}
	seal, err := sumParts(text)
	if err != nil {
		return "", "", err
	}
	seal.Kind, seal.Version, seal.Program, seal.Title, seal.Readings = sealKind, sealVersion, ThisBuild().Program, q.study.Title, readings
	seal.Sealed, seal.Day = now.UTC().Truncate(time.Second), now.Format(time.DateOnly)
	written = filepath.Join(filepath.Dir(path), SealName)
	text, err = json.MarshalIndent(seal, "", "  ")
	if err != nil {
		return "", "", err
	}
	text = append(text, '\n')
	if err := writeNew(written, text); err != nil {
		return "", "", err
	}
	return written, sealOf(text), nil
}

// OpenUnread reads a study without its readings, which need not be there yet:
// its books, models and questions. path and the error are as those of [Open].
func OpenUnread(path string) (*Study, error) {
	path = inFolder(path, FileName)
	var ps table.Problems
	text, problem := ReadText(path, shape.What, FileName)
	if problem != nil {
		ps.Add(*problem)
		return nil, ps.Err()
	}
	var found table.Problems
	file, where := parse(path, text, &found)
	for _, p := range found.List() {
		if p.Column != "tables.readings" && p.Column != "tables.traces" { // which come later
			ps.Add(p)
		}
	}
	if file == nil || ps.Len() > 0 {
		return nil, ps.Err()
	}
	s := &Study{Path: path, File: *file, text: text, where: where}
	t := s.Tables
	s.Books = codex.Load(codex.Paths{Books: s.near(t.Books), Leaves: s.near(t.Leaves), Pages: s.near(t.Pages), Sections: s.near(t.Sections)}, &ps)
	if ps.Len() == 0 {
		if len(s.File.Traces) > 0 {
			s.Looks = traces.Load(nil, s.File.Traces, s.Books, &ps)
		}
		s.checkModels(&ps)
	}
	return s, ps.Err()
}

// ReadingsThere counts the rows of tables of readings, paths from dir, that are
// there already and hold any.
func ReadingsThere(dir string, paths []string) ([]TableRows, error) {
	out := []TableRows{}
	for _, path := range paths {
		at := filepath.FromSlash(path)
		if !filepath.IsAbs(at) {
			at = filepath.Join(dir, at)
		}
		if _, err := os.Stat(at); errors.Is(err, fs.ErrNotExist) {
			continue
		}
		var ps table.Problems
		t := table.ReadFile(at, &ps)
		if err := ps.Err(); err != nil {
			return nil, err
		}
		if t.Rows() > 0 {
			out = append(out, TableRows{filepath.ToSlash(path), t.Rows()})
		}
	}
	return out, nil
}

// writeNew writes a file that must not be there yet, whole or not at all.
func writeNew(path string, text []byte) error {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%s is there already, and a seal is made once; nothing was changed: if the earlier one is void, give it another name, keep it, and say in the chapter why", path)
	}
	if err != nil {
		return fmt.Errorf("the seal cannot be written: %w", err)
	}
	_, err = file.Write(text)
	if err = errors.Join(err, file.Close()); err != nil {
		return fmt.Errorf("the seal cannot be written: %w", errors.Join(err, os.Remove(path)))
	}
	return nil
}

func sealOf(text []byte) string { return SumOf("", text).SHA256 }

// sumParts sums what a study file says of measuring, of what is known of the
// books, of each model but for the words on what it is for, and of each question:
// a seal of nothing else.
func sumParts(text []byte) (out Seal, err error) {
	var tree struct {
		Measuring map[string]any   `toml:"measuring"`
		Breaks    []map[string]any `toml:"break"`
		Whole     []map[string]any `toml:"whole"`
		Traces    []map[string]any `toml:"trace"`
		Models    []map[string]any `toml:"model"`
		Questions []map[string]any `toml:"question"`
	}
	if err := document.Peek(text, &tree); err != nil {
		return Seal{}, err
	}
	if out.Measuring, err = sumOf(tree.Measuring); err != nil {
		return Seal{}, err
	}
	if len(tree.Breaks)+len(tree.Whole) > 0 {
		if out.Known, err = sumOf(map[string]any{"break": tree.Breaks, "whole": tree.Whole}); err != nil {
			return Seal{}, err
		}
	}
	if len(tree.Traces) > 0 {
		if out.Coding, err = sumOf(map[string]any{"trace": tree.Traces}); err != nil {
			return Seal{}, err
		}
	}
	if out.Models, err = sumEach(tree.Models, "name", "about"); err != nil {
		return Seal{}, err
	}
	out.Questions, err = sumEach(tree.Questions, "words", "")
	return out, err
}

// sumEach sums each section without one of its keys.
func sumEach(sections []map[string]any, name, without string) ([]PartSum, error) {
	out := []PartSum{}
	for _, section := range sections {
		said := maps.Clone(section)
		delete(said, without)
		sum, err := sumOf(said)
		if err != nil {
			return nil, err
		}
		words, _ := section[name].(string)
		out = append(out, PartSum{words, sum})
	}
	return out, nil
}

// sumOf sums values by their JSON, whose keys are in order.
func sumOf(values map[string]any) (string, error) {
	text, err := json.Marshal(values)
	if err != nil {
		return "", err
	}
	return sealOf(text), nil
}

// readSeal reads the seal beside the study; nil where there is none.
func (s *Study) readSeal() (*Seal, error) {
	out, err := ReadSeal(filepath.Dir(s.Path))
	if out != nil {
		s.inputs = append(s.inputs, out.Input())
	}
	return out, err
}

// ReadSeal reads the seal in a folder; nil where there is none.
func ReadSeal(dir string) (*Seal, error) {
	path := filepath.Join(dir, SealName)
	text, err := table.Content(path, largest)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the seal cannot be read: %w", err)
	}
	return parseSeal(path, text)
}

// Input is the seal as an input of a run.
func (seal *Seal) Input() FileSum { return FileSum{Path: SealName, SHA256: seal.sum} }

// parseSeal reads the text of a seal; path names it in errors.
func parseSeal(path string, text []byte) (*Seal, error) {
	out := &Seal{sum: sealOf(text)}
	if err := json.Unmarshal(text, out); err != nil || out.Kind != sealKind || out.Version != sealVersion {
		return nil, fmt.Errorf("%s is not a seal that this program made: put the true one back, or give this file another name", path)
	}
	return out, nil
}

// foresee tells each answer whether its question was sealed before the readings
// were taken. Without a seal nothing is said.
func (s *Study) foresee(results *report.Results) error {
	if s.seal == nil {
		return nil
	}
	earlier := 0
	if s.Log != nil {
		for _, r := range s.Log.Readings {
			if s.seal.Before(r.Day) {
				earlier++
			}
		}
	}
	if s.Looks != nil {
		for _, look := range s.Looks.All {
			if s.seal.Before(look.Day) {
				earlier++
			}
		}
	}
	return s.inquiry().Preregister(s.seal, s.text, results, s.seal.Seen(slices.Concat(s.Tables.Readings, s.Tables.Traces), earlier))
}

// Preregister tells each answer to the questions of the file that this inquiry is made
// of, as its text says them, whether it was sealed; seen is as [Seal.Seen] gives it.
func (q *Inquiry) Preregister(seal *Seal, text []byte, results *report.Results, seen string) error {
	now, err := sumParts(text)
	if err != nil {
		return err
	}
	if now.Known != seal.Known {
		results.Notes = append(results.Notes, fmt.Sprintf("What is known of the books beforehand, breaks and stretches without a change, is not what was sealed on %s. It is a free choice that bears on drop-offs and habits: say in the chapter why it was changed.", seal.Day))
	}
	results.Seal = &report.Seal{Day: seal.Day, SHA256: seal.sum}
	for i := range results.Answers {
		a := &results.Answers[i]
		why := seen
		switch {
		case !slices.Contains(seal.Questions, now.Questions[q.study.asked(a.Question)]):
			why = "the question is not among those sealed, or was changed since"
		case !slices.Contains(seal.Models, partOf(now.Models, a.Question.Model)):
			why = "its model was changed since"
		case a.Told == nil && now.Measuring != seal.Measuring:
			why = "the measuring plan was changed since"
		case a.Told != nil && now.Coding != seal.Coding:
			why = "the coding book was changed since"
		}
		a.Preregistration = &hypotheses.Preregistration{Preregistered: why == "", Day: seal.Day, Why: why}
	}
	return nil
}

// asked finds a question that has an answer among those of the study.
func (s *Study) asked(q hypotheses.Question) int {
	return slices.IndexFunc(s.Questions, func(other hypotheses.Question) bool { return other.Words == q.Words && other.Model == q.Model })
}

func partOf(parts []PartSum, name string) PartSum {
	for _, p := range parts {
		if p.Name == name {
			return p
		}
	}
	return PartSum{}
}

// Before tells whether a day of the log came before that of the seal.
func (seal *Seal) Before(day string) bool { return day < seal.Day }

// Seen says which readings there were before the seal, of the tables of readings at
// paths: rows that were there when it was made, else earlier ones, taken on days
// before; empty where none.
func (seal *Seal) Seen(paths []string, earlier int) string {
	now := map[string]bool{}
	for _, path := range paths {
		now[path] = true
	}
	rows := 0
	for _, t := range seal.Readings {
		if now[t.Path] {
			rows += t.Rows
		}
	}
	switch {
	case rows > 0:
		return fmt.Sprintf("%s in the log already when it was sealed", wording.Count(rows, "reading was", "readings were"))
	case earlier > 0:
		return fmt.Sprintf("%s taken before the day of the seal", wording.Count(earlier, "reading was", "readings were"))
	}
	return ""
}
