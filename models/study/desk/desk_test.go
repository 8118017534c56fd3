package desk_test

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/study/desk"
	"thumbed/models/table"
)

// books is a book of twelve leaves.
func books(t testing.TB) []*codex.Book {
	leaves := "book,leaf\n"
	for i := range 12 {
		leaves += fmt.Sprintf("Ardel,%d\n", i+1)
	}
	var ps table.Problems
	read := func(text string) *table.Table { return table.Read("t.csv", []byte(text), &ps) }
	out := codex.FromTables(codex.Tables{Books: read("book\nArdel\n"), Leaves: read(leaves)}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// options are those of a session whose clock goes on by 40 seconds at each look.
func options(t testing.TB, path string) desk.Options {
	now := time.Date(2026, 6, 1, 9, 30, 0, 0, time.UTC)
	return desk.Options{Table: path, Books: books(t), Instrument: readings.Instrument{ID: "bench", Ceiling: 2, Resolution: 0.01}, Observer: "HB", Zeros: 2, Placings: 3,
		Now: func() time.Time { now = now.Add(40 * time.Second); return now }}
}

// typed runs a session over the lines and gives what it said.
func typed(t testing.TB, o desk.Options, lines ...string) string {
	t.Helper()
	s, err := desk.Begin(o)
	if err != nil {
		t.Fatal(err)
	}
	return said(t, s, lines)
}

// said runs a day at the desk over the lines and gives what it said.
func said(t testing.TB, day interface {
	Run(lines <-chan string, out io.Writer) error
}, lines []string) string {
	t.Helper()
	in := make(chan string, len(lines))
	for _, line := range lines {
		in <- line
	}
	close(in)
	var out strings.Builder
	if err := day.Run(in, &out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func contents(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

const header = "book,page,date,time,instrument,observer,target,spot,tried,density,excluded,note\n"

func TestDay(t *testing.T) {
	path := filepath.Join(t.TempDir(), "readings.csv")
	said := typed(t, options(t, path), "t", "0.16", "p 3v", "0.10", "D 0,11", "n a crease", "0.25", "0.35", "u", "0.26", "+", "0.24", "34", "3.1", "0.255", "x too stiff", "p 99r", "p", "what", "w", "q")
	want := header +
		",,2026-06-01,09:31:20,bench,HB,tile,,,0.16,,\n" +
		"Ardel,3v,2026-06-01,09:32:00,bench,HB,zero,,,0.10,,\n" +
		"Ardel,3v,2026-06-01,09:32:40,bench,HB,zero,,,0.11,,\n" +
		"Ardel,3v,2026-06-01,09:33:20,bench,HB,page,fixed,,0.25,,a crease\n" +
		"Ardel,3v,2026-06-01,09:34:00,bench,HB,page,fixed,,0.35,taken back at the desk,\n" +
		"Ardel,3v,2026-06-01,09:34:40,bench,HB,page,fixed,,0.26,,\n" +
		"Ardel,3v,2026-06-01,09:35:20,bench,HB,page,fixed,,0.24,,extra\n" +
		"Ardel,3v,2026-06-01,09:36:00,bench,HB,page,fixed,,,too stiff,\n"
	if got := contents(t, path); got != want {
		t.Errorf("the table is\n%s", got)
	}
	for _, words := range []string{"bench cannot show 34: it reads from 0 to 2. Is it 0.34?", "bench cannot show 3.1", "0.255 is none of them", "Ardel has no page 99r; the nearest page is 12r",
		"Write a page such as 12r", `"what" is no density`, "Nothing is left", "6 readings on 1 page with bench. Left out, with the reason in the table: 2 readings.", "Measure again on another day, by another observer where there is one: Ardel, f. 3v."} {
		if !strings.Contains(said, words) {
			t.Errorf("not said: %s\n%s", words, said)
		}
	}
	var ps table.Problems
	readings.ReadingsSchema().Check(table.ReadFile(path, &ps), &ps)
	if err := ps.Err(); err != nil {
		t.Error(err)
	}
}

// sheet is one of three pages with tiles around.
func sheet(t testing.TB, o desk.Options) *desk.Sheet {
	t.Helper()
	path := filepath.Join(t.TempDir(), "readings-to-fill.csv")
	rows := header
	row := func(page, target, spot string) {
		book := "Ardel"
		if target == "tile" {
			book = ""
		}
		rows += fmt.Sprintf("%s,%s,2026-06-01,09:30,bench,HB,%s,%s,,,,\n", book, page, target, spot)
	}
	row("", "tile", "")
	for _, page := range []string{"2r", "1v", "5r"} {
		row(page, "zero", "")
		row(page, "page", "fixed")
		row(page, "page", "fixed")
	}
	row("", "tile", "")
	if err := os.WriteFile(path, []byte(rows), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := desk.ReadSheet(path, "2026-06-01", o.Books)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A session that ends after any number of readings goes on where it was: the
// table is the same as that of one that ran through, whatever was cut short.
func TestGoesOnAfterAnyEnd(t *testing.T) {
	densities := []string{"0.16", "0.10", "0.20", "0.21", "0.11", "0.30", "0.31", "0.12", "0.40", "0.41", "0.17"}
	whole := filepath.Join(t.TempDir(), "whole.csv")
	o := options(t, whole)
	o.Sheet = sheet(t, o)
	typed(t, o, densities...)
	times := func(text string) string { // without the times
		var out []string
		for _, line := range strings.Split(text, "\n") {
			cells := strings.Split(line, ",")
			out = append(out, strings.Join(append(cells[:min(3, len(cells))], cells[min(4, len(cells)):]...), ","))
		}
		return strings.Join(out, "\n")
	}
	want := times(contents(t, whole))
	rapid.Check(t, func(r *rapid.T) {
		path := filepath.Join(t.TempDir(), fmt.Sprintf("r%d.csv", rand.Int64()))
		for done := 0; done < len(densities); {
			n := rapid.IntRange(0, len(densities)-done).Draw(r, "readings")
			o := options(t, path)
			o.Sheet = sheet(t, o)
			typed(t, o, densities[done:done+n]...)
			done += n
			if torn := rapid.SampledFrom([]string{"", "Ardel,2r,2026-06", "x"}).Draw(r, "torn"); torn != "" {
				file, _ := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
				if _, err := file.WriteString(torn); err != nil {
					r.Fatal(err)
				}
				file.Close()
				if said := typed(t, o); !strings.Contains(said, "cut short") || !strings.Contains(said, torn) {
					r.Fatalf("not told: %s", said)
				}
			}
		}
		if got := times(contents(t, path)); got != want {
			r.Fatalf("%s\nis not\n%s", got, want)
		}
	})
}

// Pages passed over are named and come again at the end.
func TestPassedOver(t *testing.T) {
	path := filepath.Join(t.TempDir(), "readings.csv")
	o := options(t, path)
	o.Sheet = sheet(t, o)
	said := typed(t, o, "0.16", "p 5r", "0.12", "0.40", "0.41", "0.17", "s", "0.11", "0.30", "0.31", "0.10", "0.20", "0.21", "w", "q")
	for _, words := range []string{"Passed over, to come again at the end: Ardel, f. 2r and Ardel, f. 1v.", "Ardel, f. 2r is passed over, and comes again at the end.", "Nothing is left."} {
		if !strings.Contains(said, words) {
			t.Errorf("not said: %s\n%s", words, said)
		}
	}
	pages := []string{}
	for _, line := range strings.Split(contents(t, path), "\n")[1:] {
		if cells := strings.Split(line, ","); len(cells) > 6 && cells[6] == "zero" {
			pages = append(pages, cells[1])
		}
	}
	if !slices.Equal(pages, []string{"5r", "1v", "2r"}) {
		t.Errorf("%v", pages)
	}
}

// Of pages without anything odd one in twenty sounds an alarm, whatever the number
// of placings: the factors are those of the 95 % point of the range.
func TestAlarmsAsOftenAsStated(t *testing.T) {
	if testing.Short() {
		t.Skip()
	}
	for _, n := range []int{2, 3, 5} {
		r := rand.New(rand.NewPCG(7, uint64(n)))
		o := options(t, filepath.Join(t.TempDir(), "readings.csv"))
		o.Instrument.Resolution, o.Placings = 0.0001, n
		// The day before tells the repeatability.
		var b strings.Builder
		b.WriteString(header)
		for range 150 {
			for range 2 {
				fmt.Fprintf(&b, "Ardel,1r,2026-05-%02d,10:00,bench,HB,page,fixed,,%.4f,,\n", 1+b.Len()%28, 0.5+0.01*r.NormFloat64())
			}
		}
		if err := os.WriteFile(o.Table, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		const pages = 24
		alarms, of := 0, 0
		for range 5 { // five days of 24 pages
			day := o
			now := time.Date(2026, 6, 1+of/pages, 9, 0, 0, 0, time.UTC)
			day.Now = func() time.Time { now = now.Add(30 * time.Second); return now }
			var lines []string
			for p := range pages {
				lines = append(lines, fmt.Sprintf("p %d%s", p/2+1, "rv"[p%2:p%2+1]), "0.1", "0.1")
				for range n {
					lines = append(lines, fmt.Sprintf("%.4f", 0.5+0.01*r.NormFloat64()))
				}
			}
			said := typed(t, day, lines...)
			for _, page := range strings.Split(said, "untouched spot, 1 of 2")[1:] {
				if of++; strings.Contains(page, "lie ") {
					alarms++
				}
			}
		}
		// Binomial with 5 %: 120 pages give 6, sd 2.4; more readings of a page
		// are looked at one after the other, so somewhat more.
		if alarms < 1 || alarms > 17 {
			t.Errorf("%d placings: %d alarms on %d pages", n, alarms, of)
		}
	}
}

// The factors of ISO 5725-6 are the 95 % points of the range of n standard normal
// values, to the digit that the table shows.
func TestCriticalRange(t *testing.T) {
	for i, f := range desk.CriticalRange {
		n := float64(i + 2)
		// P(range ≤ f) = n∫φ(x)(Φ(x)−Φ(x−f))ⁿ⁻¹dx (Hartley 1942, Biometrika 32, 334).
		chance := func(f float64) float64 {
			const step = 0.01
			sum := 0.0
			for x := -8.0; x <= 8+f; x += step {
				cdf := func(x float64) float64 { return 0.5 * math.Erfc(-x/math.Sqrt2) }
				sum += step * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * math.Pow(cdf(x)-cdf(x-f), n-1)
			}
			return n * sum
		}
		if low, high := chance(f-0.0501), chance(f+0.0501); low > 0.95 || high < 0.95 {
			t.Errorf("n = %g: %g has %.4f to %.4f", n, f, low, high)
		}
	}
}

// What is measured again is the same when asked twice, a tenth of the pages, and
// not only those with an alarm.
func TestAgain(t *testing.T) {
	o := options(t, filepath.Join(t.TempDir(), "readings.csv"))
	var lines []string
	for p := range 24 {
		lines = append(lines, fmt.Sprintf("p %d%s", p/2+1, "rv"[p%2:p%2+1]), "0.10", "0.11", "0.30", "0.31", "0.30")
	}
	typed(t, o, lines...)
	var drawn [2][]desk.Page
	for i := range drawn {
		s, err := desk.Begin(o)
		if err != nil {
			t.Fatal(err)
		}
		drawn[i] = s.Again()
	}
	if len(drawn[0]) != 3 || !slices.Equal(drawn[0], drawn[1]) {
		t.Errorf("%v and %v", drawn[0], drawn[1])
	}
}

// Anything may be typed: no line brings the session down, and the table stays one.
func FuzzLines(f *testing.F) {
	f.Add("p 1r\n0.1\nu\nu\n+\n0.2\nx y\nn z\nq")
	f.Add("t\n0.1\n+\n+\ns\ns\nw\np 2v\np 2v\n")
	f.Fuzz(func(t *testing.T, text string) {
		o := options(t, filepath.Join(t.TempDir(), "readings.csv"))
		o.Sheet = sheet(t, o)
		s, err := desk.Begin(o)
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(text, "\n")
		in := make(chan string, len(lines))
		for _, line := range lines {
			in <- line
		}
		close(in)
		if err := s.Run(in, io.Discard); err != nil {
			t.Fatal(err)
		}
		var ps table.Problems
		table.ReadFile(o.Table, &ps)
		if err := ps.Err(); err != nil {
			t.Fatal(err)
		}
	})
}

// TestTableOfAnImport goes on in a table that lacks columns, as an import leaves it that
// had nothing for them: they are added, and its rows stay.
func TestTableOfAnImport(t *testing.T) {
	path := filepath.Join(t.TempDir(), "readings.csv")
	if err := os.WriteFile(path, []byte("page,date,time,target,density,book,instrument,spot,mood\n1r,2026-05-30,09:30,zero,0.05,Ardel,bench,,calm\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	said := typed(t, options(t, path), "p 2r", "0.06", "q")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if want := "page,date,time,target,density,book,instrument,spot,mood,observer,tried,excluded,note"; lines[0] != want || !strings.HasPrefix(lines[1], "1r,2026-05-30,09:30,zero,0.05,Ardel,bench,,calm,,,,") {
		t.Errorf("%s\n%s", lines[0], lines[1])
	}
	if len(lines) != 3 || !strings.Contains(lines[2], "0.06") || !strings.Contains(lines[2], "HB") || !strings.Contains(said, "added, empty in the rows that were there") {
		t.Errorf("%d lines\n%s", len(lines), said)
	}
}

// TestNumbersAtOnce takes the numbers that an instrument sends in one second: each has a
// time of its own, so that equal ones are not taken for one reading that stands twice.
func TestNumbersAtOnce(t *testing.T) {
	o := options(t, filepath.Join(t.TempDir(), "readings.csv"))
	o.Now = func() time.Time { return time.Date(2026, 6, 1, 9, 30, 0, 500, time.UTC) }
	typed(t, o, "p 3v", "0.10", "0.10", "0.25", "0.25", "0.25", "q")
	for i, time := range []string{"09:30:00", "09:30:01", "09:30:02", "09:30:03", "09:30:04"} {
		if lines := strings.Split(contents(t, o.Table), "\n"); !strings.Contains(lines[i+1], time) {
			t.Errorf("line %d: %s", i+1, lines[i+1])
		}
	}
}
