package report

import (
	"reflect"

	"thumbed/models/codex"
	"thumbed/models/hypotheses/power"
	"thumbed/models/readings"
	"thumbed/models/report/grid"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// The shapes of the files of numbers, for the pages that document them: of
// [Results.JSON], [Corpus.JSON] and [Plan.JSON].
var (
	NumbersShape       = reflect.TypeFor[studyFile]()
	CorpusNumbersShape = reflect.TypeFor[corpusFile]()
	PlanNumbersShape   = reflect.TypeFor[planNumbers]()
)

// studyFile and corpusFile are the shapes as [writeJSON] writes them.
type (
	studyFile struct {
		studyNumbers
		Missing []missingNumber `json:"missing"` // the numbers that are null, and why
	}
	corpusFile struct {
		corpusNumbers
		Missing []missingNumber `json:"missing"` // the numbers that are null, and why
	}
)

// A SheetShape is what one of the tables of a report is: its file's name without
// extension, what it holds in words, and its columns.
type SheetShape struct {
	Name, Title string
	Schema      table.Schema
}

// StudySheets are the tables of [Results.Write].
func StudySheets() ([]SheetShape, error) {
	pages, err := readings.Join(codex.Features(nil), nil, &readings.Result{})
	r := &Results{Pages: pages, Readings: &readings.Result{}, Traces: &TraceResults{Table: &table.Table{}, Looks: &traces.Looks{}}}
	return shapes(r.sheets()), err
}

// CorpusSheets are the tables of [Corpus.Write].
func CorpusSheets() []SheetShape {
	return shapes((&Corpus{Compared: Compared{Refused: "none"}}).sheets())
}

// PlanSheets are the tables of [Plan.Write].
func PlanSheets() []SheetShape { return shapes((&Plan{Result: &power.Result{}}).sheets()) }

func shapes(sheets []grid.Grid) []SheetShape {
	var out []SheetShape
	for _, s := range sheets {
		_, schema := s.Disk()
		out = append(out, SheetShape{s.Name, s.Title, schema})
	}
	return out
}
