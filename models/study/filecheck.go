package study

import (
	"fmt"
	"maps"
	"slices"

	"thumbed/models/hypotheses"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/document"
)

// A fileCheck looks for what TOML itself cannot tell: what is missing, named
// twice, or not one of the words that may stand there.
type fileCheck struct {
	path  string
	file  *File
	where document.Where
	ps    *table.Problems
}

func (c *fileCheck) all() {
	c.tables()
	c.inquiry()
	c.robustness()
	c.checkImages()
	c.checkComparisons()
	c.checkKnown()
}

// inquiry checks what a file over many books has in common with study.toml.
func (c *fileCheck) inquiry() {
	c.measuring()
	c.models()
	c.questions()
	c.families()
}

// problem adds one, at the line of the key that the parts of at name. Of a key
// whose value could not be read it is told already.
func (c *fileCheck) problem(value, expected, remedy string, at ...any) {
	p := c.where.Problem(c.path, value, expected, remedy, at...)
	unread := func(known table.Problem) bool { return known.Place() == p.Place() && known.Value != "" }
	if value == "" && slices.ContainsFunc(c.ps.List(), unread) {
		return
	}
	c.ps.Add(p)
}

func (c *fileCheck) tables() {
	t := c.file.Tables
	c.coding()
	needed := []struct{ key, path, holds string }{
		{"books", t.Books, "one row a book"},
		{"leaves", t.Leaves, "one row a leaf in physical order"},
		{"instruments", t.Instruments, "one row a densitometer"},
	}
	if len(t.Traces) > 0 && len(t.Readings) == 0 && t.Instruments == "" {
		needed = needed[:2] // traces alone: nothing is measured
	}
	for _, n := range needed {
		if n.path == "" {
			c.problem("", fmt.Sprintf("the path of the table with %s", n.holds),
				fmt.Sprintf("under [tables] write %s = \"%s.csv\"", n.key, n.key), "tables", n.key)
		}
	}
	if len(t.Readings) == 0 && (len(t.Traces) == 0 || t.Instruments != "") {
		c.problem("", "the paths of one or more tables of readings", `under [tables] write readings = ["readings.csv"]`, "tables", "readings")
	}
	seen := map[string]string{}
	named := []struct{ key, path string }{{"books", t.Books}, {"leaves", t.Leaves}, {"pages", t.Pages},
		{"sections", t.Sections}, {"instruments", t.Instruments}}
	for _, path := range t.Readings {
		named = append(named, struct{ key, path string }{"readings", path})
	}
	for _, path := range t.Traces {
		named = append(named, struct{ key, path string }{"traces", path})
	}
	for _, n := range named {
		if first, again := seen[n.path]; again && n.path != "" {
			c.problem(n.path, fmt.Sprintf("each table once (it stands already as %s)", first), "name another file, or delete the second mention", "tables", n.key)
		}
		seen[n.path] = n.key
	}
}

func (c *fileCheck) measuring() {
	m := c.file.Measuring
	if !m.Drift.Known() {
		c.problem(string(m.Drift), readings.DriftWords, `write drift = "either" unless you know that your instrument's zero moves (offset) or its scale changes (scale)`, "measuring", "drift")
	}
	if !(m.SpotSpread >= 0) {
		c.problem(fmt.Sprint(m.SpotSpread), "a standard deviation of density, 0 or more", "write 0 to take it from the log", "measuring", "spot_spread")
	}
	stated := false
	for _, spread := range []struct {
		key   string
		value float64
	}{{"day_spread", m.DaySpread}, {"observer_spread", m.ObserverSpread}, {"instrument_spread", m.InstrumentSpread}, {"placing_spread", m.PlacingSpread}} {
		if !(spread.value >= 0 && spread.value < 1) {
			c.problem(fmt.Sprint(spread.value), "a standard deviation of density, 0 or more and below 1", "write 0, or leave it out, to take it from pages measured again", "measuring", spread.key)
		}
		stated = stated || spread.value > 0
	}
	if stated && m.SpreadSource == "" {
		c.problem("", "where the spreads that are stated come from", `write spread_source = "…" under [measuring]: a publication, or a pilot with its numbers of pages and days`, "measuring", "spread_source")
	}
	switch {
	case !(m.Saturation >= 0 && m.Saturation < 10):
		c.problem(fmt.Sprint(m.Saturation), "the density that ever more handling nears, above 0 and below 10", "leave it out unless handling was calibrated against density", "measuring", "saturation")
	case m.Saturation == 0 && (m.SaturationError != 0 || m.SaturationSource != ""):
		c.problem("", "the density at which the calibration saturates", `write saturation = … under [measuring], or delete saturation_error and saturation_source`, "measuring", "saturation")
	case !(m.SaturationError >= 0 && m.SaturationError <= m.Saturation/2):
		c.problem(fmt.Sprint(m.SaturationError), "the standard error of saturation, 0 or more and at most half of it", "write 0 if it is known exactly; a calibration less certain than that tells nothing", "measuring", "saturation_error")
	case m.Saturation > 0 && m.SaturationSource == "":
		c.problem("", "where the calibration comes from", `write saturation_source = "…" under [measuring]: a publication, or a trial with its numbers of handlings and pages`, "measuring", "saturation_source")
	}
	if !(m.Solid > 0) {
		c.problem(fmt.Sprint(m.Solid), "the density of solid deposit, above 0", "write 1.5 unless you have measured it", "measuring", "solid")
	}
}

func (c *fileCheck) models() {
	first := map[string]int{}
	for i, m := range c.file.Models {
		line := c.where.Line("model", i, "name")
		if m.Name == "" {
			c.problem("", "a name for each model", `write name = "…" under [[model]]: questions and charts call it so`, "model", i, "name")
		} else if before, again := first[m.Name]; again {
			c.problem(m.Name, fmt.Sprintf("each model's name once (line %d has it already)", before), "give one of the two another name", "model", i, "name")
		} else {
			first[m.Name] = line
		}
		if m.Each != "" && m.Each != "book" {
			c.problem(m.Each, `"book", or no such key`, `write each = "book" to fit the model in each book by itself`, "model", i, "each")
		}
		if m.Compare != "" && (m.Compare == m.Name || !slices.ContainsFunc(c.file.Models, func(other Model) bool { return other.Name == m.Compare })) {
			c.problem(m.Compare, "the name of another model of this study", "correct the spelling, or delete compare", "model", i, "compare")
		}
		for _, column := range slices.Sorted(maps.Keys(m.Only)) {
			if len(m.Only[column]) == 0 {
				c.problem("", "one label or more", "name the labels to keep, or delete the condition", "model", i, "only", column)
			}
		}
	}
}

// questions leaves to the questions' own room what they must be; the terms of
// their contrasts are looked for when the tables have been read.
func (c *fileCheck) questions() {
	for i, q := range c.file.Questions {
		for _, p := range q.Check(c.modelNames(), nil) {
			c.problem(p.Value, p.Expected, p.Remedy, "question", i, p.Column)
		}
		c.ways(i, q)
		c.ofTraces(i, q)
	}
}

// ways checks that a question's model can answer it in the ways that it asks for.
func (c *fileCheck) ways(i int, q hypotheses.Question) {
	k := slices.IndexFunc(c.file.Models, func(m Model) bool { return m.Name == q.Model })
	if k < 0 {
		return
	}
	for _, way := range hypotheses.Ways() {
		if way.Draws(q) == 0 {
			continue
		}
		if p := way.Refused(q, c.file.Models[k].Model); p.Expected != "" {
			c.problem(p.Value, p.Expected, p.Remedy, "question", i, p.Column)
		}
	}
}

// families checks how families are adjusted.
func (c *fileCheck) families() {
	var names []string
	for _, q := range c.file.Questions {
		if !slices.Contains(names, q.Family) {
			names = append(names, q.Family)
		}
	}
	if !slices.Contains([]string{"", together, apart}, c.file.Adjust) {
		c.problem(c.file.Adjust, "together, where at most 5 % is the chance of any false claim over all families, or apart, where it is so in each family", `write adjust = "together", or leave it out`, "adjust")
	}
	seen := map[string]bool{}
	for i, f := range c.file.Families {
		for _, p := range f.Check(names) {
			c.problem(p.Value, p.Expected, p.Remedy, "family", i, p.Column)
		}
		if seen[f.Name] {
			c.problem(f.Name, "each family once", "delete one of the two", "family", i, "name")
		}
		seen[f.Name] = true
	}
}

// modelNames are the names of the models; never nil, since a question of no
// model at all is one of an unknown model.
func (c *fileCheck) modelNames() []string {
	names := []string{}
	for _, m := range c.file.Models {
		names = append(names, m.Name)
	}
	return names
}
