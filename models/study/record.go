package study

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/report/chapter"
	"thumbed/models/table"
)

// RecordName is the file of a results folder that tells how the results were
// made; it also marks the folder as one of ours.
const RecordName = "record.json"

// A kind and recordVersion open every record, so that a later program knows what
// it reads. Version 1 had no study text, seeds, processor and numbers.
const (
	OfStudy       = "record of a thumbed run"
	OfCorpus      = "record of a thumbed run over a corpus"
	OfPlan        = "record of a thumbed plan"
	recordVersion = 2
)

// A Record tells from what and by what a folder of results was made, and every
// number of it. It holds nothing that depends on the clock.
type Record struct {
	Kind      string    `json:"kind" words:"record of a thumbed run / record of a thumbed run over a corpus / record of a thumbed plan"` // what was recorded
	Version   int       `json:"version"`                                                                                                 // version of this form of record
	Program   string    `json:"program"`                                                                                                 // name and version of the program
	Revision  string    `json:"revision,omitempty"`                                                                                      // commit that the program was built from
	Go        string    `json:"go"`                                                                                                      // version of Go
	Platform  string    `json:"platform"`                                                                                                // operating system and architecture
	Processor string    `json:"processor,omitempty"`                                                                                     // family of processors within which all digits are the same
	Modules   []string  `json:"modules"`                                                                                                 // path and version of each module of the program
	Study     string    `json:"study"`                                                                                                   // path of the study file, from the folder of results
	StudyText string    `json:"study_text,omitempty"`                                                                                    // what the study file said
	Inputs    []FileSum `json:"inputs"`                                                                                                  // the study file and its tables, paths from the study file's folder
	Seeds     []Seed    `json:"seeds,omitempty"`                                                                                         // seeds of all that was drawn by chance
	Answers   int       `json:"answers"`                                                                                                 // number of answered questions
	Outputs   []FileSum `json:"outputs"`                                                                                                 // all other files of the folder of results, paths from there

	Results json.RawMessage `json:"results,omitempty"` // what results.json holds: every number at full precision
}

// A Seed begins the random numbers of one piece of work.
type Seed struct {
	Of   string `json:"of"`   // what was drawn
	Seed uint64 `json:"seed"` // the seed
}

// A FileSum is a path with the SHA-256 (FIPS 180-4) of what it held.
type FileSum struct {
	Path   string `json:"path"`   // path of the file, with forward slashes
	SHA256 string `json:"sha256"` // SHA-256 of what it held, in hexadecimal
}

// SumOf sums what a file at a path held.
func SumOf(path string, content []byte) FileSum {
	sum := sha256.Sum256(content)
	return FileSum{Path: filepath.ToSlash(path), SHA256: hex.EncodeToString(sum[:])}
}

// SealAt seals the file at a place under a path of its own, piece by piece, so
// that a long log is not held whole.
func SealAt(path, place string) (FileSum, error) {
	file, err := table.Open(place)
	if err != nil {
		return FileSum{}, err
	}
	defer file.Close() // only read from
	sum := sha256.New()
	if _, err := io.Copy(sum, file); err != nil {
		return FileSum{}, err
	}
	return FileSum{Path: filepath.ToSlash(path), SHA256: hex.EncodeToString(sum.Sum(nil))}, nil
}

// sealAll seals every file under a folder but the record itself, in the order
// of their paths. What is neither a file nor a folder, such as a link, is
// listed with no sum.
func sealAll(dir string) ([]FileSum, error) {
	var sealed []FileSum
	err := filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil || name == RecordName {
			return err
		}
		if !entry.Type().IsRegular() {
			sealed = append(sealed, FileSum{Path: filepath.ToSlash(name)})
			return nil
		}
		file, err := SealAt(name, path)
		sealed = append(sealed, file)
		return err
	})
	return sealed, err
}

// record tells how results in dir come from this study.
func (s *Study) record(dir string, answers int) (*Record, error) {
	r, err := NewRecord(OfStudy, dir, s.Path, Record{StudyText: string(s.text), Inputs: s.inputs, Seeds: s.seeds(), Answers: answers})
	if err == nil {
		r.Processor = s.processor()
	}
	return r, err
}

// NewRecord completes a record of results in dir: what they were made by, and
// where the file that they come from, at path, stands seen from there.
func NewRecord(kind, dir, path string, r Record) (*Record, error) {
	build := ThisBuild()
	r.Kind, r.Version = kind, recordVersion
	r.Program, r.Revision, r.Go, r.Modules = build.Program, build.Revision, build.Go, build.Modules
	r.Platform, r.Processor = build.Platform, build.Processor
	from, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	to, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if relative, err := filepath.Rel(from, to); err == nil {
		to = relative
	}
	r.Study = filepath.ToSlash(to)
	return &r, nil
}

// write puts the record into a folder whose other files are complete.
func (r *Record) write(dir string) error {
	outputs, err := sealAll(dir)
	if err != nil {
		return err
	}
	r.Outputs = outputs
	numbers, err := os.ReadFile(filepath.Join(dir, numbersName))
	if err != nil {
		return err
	}
	head, err := json.MarshalIndent(r, "", "  ")
	if err != nil {
		return err
	}
	// The numbers, which nobody reads here, stand on one line at the end.
	var out bytes.Buffer
	out.Write(bytes.TrimSuffix(head, []byte("\n}")))
	out.WriteString(",\n  \"results\": ")
	if err := json.Compact(&out, numbers); err != nil {
		return err
	}
	out.WriteString("\n}\n")
	return os.WriteFile(filepath.Join(dir, RecordName), out.Bytes(), 0o644)
}

// largestRecord is the size of a record, in bytes, beyond which it is surely
// something else.
const largestRecord = 1 << 30

// numbersName is the file of a results folder with all its numbers.
const numbersName = "results.json"

// ReadRecord reads the record of a results folder, of this version or an
// earlier one. path is the folder, or the record itself.
func ReadRecord(path string) (*Record, error) {
	path = inFolder(path, RecordName)
	text, err := table.Content(path, largestRecord)
	if err != nil {
		return nil, fmt.Errorf("the record cannot be read: %w; give the folder of results of a run, or the %s in it", err, RecordName)
	}
	return ParseRecord(path, text)
}

// ParseRecord is [ReadRecord] of a record's text; path names it in errors.
func ParseRecord(path string, text []byte) (*Record, error) {
	r := &Record{}
	if err := json.Unmarshal(text, r); err != nil {
		return nil, fmt.Errorf("%s is not a record of a run: %w", path, err)
	}
	if !slices.Contains([]string{OfStudy, OfCorpus, OfPlan}, r.Kind) {
		return nil, fmt.Errorf("%s is not a record of a run: it does not say “%s”", path, OfStudy)
	}
	if r.Version < 1 || r.Version > recordVersion {
		return nil, fmt.Errorf("%s is a record of version %d, made by %s; this program reads versions 1 to %d: use a later one", path, r.Version, r.Program, recordVersion)
	}
	return r, nil
}

// checkUntouched tells whether the folder holds what the run wrote, what LaTeX
// made of its chapter, and nothing else: a file that somebody added or changed is
// theirs.
func (r *Record) checkUntouched(dir string) error {
	found, err := sealAll(dir)
	if err != nil {
		return fmt.Errorf("the earlier results in %s cannot be looked at: %w", dir, err)
	}
	for _, file := range found {
		inChapter, ok := strings.CutPrefix(file.Path, ChapterName+"/")
		if !slices.Contains(r.Outputs, file) && !(ok && chapter.Compiled(inChapter)) {
			return fmt.Errorf("%s was added or changed since the run that made %s; nothing was changed now: move that file elsewhere, or give another folder with --out",
				filepath.Join(dir, filepath.FromSlash(file.Path)), dir)
		}
	}
	return nil
}
