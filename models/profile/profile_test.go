package profile_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/profile"
	"thumbed/models/readings"
)

// invented is a book of three sections with a lost bifolium in the middle of
// the second, and its wear: 90 leaves, the last section worn most, and four
// pictures kissed.
func invented(seed uint64) (*codex.Book, []readings.Wear, []int) {
	r := rand.New(rand.NewPCG(seed, 77))
	b := &codex.Book{ID: "MW9", Sections: []codex.Section{
		{Name: "Calendar", Kind: "calendar"}, {Name: "Psalms", Kind: "psalms"}, {Name: "Office of the Dead", Kind: "office of the dead"},
	}}
	level := []float64{0.08, 0.15, 0.35}
	var wear []readings.Wear
	kissed := []int{9, 51, 130, 133}
	for leaf := range 90 {
		lost := leaf == 40 || leaf == 41
		for side := range 2 {
			i := len(b.Pages)
			section := min(2, leaf/30)
			b.Pages = append(b.Pages, codex.Page{
				Label: codex.PageLabel{Folio: codex.Folio{Number: leaf + 1}, Side: codex.Side(side)},
				Leaf:  leaf, Position: i + 1, Lost: lost, Section: section,
			})
			if lost {
				continue
			}
			b.Sections[section].Pages = append(b.Sections[section].Pages, i)
			if i%7 == 3 {
				continue // not measured
			}
			d := level[section] + 0.02*r.NormFloat64() + 0.008*r.NormFloat64()
			if slices.Contains(kissed, i) {
				d += 0.2
				b.Pages[i].Picture, b.Pages[i].Subject = true, "an invented picture"
			}
			wear = append(wear, readings.Wear{Book: 0, Page: i, Density: d, SE: 0.008, DF: 60})
		}
	}
	return b, wear, kissed
}

func of(t *testing.T, b *codex.Book, wear []readings.Wear) *profile.Profile {
	t.Helper()
	p, err := profile.Of([]*codex.Book{b}, 0, wear)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestProfileOfInventedBook(t *testing.T) {
	b, wear, kissed := invented(1)
	p := of(t, b, wear)
	if p.Measured != len(wear) || p.Tested != len(wear) || len(p.Curve.Position) != 176 || len(p.Areas) != 3 {
		t.Fatalf("measured %d, tested %d, curve %d, areas %d", p.Measured, p.Tested, len(p.Curve.Position), len(p.Areas))
	}
	if slices.Contains(p.Curve.Position, 81) || !slices.Contains(p.Curve.Position, 80) {
		t.Error("the curve has a value on a lost leaf, or lacks one beside it")
	}
	// The curve is drawn anew at the psalms, after the lost bifolium and at the
	// office of the dead, and jumps there by about 0.2 from one page to the next.
	if !slices.Equal(p.Curve.Breaks, []int{60, 80, 116}) || p.Curve.Between < 0.05 {
		t.Errorf("the curve breaks at %v, with %.3f between sections", p.Curve.Breaks, p.Curve.Between)
	}
	if jump := p.Curve.Estimate[116] - p.Curve.Estimate[115]; math.Abs(jump-0.2) > 0.03 {
		t.Errorf("the curve jumps by %.3f at the office of the dead, want 0.2", jump)
	}
	var found []int
	for _, s := range p.Standouts {
		found = append(found, s.Page)
		if s.Q > p.Rate || s.Q < s.P || s.Low > s.Excess || s.High < s.Excess || math.Abs(s.Excess-0.2) > 0.07 { // three of the pages' own scatter and error
			t.Errorf("page %d: %+v", s.Page, s)
		}
	}
	if !reflect.DeepEqual(found, kissed) {
		t.Errorf("pages %v stand out, want %v", found, kissed)
	}
	if last := p.Areas[2]; last.PerPageLow < 0.33 || last.PerPageHigh > 0.38 || last.Pages != 60 {
		t.Errorf("office of the dead: %+v", last)
	}
	if p.Areas[1].Pages != 56 {
		t.Errorf("the psalms have %d pages, want 56 with the lost leaves left out", p.Areas[1].Pages)
	}
	if _, err := json.Marshal(p); err != nil {
		t.Error(err)
	}
}

// The order of the wear does not matter to the last digit, nor do other books.
// TestAStainBendsNoCurve: one page of text with a stain of thirty times the scatter
// leaves the curve where it would be had the page not been measured, and is named.
func TestAStainBendsNoCurve(t *testing.T) {
	b, wear, _ := invented(3)
	const at = 20
	clean := of(t, b, slices.Delete(slices.Clone(wear), at, at+1)).Curve
	for _, limit := range []readings.Limit{readings.Measured, readings.Above} {
		stain := slices.Clone(wear)
		stain[at].Density += 0.6
		stain[at].Limit = limit
		p := of(t, b, stain)
		if !slices.Equal(p.Outliers, []int{wear[at].Page}) {
			t.Errorf("limit %q: pages %v are left out of the curve; want %d", limit, p.Outliers, wear[at].Page)
		}
		if !reflect.DeepEqual(p.Curve, clean) {
			t.Errorf("limit %q: the curve differs from that without the stained page", limit)
		}
		if notes, want := strings.Join(p.Notes, " "), "f. "+b.Pages[wear[at].Page].Label.String()+" stands far apart"; !strings.Contains(notes, want) {
			t.Errorf("limit %q: the notes do not say that %s: %s", limit, want, notes)
		}
	}
}

// TestALovedPrayerIsNoStain: a prayer of one page that was handled far more than
// what stands beside it is the level of its section.
func TestALovedPrayerIsNoStain(t *testing.T) {
	b, wear, _ := invented(3)
	const at = 20
	page := wear[at].Page
	b.Pages[page].Section = len(b.Sections)
	b.Sections[0].Pages = slices.DeleteFunc(b.Sections[0].Pages, func(p int) bool { return p == page })
	b.Sections = append(b.Sections, codex.Section{Name: "Prayer", Kind: "prayer", Pages: []int{page}})
	wear[at].Density += 0.6
	p := of(t, b, wear)
	if notes := strings.Join(p.Notes, " "); strings.Contains(notes, "far apart") {
		t.Errorf("the one page of a prayer is left out of the curve: %s", notes)
	}
	i := slices.Index(p.Curve.Position, b.Pages[page].Position)
	if level := p.Curve.Estimate[i]; level < 0.3 {
		t.Errorf("the level of the prayer is %.3f, where its page bears %.3f", level, wear[at].Density)
	}
}

func TestProfileDoesNotDependOnOrder(t *testing.T) {
	b, wear, _ := invented(2)
	want := of(t, b, wear)
	shuffled := slices.Clone(wear)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	shuffled = append(shuffled, readings.Wear{Book: 1, Page: 3, Density: 9, SE: 1})
	if got := of(t, b, shuffled); !reflect.DeepEqual(got, want) {
		t.Error("the profile depends on the order of the wear")
	}
}

// Pages at a limit are named in a note, enter the area by expectation and are
// not taken for numbers.
func TestProfileWithLimits(t *testing.T) {
	b, wear, _ := invented(3)
	for i := range wear {
		if wear[i].Density < 0.07 {
			wear[i].Density, wear[i].Limit = 0.07, readings.Below
		}
		if wear[i].Density > 0.5 {
			wear[i].Density, wear[i].Limit = 0.5, readings.Above
		}
	}
	p := of(t, b, wear)
	notes := strings.Join(p.Notes, "\n")
	if !strings.Contains(notes, "Censored, at most what is given") || !strings.Contains(notes, "Censored, at least what is given, since readings stand at an end of the instrument's scale: 66r, 67v") {
		t.Errorf("notes: %s", notes)
	}
	calendar := p.Areas[0]
	if calendar.AtLimit == 0 || calendar.PerPageLow > 0.083+0.2/60 || calendar.PerPageHigh < 0.083 {
		t.Errorf("calendar: %+v", calendar)
	}
	above := 0
	for _, s := range p.Standouts {
		if s.AtLeast {
			above++
		}
	}
	if above != 2 {
		t.Errorf("%d pages above the ceiling stand out, want 2: %+v", above, p.Standouts)
	}
}

func TestProfileRefusesInWords(t *testing.T) {
	b, wear, _ := invented(4)
	few := slices.Clone(wear[:4])
	few[0].Limit = readings.Below
	with := func(change func(w *readings.Wear)) []readings.Wear {
		out := slices.Clone(wear)
		change(&out[5])
		return out
	}
	for _, c := range []struct {
		name string
		book int
		wear []readings.Wear
		says string
	}{
		{"no such book", 3, wear, "no book number 3"},
		{"too few pages", 0, few, "wear for 3 of its pages"},
		{"no wear", 0, nil, "measure more pages"},
		{"twice", 0, append(slices.Clone(wear), wear[0]), "two values of wear"},
		{"lost leaf", 0, with(func(w *readings.Wear) { w.Page = 80 }), "its leaf is lost"},
		{"no number", 0, with(func(w *readings.Wear) { w.Density = math.NaN() }), "is no number"},
		{"no error", 0, with(func(w *readings.Wear) { w.SE = math.NaN() }), "no standard error"},
		{"foreign page", 0, with(func(w *readings.Wear) { w.Page = 999 }), "page number 1000"},
	} {
		p, err := profile.Of([]*codex.Book{b}, c.book, c.wear)
		if p != nil || err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Degenerate books give numbers or words, never NaN: all pages alike, a book
// of four pages, all errors of measuring zero, one section only.
func TestProfileOfDegenerateBooks(t *testing.T) {
	b, wear, _ := invented(5)
	flat := slices.Clone(wear)
	for i := range flat {
		flat[i].Density, flat[i].SE = 0.1, 0
	}
	short := &codex.Book{ID: "scrap", Sections: []codex.Section{{Name: "Prayer", Kind: "prayer", Pages: []int{0, 1, 2, 3}}}}
	var four []readings.Wear
	for i := range 4 {
		short.Pages = append(short.Pages, codex.Page{Label: codex.PageLabel{Folio: codex.Folio{Number: i/2 + 1}, Side: codex.Side(i % 2)}, Position: i + 1})
		four = append(four, readings.Wear{Page: i, Density: float64(i*i) / 10, SE: 0.01, DF: 3})
	}
	huge := slices.Clone(wear)
	for i := range huge {
		huge[i].SE = 5
	}
	for name, c := range map[string]struct {
		b *codex.Book
		w []readings.Wear
	}{"flat": {b, flat}, "four pages": {short, four}, "few of many": {b, wear[:4]}, "great errors": {b, huge}} {
		p := of(t, c.b, c.w)
		if said := fmt.Sprintf("%+v", p); strings.Contains(said, "NaN") {
			t.Errorf("%s: %s", name, said)
		}
	}
}

func TestText(t *testing.T) {
	b, wear, _ := invented(1)
	var out strings.Builder
	if err := of(t, b, wear).Text(&out, b); err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"Book MW9: 151 of 176 pages measured.", "Office of the Dead  60", "5v ", "an invented picture", "false-discovery rate of 5 %"} {
		if !strings.Contains(out.String(), part) {
			t.Errorf("%q is not in\n%s", part, out.String())
		}
	}
}

func BenchmarkProfile(b *testing.B) {
	book, wear, _ := invented(1)
	books := []*codex.Book{book}
	for b.Loop() {
		if _, err := profile.Of(books, 0, wear); err != nil {
			b.Fatal(err)
		}
	}
}
