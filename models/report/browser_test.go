package report

import (
	"slices"
	"strings"
	"testing"

	"thumbed/models/dropoff"
	"thumbed/models/report/reporttest"
)

// TestTextsKeepToTheirCharts: with one plain typeface installed, no text of any
// chart leaves it or covers another, on the page and in the files of figures.
func TestTextsKeepToTheirCharts(t *testing.T) {
	r := fixture(t)
	reporttest.TextsKeep(t, pageOf(t, r), 100)
	var figures strings.Builder
	figures.WriteString("<!doctype html><meta charset=utf-8>")
	for _, f := range figuresOf(t, r) {
		_, svg, _ := strings.Cut(string(f.SVG), "?>")
		figures.WriteString("<div style='width:44rem'>" + svg + "</div>")
	}
	reporttest.TextsKeep(t, figures.String(), 100)
}

// TestNoNamesOfColumns: no sentence of the results, and no word of the page outside
// its tables and charts, is a name of a column or of one of its levels; none outside
// the folded parts is long.
func TestNoNamesOfColumns(t *testing.T) {
	r := fixture(t)
	for _, s := range r.Sentences() {
		if s.Topic == Asked {
			continue // the fixture's answers are written by hand
		}
		reporttest.Names(t, "a sentence", s.Text)
		if !s.Aside {
			reporttest.Short(t, "a sentence", s.Text)
		}
	}
	reporttest.Page(t, "the page", pageOf(t, r))
}

// TestTheFirstScreenIsOne: findings, how sure they are and the questions end within
// 900 points at a width of 1200, with one plain typeface installed; of eight books too.
func TestTheFirstScreenIsOne(t *testing.T) {
	r := fixture(t)
	reporttest.FirstScreen(t, pageOf(t, r), 900)
	many := *r
	many.Books = nil
	for k := range mostOverview {
		many.Books = append(many.Books, r.Books[k%2])
	}
	var page strings.Builder
	if err := many.page(&page, nil); err != nil {
		t.Fatal(err)
	}
	reporttest.FirstScreen(t, page.String(), 900)
}

// TestFindingsDoNotContradict: a certain fall is told before a doubtful change; a share
// that says nothing is told as that, with the reason; and where no picture stands out
// it is said that this shows nothing of them.
func TestFindingsDoNotContradict(t *testing.T) {
	b := fixture(t).Books[0]
	c, fall := b.mainHours()
	if fall < 0 {
		t.Fatal("the fixture's book has no fall")
	}
	certain := c.Changes.Changes[fall]
	changes := *c.Changes
	doubtful := certain
	doubtful.After, doubtful.Probability, doubtful.At = 2, 0.55, "doubtful"
	changes.Changes = append([]dropoff.Change{doubtful}, certain)
	decline := *c
	decline.Changes = &changes
	if text := fallWords(&decline, clearFall(&decline)); !strings.Contains(text, certain.At) || strings.Contains(text, "doubtful") {
		t.Errorf("beside a doubtful change: %q", text)
	}
	changes.Changes, decline.Less = nil, false
	decline.Share, decline.Low, decline.High = 1.06, 0.06, 6.4
	decline.Offices = slices.Clone(decline.Offices)
	decline.Offices[0].SE = decline.Offices[0].Wear / 2
	if f, _ := fellFinding(&decline, -1); f.Clear || f.Words != "Too wide to say" {
		t.Errorf("of a share from 6 to 640 %%: %+v", f)
	}
	if text := fallWords(&decline, -1); !strings.Contains(text, "bears little wear") {
		t.Errorf("of a share from 6 to 640 %%: %q", text)
	}
	decline.Low, decline.High = 0.8, 1.3
	if f, _ := fellFinding(&decline, -1); f.Words != "No drop found" {
		t.Errorf("of a share from 80 to 130 %%: %+v", f)
	}
	profile := *b.Profile
	profile.Tests = slices.Clone(profile.Standouts[:1])
	profile.Tests[0].Q = 1
	profile.Standouts, profile.Tested = nil, 1
	book := *b.Book
	book.Pages = slices.Clone(book.Pages)
	book.Pages[profile.Tests[0].Page].Picture = true
	b.Profile, b.Book = &profile, &book
	if f := b.pictureFinding(); f.Clear || f.Words != "No picture shown to stand out" {
		t.Errorf("%+v", f)
	}
	if text := b.picturesWords(); !strings.Contains(text, "does not show that they were passed over") {
		t.Errorf("%q", text)
	}
}
