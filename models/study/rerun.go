package study

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/study/digits"
	"thumbed/models/table"
)

// A Rerun is a recorded run made again.
type Rerun struct {
	Record *Record           `json:"-"`
	Study  string            `json:"study"`  // path of the study file
	Inputs []Changed         `json:"inputs"` // inputs that are not what they were
	Made   []BuildDifference `json:"made"`   // what the run was made by, where that differs
	// whether numbers were let differ by 1e-7 of the larger of their size and their
	// standard error, since the processors differ
	Loosely    bool               `json:"loosely"`
	Comparison *digits.Comparison `json:"comparison"` // what came of it; null where the run could not be made again
}

// Changed is an input that is not what it was.
type Changed struct {
	Path string `json:"path"`                                // path of the input
	How  string `json:"how" words:"changed / missing / new"` // what became of it
}

const (
	changed = "changed"
	missing = "missing"
	added   = "new"
)

// BuildDifference is something of which the program was made, then and now.
type BuildDifference struct {
	What string `json:"what"` // part of what the program was made of
	Then string `json:"then"` // what it was
	Now  string `json:"now"`  // what it is
}

// Agrees tells whether all recorded digits came again.
func (r *Rerun) Agrees() bool { return r.Comparison != nil && r.Comparison.Agree() }

// Repeat makes a recorded run again from its inputs and compares. path is the
// record or its results folder; studyPath is the study where the record does not
// find it any more, and else empty. Nothing is written. Where the run cannot be
// made again, the error says why; the Rerun, unless nil, tells of the inputs.
//
// Numbers are compared to the last digit where the processors are of one family,
// else to [digits.Part] of the larger of their size and their standard error.
func Repeat(path, studyPath string, progress Progress) (*Rerun, error) {
	return RepeatBy(path, studyPath, Again{Kind: OfStudy, Name: FileName, Run: func(path string) ([]FileSum, []byte, error) {
		s, err := Open(path)
		if err != nil {
			return nil, nil, err
		}
		results, err := s.Run(progress)
		var incomplete *Incomplete
		if err != nil && !errors.As(err, &incomplete) {
			return s.inputs, nil, err
		}
		numbers, err := results.JSON()
		return s.inputs, numbers, err
	}})
}

// Again makes one kind of recorded run again.
type Again struct {
	Kind string // of record: OfStudy or OfCorpus
	Name string // how the file that such runs begin from is called
	// Run gives the inputs and results.json of a run of the file at path.
	Run func(path string) (inputs []FileSum, numbers []byte, err error)
}

// RepeatBy is [Repeat] for any kind of run.
func RepeatBy(path, studyPath string, again Again) (*Rerun, error) {
	record, err := ReadRecord(path)
	if err != nil {
		return nil, err
	}
	if record.Kind != again.Kind {
		return nil, fmt.Errorf("%s is a “%s”, not a “%s”: give it to the verb that made it", path, record.Kind, again.Kind)
	}
	if studyPath == "" {
		studyPath = record.studyFrom(path)
	}
	studyPath = inFolder(studyPath, again.Name)
	r := &Rerun{Record: record, Study: studyPath, Inputs: record.changedInputs(studyPath), Made: record.buildDifferences(ThisBuild())}
	r.Loosely = record.Processor != ThisBuild().Processor
	numbers, err := record.numbers(path)
	if err != nil {
		return r, err
	}
	if i := slices.IndexFunc(r.Inputs, func(c Changed) bool { return c.How == missing }); i >= 0 {
		return r, fmt.Errorf("%s is missing beside %s: put it back, or say with --study where the study stands now", r.Inputs[i].Path, studyPath)
	}
	inputs, now, err := again.Run(studyPath)
	then := map[string]bool{}
	for _, input := range record.Inputs {
		then[input.Path] = true
	}
	for _, input := range inputs {
		if !then[input.Path] {
			r.Inputs = append(r.Inputs, Changed{input.Path, added})
		}
	}
	if err != nil {
		return r, err
	}
	r.Comparison, err = digits.Compare(numbers, now, r.Loosely)
	return r, err
}

// folderOf is the folder of a record that is given by itself or by its folder.
func folderOf(path string) string { return filepath.Dir(inFolder(path, RecordName)) }

// studyFrom is where the study file of a record should be.
func (r *Record) studyFrom(path string) string {
	if study := filepath.FromSlash(r.Study); filepath.IsAbs(study) {
		return study
	}
	return filepath.Join(folderOf(path), filepath.FromSlash(r.Study))
}

// Outside is the study file that a record given by path names where that stands
// neither in the folder of the results nor in the one around it; else it is empty.
func (r *Record) Outside(path string) string {
	named := r.studyFrom(path)
	around, err := filepath.Abs(filepath.Dir(folderOf(path)))
	if err != nil {
		return named
	}
	whole, err := filepath.Abs(named)
	if err != nil {
		return named
	}
	if inside, err := filepath.Rel(around, whole); err != nil || inside == ".." || strings.HasPrefix(inside, ".."+string(filepath.Separator)) {
		return named
	}
	return ""
}

// numbers are those recorded. A record of version 1 has them only beside it.
func (r *Record) numbers(path string) ([]byte, error) {
	if len(r.Results) > 0 {
		return r.Results, nil
	}
	text, err := table.Content(filepath.Join(folderOf(path), numbersName), largestRecord)
	if err != nil || !slices.Contains(r.Outputs, SumOf(numbersName, text)) {
		return nil, fmt.Errorf("this record of version %d holds no numbers, and the %s that it sealed is not beside it: put that back", r.Version, numbersName)
	}
	return text, nil
}

// changedInputs lists the inputs that are not what the record sealed.
func (r *Record) changedInputs(study string) []Changed {
	var out []Changed
	for i, then := range r.Inputs {
		path := filepath.FromSlash(then.Path)
		switch {
		case i == 0:
			path = study
		case !filepath.IsAbs(path):
			path = filepath.Join(filepath.Dir(study), path)
		}
		now, err := SealAt(then.Path, path)
		switch {
		case err != nil:
			out = append(out, Changed{then.Path, missing})
		case now != then:
			out = append(out, Changed{then.Path, changed})
		}
	}
	return out
}

// buildDifferences lists what the record was made by and this program is not.
func (r *Record) buildDifferences(b Build) []BuildDifference {
	var out []BuildDifference
	differ := func(what, then, now string) {
		if then != now && then != "" {
			out = append(out, BuildDifference{what, then, now})
		}
	}
	differ("program", r.Program, b.Program)
	differ("commit", r.Revision, b.Revision)
	differ("Go", r.Go, b.Go)
	differ("platform", r.Platform, b.Platform)
	differ("processor", r.Processor, b.Processor)
	now := map[string]string{}
	for _, m := range b.Modules {
		path, version := moduleVersion(m)
		now[path] = version
	}
	for _, m := range r.Modules {
		path, version := moduleVersion(m)
		differ(path, version, now[path])
	}
	return out
}

// moduleVersion parts a module of a build; the sum behind the version, which older
// records lack, is that of the version.
func moduleVersion(module string) (path, version string) {
	path, rest, _ := strings.Cut(module, " ")
	version, _, _ = strings.Cut(rest, " ")
	return path, version
}
