package readings

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// Good rows to stand beside a broken one, with a zero for every page named.
const sound = `,,2026-03-09,09:00,D1,ann,tile,,,0.80,,
ardel,1r,2026-03-09,10:00,D1,ann,page,fixed,1,0.50,,
ardel,1r,2026-03-09,10:00,D1,ann,page,fixed,1,0.52,,
ardel,1r,2026-03-09,10:01,D1,ann,zero,,,0.20,,
ardel,1r,2026-03-09,10:01,D1,ann,zero,,,0.21,,
`

func TestLoadUnderstands(t *testing.T) {
	log, ps := load(t, sound+"brin,f. 3 v,2026-03-10,14:05:30,D2,,page,darkest,4,1.80,smudged by the binder,see photograph\n")
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	if len(log.Instruments) != 2 || log.Instruments[0] != (Instrument{ID: "D1", Ceiling: 2, Resolution: 0.01, Tile: 0.8, line: 2}) || !math.IsNaN(log.Instruments[1].Tile) {
		t.Errorf("instruments are %+v", log.Instruments)
	}
	got := log.Readings[len(log.Readings)-1]
	if got.Book != 1 || log.pageLabel(1, got.Page) != "3v" || got.Day != "2026-03-10" || math.Abs(got.Hour-(14+5.5/60)) > 1e-12 ||
		got.Instrument != 1 || got.Target != OnPage || got.Spot != darkestSpot || got.Tried != 4 || got.Density != 1.8 ||
		got.Excluded != "smudged by the binder" || got.Note != "see photograph" || got.Line != 7 {
		t.Errorf("the last row is read as %+v", got)
	}
}

// Every broken row is reported once, at its line and column, with the value
// seen, what was expected and how to mend it.
func TestLoadRefuses(t *testing.T) {
	const zero = "ardel,2r,2026-03-09,11:00,D1,ann,zero,,,0.20,,\n"
	cases := []struct {
		name, rows string
		line       int
		column     string
		says       string
	}{
		{"unknown book", "ardell,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "book", `found "ardell"; expected a book of the table of books; perhaps ardel is meant`},
		{"no book", ",2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "book", "found nothing; expected the book's id"},
		{"unknown page", "ardel,53r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "page", `found "53r"; expected a page of the book ardel; the nearest page that it has is 40r`},
		{"no page", "ardel,,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "page", "found nothing; expected the page's label"},
		{"page without side", "ardel,2,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "page", `write 2r or 2v`},
		{"page that is no label", "ardel,p&q,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "page", `found "p&q"; expected a page label`},
		{"page of a lost leaf", "ardel,7v,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "page", "expected a page of a leaf that is still in the book; the table of leaves says that leaf 7 is lost"},
		{"above the ceiling", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,2.05,,\n" + zero, 7, "density", `found "2.05"; expected a density from 0 to 2, which is what D1 can show`},
		{"below the floor", "ardel,2r,2026-03-09,11:00,D2,ann,page,fixed,1,0.04,,\nardel,2r,2026-03-09,11:00,D2,ann,zero,,,0.20,,\n", 7, "density", `expected a density from 0.05 to 1.8`},
		{"missing zero", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "target", `found "ardel 2r, page, 2026-03-09"; expected a reading of this page's zero by D1 on the same day`},
		{"zero on another day", "ardel,2r,2026-03-10,11:00,D1,ann,page,fixed,1,0.50,,\n" + zero, 7, "target", "on the same day"},
		{"zero by another instrument", "ardel,2r,2026-03-09,11:00,D2,ann,page,fixed,1,0.50,,\n" + zero, 7, "target", "zero by D2"},
		{"only zero excluded", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\nardel,2r,2026-03-09,11:00,D1,ann,zero,,,0.20,on a stain,\n", 7, "target", "the only zeros are excluded: keep one"},
		{"zero at the ceiling", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\nardel,2r,2026-03-09,11:00,D1,ann,zero,,,2.00,,\n", 8, "density", `found "2.00"; expected a zero below the ceiling of 2`},
		{"tile without certificate", ",,2026-03-09,11:00,D2,ann,tile,,,0.80,,\n", 7, "instrument", "expected an instrument whose tile has a certified density; give the density on the tile's certificate"},
		{"tile at the ceiling", ",,2026-03-09,11:00,D1,ann,tile,,,2.00,,\n", 7, "density", "cannot show drift"},
		{"tile of a book", "ardel,2r,2026-03-09,11:00,D1,ann,tile,,,0.80,,\n", 7, "target", "expected no book and no page on a reading of the tile"},
		{"unknown instrument", "ardel,2r,2026-03-09,11:00,D3,ann,page,fixed,1,0.50,,\n", 7, "instrument", `found "D3"; expected an instrument of the table of instruments; perhaps D1 is meant`},
		{"no instrument", "ardel,2r,2026-03-09,11:00,,ann,page,fixed,1,0.50,,\n", 7, "instrument", "found nothing; expected a value in every row"},
		{"spot missing", "ardel,2r,2026-03-09,11:00,D1,ann,page,,1,0.50,,\n" + zero, 7, "spot", "found nothing; expected fixed or darkest"},
		{"spot unknown", "ardel,2r,2026-03-09,11:00,D1,ann,page,darker,1,0.50,,\n" + zero, 7, "spot", `found "darker"; expected one of fixed, darkest`},
		{"spot on a zero", "ardel,2r,2026-03-09,11:00,D1,ann,zero,fixed,1,0.50,,\n", 7, "spot", "expected nothing, since the target is zero"},
		{"target unknown", "ardel,2r,2026-03-09,11:00,D1,ann,corner,fixed,1,0.50,,\n", 7, "target", `found "corner"; expected one of page, zero, tile`},
		{"none tried", "ardel,2r,2026-03-09,11:00,D1,ann,page,darkest,0,0.50,,\n" + zero, 7, "tried", `found "0"; expected at least 1`},
		{"half a spot tried", "ardel,2r,2026-03-09,11:00,D1,ann,page,darkest,2.5,0.50,,\n" + zero, 7, "tried", `found "2.5"; expected a whole number`},
		{"more tried than can be", "ardel,2r,2026-03-09,11:00,D1,ann,page,darkest,4000,0.50,,\n" + zero, 7, "tried", "expected at most 1000"},
		{"several tried on a fixed spot", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,3,0.50,,\n" + zero, 7, "tried", `found "3"; expected 1 or nothing`},
		{"decimal comma, quoted", `ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,"0,50",,` + "\n" + zero, 7, "density", `found "0,50"; expected a number with a decimal point; write 0.50`},
		{"decimal comma, bare", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0,50,,\n", 7, "excluded", `found "50"; expected the reason in words`},
		{"density missing", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,,,\n" + zero, 7, "density", "found nothing; expected a density in every row that is kept"},
		{"density not finite", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,Inf,,\n" + zero, 7, "density", `found "Inf"`},
		{"date the other way round", "ardel,2r,09.03.2026,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "date", `found "09.03.2026"; expected a date such as 2026-03-09`},
		{"date outside the calendar", "ardel,2r,2026-02-30,11:00,D1,ann,page,fixed,1,0.50,,\n", 7, "date", `found "2026-02-30"; expected a date`},
		{"time malformed", "ardel,2r,2026-03-09,25:00,D1,ann,page,fixed,1,0.50,,\n", 7, "time", `found "25:00"; expected a time of day such as 14:05`},
		{"excluded without reason", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,yes,\n", 7, "excluded", `found "yes"; expected the reason in words`},
		{"kept by a word", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,no,\n" + zero, 7, "excluded", `expected nothing where the reading is kept`},
		{"copied to the second", "ardel,2r,2026-03-09,11:00:07,D1,ann,page,fixed,1,0.50,,\nardel,2r,2026-03-09,11:00:07,D1,ann,page,fixed,1,0.50,,\n" + zero, 8, "", "expected each reading once (line 7 of"},
		{"copied after another page", "ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n" + zero + "ardel,1r,2026-03-09,10:00,D1,ann,page,fixed,1,0.60,,\nardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,0.50,,\n", 10, "", "expected each reading once (line 7 of"},
		{"field missing", "ardel,2r,2026-03-09\n", 7, "", "expected 12 fields"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, ps := load(t, sound+c.rows)
			if ps.Len() != 1 {
				t.Fatalf("%d problems, not 1: %v", ps.Len(), ps.Err())
			}
			p := ps.List()[0]
			if p.Line != c.line || p.Column != c.column || !strings.Contains(p.String(), c.says) {
				t.Errorf("line %d, column %q expected, saying\n%s\nbut found\n%s", c.line, c.column, c.says, p)
			}
			if p.Remedy == "" || !strings.HasSuffix(p.File, "readings-1.csv") {
				t.Errorf("no remedy or file: %s", p)
			}
		})
	}
}

func TestLoadRefusesFiles(t *testing.T) {
	good := header + sound
	cases := []struct {
		name, instruments string
		readings          []string
		says              []string
	}{
		{"empty log", testInstruments, []string{""}, []string{"the file is empty"}},
		{"header alone", testInstruments, []string{header}, []string{"at least one reading below the names"}},
		{"no files", testInstruments, nil, []string{"at least one file of readings"}},
		{"columns missing", testInstruments, []string{"book,page,date,instrument,target\nardel,1r,2026-03-09,D1,page\n"}, []string{"expected a column time", "expected a column density"}},
		{"semicolons", testInstruments, []string{strings.ReplaceAll(good, ",", ";")}, []string{"the columns are parted by"}},
		{"Latin-1", testInstruments, []string{good + "ardel,2r,2026-03-09,11:00,D1,Ren\xe9,zero,,,0.5,,\n"}, []string{"text in UTF-8 throughout"}},
		{"rows of another file", testInstruments, []string{good, header + "ardel,1r,2026-03-09,10:01,D1,ann,zero,,,0.20,,\n"}, []string{"each reading once"}},
		{"instruments empty", "instrument,floor,ceiling,resolution,tile\n", []string{good}, []string{"a row for each densitometer"}},
		{"ceiling below floor", "instrument,floor,ceiling,resolution,tile\nD1,2,0,0.01,\n", []string{good}, []string{"expected a ceiling above the floor of 2"}},
		{"no resolution", "instrument,floor,ceiling,resolution,tile\nD1,0,2,0,0.8\n", []string{good}, []string{"expected a step above 0"}},
		{"coarse resolution", "instrument,floor,ceiling,resolution,tile\nD1,0,2,1,0.8\n", []string{good}, []string{"a step well inside the range"}},
		{"tile outside the range", "instrument,floor,ceiling,resolution,tile\nD1,0,2,0.01,2.5\n", []string{good}, []string{"a density between the floor of 0 and the ceiling of 2"}},
		{"instrument twice", "instrument,floor,ceiling,resolution,tile\nD1,0,2,0.01,0.8\nD1,0,2,0.01,0.8\n", []string{good}, []string{"each row once"}},
		{"instrument with words", "instrument,floor,ceiling,resolution,tile\nD1,low,2,0.01,0.8\n", []string{good}, []string{`found "low"; expected a number`}},
		{"instruments without floor", "instrument,ceiling,resolution\nD1,2,0.01\n", []string{good}, []string{"expected a column floor"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, ps := loadFiles(t, c.instruments, c.readings...)
			if ps.Len() < len(c.says) {
				t.Fatalf("%d problems: %v", ps.Len(), ps.Err())
			}
			for _, says := range c.says {
				if !strings.Contains(ps.Err().Error(), says) {
					t.Errorf("%q is not said in\n%v", says, ps.Err())
				}
			}
		})
	}
}

// All problems of a log come at once.
func TestLoadTellsAllProblems(t *testing.T) {
	_, ps := load(t, sound+"ardell,2r,2026-02-30,11:00,D7,ann,page,,0,9,x,\nardel,7r,2026-03-09,11:00,D1,ann,zero,,,0.5,,\n")
	text := fmt.Sprint(ps.Err())
	for _, says := range []string{"ardell", "2026-02-30", "D7", "column spot", "column tried", "column excluded", "leaf 7 is lost"} {
		if !strings.Contains(text, says) {
			t.Errorf("%q is not told in\n%s", says, text)
		}
	}
	if ps.Len() != 7 {
		t.Errorf("%d problems, not 7:\n%s", ps.Len(), text)
	}
}

// What is odd without being wrong is a note, not a problem.
func TestLoadNotes(t *testing.T) {
	log := mustLoad(t, sound+"ardel,1r,2026-03-09,10:01,D1,ann,zero,,,0.21,,\nardel,1r,2026-03-09,09:30,D1,Ann,zero,,,0.205,,\n")
	text := strings.Join(log.Notes, "\n")
	for _, says := range []string{"1 reading agrees with another of the same visit", "In the readings of D1, 1 density stands between two steps of its scale (0.01)",
		"The observers ann and Ann differ in capitals only"} {
		if !strings.Contains(text, says) {
			t.Errorf("%q is not said in\n%s", says, text)
		}
	}
}

// An excluded reading may say anything: that may be why it is excluded.
func TestExcludedReadingsAreNotJudged(t *testing.T) {
	log := mustLoad(t, sound+"ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,7.77,display failed,\n")
	r := mustWear(t, log, Options{})
	if len(r.Excluded) != 1 || r.Excluded[0].Reason != "display failed" || r.Excluded[0].Density != 7.77 || r.Excluded[0].Page != "2r" || r.Excluded[0].Line != 7 {
		t.Errorf("excluded readings are %+v", r.Excluded)
	}
	if len(r.Wear) != 1 || r.Counted.Excluded != 1 || r.Counted.Pages != 1 {
		t.Errorf("wear is %+v, counted %+v", r.Wear, r.Counted)
	}
}

// A reading that failed has no density, and stays in the table with its reason.
func TestFailedReadingStaysWithItsReason(t *testing.T) {
	log := mustLoad(t, sound+"ardel,2r,2026-03-09,11:00,D1,ann,page,fixed,1,,no contact,\n")
	r := mustWear(t, log, Options{})
	if len(r.Excluded) != 1 || !math.IsNaN(r.Excluded[0].Density) || r.Excluded[0].Reason != "no contact" || len(r.Wear) != 1 {
		t.Errorf("excluded %+v, wear %+v", r.Excluded, r.Wear)
	}
	if text := r.Text(); strings.Contains(text, "NaN") || !strings.Contains(text, "no contact") {
		t.Errorf("the text face is\n%s", text)
	}
}

func FuzzLoad(f *testing.F) {
	f.Add(testInstruments, header+sound)
	f.Add(testInstruments, header+"ardel,7r,2026-02-30,25:61,D1,,zero,fixed,0,\"0,5\",yes,\n")
	f.Add("instrument,floor,ceiling,resolution,tile\nD1,,,,\n", header+sound)
	f.Add("", "\xef\xbb\xbfbook;page\n")
	f.Add(testInstruments, header+"brin,iiv,2026-03-09,1\xff:05,D2,\",\",page,darkest,1000,1e300,,\n")
	books := testBooks(f)
	f.Fuzz(func(t *testing.T, instruments, readings string) {
		log, ps := loadTexts(t, books, instruments, readings)
		for _, p := range ps.List() {
			if p.Expected == "" || p.Remedy == "" {
				t.Errorf("a problem that does not help: %+v", p)
			}
		}
		if ps.Len() > 0 {
			return
		}
		for _, drift := range []Drift{DriftNone, DriftOffset, DriftScale} {
			r, err := log.Wear(Options{Drift: drift, SpotSpread: 0.03})
			if err != nil {
				continue
			}
			for _, w := range r.Wear {
				if math.IsNaN(w.Density) || math.IsInf(w.Density, 0) || !(w.SE > 0) || math.IsInf(w.SE, 0) || !(w.DF > 0) || !(w.Coverage >= 0 && w.Coverage <= 1) {
					t.Errorf("wear without sense: %+v", w)
				}
			}
			if r.Text() == "" {
				t.Error("no text")
			}
		}
	})
}
