package study

import (
	"errors"
	"reflect"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/wording"
)

// A File is what study.toml says.
type File struct {
	Title    string `toml:"title"`
	Author   string `toml:"author"`
	Note     string `toml:"note"`
	Invented bool   `toml:"invented"`

	Labels wording.Labels `toml:"labels"` // words of columns and levels in sentences

	Tables    Tables                `toml:"tables"`
	Measuring Measuring             `toml:"measuring"`
	Sheet     *Sheet                `toml:"sheet"` // nil where the file says nothing of one
	Models    []Model               `toml:"model"`
	Questions []hypotheses.Question `toml:"question"`

	Adjust     string              `toml:"adjust"` // over what answers are adjusted: "together" (the default, also when empty) or "apart", each family by itself
	Families   []hypotheses.Family `toml:"family"` // that are not adjusted as usual
	Robustness Robustness          `toml:"robustness"`
	Images     []Images            `toml:"images"`

	Comparisons []Comparison `toml:"compare"` // of readers; empty: all pairs, where they are few

	Breaks   []Break    `toml:"break"` // known of the books beforehand
	Unbroken []Unbroken `toml:"whole"`
}

// Tables name the study's tables, as paths from the folder of study.toml.
// Pages and Sections may be left out.
type Tables struct {
	Books       string   `toml:"books"`
	Leaves      string   `toml:"leaves"`
	Pages       string   `toml:"pages"`
	Sections    string   `toml:"sections"`
	Instruments string   `toml:"instruments"`
	Readings    []string `toml:"readings"`
}

// Measuring are the choices of the measuring plan; see [readings.Options].
type Measuring struct {
	Drift      readings.Drift `toml:"drift"`       // "offset" where not given
	SpotSpread float64        `toml:"spot_spread"` // density; 0: from the log
	Solid      float64        `toml:"solid"`       // density; 1.5 where not given

	// What sittings differ by, known beforehand: standard deviations of density;
	// 0: from pages measured again.
	DaySpread        float64 `toml:"day_spread"`
	ObserverSpread   float64 `toml:"observer_spread"`
	InstrumentSpread float64 `toml:"instrument_spread"`
	PlacingSpread    float64 `toml:"placing_spread"`
	SpreadSource     string  `toml:"spread_source"` // where they come from, in words
}

// UsualMeasuring is the measuring plan where a file says nothing else (common
// practice, no source: a density of 1.5 is a dark, even deposit of thumb grease
// and dust).
func UsualMeasuring() Measuring { return Measuring{Drift: readings.DriftOffset, Solid: 1.5} }

// A Model is a [mixed.Model] with its place in the study.
type Model struct {
	Name  string              `toml:"name"`
	About string              `toml:"about"` // what it is for, in the scholar's words
	Each  string              `toml:"each"`  // "book": fitted in each book by itself; empty: once
	Only  map[string][]string `toml:"only"`  // rows whose column has one of these labels; all must hold

	mixed.Model `toml:"-"`
}

// Over what answers are adjusted.
const (
	together = "together"
	apart    = "apart"
)

// shape is what study.toml may hold.
var shape = document.Shape{
	What:     "a study file",
	Root:     reflect.TypeFor[File](),
	Repeated: map[string]bool{"model": true, "question": true, "family": true, "compare": true, "break": true, "whole": true},
	Ours:     map[string]bool{"name": true, "about": true, "each": true, "only": true},
}

// parse reads study.toml. Every problem goes to ps with path as its file; where
// tells on which line each key stands. What could be read is returned.
func parse(path string, data []byte, ps *table.Problems) (*File, document.Where) {
	file := &File{Measuring: UsualMeasuring(), Robustness: Robustness{Leaves: usualLeaves}}
	doc := shape.Split(path, data, ps)
	if doc == nil {
		return nil, nil
	}
	doc.Decode(path, file, ps)
	ParseModels(path, doc, file.Models, ps)
	checker := fileCheck{path: path, file: file, where: doc.Where, ps: ps}
	checker.all()
	return file, doc.Where
}

// ParseModels reads the models' own keys, which a document sets apart.
func ParseModels(path string, doc *document.Document, models []Model, ps *table.Problems) {
	for i := range models {
		model, err := mixed.ParseModel(path, doc.Models[i])
		var fault *table.Fault
		switch {
		case errors.As(err, &fault):
			ps.Add(fault.Problems...)
		case err != nil:
			ps.Add(table.Problem{File: path, Line: doc.Where.Line("model", i), Column: "model", Value: models[i].Name,
				Expected: "a model", Remedy: err.Error()})
		}
		models[i].Model = model
	}
}
