package study

import (
	"errors"
	"reflect"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// A File is what study.toml says.
type File struct {
	Title    string `toml:"title"`    // what the page is headed by
	Author   string `toml:"author"`   // who asks
	Note     string `toml:"note"`     // a sentence or two that stand under the title
	Invented bool   `toml:"invented"` // whether the books and readings are invented; the page then says so

	Labels wording.Labels `toml:"labels"` // words of columns and of their levels in sentences, such as "half=second" = "the second half"

	Tables    Tables                `toml:"tables" required:"true"` // where the tables are
	Measuring Measuring             `toml:"measuring"`              // choices of the measuring plan
	Sheet     *Sheet                `toml:"sheet"`                  // the measuring sheet that thumbed sheet makes of the study
	Models    []Model               `toml:"model"`                  // the models
	Questions []hypotheses.Question `toml:"question"`               // the questions
	Traces    []traces.Trace        `toml:"trace"`                  // the coding book: what is graded, counted or there, one entry a trace

	// over what the chance of a false claim is held: over all families together (where
	// not given), or in each family apart
	Adjust     string              `toml:"adjust" words:"together / apart"`
	Families   []hypotheses.Family `toml:"family"`     // families of questions that are not adjusted as usual
	Robustness Robustness          `toml:"robustness"` // which answers are tried with other choices
	Images     []Images            `toml:"images"`     // books whose wear is said on the library's images

	Comparisons []Comparison `toml:"compare"` // readers to compare; all pairs where none are named and they are few

	Breaks   []Break    `toml:"break"` // known breaks of the books, at which the level may differ and no change is found
	Unbroken []Unbroken `toml:"whole"` // stretches of the books that cannot hold a change
}

// Tables name the study's tables, as paths from the folder of study.toml.
// Pages and Sections may be left out.
type Tables struct {
	Books       string   `toml:"books" required:"true"`       // path of the table with one row a book
	Leaves      string   `toml:"leaves" required:"true"`      // path of the table with one row a leaf
	Pages       string   `toml:"pages"`                       // path of the table with one row a page of which there is something to say
	Sections    string   `toml:"sections"`                    // path of the table with one row a text
	Instruments string   `toml:"instruments" required:"true"` // path of the table with one row a densitometer
	Readings    []string `toml:"readings" required:"true"`    // paths of the tables with one row a placing; may be left out with the instruments where traces alone are looked at
	Paired      string   `toml:"paired"`                      // path of the table of spots that several instruments read, by which they are compared and one is converted to another's scale
	Traces      []string `toml:"traces"`                      // paths of the tables with one row a look at a trace
}

// Measuring are the choices of the measuring plan; see [readings.Options].
type Measuring struct {
	Drift      readings.Drift `toml:"drift" words:"none / offset / scale / either"` // how the tile corrects each day; either where not given, in a corpus offset
	SpotSpread float64        `toml:"spot_spread" unit:"density"`                   // standard deviation between spots of one page; 0: from the log
	Solid      float64        `toml:"solid" unit:"density"`                         // density of solid deposit, for area coverage; 1.5 where not given

	// How density follows handling, where it was calibrated: density = saturation ×
	// (1 − exp(−handling)). Without it ratios of wear are told, and nothing of how often
	// pages were handled.
	Saturation       float64 `toml:"saturation" unit:"density"`       // density that ever more handling nears, from a calibration of handling against density: density = saturation × (1 − exp(−handling)); without it only ratios of wear are told, not how often pages were handled. Intervals take this law as given: on open measurements of optical density against dose (DNase; Davidian and Giltinan 1995) 85 % of 95 % intervals held with zeroed readings, 61 % with readings that were not zeroed. Above 0.7 of it nothing is told of handling
	SaturationError  float64 `toml:"saturation_error" unit:"density"` // standard error of saturation
	SaturationSource string  `toml:"saturation_source"`               // where the calibration comes from, in words: the results repeat it

	// What sittings differ by, known beforehand: standard deviations of density;
	// 0: from pages measured again.
	DaySpread        float64 `toml:"day_spread" unit:"density"`        // standard deviation between days of what the page reads against its zero, from a published or pilot source; 0: from pages measured again
	ObserverSpread   float64 `toml:"observer_spread" unit:"density"`   // the same between observers
	InstrumentSpread float64 `toml:"instrument_spread" unit:"density"` // the same between instruments
	// standard deviation of placing the instrument anew on a page at another sitting,
	// beyond repeatability; 0: from pages measured again
	PlacingSpread float64 `toml:"placing_spread" unit:"density"`
	SpreadSource  string  `toml:"spread_source"` // where the stated spreads come from, in words: the results repeat it
}

// UsualMeasuring is the measuring plan where a file says nothing else (common
// practice, no source: a density of 1.5 is a dark, even deposit of thumb grease
// and dust).
func UsualMeasuring() Measuring { return Measuring{Drift: readings.DriftEither, Solid: 1.5} }

// A Model is a [mixed.Model] with its place in the study.
type Model struct {
	Name  string              `toml:"name" required:"true"` // name by which questions and figures call the model
	About string              `toml:"about"`                // what it is for, in the scholar's words
	Each  string              `toml:"each" words:"book"`    // in what the model is fitted by itself; without it, it is fitted once to all
	Only  map[string][]string `toml:"only"`                 // the rows to fit it to: those whose column has one of these labels; all conditions must hold
	// features that are measured with error, each with the column of its standard errors:
	// wear = "wear_se"
	Errors map[string]string `toml:"errors"`

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
	Repeated: map[string]bool{"model": true, "question": true, "family": true, "compare": true, "break": true, "whole": true, "trace": true},
	Ours:     map[string]bool{"name": true, "about": true, "each": true, "only": true, "errors": true},
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
	file.shareLabels()
	checker := fileCheck{path: path, file: file, where: doc.Where, ps: ps}
	checker.all()
	return file, doc.Where
}

// shareLabels gives every model all words: those of the study, then those that its models
// bring.
func (f *File) shareLabels() {
	for i := range f.Models {
		for name, said := range f.Models[i].Labels {
			if f.Labels == nil {
				f.Labels = wording.Labels{}
			}
			if f.Labels[name] == "" {
				f.Labels[name] = said
			}
		}
	}
	for i := range f.Models {
		f.Models[i].Labels = f.Labels
	}
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
