package workbook_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"thumbed/models/codex"
	"thumbed/models/study"
	"thumbed/models/study/demo"
	"thumbed/models/study/workbook"
	"thumbed/models/table"
	"thumbed/models/table/sheet"
)

// invented writes the demonstration study and gives its folder.
func invented(t testing.TB) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "study")
	if err := demo.Write(dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

// written is the workbook of a book of the study.
func written(t testing.TB, dir, book string) string {
	t.Helper()
	e, err := workbook.Of(dir, book)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := e.Write(&b); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), book+".xlsx")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// A grid is the sheet of pages as rows of cells by column.
type grid []map[string]string

func (g grid) at(page string) map[string]string {
	i := slices.IndexFunc(g, func(row map[string]string) bool { return row["page"] == page })
	return g[i]
}

// edit changes the sheet of pages and saves the workbook as a spreadsheet would.
func edit(t testing.TB, path string, change func(grid) grid) {
	t.Helper()
	editSheet(t, path, "pages", change)
}

// editSheet changes any sheet.
func editSheet(t testing.TB, path, name string, change func(grid) grid) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	var pages []sheet.Page
	for _, s := range sheet.Read(path, data, &sheet.Mapping{Decimal: "."}, &ps) {
		p := sheet.Page{Name: s.Name, Table: s.Table, Hidden: strings.HasSuffix(s.Name, "as written")}
		if s.Name == name {
			var g grid
			for i := range s.Table.Rows() {
				row := map[string]string{}
				for _, c := range s.Table.Columns() {
					row[c.Name] = c.Label(i)
				}
				g = append(g, row)
			}
			g = change(g)
			p.Table = &table.Table{}
			for _, name := range s.Table.Names() {
				cells := make([]string, len(g))
				for i, row := range g {
					cells[i] = row[name]
				}
				if err := p.Table.Add(table.Labels(name, cells)); err != nil {
					t.Fatal(err)
				}
			}
		}
		pages = append(pages, p)
	}
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := sheet.Write(&b, pages); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// take takes a workbook back, and gives what it says was changed.
func take(t testing.TB, dir, book, path string) string {
	t.Helper()
	e, err := workbook.Of(dir, book)
	if err != nil {
		t.Fatal(err)
	}
	changes, err := e.Take(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Save(time.Date(2026, 6, 1, 12, 0, 0, 0, time.UTC)); err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, c := range changes {
		lines = append(lines, c.String())
	}
	return strings.Join(lines, "\n")
}

// folder is what the files of a folder hold.
func folder(t testing.TB, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	files, err := filepath.Glob(filepath.Join(dir, "*.*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(file)] = string(text)
	}
	return out
}

// differing are the lines of a file that are new, and those that are gone.
func differing(before, after string) (gone, fresh []string) {
	old, now := strings.Split(before, "\n"), strings.Split(after, "\n")
	for _, line := range old {
		if !slices.Contains(now, line) {
			gone = append(gone, line)
		}
	}
	for _, line := range now {
		if !slices.Contains(old, line) {
			fresh = append(fresh, line)
		}
	}
	return gone, fresh
}

func TestUntouchedChangesNoByte(t *testing.T) {
	dir := invented(t)
	before := folder(t, dir)
	for _, book := range []string{"Corvaes", "Tremele", "Delvaine", "Hendemaar"} {
		path := written(t, dir, book)
		if said := take(t, dir, book, path); said != "" {
			t.Errorf("%s: %s", book, said)
		}
		edit(t, path, func(g grid) grid { return g })
		if said := take(t, dir, book, path); said != "" {
			t.Errorf("%s saved again: %s", book, said)
		}
	}
	after := folder(t, dir)
	for name := range before {
		if before[name] != after[name] {
			t.Errorf("%s was changed", name)
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "former")); err == nil {
		t.Error("former tables are kept where none was changed")
	}
}

func TestChangesReachTheirTables(t *testing.T) {
	dir := invented(t)
	before := folder(t, dir)
	path := written(t, dir, "Corvaes")
	edit(t, path, func(g grid) grid {
		g.at("12r")["picture"], g.at("12r")["subject"] = "yes", "a heron"
		g.at("20v")["blank"] = "no" // as it was
		g.at("30r")["quire"] = g.at("30r")["quire"]
		g.at("14v")["note"] = "rubbed, 1,5 mm"
		return g
	})
	said := take(t, dir, "Corvaes", path)
	for _, words := range []string{"page 12r, picture: “yes” is new", "page 12r, subject: “a heron” is new", "page 14v, note: “rubbed, 1,5 mm” is new"} {
		if !strings.Contains(said, words) {
			t.Errorf("not said: %s\n%s", words, said)
		}
	}
	after := folder(t, dir)
	for name := range before {
		if name != "pages.csv" && before[name] != after[name] {
			t.Errorf("%s was changed", name)
		}
	}
	kept, err := os.ReadFile(filepath.Join(dir, "former", "2026-06-01-120000", "pages.csv"))
	if err != nil || string(kept) != before["pages.csv"] {
		t.Errorf("the former table is not kept: %v", err)
	}
	s, _, err := study.OpenBooks(dir)
	if err != nil {
		t.Fatal(err)
	}
	b, _ := s.Book("Corvaes")
	label, _ := codex.ParsePage("12r")
	at, _ := b.Find(label)
	if p := b.Pages[at]; !p.Picture || p.Subject != "a heron" {
		t.Errorf("%+v", p)
	}
	if said := take(t, dir, "Corvaes", written(t, dir, "Corvaes")); said != "" {
		t.Errorf("written anew: %s", said)
	}
}

// The other books' rows stay as they are whatever is changed in one.
func TestOtherBooksStay(t *testing.T) {
	dir := invented(t)
	before := folder(t, dir)
	path := written(t, dir, "Delvaine")
	edit(t, path, func(g grid) grid {
		g.at("5r")["subject"], g.at("5r")["picture"] = "", ""
		g.at("6v")["picture"] = "yes"
		return g
	})
	take(t, dir, "Delvaine", path)
	gone, fresh := differing(before["pages.csv"], folder(t, dir)["pages.csv"])
	for _, line := range append(gone, fresh...) {
		if !strings.HasPrefix(line, "Delvaine,") && !strings.HasPrefix(line, "book,") && len(strings.Split(line, ",")) == len(strings.Split(before["pages.csv"][:strings.Index(before["pages.csv"], "\n")], ",")) {
			t.Errorf("changed: %s", line)
		}
	}
}

// smaller is a study of one book with texts of which one's end was inferred.
func smaller(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range map[string]string{
		"study.toml":      "[tables]\nbooks = \"books.csv\"\nleaves = \"leaves.csv\"\npages = \"pages.csv\"\nsections = \"sections.csv\"\ninstruments = \"instruments.csv\"\nreadings = [\"readings.csv\"]\n",
		"books.csv":       "book,title\nArdel,\"Hours, MS 4\"\n",
		"leaves.csv":      "book,leaf,quire,state\nArdel,1,1,\nArdel,2,1,\nArdel,3,1,\nArdel,4,1,\nArdel,5,2,\nArdel,6,2,\nArdel,,2,lost\nArdel,7,2,\n",
		"pages.csv":       "book,page,picture,subject\nArdel,1r,yes,a boat\n",
		"sections.csv":    "book,section,kind,set,office,extent,extent_by,incipit\nArdel,Calendar,calendar,,,ff. 1r–2v,,Jenner\nArdel,Matins,hours,of the Virgin,ad matutinas,ff. 3r-5v,next text,Domine\nArdel,Prayers,prayer,,,ff. 6r–7v,last leaf,O\n",
		"instruments.csv": "instrument,floor,ceiling,resolution,tile\n", // none is described yet
		"readings.csv":    "book,page,date,time,instrument,target,density\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestTexts(t *testing.T) {
	for _, test := range []struct {
		name        string
		change      func(grid) grid
		says        []string
		gone, fresh []string // lines of sections.csv
	}{
		{"a text begins inside one whose end was inferred", func(g grid) grid {
			r := g.at("4v")
			r["text"], r["kind"], r["set"], r["office"] = "Lauds", "hours", "of the Virgin", "Lauds"
			return g
		}, []string{"page 4v, text: “Lauds” is new", "page 3r, until (inferred): “4r”, not “5v”", "page 4v, until (inferred): “5v” is new"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r-5v,next text,Domine"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r–4r,next text,Domine", "Ardel,Lauds,hours,of the Virgin,Lauds,ff. 4v–5v,next text,"}},
		{"an end is stated", func(g grid) grid { g.at("3r")["until"] = "5r"; return g },
			[]string{"page 3r, until: “5r”, not “5v”"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r-5v,next text,Domine"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r–5r,,Domine"}},
		{"a text begins later", func(g grid) grid {
			for _, column := range []string{"text", "kind", "until"} {
				g.at("6v")[column] = g.at("6r")[column]
				g.at("6r")[column] = ""
			}
			return g
		}, []string{"page 6v, text: “Prayers” is new", "page 3r, until (inferred): “6r”, not “5v”"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r-5v,next text,Domine", "Ardel,Prayers,prayer,,,ff. 6r–7v,last leaf,O"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r–6r,next text,Domine", "Ardel,Prayers,prayer,,,ff. 6v–7v,,O"}},
		{"a name is changed", func(g grid) grid { g.at("1r")["text"] = "Kalendar"; return g },
			[]string{"page 1r, text: “Kalendar”, not “Calendar”"},
			[]string{"Ardel,Calendar,calendar,,,ff. 1r–2v,,Jenner"}, []string{"Ardel,Kalendar,calendar,,,ff. 1r–2v,,Jenner"}},
		{"a text is taken away", func(g grid) grid {
			for _, column := range []string{"text", "kind", "until"} {
				g.at("6r")[column] = ""
			}
			return g
		}, []string{"page 6r, text: “Prayers” is taken away", "page 3r, until (inferred): “7v”, not “5v”"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r-5v,next text,Domine", "Ardel,Prayers,prayer,,,ff. 6r–7v,last leaf,O"},
			[]string{"Ardel,Matins,hours,of the Virgin,ad matutinas,ff. 3r–7v,last leaf,Domine"}},
		{"a second text on a page", func(g grid) grid {
			at := slices.IndexFunc(g, func(row map[string]string) bool { return row["page"] == "6v" })
			g.at("6v")["text"], g.at("6v")["kind"], g.at("6v")["until"] = "Obsecro", "prayer", "6v"
			return slices.Insert(g, at+1, map[string]string{"page": "6v", "text": "O intemerata", "kind": "prayer", "until": "7r"})
		}, []string{"page 6v, text: “Obsecro” is new", "page 6r, until (inferred): “6r”, not “7v”"},
			[]string{"Ardel,Prayers,prayer,,,ff. 6r–7v,last leaf,O"},
			[]string{"Ardel,Prayers,prayer,,,f. 6r,next text,O", "Ardel,Obsecro,prayer,,,f. 6v,,", "Ardel,O intemerata,prayer,,,ff. 6v–7r,,"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := smaller(t)
			before := folder(t, dir)
			path := written(t, dir, "Ardel")
			edit(t, path, test.change)
			said := take(t, dir, "Ardel", path)
			for _, words := range test.says {
				if !strings.Contains(said, words) {
					t.Errorf("not said: %s\n%s", words, said)
				}
			}
			gone, fresh := differing(before["sections.csv"], folder(t, dir)["sections.csv"])
			slices.Sort(fresh)
			slices.Sort(test.fresh)
			if !slices.Equal(gone, test.gone) || !slices.Equal(fresh, test.fresh) {
				t.Errorf("gone\n%s\nfresh\n%s", strings.Join(gone, "\n"), strings.Join(fresh, "\n"))
			}
		})
	}
}

func TestLeaves(t *testing.T) {
	dir := smaller(t)
	path := written(t, dir, "Ardel")
	edit(t, path, func(g grid) grid {
		g.at("2r")["lost"] = "yes"
		g.at("7v")["quire"], g.at("lost 1r")["quire"] = "3", "3"
		at := slices.IndexFunc(g, func(row map[string]string) bool { return row["page"] == "4v" })
		return slices.Insert(g, at+1, map[string]string{"page": "4bisr", "quire": "1", "picture": "yes", "subject": "a heron"},
			map[string]string{"page": "4bisv", "quire": "1"}, map[string]string{"lost": "yes", "quire": "1"})
	})
	said := take(t, dir, "Ardel", path)
	want := "book,leaf,quire,state\nArdel,1,1,\nArdel,2,1,lost\nArdel,3,1,\nArdel,4,1,\nArdel,4bis,1,\nArdel,,1,lost\nArdel,5,2,\nArdel,6,2,\nArdel,,3,lost\nArdel,7,3,\n"
	if got := folder(t, dir)["leaves.csv"]; got != want {
		t.Errorf("%s\n%s", got, said)
	}
	if got := folder(t, dir)["pages.csv"]; !strings.Contains(got, "Ardel,4bisr,yes,a heron") {
		t.Error(got)
	}
}

func TestRefusals(t *testing.T) {
	for _, test := range []struct {
		name   string
		change func(grid) grid
		want   string
	}{
		{"a row is deleted", func(g grid) grid { return slices.Delete(g, 4, 5) }, "expected a row for each page that the workbook was written with"},
		{"an end before the beginning", func(g grid) grid { g.at("3r")["until"] = "2v"; return g }, "range that runs forward"},
		{"an end that is no page", func(g grid) grid { g.at("3r")["until"] = "the end"; return g }, "expected an extent"},
		{"an office that is none", func(g grid) grid { g.at("3r")["office"] = "Tea"; return g }, "Tea"},
		{"a subject without a picture", func(g grid) grid { g.at("3r")["subject"] = "a heron"; return g }, "since the page has no picture"},
		{"two sides of a leaf that differ", func(g grid) grid { g.at("3r")["quire"], g.at("3v")["quire"] = "2", "1b"; return g }, "the same on both sides"},
		{"a leaf without anything", func(g grid) grid { return append(g, map[string]string{"quire": "9"}) }, "yes under lost"},
		{"a picture that is none", func(g grid) grid { g.at("3r")["picture"] = "perhaps"; return g }, "perhaps"},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := smaller(t)
			before := folder(t, dir)
			path := written(t, dir, "Ardel")
			edit(t, path, test.change)
			e, err := workbook.Of(dir, "Ardel")
			if err != nil {
				t.Fatal(err)
			}
			if _, err := e.Take(path); err == nil || !strings.Contains(err.Error(), test.want) {
				t.Errorf("%v", err)
			}
			for name, text := range folder(t, dir) {
				if before[name] != text {
					t.Errorf("%s was changed", name)
				}
			}
		})
	}
	dir := smaller(t)
	path := written(t, dir, "Ardel")
	edit(t, path, func(g grid) grid { g.at("1r")["subject"] = "a heron"; return g })
	if err := os.WriteFile(filepath.Join(dir, "pages.csv"), []byte("book,page,picture,subject\nArdel,1r,yes,a house\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	e, err := workbook.Of(dir, "Ardel")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := e.Take(path); err == nil || !strings.Contains(err.Error(), "the study now has “a house”") {
		t.Errorf("%v", err)
	}
}

// LibreOffice opens the workbook and saves it, in its own format and in that of the
// workbook: untouched it changes no byte, and an edit made in its file arrives.
func TestLibreOffice(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs LibreOffice: make real")
	}
	dir := invented(t)
	before := folder(t, dir)
	path := written(t, dir, "Hendemaar")
	convert := func(from, kind string) string {
		out := t.TempDir()
		cmd := exec.Command("soffice", "-env:UserInstallation=file://"+filepath.Join(t.TempDir(), "profile"), "--headless", "--convert-to", kind, "--outdir", out, from)
		if said, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, said)
		}
		return filepath.Join(out, strings.TrimSuffix(filepath.Base(from), filepath.Ext(from))+"."+kind)
	}
	ods := convert(path, "ods")
	for _, saved := range []string{ods, convert(ods, "xlsx")} {
		if said := take(t, dir, "Hendemaar", saved); said != "" {
			t.Errorf("%s: %s", filepath.Base(saved), said)
		}
	}
	for name, text := range folder(t, dir) {
		if before[name] != text {
			t.Errorf("%s was changed", name)
		}
	}
	flat := convert(path, "fods")
	text, err := os.ReadFile(flat)
	if err != nil {
		t.Fatal(err)
	}
	word := "Annunciation"
	at := bytes.Index(text, []byte(">"+word+"<"))
	if at < 0 {
		t.Fatalf("no %s in the sheet", word)
	}
	text = append(append(append([]byte{}, text[:at]...), []byte(">A heron<")...), text[at+len(word)+2:]...)
	if err := os.WriteFile(flat, text, 0o644); err != nil {
		t.Fatal(err)
	}
	if said := take(t, dir, "Hendemaar", convert(flat, "ods")); !strings.Contains(said, "subject: “A heron”, not “Annunciation”") || strings.Count(said, "\n") != 0 {
		t.Error(said)
	}
}
