package report

import (
	"slices"
	"strings"
	"testing"

	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/report/reporttest"
	"thumbed/models/wording"
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
// Pointing at a mark tells of its page.
func TestTheFirstScreenIsOne(t *testing.T) {
	r := fixture(t)
	reporttest.FirstScreen(t, pageOf(t, r), 900)
	reporttest.LooksCloser(t, pageOf(t, r))
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

// TestTheHeadlineCounts: that pictures stand out is said with how many of them do, in the
// number that each book's own cell has.
func TestTheHeadlineCounts(t *testing.T) {
	r := fixture(t)
	tests := r.Books[0].Profile.Standouts
	if len(tests) < 2 {
		t.Fatal("the fixture's book has no two pages that stand out")
	}
	books := r.Books[:2]
	for i, claimed := range []int{1, 2} {
		profile, book := *r.Books[0].Profile, *r.Books[0].Book
		profile.Tests, profile.Standouts = tests[:2], tests[:claimed]
		book.Pages = slices.Clone(book.Pages)
		for _, one := range profile.Tests {
			book.Pages[one.Page].Picture = true
		}
		books[i].Profile, books[i].Book = &profile, &book
	}
	r.Books = books
	var rows []OverviewRow
	for i := range books {
		rows = append(rows, r.overviewRow(i))
	}
	if rows[0].Pictures.Words != "1 of 2\u00a0pictures stands out" || rows[1].Pictures.Words != "2 of 2\u00a0pictures stand out" {
		t.Errorf("%q, %q", rows[0].Pictures.Words, rows[1].Pictures.Words)
	}
	if text := r.headline(rows); !strings.HasPrefix(text, "Three of 4\u00a0pictures are more worn than their own text, found in both books.") {
		t.Error(text)
	}
	for _, c := range []struct {
		standing, tested int
		want             string
	}{{1, 16, "one of 16 pictures is more worn than its own text"}, {2, 40, "two of 40 pictures are more worn than their own text"}, {3, 3, "all 3 pictures are more worn than their own text"}} {
		if got := strings.ReplaceAll(aboveText(c.standing, c.tested), "\u00a0", " "); got != c.want {
			t.Errorf("%q, not %q", got, c.want)
		}
	}
}

// TestQuestionsWithoutAnAnswer stand among the others and say that they have none; one
// that a single book answers names the book.
func TestQuestionsWithoutAnAnswer(t *testing.T) {
	r := fixture(t)
	first := r.Answers[0].Question
	lost := hypotheses.Question{Words: "Is anything lost?", Model: "lost", Asked: "after"}
	r.Answers = r.Answers[:1]
	r.Answers[0].Book = "MW1"
	r.Unanswered = []Unanswered{{Question: first, Book: "MW2"}, {Question: lost}}
	r.Books[0].Book.Short, r.Books[1].Book.Short = "One", "Two"
	lines := r.Overview().Questions
	if len(lines) != 2 || lines[0].Clear || lines[1].Clear {
		t.Fatalf("%+v", lines)
	}
	if !strings.Contains(lines[0].Answer, " in One") || !strings.Contains(lines[0].Answer, "no answer in Two") {
		t.Errorf("%+v", lines[0])
	}
	if lines[1].Verdict != noAnswer || !strings.Contains(pageOf(t, r), "<b>No answer</b> <span>Is anything lost?</span>") {
		t.Errorf("%+v", lines[1])
	}
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
	decline.Low = 0.1
	decline.Offices[len(decline.Offices)-1].Low, decline.Offices[len(decline.Offices)-1].High = 0.8, 1.3
	if text := strings.ReplaceAll(fallWords(&decline, -1), wording.Narrow, " "); !strings.Contains(text, "10 to 130 % allowing for all tests, 80 to 130 % alone") {
		t.Errorf("of a share with two intervals: %q", text)
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
