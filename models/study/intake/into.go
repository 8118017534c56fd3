package intake

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// Into is how a spreadsheet is taken into a study that is there.
type Into struct {
	Study      string            // its study.toml or folder
	File       string            // the spreadsheet
	Words      string            // the file with its mapping; empty: one is proposed from its names and used
	Set        map[string]string // what the mapping does not say; see [setWords]
	Instrument string            // "bench,0,2.5,0.01,0.16": name, floor, ceiling, step, the tile's density
}

// An Addition is what a spreadsheet adds to a study: readings, and instruments that the
// study does not know yet, or looks at traces.
type Addition struct {
	Import
	Read   int // readings
	Looked int // looks

	study  *study.Study
	tables []studyTable // those that change
	source string       // base name of the spreadsheet
	file   []byte       // the study file, where it changes
}

// A studyTable is a whole table of the study, as it will be.
type studyTable struct {
	at    string
	table *table.Table
}

// Words say what is added.
func (a *Addition) Words() string {
	switch {
	case a.Looked == 0:
		return wording.Count(a.Read, "reading", "readings")
	case a.Read == 0:
		return wording.Count(a.Looked, "look", "looks")
	}
	return wording.Count(a.Read, "reading", "readings") + " and " + wording.Count(a.Looked, "look", "looks")
}

// Prepare reads the spreadsheet with what the study knows: which books there are, and
// which instrument. Nothing is written before [Addition.Save]. The error is a
// [*table.Fault] with all that the sheet does not tell.
func (o Into) Prepare() (*Addition, error) {
	s, known, err := study.OpenBooks(o.Study)
	if err != nil && (s == nil || len(s.Books) == 0) {
		return nil, err
	}
	var ps table.Problems
	data := readFile(o.File, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	a := &Addition{study: s, source: filepath.Base(o.File)}
	words := o.words(a, data, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	fresh := o.instrument(&ps)
	complete(words, s, known, fresh)
	made, _ := readSheets(o.File, data, words, &ps)
	made.Mapping = a.Mapping
	a.Import = *made
	if ps.Len() > 0 && len(a.Tables) == 0 {
		return nil, ps.Err()
	}
	a.gather(o, known, fresh, &ps)
	return a, ps.Err()
}

// words reads the mapping, or proposes one.
func (o Into) words(a *Addition, data []byte, ps *table.Problems) *sheet.Mapping {
	file := o.Words
	text := []byte(nil)
	if file != "" {
		text = readFile(file, ps)
	} else {
		how := &sheet.Mapping{}
		setWords(how, o.Set)
		proposed := propose(o.File, data, how, ps)
		if proposed == "" {
			return nil
		}
		a.Mapping, text = []byte(proposed), []byte(proposed)
		file = "the mapping proposed for " + filepath.Base(o.File)
	}
	if text == nil {
		return nil
	}
	words := sheet.ReadMapping(file, text, ps)
	if words == nil {
		return nil
	}
	setWords(words, o.Set)
	words.File = cmp.Or(o.Words, "the command line")
	words.Check(ps)
	return words
}

// instrument reads the instrument that is told.
func (o Into) instrument(ps *table.Problems) *readings.Instrument {
	if o.Instrument == "" {
		return nil
	}
	parts := strings.Split(o.Instrument, ",")
	numbers := make([]float64, len(parts))
	bad := len(parts) < 4 || len(parts) > 5 || strings.TrimSpace(parts[0]) == ""
	for i, part := range parts[1:] {
		v, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
		numbers[i+1], bad = v, bad || err != nil
	}
	if bad {
		ps.Add(table.Problem{File: "the command line", Column: "instrument", Value: o.Instrument, Expected: "its name, floor, ceiling, the step of its last digit and, where there is one, the tile's density", Remedy: "write it such as bench,0,2.5,0.01,0.16"})
		return nil
	}
	in := &readings.Instrument{ID: strings.TrimSpace(parts[0]), Floor: numbers[1], Ceiling: numbers[2], Resolution: numbers[3], Tile: math.NaN()}
	if len(parts) == 5 {
		in.Tile = numbers[4]
	}
	return in
}

// complete enters what the study tells into the mapping: its only book, instrument and
// trace, and the kinds of traces.
func complete(words *sheet.Mapping, s *study.Study, known []readings.Instrument, fresh *readings.Instrument) {
	set := func(column, value string) {
		if words.Constant[column] == "" {
			setWords(words, map[string]string{column: value})
		}
	}
	if len(s.Books) == 1 {
		set(codex.ColumnBook, s.Books[0].ID)
	}
	switch {
	case fresh != nil:
		set("instrument", fresh.ID)
	case len(known) == 1:
		set("instrument", known[0].ID)
	}
	if len(s.File.Traces) == 1 {
		set("trace", s.File.Traces[0].Name)
	}
	for column, look := range words.Looks {
		for _, t := range s.File.Traces {
			if look.Kind == "" && plainWord(t.Name) == plainWord(cmp.Or(look.Trace, words.Constant["trace"])) {
				look.Kind = t.Kind
				words.Looks[column] = look
			}
		}
	}
}

// gather puts the tables together and checks them as the study will.
func (a *Addition) gather(o Into, known []readings.Instrument, fresh *readings.Instrument, ps *table.Problems) {
	var logs, looks []*table.Table
	var instruments *table.Table
	for _, t := range a.Tables {
		switch {
		case strings.HasPrefix(t.Name, "readings"):
			logs = append(logs, namedBooks(t.Table, a.study.Books))
			a.Read += t.Table.Rows()
		case strings.HasPrefix(t.Name, "traces"):
			looks = append(looks, namedBooks(t.Table, a.study.Books))
			a.Looked += t.Table.Rows()
		case t.Name == "instruments.csv":
			instruments = t.Table
		default:
			a.Account.Leave(0, "the table "+t.Name, "not used: the study describes its books itself; thumbed book takes changes")
		}
	}
	if a.Read+a.Looked == 0 {
		ps.Add(table.Problem{File: o.File, Value: "no readings and no looks", Expected: "a sheet of readings (pages, days and densities), or of looks at traces",
			Remedy: "let thumbed import sheet --propose write a mapping, say in it which columns these are, and give it with --words"})
	}
	if a.Read > 0 {
		a.gatherReadings(o, logs, instruments, known, fresh, ps)
	}
	if a.Looked > 0 {
		a.gatherLooks(looks, ps)
	}
}

// last is the path of the last table of a kind that the study names; empty, and told,
// where it names none.
func (a *Addition) last(names []string, key string, ps *table.Problems) string {
	if len(names) == 0 {
		ps.Add(table.Problem{File: a.study.Path, Column: "tables." + key, Expected: "the table that they are added to", Remedy: fmt.Sprintf("write %s = [\"%s.csv\"] below [tables]", key, key)})
		return ""
	}
	return a.study.Near(names[len(names)-1])
}

// with are the rows that stand at a path, where there are any, and tables to go below.
func with(at string, below []*table.Table, ps *table.Problems) []*table.Table {
	if thereAt(at) {
		if before := table.ReadFile(at, ps); before != nil && before.Rows() > 0 {
			return append([]*table.Table{before}, below...)
		}
	}
	return below
}

// add has all rows of some tables as the one that the study has at a path.
func (a *Addition) add(at string, all []*table.Table) {
	var whole *table.Table
	for _, t := range all {
		whole = appended(whole, t)
	}
	a.tables = append(a.tables, studyTable{at, whole})
}

func (a *Addition) gatherReadings(o Into, logs []*table.Table, instruments *table.Table, known []readings.Instrument, fresh *readings.Instrument, ps *table.Problems) {
	at, instrumentsAt := a.last(a.study.Tables.Readings, "readings", ps), a.study.Near(a.study.Tables.Instruments)
	if fresh != nil {
		instruments = appended(instruments, instrumentRow(fresh))
	}
	if len(known) > 0 {
		instruments = appended(table.ReadFile(instrumentsAt, ps), instruments)
	}
	if instruments == nil {
		ps.Add(table.Problem{File: instrumentsAt, Line: 1, Expected: "the densitometer that the readings were taken with",
			Remedy: "say its name, floor, ceiling, the step of its last digit and, where there is one, the tile's density, such as --instrument bench,0,2.5,0.01,0.16"})
	}
	for _, log := range logs {
		ask(log, instruments != nil, ps)
	}
	all := with(at, logs, ps)
	if o.Set["drift"] == string(readings.DriftNone) {
		a.leaveDrift(ps)
	} else if a.study.Measuring.Drift != readings.DriftNone {
		askTiles(all, o.File, ps)
	}
	if ps.Len() > 0 {
		return // all that is missing is asked for at once
	}
	readings.FromTables(readings.InstrumentsOf(instruments, ps), all, a.study.Books, ps)
	a.add(instrumentsAt, []*table.Table{instruments})
	a.add(at, all)
}

func (a *Addition) gatherLooks(looks []*table.Table, ps *table.Problems) {
	at := a.last(a.study.Tables.Traces, "traces", ps)
	if len(a.study.File.Traces) == 0 {
		ps.Add(table.Problem{File: a.study.Path, Column: "trace", Expected: "a coding book, which tells what the looks are at", Remedy: "describe each trace in a [[trace]]; or let thumbed import sheet --out write a coding book, and move it here"})
	}
	asked := true
	for _, t := range looks {
		asked = askLooks(t, ps) && asked
	}
	if ps.Len() > 0 || !asked {
		return
	}
	for k := range looks {
		spelled(looks[k])
		looks[k] = coded(looks[k], a.study.File.Traces)
	}
	all := with(at, looks, ps)
	traces.FromTables(all, a.study.File.Traces, a.study.Books, ps)
	a.add(at, all)
}

// coded writes traces, parts and grades as the coding book has them, whatever their
// capitals and accents.
func coded(looks *table.Table, book []traces.Trace) *table.Table {
	names := map[string]map[string]string{"trace": {}, "part": {}, "grade": {}}
	for _, t := range book {
		names["trace"][plainWord(t.Name)] = t.Name
		for _, part := range t.Parts {
			names["part"][plainWord(part)] = part
		}
		for _, g := range t.Grades {
			names["grade"][plainWord(g.Name)] = g.Name
		}
	}
	return rewritten(looks, func(c *table.Column) []string {
		if names[c.Name] == nil {
			return nil
		}
		cells := c.Text()
		for i, cell := range cells {
			cells[i] = cmp.Or(names[c.Name][plainWord(cell)], cell)
		}
		return cells
	})
}

// thereAt tells whether something stands at a path.
func thereAt(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// ask reports the columns that a log needs and a sheet has not, which may be alike in
// all rows. Where no instrument is described it is asked for by itself.
func ask(log *table.Table, described bool, ps *table.Problems) {
	for _, need := range []struct{ column, how string }{
		{codex.ColumnPage, `name the column of pages in a mapping`}, {"density", "name the column of densities in a mapping"},
		{codex.ColumnBook, "--set book=ID, where all are of one book"}, {"date", "--set date=2026-06-01, where all were taken on one day"},
		{"time", "--set time=12:00, where it was not written down: drift within a day then cannot be seen"},
		{"instrument", "--set instrument=NAME"},
		{"target", "--set target=page, where none is of a zero or the tile; or name in a mapping, under [readings], the columns of zeros and of pages"},
		{"spot", "--set spot=fixed, where the place on the page was agreed beforehand, or --set spot=darkest"},
	} {
		if log.Column(need.column) == nil && (described || need.column != "instrument") {
			ps.Add(table.Problem{File: log.File, Column: need.column, Expected: "a column that tells it, or one value for all rows", Remedy: need.how})
		}
	}
}

// askTiles reports the days without a reading of the tile, by which drift is corrected.
func askTiles(logs []*table.Table, file string, ps *table.Problems) {
	tiles := map[string]bool{} // whether there is one, by day
	for _, log := range logs {
		date, target, excluded := log.Column("date"), log.Column("target"), log.Column("excluded")
		if date == nil {
			continue
		}
		for i := range log.Rows() {
			tile := target != nil && target.Label(i) == string(readings.OnTile) && (excluded == nil || excluded.Label(i) == "")
			tiles[date.Label(i)] = tiles[date.Label(i)] || tile
		}
	}
	for _, day := range slices.Sorted(maps.Keys(tiles)) {
		if !tiles[day] {
			ps.Add(table.Problem{File: file, Column: "target", Value: day, Expected: "a reading of the tile on each day, since drift is to be corrected",
				Remedy: "add the day's readings of the tile; where there are none, --set drift=none leaves drift as it is on all days, and the study file says so"})
			return
		}
	}
}

var reDrift = regexp.MustCompile(`(?m)^(drift\s*=\s*)"[^"]*"`)

// leaveDrift has the study file say that drift is not corrected.
func (a *Addition) leaveDrift(ps *table.Problems) {
	text, err := os.ReadFile(a.study.Path)
	if err != nil || len(reDrift.FindAll(text, 2)) != 1 {
		ps.Add(table.Problem{File: a.study.Path, Column: "measuring.drift", Expected: "one line with drift", Remedy: "write drift = \"none\" below [measuring], and leave --set drift=none out"})
		return
	}
	a.file = reDrift.ReplaceAll(text, []byte(`$1"none"`))
}

// namedBooks writes the ids of books for their shelfmarks, short forms and titles.
func namedBooks(log *table.Table, books []*codex.Book) *table.Table {
	ids := map[string]string{}
	for _, b := range books {
		for _, name := range []string{b.Title, b.Short, b.ID} {
			ids[plainWord(name)] = b.ID
		}
	}
	return rewritten(log, func(c *table.Column) []string {
		if c.Name != codex.ColumnBook {
			return nil
		}
		cells := c.Text()
		for i, cell := range cells {
			if id := ids[plainWord(cell)]; cell != "" && id != "" {
				cells[i] = id
			}
		}
		return cells
	})
}

// appended is a table with the rows of another below, and the columns of both; either
// may be nil.
func appended(t, below *table.Table) *table.Table {
	switch {
	case t == nil:
		return below
	case below == nil:
		return t
	}
	names := t.Names()
	for _, name := range below.Names() {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	var columns []*table.Column
	for _, name := range names {
		var cells []string
		for _, part := range []*table.Table{t, below} {
			if c := part.Column(name); c != nil {
				cells = append(cells, c.Text()...)
			} else {
				cells = append(cells, make([]string, part.Rows())...)
			}
		}
		columns = append(columns, table.Cells(name, cells))
	}
	return newTable(t.File, columns)
}

// instrumentRow is the row of an instrument.
func instrumentRow(in *readings.Instrument) *table.Table {
	number := func(v float64) string {
		if math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	var columns []*table.Column
	for _, c := range []struct{ name, cell string }{{"instrument", in.ID}, {"floor", number(in.Floor)}, {"ceiling", number(in.Ceiling)}, {"resolution", number(in.Resolution)}, {"tile", number(in.Tile)}} {
		columns = append(columns, table.Cells(c.name, []string{c.cell}))
	}
	return newTable("--instrument", columns)
}

// Save writes what is added into the study's tables, and keeps those as
// they were, and the mapping that was used, in folders that it names.
func (a *Addition) Save(now time.Time) (former string, err error) {
	dir := filepath.Dir(a.study.Path)
	k, err := newKeeper(dir, now)
	if err != nil {
		return "", err
	}
	for _, t := range a.tables {
		if err := k.table(t.at, t.table); err != nil {
			return "", err
		}
	}
	if a.file != nil {
		if err := k.write(a.study.Path, a.file); err != nil {
			return "", err
		}
	}
	kept := filepath.Join(dir, importedFolder)
	if err := os.MkdirAll(kept, 0o755); err != nil {
		return "", err
	}
	for ending, text := range map[string][]byte{".words.toml": a.Mapping, ".txt": []byte(a.Account.String())} {
		if text != nil {
			if err := k.write(filepath.Join(kept, a.source+ending), text); err != nil {
				return "", err
			}
		}
	}
	return k.former, nil
}
