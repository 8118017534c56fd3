package intake

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"thumbed/models/codex"
	"thumbed/models/study"
	"thumbed/models/table"
)

// importedFolder keeps, in the folder of a study, the tables as they were imported,
// so that a later import can tell what the scholar changed from what the library
// did.
const importedFolder = "imported"

// keep writes the tables of books as they were imported.
func (i *Import) keep(dir string) error {
	dir = filepath.Join(dir, importedFolder)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for _, t := range i.Tables[:4] {
		if err := writeCells(filepath.Join(dir, t.Name), t.Table); err != nil {
			return err
		}
	}
	return nil
}

// A Change is what a new import did to one row or cell of a study's tables.
type Change struct {
	Table, Row, Column string // Column is empty where it is the whole row
	Words              string // what became of it
	Kept               bool   // the scholar's own stays, though the library changed it too
}

// String is the change in one line.
func (c Change) String() string {
	where := c.Table + ", " + c.Row
	if c.Column != "" {
		where += ", " + c.Column
	}
	return where + ": " + c.Words
}

// An Update is a record that was imported again, merged with the tables of a study.
type Update struct {
	Changes []Change

	dir    string // of the study
	tables []*merged
	made   *Import
}

// merged is a table of the study after the new import.
type merged struct {
	name, path string
	table      *table.Table
	changed    bool
}

// Again merges a new import with the study that an earlier one began, cell by cell:
// what the library changed is taken, what the scholar changed stays, and where both
// changed the same cell the scholar's stays and the library's is told. Rows are known
// by the book and the leaf, page or name of the text. Nothing is written before
// [Update.Save]. path is study.toml or its folder.
func Again(path string, made *Import) (*Update, error) {
	s, _, err := study.OpenBooks(path)
	if err != nil && s == nil {
		return nil, err
	}
	u := &Update{dir: filepath.Dir(s.Path), made: made}
	var ps table.Problems
	read := func(path string) *table.Table {
		t := table.ReadFile(path, &ps)
		if t == nil {
			return &table.Table{}
		}
		return t
	}
	paths := []string{s.Tables.Books, s.Tables.Leaves, s.Tables.Pages, s.Tables.Sections}
	for k, t := range made.Tables[:4] {
		kept := filepath.Join(u.dir, importedFolder, t.Name)
		if _, err := os.Stat(kept); errors.Is(err, fs.ErrNotExist) {
			return nil, fmt.Errorf("%s is not there: the study was not begun by an import that kept its tables; import the record into a new folder and compare the two", kept)
		}
		if paths[k] == "" {
			return nil, fmt.Errorf("%s names no table of %s below [tables]; name it first", s.Path, t.Name)
		}
		m := &merger{name: t.Name, base: newKeyed(t.Name, read(kept)), theirs: newKeyed(t.Name, t.Table), mine: newKeyed(t.Name, read(s.Near(paths[k])))}
		out := m.merge()
		u.Changes = append(u.Changes, m.changes...)
		u.tables = append(u.tables, &merged{t.Name, s.Near(paths[k]), out, m.changed})
	}
	if err := ps.Err(); err != nil {
		return nil, err
	}
	codex.FromTables(codex.Tables{Books: u.tables[0].table, Leaves: u.tables[1].table, Pages: u.tables[2].table, Sections: u.tables[3].table}, &ps)
	return u, ps.Err()
}

// A keyed table is the rows of a table by their keys.
type keyed struct {
	names []string
	keys  []string
	rows  map[string]map[string]string
}

// newKeyed reads the rows of a table under what they are known by: the book, and
// the leaf, page or name of a text, with a count where several have the same.
func newKeyed(name string, t *table.Table) *keyed {
	s := &keyed{names: t.Names(), rows: map[string]map[string]string{}}
	second := map[string]string{"leaves.csv": codex.ColumnLeaf, "pages.csv": codex.ColumnPage, "sections.csv": codex.ColumnSection}[name]
	label := func(column string, row int) string { return labelAt(t, column, row) }
	before := ""
	for i := range t.Rows() {
		key := label(codex.ColumnBook, i)
		if second != "" {
			if what := label(second, i); what != "" {
				key += " " + what
				before = what
			} else {
				key += " a lost leaf after " + before
			}
		}
		for n, first := 2, key; s.rows[key] != nil; n++ {
			key = fmt.Sprintf("%s, no. %d", first, n)
		}
		row := map[string]string{}
		for _, c := range t.Columns() {
			row[c.Name] = c.Label(i)
		}
		s.keys = append(s.keys, key)
		s.rows[key] = row
	}
	return s
}

// A merger merges one table: as it was imported, as the library has it now, and as
// it stands in the study.
type merger struct {
	name               string
	base, theirs, mine *keyed
	changes            []Change
	changed            bool
}

func (m *merger) tell(row, column string, kept bool, format string, args ...any) {
	m.changes = append(m.changes, Change{m.name, row, column, fmt.Sprintf(format, args...), kept})
	m.changed = m.changed || !kept
}

func (m *merger) merge() *table.Table {
	names := slices.Clone(m.mine.names)
	for _, name := range m.theirs.names {
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	var keys []string
	for _, key := range m.mine.keys {
		if m.stays(key) {
			keys = append(keys, key)
		}
	}
	for i, key := range m.theirs.keys {
		if m.mine.rows[key] != nil {
			continue
		}
		if m.base.rows[key] != nil {
			if !equal(m.base.rows[key], m.theirs.rows[key]) {
				m.tell(key, "", true, "you took the row out, and the library has changed it; it stays out")
			}
			continue
		}
		at := 0
		for _, earlier := range slices.Backward(m.theirs.keys[:i]) {
			if k := slices.Index(keys, earlier); k >= 0 {
				at = k + 1
				break
			}
		}
		keys = slices.Insert(keys, at, key)
		m.mine.rows[key] = m.theirs.rows[key]
		m.tell(key, "", false, "new in the library's record")
	}
	var columns []*table.Column
	for _, name := range names {
		cells := make([]string, len(keys))
		for i, key := range keys {
			cells[i] = m.mine.rows[key][name]
		}
		columns = append(columns, table.Cells(name, cells))
	}
	return newTable(m.name, columns)
}

// stays merges a row of the study, and tells whether it stays.
func (m *merger) stays(key string) bool {
	mine, base, theirs := m.mine.rows[key], m.base.rows[key], m.theirs.rows[key]
	switch {
	case base == nil:
		return true // the scholar's own
	case theirs == nil && equal(mine, base):
		m.tell(key, "", false, "no longer in the library's record; taken out")
		return false
	case theirs == nil:
		m.tell(key, "", true, "no longer in the library's record; it stays, since you changed it")
		return true
	}
	for _, group := range cellGroups(m.theirs.names) {
		edited, renewed := false, false
		for _, name := range group {
			edited = edited || mine[name] != base[name]
			renewed = renewed || theirs[name] != base[name]
		}
		for _, name := range group {
			switch {
			case !renewed || mine[name] == theirs[name]:
			case edited:
				m.tell(key, name, true, "you have “%s”; the library had “%s” and now has “%s”: yours stays", mine[name], base[name], theirs[name])
			default:
				m.tell(key, name, false, "“%s” is now “%s”", mine[name], theirs[name])
				mine[name] = theirs[name]
			}
		}
	}
	return true
}

// cellGroups are the columns that are taken together: how an end was inferred
// belongs to the extent.
func cellGroups(names []string) [][]string {
	var groups [][]string
	for _, name := range names {
		switch name {
		case codex.ColumnExtentBy:
		case codex.ColumnExtent:
			groups = append(groups, []string{codex.ColumnExtent, codex.ColumnExtentBy})
		default:
			groups = append(groups, []string{name})
		}
	}
	return groups
}

func equal(a, b map[string]string) bool {
	for name, value := range a {
		if b[name] != value {
			return false
		}
	}
	for name, value := range b {
		if a[name] != value {
			return false
		}
	}
	return true
}

// Save writes the tables that changed and the account, and keeps the tables as they
// were in a folder that it names.
func (u *Update) Save(now time.Time) (former string, err error) {
	k, err := newKeeper(u.dir, now)
	if err != nil {
		return "", err
	}
	for _, t := range u.tables {
		if !t.changed {
			continue
		}
		if err := k.table(t.path, t.table); err != nil {
			return "", err
		}
	}
	if err := k.write(filepath.Join(u.dir, AccountFile), []byte(u.made.Account.String())); err != nil {
		return "", err
	}
	return k.former, u.made.keep(u.dir)
}

// A keeper writes over files and keeps them as they were.
type keeper struct{ former string }

// newKeeper keeps files in a folder of its own below that of the study.
func newKeeper(dir string, now time.Time) (keeper, error) {
	former := filepath.Join(dir, "former", now.Format("2006-01-02-150405"))
	return keeper{former}, os.MkdirAll(former, 0o755)
}

func (k keeper) write(path string, text []byte) error {
	before, err := os.ReadFile(path)
	if err == nil {
		err = os.WriteFile(filepath.Join(k.former, filepath.Base(path)), before, 0o644)
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	fresh := path + ".fresh"
	if err := os.WriteFile(fresh, text, 0o644); err != nil {
		return err
	}
	return os.Rename(fresh, path)
}

func (k keeper) table(path string, t *table.Table) error {
	var cells bytes.Buffer
	if err := t.Write(&cells); err != nil {
		return err
	}
	return k.write(path, cells.Bytes())
}
