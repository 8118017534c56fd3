package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/dropoff/readers"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/wording"
)

// corpusOf is a corpus of invented books; a share of the readers stops early.
func corpusOf(t *testing.T, books int, early float64) *Corpus {
	t.Helper()
	draws := rand.New(rand.NewPCG(1, uint64(books)))
	c := &Corpus{
		Meta: Meta{Title: "Books of Veldermond", Author: "A. N. Example", Note: "All of it is <invented>.", Invented: true, Program: "thumbed test"}, Folders: books + 2,
		Failures: []CorpusFailure{
			{Folder: "books/ruined", Stage: "tables", Place: "books/ruined/leaves.csv, line 3, column leaf", Problem: "found \"<12>\"; expected a folio label.", Remedy: "write 12"},
			{Folder: "books/odd", Book: "Odd", Stage: "profile", Problem: "book Odd has wear for 2 of its pages"},
		},
		Compared: Compared{Set: "of the Virgin", Offices: codex.Offices()},
		Notes:    []string{"A note."},
	}
	var shapes []readers.Shape
	for i := range books {
		b := CorpusBook{Folder: fmt.Sprintf("books/%04d", i), ID: fmt.Sprintf("Book %04d", i), Leaves: 150, Readings: 1200, Measured: 300, Wear: 0.1 + 0.01*draws.Float64()}
		if i%7 != 3 {
			b.Profiled, b.Scatter, b.Most, b.MostWear, b.MostSE, b.Standouts = true, 0.02, "Matins & Lauds", 0.3, 0.01, i%4
		}
		if i%2 == 0 {
			b.Picture, b.PictureSE, b.Title = 0.05, 0.01, "Hours of somebody (Town Library)"
		}
		c.Books = append(c.Books, b)
		r := CorpusReader{Book: i, Set: "of the Virgin", Kept: math.NaN(), Place: math.NaN(), PlaceLow: math.NaN(), PlaceHigh: math.NaN()}
		rate := 0.1
		if float64(i) < early*float64(books) {
			rate = 0.5
		}
		s := readers.Shape{Name: b.ID}
		sum := 0.0
		for k, office := range codex.Offices() {
			wear := math.Exp(-rate*float64(k)) * (1 + 0.05*draws.NormFloat64())
			sum += wear / 8
			s.Values = append(s.Values, wear)
			r.Offices = append(r.Offices, dropoff.OfficeShare{Office: office, Pages: 6, Wear: 0.3 * wear, SE: 0.02, Share: wear, Low: wear - 0.1, High: wear + 0.1})
		}
		for k := range s.Values {
			s.Values[k] /= sum
		}
		if i == 5 {
			r.Refused, r.Why = "Matins itself is hardly worn.", "its wear is hardly above nothing"
		} else {
			r.Shape, r.ShapeSE = s.Values, []float64{0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05}
			shapes = append(shapes, s)
		}
		c.Readers = append(c.Readers, r)
	}
	c.Compared.Readers = len(shapes)
	g, err := readers.Group(shapes, readers.Options{References: 19, Draws: 20, Most: 3})
	if err != nil {
		c.Compared.Refused = err.Error()
	}
	c.Compared.Grouping = g
	if g != nil {
		at := map[string]int{}
		for i := range c.Books {
			at[c.Books[i].ID] = i
		}
		for _, m := range g.Members {
			r := &c.Readers[at[m.Name]]
			r.Letter, r.Kept, r.Place, r.PlaceLow, r.PlaceHigh = m.Letter, m.Kept, m.Place, m.PlaceLow, m.PlaceHigh
		}
	}
	return c
}

// asked adds models and answers: one over all books, and one in each.
func (c *Corpus) asked() *Corpus {
	effect := mixed.Coefficient{Term: "picture=yes", Estimate: 0.05, SE: 0.01, DF: 812.5, T: 5, P: 0.0001, Low: 0.03, High: 0.07}
	add := func(name, book, verdict string) {
		e := effect
		e.Estimate += 0.001 * float64(len(c.Models))
		fit := &mixed.Fit{N: 300, Estimate: "restricted", LogLik: 12.5, MinusTwiceLogLik: -25, Converged: true, Boundary: []string{}, Fixed: []mixed.Coefficient{e},
			Random: []mixed.RandomFit{}, Residual: mixed.ResidualFit{SD: 0.02}, Inferences: mixed.Inferences{Notes: []string{}}}
		c.Models = append(c.Models, ModelResult{Name: name, About: "An invented model.", Book: book, Model: mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}}, Fit: fit})
		c.Answers = append(c.Answers, hypotheses.Answer{Question: hypotheses.Question{Words: "Do pictures attract handling, by " + name + "?", Model: name, Contrast: map[string]float64{"picture=yes": 1}, Asked: "before"},
			Book: book, Effect: e, P: 0.0001, Adjusted: 0.0002, Together: 3, Verdict: verdict, Sentence: verdict + ": the effect is there."})
	}
	add("pictures", "", hypotheses.Yes)
	for i, verdict := range []string{hypotheses.Yes, hypotheses.Open, hypotheses.Open} {
		add("one by one", c.Books[i].ID, verdict)
	}
	return c
}

func corpora(t *testing.T) map[string]*Corpus {
	return map[string]*Corpus{
		"two groups":   corpusOf(t, 30, 0.4).asked(),
		"no groups":    corpusOf(t, 90, 0).asked(),
		"strips":       corpusOf(t, 700, 0.4),
		"few readers":  corpusOf(t, 6, 0),
		"nothing used": {Meta: Meta{Title: "Nothing"}, Folders: 1, Failures: []CorpusFailure{{Folder: "a", Stage: "program", Problem: "a fault"}}, Compared: Compared{Refused: "No book has hours."}},
	}
}

// TestCorpusPages: each kind of corpus has a page that is whole and accessible,
// whose numbers are those of its JSON; tables with their schemas; and figures.
func TestCorpusPages(t *testing.T) {
	for name, c := range corpora(t) {
		dir := t.TempDir()
		if err := c.Write(dir); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		text, err := os.ReadFile(filepath.Join(dir, "index.html"))
		if err != nil {
			t.Fatal(err)
		}
		page := string(text)
		t.Run(name, func(t *testing.T) {
			checkPage(t, page, map[string]int{"two groups": 4, "no groups": 4, "strips": 3, "few readers": 2, "nothing used": 0}[name])
			numbers, err := c.JSON()
			if err != nil {
				t.Fatal(err)
			}
			known := numbersIn(t, numbers)
			for _, cell := range dataElement.FindAllStringSubmatch(page, -1) {
				v, err := strconv.ParseFloat(cell[1], 64)
				if err != nil || !known[v] || !showsValue(cell[2], v) {
					t.Errorf("the page shows %q for %v, which the JSON has: %v", cell[2], v, known[v])
				}
			}
			if shown := fontData.ReplaceAllString(page, ""); strings.Contains(shown, "NaN") || strings.Contains(page, "<invented>") || strings.Contains(page, "<12>") {
				t.Error("the page shows what is no number, or does not escape")
			}
			for table := range c.Tables() {
				rows, err := csv.NewReader(bytes.NewReader(contentOf(t, filepath.Join(dir, "tables", table+".csv")))).ReadAll()
				if err != nil || len(rows) != c.Tables()[table].Rows()+1 {
					t.Errorf("table %s: %d rows, %v", table, len(rows), err)
				}
				contentOf(t, filepath.Join(dir, "tables", table+".schema.json"))
			}
		})
	}
}

func contentOf(t *testing.T, path string) []byte {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

func TestCorpusSaysWhatItFound(t *testing.T) {
	said := func(c *Corpus) string {
		var all []string
		for _, s := range c.Sentences() {
			all = append(all, plainText(s.Text))
		}
		return strings.Join(all, "\n")
	}
	for name, wants := range map[string][]string{
		"two groups": {"fall into 2 groups", "Group A, 11 readers", "1 of 32 folders could not be used", "of 1 book something could not be computed", "Asked of 3 books by itself: yes in 1, no in 0, open in 2"},
		"no groups":  {"No grouping of the 89 readers is borne out"},
	} {
		c := corpora(t)[name]
		for _, want := range wants {
			if !strings.Contains(strings.NewReplacer(wording.NoBreak, " ").Replace(said(c)), want) {
				t.Errorf("%s: not said: %q\n%s", name, want, said(c))
			}
		}
	}
	none := corpora(t)["no groups"]
	for _, r := range none.Readers {
		if r.Letter != "" {
			t.Errorf("%s is put in group %s though none is borne out", none.Books[r.Book].ID, r.Letter)
		}
	}
}

// Strips are as many as fit, take every reader in, and grow darker with wear.
func TestStrips(t *testing.T) {
	c := corpusOf(t, 1000, 0.4)
	shown := c.shown()
	rows := 0
	for _, group := range byLetter(shown) {
		made := rowsOf(group, 4)
		sum := 0.0
		for i, row := range made {
			sum += row.shape[0] * float64(min(4, len(group)-4*i))
		}
		want := 0.0
		for _, r := range group {
			want += r.Shape[0]
		}
		if math.Abs(sum-want) > 1e-9*want {
			t.Errorf("strips hold %g of %g", sum, want)
		}
		rows += len(made)
	}
	if rows < len(shown)/4 || rows > len(shown)/4+2 {
		t.Errorf("%d readers in %d strips", len(shown), rows)
	}
	last := 256.0
	for v := -0.5; v < 3.5; v += 0.1 {
		s := shade(v, 3)
		grey := 0.2126*float64(s.R) + 0.7152*float64(s.G) + 0.0722*float64(s.B)
		if grey > last {
			t.Errorf("wear %.1f is lighter than less of it", v)
		}
		last = grey
	}
	style := lettering(smallSize, text)
	room := style.Width("Hours of the almshouse")
	if got := wrapped("Hours of the almshouse in Veldermond by the old mill-0016", style, room, titleLines); len(got) != 2 || got[0] != "Hours of the almshouse" ||
		!strings.HasPrefix(got[1], "in Veld") || !strings.HasSuffix(got[1], "l-0016") || style.Width(got[1]) > room {
		t.Errorf("a long title is set as %q", got)
	}
}
