package traces

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/student"
	"thumbed/models/table"
)

// book is one book of four leaves in one quire, with pictures on 1v and 3r.
func book(t testing.TB) []*codex.Book {
	t.Helper()
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	var ps table.Problems
	books := codex.Load(codex.Paths{
		Books:  write("books.csv", "book,title\nA,Hours of A\n"),
		Leaves: write("leaves.csv", "book,leaf,quire,state\nA,1,1,present\nA,2,1,present\nA,3,1,present\nA,4,1,lost\n"),
		Pages:  write("pages.csv", "book,page,picture\nA,1v,yes\nA,3r,yes\n"),
	}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return books
}

var coding = []Trace{
	{Name: "rubbing", About: "paint rubbed", Kind: "grades", On: OnPictures, Parts: []string{"face", "frame"}, Grades: []Grade{{"intact", "none lost"}, {"dulled", "matt"}, {"bare", "gone"}}},
	{Name: "wax", About: "wax", Kind: "counts", One: "a drop", Per: "cm²"},
	{Name: "smear", About: "a smear", Kind: "yes or no"},
}

const head = "book,page,part,trace,grade,count,present,exposure,unclear,observer,date,excluded,note\n"

func read(t testing.TB, rows string) (*Looks, error) {
	t.Helper()
	var ps table.Problems
	looks := table.Read("traces.csv", []byte(head+rows), &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	return readTable(looks, book(t), &ps), ps.Err()
}

func readTable(t *table.Table, books []*codex.Book, ps *table.Problems) *Looks {
	r := newReader(coding, books, ps)
	r.read(t)
	return r.looks
}

// TestThreeStatesStayThree: no row, a row with nothing there, and a row that cannot be
// told are counted apart, and none enters the shares in another's place.
func TestThreeStatesStayThree(t *testing.T) {
	looks, err := read(t, `A,1v,face,rubbing,intact,,,,,HB,2026-05-01,,
A,3r,face,rubbing,,,,,repainted,HB,2026-05-01,,
A,1v,frame,rubbing,bare,,,,,HB,2026-05-01,,
A,1r,,smear,,,no,,,HB,2026-05-01,,
A,2r,,smear,,,yes,,,HB,2026-05-01,,
A,2v,,smear,,,yes,,,HB,2026-05-01,coded by mistake,
`)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range looks.States() {
		want := map[string]State{
			"rubbing face":  {Things: 2, Nothing: 1, Unclear: 1, Looks: 2},
			"rubbing frame": {Things: 2, NotLooked: 1, There: 1, Looks: 1},
			"wax ":          {Things: 6, NotLooked: 6},
			"smear ":        {Things: 6, NotLooked: 4, Nothing: 1, There: 1, Looks: 2, Excluded: 1},
		}[s.Trace+" "+s.Part]
		if s.Things != want.Things || s.NotLooked != want.NotLooked || s.Nothing != want.Nothing || s.There != want.There || s.Unclear != want.Unclear || s.Looks != want.Looks || s.Excluded != want.Excluded {
			t.Errorf("%s %s: %+v, want %+v", s.Trace, s.Part, s, want)
		}
		if s.Trace == "smear" {
			near(t, "share of yes", s.Shares[1].Share, 0.5, 1e-15)
		}
	}
}

// TestProblemsHaveTheirPlace: every kind of mistake is told at its line and column, all
// at once.
func TestProblemsHaveTheirPlace(t *testing.T) {
	_, err := read(t, `A,1v,face,rubbing,dull,,,,,HB,2026-05-01,,
A,1r,face,rubbing,intact,,,,,HB,2026-05-01,,
A,1v,nose,rubbing,intact,,,,,HB,2026-05-01,,
A,1v,,rubbing,intact,,,,,HB,2026-05-01,,
A,1v,face,rubbing,,,yes,,,HB,2026-05-01,,
A,1v,face,rubbing,intact,,,,repainted,HB,2026-05-02,,
A,1r,,wax,,3,,,,HB,2026-05-01,,
A,4r,,smear,,,yes,,,HB,2026-05-01,,
A,9r,,smear,,,yes,,,HB,2026-05-01,,
B,1r,,smear,,,yes,,,HB,2026-05-01,,
A,1r,,stain,,,yes,,,HB,2026-05-01,,
A,1r,,smear,,,yes,,,HB,2026-05-03,,
A,1r,,smear,,,no,,,HB,2026-05-03,,
A,1r,,smear,,,no,,,HB,2026-05-04,yes,
`)
	var fault *table.Fault
	if !errors.As(err, &fault) {
		t.Fatalf("no fault: %v", err)
	}
	got := map[string]bool{}
	for _, p := range fault.Problems {
		got[strings.TrimPrefix(p.Place(), "traces.csv, ")] = true
		if p.Expected == "" || p.Remedy == "" {
			t.Errorf("%v: without expectation or remedy", p)
		}
	}
	for _, want := range []string{"line 2, column grade", "line 3, column page", "line 4, column part", "line 5, column part", "line 6, column present", "line 6, column grade",
		"line 7, column unclear", "line 8, column exposure", "line 9, column page", "line 10, column page", "line 11, column book", "line 12, column trace", "line 14, column observer", "line 15, column excluded"} {
		if !got[want] {
			t.Errorf("nothing is told at %s; told: %v", want, got)
		}
	}
}

// TestTheOrderOfRowsIsNothing: tables of looks, states and agreement are the same
// whatever order the rows come in.
func TestTheOrderOfRowsIsNothing(t *testing.T) {
	rows := []string{"A,1v,face,rubbing,intact,,,,,HB,2026-05-01,,", "A,1v,face,rubbing,dulled,,,,,SV,2026-05-02,,", "A,3r,face,rubbing,bare,,,,,HB,2026-05-01,,", "A,3r,face,rubbing,bare,,,,,SV,2026-05-01,,"}
	there, err := read(t, strings.Join(rows, "\n")+"\n")
	if err != nil {
		t.Fatal(err)
	}
	back, err := read(t, rows[3]+"\n"+rows[1]+"\n"+rows[2]+"\n"+rows[0]+"\n")
	if err != nil {
		t.Fatal(err)
	}
	a, b := there.Agreements()[0], back.Agreements()[0]
	if a.Words != b.Words || a.Alpha.Value != b.Alpha.Value {
		t.Errorf("%s, but backwards %s", a.Words, b.Words)
	}
	features := codex.Features(there.Books)
	for _, c := range there.PageColumns(features) {
		if err := features.Add(c); err != nil {
			t.Fatal(err)
		}
	}
	one, err := there.Table(features)
	if err != nil {
		t.Fatal(err)
	}
	other, err := back.Table(features)
	if err != nil {
		t.Fatal(err)
	}
	var first, second strings.Builder
	if one.Write(&first) != nil || other.Write(&second) != nil || first.String() != second.String() {
		t.Error("the tables of looks differ")
	}
	all := []int{0, 1, 2, 3}
	if kept := OnceEach(one, all); len(kept) != 2 {
		t.Errorf("of two things %d looks are kept", len(kept))
	}
}

// TestPrintsByHand: two versos and two rectos of five openings have the trace, both on
// both: by the hypergeometric distribution 1 in 10.
func TestPrintsByHand(t *testing.T) {
	p := hypergeometric(5, 2, 2)
	near(t, "both", p[2], 1.0/10, 1e-12)
	near(t, "all", p[0]+p[1]+p[2], 1, 1e-12)
	two := added(p, p)
	near(t, "four of two books", two[4], 1.0/100, 1e-12)
}

// TestWilson: the examples of Newcombe (1998,
// Statistics in Medicine 17, 857–872, table I, method 3): 15 of 148 gives 0.0624 to
// 0.1605, 0 of 20 gives 0 to 0.1611, 1 of 29 gives 0.0061 to 0.1718 (from memory).
func TestWilson(t *testing.T) {
	for _, c := range []struct{ of, n, low, high float64 }{{15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		low, high := student.Wilson(c.of/c.n, c.n)
		near(t, "low", low, c.low, 5e-5)
		near(t, "high", high, c.high, 5e-5)
	}
}

// FuzzRead: whatever stands in a table of looks, it ends in looks or in problems.
func FuzzRead(f *testing.F) {
	f.Add("A,1v,face,rubbing,intact,,,,,HB,2026-05-01,,\n")
	f.Add("A,1r,,wax,,3,,2.5,,HB,2026-05-01,,\nA,1r,,wax,,,,,under a stain,SV,2026-05-01,,\n")
	f.Add("A,2v,,smear,,,yes,,,HB,2026-05-01,folded,note\n,,,,,,,,,,,,\n")
	books := book(f)
	f.Fuzz(func(t *testing.T, rows string) {
		var ps table.Problems
		rowsTable := table.Read("traces.csv", []byte(head+rows), &ps)
		if rowsTable == nil {
			return
		}
		looks := readTable(rowsTable, books, &ps)
		for _, s := range looks.States() {
			if s.There+s.Nothing+s.Unclear+s.NotLooked != s.Things {
				t.Fatalf("%+v: the states do not add up", s)
			}
		}
		for _, a := range looks.Agreements() {
			if math.IsInf(a.Alpha.Value, 0) || a.Words == "" {
				t.Fatalf("%+v", a)
			}
		}
		looks.Prints()
	})
}
