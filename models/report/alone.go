package report

import (
	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// The tables and figures of one result by itself, as a notebook shows it, in the
// words of the page.

// A Shown result is what there is to see of it.
type Shown struct {
	Said    []string // sentences
	Figures []Figure
	Tables  []grid.Grid
	Notes   []string
}

// alone names a book that stands by itself.
func alone(b *codex.Book) bookNames {
	return (&Results{Books: []BookResult{{Book: b}}}).names(b)
}

// shown draws the figures of a result.
func shown(said []string, notes []string, tables []grid.Grid, sketches ...sketch) (Shown, error) {
	figures, err := renderAll(sketches)
	return Shown{said, figures, tables, notes}, err
}

// ShowProfile shows the profile of a book with the wear of its pages.
func ShowProfile(b *codex.Book, p *profile.Profile, wear []readings.Wear) (Shown, error) {
	n := alone(b)
	one := BookResult{Book: b, Profile: p}
	sketches := []sketch{wearChart(n, one, wear, one.stripPages(wear, true))}
	if len(p.Areas) > 0 {
		sketches = append(sketches, areaChart(n, one))
	}
	areas := areaTable("sections", "Texts of "+n.quoted+", the most worn by the page first (density)", one.areaRows())
	areas.Empty = "No text of this book was measured."
	out := standouts("standouts", "Pages of "+n.quoted+" that stand above their own text (density), at a false-discovery rate of "+wording.Rate(p.Rate), one.testRows(p.Standouts))
	out.Empty = "No page stands out."
	return shown([]string{one.readWords(), one.picturesWords()}, wording.TypesetAll(p.Notes), []grid.Grid{areas, out}, sketches...)
}

// ShowWear shows the wear of a book's pages.
func ShowWear(b *codex.Book, wear []readings.Wear) grid.Grid {
	n := alone(b)
	var rows []wearRow
	for _, w := range wear {
		rows = append(rows, newWearRow(b, w))
	}
	return wearTable("wear", "Wear of the pages of "+n.quoted+" (density)", rows)
}

// ShowDropoff shows the wear of a book’s hours against their first office,
// and where their wear changes.
func ShowDropoff(b *codex.Book, c *dropoff.Decline) (Shown, error) {
	n := alone(b)
	offices := officeTable("offices", "The "+setName(c.Set)+" in "+n.quoted+", office by office", officeRows(b, c))
	offices.Empty = uncompared(c)
	changes := changeTable("changes", "Changes of level along the "+setName(c.Set)+" in "+n.quoted, changeRows(b, c))
	var sketches []sketch
	if len(c.Series.Values) > 0 {
		sketches = []sketch{dropoffChart(n.quoted, n.file, c)}
	}
	return shown([]string{stopSentence(n.quoted, c).Text}, seriesNotes(c.Changes, c.Notes), []grid.Grid{offices, changes}, sketches...)
}

// ShowHabits shows where along a whole book the level of wear changes.
func ShowHabits(b *codex.Book, h *dropoff.Habits, wear []readings.Wear) (Shown, error) {
	n := alone(b)
	one := BookResult{Book: b, Habits: h}
	said, notes := []string{habitSentence(n.quoted, one).Text}, seriesNotes(h.Changes, h.Notes)
	if h.Changes == nil {
		return shown(said, notes, nil)
	}
	t := habitTable("habits", "Where the level of wear changes in "+n.quoted+", its sections not looked at", one.habitRows())
	return shown(said, notes, []grid.Grid{t}, habitChart(n, one, wear))
}

// ShowEffects shows effects by themselves.
func ShowEffects(title string, effects []mixed.Coefficient) grid.Grid {
	m := ModelResult{Fit: &mixed.Fit{Fixed: effects}}
	return (&Results{}).fixedTable("effects", title, m.fixedRows())
}

// ShowDrift shows the drift of the instruments.
func ShowDrift(drift []readings.DayDrift) ([]Figure, error) {
	if len(drift) == 0 {
		return nil, nil
	}
	return renderAll([]sketch{driftChart(drift)})
}
