package draft_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/report/reporttest"
	"thumbed/models/study"
	"thumbed/models/study/demo"
	"thumbed/models/study/draft"
	"thumbed/models/table"
)

// opened writes a study file for the tables of a folder and opens the study.
func opened(t *testing.T, dir string, readings []string, names []string) (*study.Study, string) {
	t.Helper()
	var ps table.Problems
	paths := codex.Paths{Books: "books.csv", Leaves: "leaves.csv", Pages: "pages.csv", Sections: "sections.csv"}
	for _, p := range []*string{&paths.Books, &paths.Leaves, &paths.Pages, &paths.Sections} {
		*p = filepath.Join(dir, *p)
	}
	books := codex.Load(paths, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	books = slices.DeleteFunc(books, func(b *codex.Book) bool { return names != nil && !slices.Contains(names, b.ID) })
	text := draft.Draft{Title: "A “title” with \"marks\"", From: "a record.xml", Books: books, Readings: readings}.Text()
	if err := os.WriteFile(filepath.Join(dir, draft.FileName), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := study.Open(dir)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return s, text
}

// names are those of the models that are in force.
func names(s *study.Study) (out []string) {
	for _, m := range s.Models {
		out = append(out, m.Name)
	}
	return out
}

// The file for the demonstration's books opens, and a run of it answers every
// question in force.
func TestDemonstration(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "study")
	if err := demo.Write(dir); err != nil {
		t.Fatal(err)
	}
	readings, err := filepath.Glob(filepath.Join(dir, "readings*.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range readings {
		readings[i] = filepath.Base(readings[i])
	}
	s, text := opened(t, dir, readings, nil)
	if got := names(s); !slices.Equal(got, []string{"pictures", "texts", "offices"}) {
		t.Errorf("in force: %v\n%s", got, text)
	}
	results, err := s.Run(nil)
	if results == nil {
		t.Fatal(err)
	}
	reporttest.Written(t, "a draft", results.Page)
	for _, m := range results.Models {
		if m.Fit == nil {
			t.Errorf("%s %s: %v", m.Name, m.Book, m.Failed)
		}
	}
	if len(results.Answers) < 5 {
		t.Errorf("%d answers: %v", len(results.Answers), err)
	}
	for _, a := range results.Answers {
		if a.Question.Asked != "after" {
			t.Errorf("“%s” stands as asked %s", a.Question.Words, a.Question.Asked)
		}
	}
}

// TestQuiresOfOneBookAlone: quires are no groups of a model of two books of which one has
// none, as in two records of the Bodleian Library (MSS. Douce 144 and 311): the model would
// leave all of that book's pages out.
func TestQuiresOfOneBookAlone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "study")
	if err := demo.Write(dir); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "leaves.csv")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(data), "\n")
	heads := strings.Split(lines[0], ",")
	for i, line := range lines {
		if cells := strings.Split(line, ","); cells[0] == "Corvaes" {
			cells[slices.Index(heads, "quire")], cells[slices.Index(heads, "conjugate")] = "", ""
			lines[i] = strings.Join(cells, ",")
		}
	}
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")), 0o644); err != nil {
		t.Fatal(err)
	}
	_, text := opened(t, dir, []string{"readings-2026-03.csv"}, nil)
	if strings.Contains(text, `"quire"`) || !strings.Contains(text, `by    = ["book", "section"]`) {
		t.Error(text)
	}
}

// book writes the tables of one book of sixteen leaves.
func book(t *testing.T, sections, pages string) string {
	t.Helper()
	dir := t.TempDir()
	leaves := "book,leaf,quire\n"
	for i := range 16 {
		leaves += fmt.Sprintf("Ardel,%d,%d\n", i+1, 1+i/8)
	}
	for name, text := range map[string]string{"books.csv": "book,title\nArdel,Hours\n", "leaves.csv": leaves, "sections.csv": sections, "pages.csv": pages,
		"instruments.csv": "instrument,floor,ceiling,resolution,tile\nbench,0,2,0.01,0.2\n",
		"readings.csv":    "book,page,date,time,instrument,target,spot,density\nArdel,1r,2026-06-01,10:00,bench,zero,,0.1\nArdel,1r,2026-06-01,10:00,bench,page,fixed,0.2\n"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestByWhatTheBookHolds(t *testing.T) {
	const header = "book,section,kind,set,office,extent\n"
	pictures := func(n int) string {
		text := "book,page,picture,hand\n"
		for i := range n {
			text += fmt.Sprintf("Ardel,%dr,yes,%s\n", i+1, "AB"[i%2:i%2+1])
		}
		return text
	}
	for _, test := range []struct {
		name, sections, pages string
		want                  []string
	}{
		{"nothing", header, "book,page,picture\n", nil},
		{"few pictures", header + "Ardel,Prayers,prayer,,,ff. 1r–16v\n", pictures(3), nil},
		{"pictures and hands", header + "Ardel,Prayers,prayer,,,ff. 1r–16v\n", pictures(8), []string{"pictures", "hands"}},
		{"two texts", header + "Ardel,Prayers,prayer,,,ff. 1r–8v\nArdel,Psalms,psalms,,,ff. 9r–16v\n", "book,page,picture\n", []string{"texts"}},
		{"a text of no told kind", header + "Ardel,Letters,text,,,ff. 1r–8v\nArdel,Psalms,psalms,,,ff. 9r–12v\nArdel,Prayers,prayer,,,ff. 13r–16v\n", "book,page,picture\n", []string{"texts"}},
		{"hours", header + "Ardel,M,hours,of the Cross,Matins,ff. 1r–2v\nArdel,L,hours,of the Cross,Lauds,ff. 3r–4v\nArdel,P,hours,of the Cross,Prime,ff. 5r–6v\nArdel,T,hours,of the Cross,Terce,ff. 7r–8v\n",
			"book,page,picture\n", []string{"offices"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			s, text := opened(t, book(t, test.sections, test.pages), []string{"readings.csv"}, nil)
			if got := names(s); !slices.Equal(got, test.want) {
				t.Errorf("in force: %v\n%s", got, text)
			}
			if test.name == "a text of no told kind" && !strings.Contains(text, "Is the text “prayer” more worn than “psalms”?") {
				t.Error(text)
			}
			if test.name == "hours" && !strings.Contains(text, `only    = { set = ["of the Cross"] }`) {
				t.Error(text)
			}
			// What is only a comment is sound once its signs are taken away and
			// its labels are there.
			if strings.Count(text, "[[model]]") != 4 || strings.Count(text, "[[question]]") != 4 {
				t.Errorf("not four models with their questions:\n%s", text)
			}
		})
	}
}
