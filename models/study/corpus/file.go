package corpus

import (
	"fmt"
	"reflect"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/dropoff/readers"
	"thumbed/models/hypotheses"
	"thumbed/models/readings"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/table/document"
	"thumbed/models/traces"
)

// FileName is what a corpus file is called in its folder.
const FileName = "corpus.toml"

// A File is what corpus.toml says.
type File struct {
	Title    string `toml:"title"`    // what the page is headed by
	Author   string `toml:"author"`   // who asks
	Note     string `toml:"note"`     // a sentence or two that stand under the title
	Invented bool   `toml:"invented"` // whether the books and readings are invented; the page then says so

	Folders     []string `toml:"folders" required:"true"` // patterns of the folders with books, with * for any part of a name
	Instruments string   `toml:"instruments"`             // path of one table of instruments for all folders; where not given, each folder has its own

	Tables    study.Tables          `toml:"tables"`                          // names of the tables inside each folder; those of readings may be patterns
	Measuring study.Measuring       `toml:"measuring"`                       // choices of the measuring plan
	Readers   Readers               `toml:"readers"`                         // choices of the comparison of readers
	Traces    []traces.Trace        `toml:"trace"`                           // the coding book of traces, one for all folders
	Models    []study.Model         `toml:"model"`                           // the models
	Questions []hypotheses.Question `toml:"question"`                        // the questions
	Adjust    string                `toml:"adjust" words:"together / apart"` // over what the chance of a false claim is held: over all families together (where not given), or in each family apart
	Families  []hypotheses.Family   `toml:"family"`                          // families of questions that are not adjusted as usual
}

// Readers are the choices of the comparison of readers.
type Readers struct {
	Set     string   `toml:"set"`     // the hours in which readers are compared; where not given, those that most books have
	Offices []string `toml:"offices"` // the offices in which they are compared; where not given, those measured in nine of ten readers
	Most    int      `toml:"most"`    // largest number of groups that is tried
	Draws   int      `toml:"draws"`   // times that other readers, and the curves with their errors, are drawn to see whether groups come out again
	Seed    uint64   `toml:"seed"`    // begins their random numbers
}

var shape = document.Shape{
	What:     "a corpus file",
	Root:     reflect.TypeFor[File](),
	Repeated: map[string]bool{"model": true, "question": true, "family": true, "trace": true},
	Ours:     map[string]bool{"name": true, "about": true, "each": true, "only": true, "errors": true},
}

// usualTables are the names of the tables where corpus.toml gives none.
var usualTables = study.Tables{Books: "books.csv", Leaves: "leaves.csv", Pages: "pages.csv", Sections: "sections.csv",
	Instruments: "instruments.csv", Readings: []string{"readings*.csv"}}

// parse reads corpus.toml. Every problem goes to ps with path as its file.
func parse(path string, text []byte, ps *table.Problems) (*File, document.Where) {
	file := &File{Tables: usualTables, Measuring: study.UsualMeasuring()}
	file.Measuring.Drift = readings.DriftOffset
	doc := shape.Split(path, text, ps)
	if doc == nil {
		return nil, nil
	}
	doc.Decode(path, file, ps)
	if len(file.Traces) > 0 && file.Tables.Traces == nil {
		file.Tables.Traces = []string{"traces*.csv"}
	}
	study.ParseModels(path, doc, file.Models, ps)
	c := fileCheck{path: path, file: file, where: doc.Where, ps: ps}
	c.all()
	return file, doc.Where
}

// inquiry is what the file asks of the pages.
func (f *File) inquiry(path string, where document.Where) *study.Inquiry {
	return study.NewInquiry(path, study.File{Title: f.Title, Tables: study.Tables{Traces: f.Tables.Traces}, Traces: f.Traces, Measuring: f.Measuring, Models: f.Models, Questions: f.Questions, Adjust: f.Adjust, Families: f.Families}, where)
}

// A fileCheck looks for what TOML itself cannot tell.
type fileCheck struct {
	path  string
	file  *File
	where document.Where
	ps    *table.Problems
}

func (c *fileCheck) all() {
	c.folders()
	c.tables()
	c.readers()
	if c.file.Measuring.Drift == readings.DriftEither {
		c.problem(string(readings.DriftEither), "none, offset or scale, since the models of a corpus hold no errors that pages share", `write drift = "offset" or "scale", whichever of your instruments' zero and scale moves`, "measuring", "drift")
	}
	c.file.inquiry(c.path, c.where).Check(c.ps)
}

// problem adds one, at the line of the key that the parts of at name.
func (c *fileCheck) problem(value, expected, remedy string, at ...any) {
	c.ps.Add(c.where.Problem(c.path, value, expected, remedy, at...))
}

func (c *fileCheck) folders() {
	if len(c.file.Folders) == 0 {
		c.problem("", "the folders that hold the books", `write folders = ["books/*"]`, "folders")
	}
	for _, pattern := range c.file.Folders {
		if why := badPath(pattern); why != "" {
			c.problem(pattern, "folders below that of "+FileName, why, "folders")
		}
	}
	if c.file.Instruments != "" {
		if why := badPath(c.file.Instruments); why != "" {
			c.problem(c.file.Instruments, "a table below the folder of "+FileName, why, "instruments")
		}
	}
}

func (c *fileCheck) tables() {
	t := c.file.Tables
	for _, n := range []struct{ key, path string }{{"books", t.Books}, {"leaves", t.Leaves}, {"pages", t.Pages}, {"sections", t.Sections}, {"instruments", t.Instruments}} {
		if why := badPath(n.path); why != "" {
			c.problem(n.path, "the name of a table inside each folder", why, "tables", n.key)
		}
	}
	if len(t.Readings) == 0 {
		c.problem("", "the names of one or more tables of readings", `write readings = ["readings*.csv"]`, "tables", "readings")
	}
	for key, patterns := range map[string][]string{"readings": t.Readings, "traces": t.Traces} {
		for _, pattern := range patterns {
			if why := badPath(pattern); why != "" {
				c.problem(pattern, "the name of a table inside each folder", why, "tables", key)
			}
		}
	}
}

func (c *fileCheck) readers() {
	r := c.file.Readers
	var offices []codex.Office
	for _, name := range r.Offices {
		office, err := codex.ParseOffice(name)
		switch {
		case err != nil:
			c.problem(name, "offices of the day, from Matins to Compline", "correct its spelling, or leave it out", "readers", "offices")
		case slices.Contains(offices, office):
			c.problem(name, "each office once", "delete one of the two", "readers", "offices")
		}
		offices = append(offices, office)
	}
	if len(r.Offices) == 1 {
		c.problem(r.Offices[0], "two offices or more to compare", "name another, or leave offices out", "readers", "offices")
	}
	if err := (readers.Options{Most: r.Most, Draws: r.Draws}).Check(); err != nil {
		c.problem(fmt.Sprintf("most = %d, draws = %d", r.Most, r.Draws), "choices with which readers can be grouped", err.Error(), "readers")
	}
}
