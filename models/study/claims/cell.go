package claims

import (
	"bytes"
	_ "embed"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/study/demo"
)

// A Cell is one kind of study.
type Cell struct {
	Name  string
	About string // what is true in it
	Main  bool   // of those that are drawn more often
	make  func(w *World)
}

// allCells are all kinds of study, in the order of the page.
func allCells() []Cell {
	return slices.Concat(
		[]Cell{
			{"nothing to find", "No effect at all; every book is worn alike all over but for the scatter of pages and quires.", true, func(w *World) {}},
			{"effects as in the demonstration", "The four books of the demonstration and their habits.", false, (*World).demonstration},
			{"effects", "A picture adds 0.05; in the first book wear falls by 0.012 from office to office; in the second the office of the dead is worn 0.10 more.", false, func(w *World) { w.effects() }},
		},
		fewBooks(),
		[]Cell{
			{"sections that differ", "As effects; the levels of all sections differ by 0.04 (standard deviation), by no rule.", false, func(w *World) { w.effects(); w.section = 0.04 }},
			{"sections that differ, unnamed", "No effects; sections differ by 0.04, and no model names them.", false, func(w *World) { w.section = 0.04; w.unnamed() }},
			{"days and observers, crossed", "As effects; days and observers differ by 0.015 each, and each measures pages of all parts of all books.", false, func(w *World) { w.effects(); w.offsets() }},
			{"days and observers, confounded", "No effect at all; days and observers differ by 0.015 each, and each half of a book is measured by one observer on one day.", true, func(w *World) { w.offsets(); w.confound(false) }},
			{"days and observers, a tenth again", "As before, and a tenth of the pages is measured again, half of them by each observer, on a day for each.", true, func(w *World) { w.offsets(); w.confound(true) }},
			{"heavy tails", "As effects; pages scatter by Student’s t on 3 degrees of freedom.", false, func(w *World) { w.effects(); w.scenario.Scatter.Tails = 3 }},
			{"heavy tails, nothing to find", "No effect at all; pages scatter by Student’s t on 3 degrees of freedom.", false, func(w *World) { w.scenario.Scatter.Tails = 3 }},
			{"five stained pages", "No effect at all, but five pages are stained by 0.1 to 0.5.", false, (*World).stain},
			{"slow decline", "No effect at all, but wear falls evenly by 0.08 from the first page of each book to the last.", false, func(w *World) { w.fall(0.08) }},
			{"a third unmeasured", "As effects; of every book a third of the pages, drawn by chance, is not measured.", false, func(w *World) { w.effects(); w.leaveOut(1.0 / 3) }},
			{"40 % at the floor", "As effects; the zero of 40 % of the leaves lies below the instrument’s floor, so that their wear is a bound.", false, func(w *World) { w.effects(); w.whiten(0.4) }},
			{"40 % at the ceiling", "As effects; about 40 % of the pages are darker than the instrument can read, so that their wear is a bound.", false, func(w *World) { w.effects(); w.darken() }},
			{"nothing varies", "No effect at all, and books, sections and quires do not differ: variances lie at their boundary.", false, func(w *World) { w.scenario.Scatter.Quire, w.book = 0, 0 }},
			{"Satterthwaite’s degrees of freedom", "As effects; the model file asks for Satterthwaite’s method.", false, func(w *World) { w.effects(); w.change("#METHOD", `df = "Satterthwaite"`) }},
			{"known errors, neighbours alike", "As effects; models take the known errors of pages and the correlation of neighbours.", false, func(w *World) {
				w.effects()
				w.change("#RESIDUAL", "known_sd = \"wear_se\"\nalong = \"position\"\nwithin = \"book\"")
			}},
		})
}

// fewBooks are studies of few books whose readers differ: the effect of a
// picture varies between them by 0.03.
func fewBooks() []Cell {
	var cells []Cell
	for _, n := range []int{3, 4, 6, 12} {
		between := func(w *World) {
			w.books(n)
			w.slope, w.section = 0.03, 0.01
		}
		cells = append(cells,
			Cell{fmt.Sprintf("%d books", n), "Pictures add nothing on average, but their effect differs between books by 0.03.", true, between},
			Cell{fmt.Sprintf("%d books, at the border", n), "As before, but pictures add 0.02 on average, the smallest effect that would matter.", true, func(w *World) { between(w); w.picture = 0.02 }})
	}
	return append(cells, Cell{"3 books, effects", "Pictures add 0.15 on average, and their effect differs between books by 0.03.", false, func(w *World) {
		w.books(3)
		w.slope, w.section, w.picture = 0.03, 0.01, 0.15
	}})
}

//go:embed study.toml
var studyFile string

// A World is one study before it is run: the scenario that it is drawn from, and
// what is true in it beyond that.
type World struct {
	Seed     uint64
	scenario *demo.Scenario
	text     string // of study.toml
	rng      *rand.Rand

	// Population: what models estimate. Densities.
	picture float64 // mean effect of a picture over all readers
	slope   float64 // standard deviation of it between books
	book    float64 // between the levels of books
	section float64 // between the levels of sections of one book
	decline float64 // by which wear falls along every book
	evening map[string]float64
	dead    map[string]float64

	halvesKnown bool // whether the halves of a book can be told from who measured them
	isDemo      bool
}

// draw makes a study of the cell.
func (c Cell) draw(seed uint64) *World {
	w := &World{Seed: seed, text: studyFile, rng: rand.New(rand.NewPCG(seed, 0x636c61696d73)), // a fixed stream
		book: 0.03, evening: map[string]float64{}, dead: map[string]float64{}, halvesKnown: true,
		scenario: &demo.Scenario{
			Scatter:     demo.Scatter{Quire: 0.005, Page: 0.015, Along: 0.2, Least: 0.002, EdgeLeaves: 2},
			Instruments: []demo.Instrument{{ID: "bench", Ceiling: 2, Resolution: 0.01, Tile: 0.16, Noise: 0.010}},
		}}
	w.books(4)
	c.make(w)
	if w.isDemo {
		return w
	}
	if w.scenario.Days == nil {
		w.cross()
	}
	w.settle()
	w.scenario.Study = []byte(w.text)
	return w
}

// bookLevel is the mean wear of a page without a picture, density.
const bookLevel = 0.15

// books makes so many books of four quires of eight leaves: lessons and the hours
// of the Virgin in the first half, psalms, the office of the dead and a prayer in
// the second.
func (w *World) books(n int) {
	w.scenario.Books = nil
	for b := range n {
		w.scenario.Books = append(w.scenario.Books, demo.Book{
			ID: "B" + strconv.Itoa(b+1), Title: fmt.Sprintf("Book %d", b+1), Owner: "nobody", Place: "nowhere", Date: "c. 1460",
			Material: "parchment", Outer: "hair", Language: "Latin",
			Quires: []int{8, 8, 8, 8}, Zero: 0.15,
			Half: "Penitential psalms",
			Texts: []demo.Text{
				{Name: "Gospel lessons", Kind: "lessons", Pages: []int{6}, Pictures: []int{2, 5}},
				{Name: "Hours of the Virgin", Kind: "hours", Set: "of the Virgin", Parts: offices, Pages: []int{4, 4, 4, 4, 4, 4, 4, 4}, Pictures: []int{2}},
				{Name: "Penitential psalms", Kind: "psalms", Pages: []int{10}, Pictures: []int{2, 7}},
				{Name: "Office of the dead", Kind: "office of the dead", Pages: []int{10}, Pictures: []int{3, 8}},
				{Name: "Prayer to the Virgin", Kind: "prayer", Pages: []int{6}, Pictures: []int{2, 5}},
			},
		})
		texts := w.scenario.Books[b].Texts
		for t := range texts {
			texts[t].Subjects = []string{"a saint"}
		}
	}
}

var offices = []string{"Matins", "Lauds", "Prime", "Terce", "Sext", "None", "Vespers", "Compline"}

// pagesOfBook is how many pages each of these books has; firstHalf the share of
// them before the second half.
const (
	pagesOfBook = 64
	firstHalf   = 38.0 / pagesOfBook
)

// settle draws the levels of books and sections and the effect of pictures in
// each book.
func (w *World) settle() {
	for b := range w.scenario.Books {
		book := &w.scenario.Books[b]
		level := max(bookLevel+w.book*w.rng.NormFloat64(), 0.06)
		book.Picture = w.picture + w.slope*w.rng.NormFloat64()
		book.Ground, book.Blank = level, level
		for t := range book.Texts {
			text := &book.Texts[t]
			text.Level = nil
			for part := range text.Pages {
				own := level + w.section*w.rng.NormFloat64()
				switch text.Kind {
				case "hours":
					own += w.evening[book.ID] * (float64(part) - 3.5)
				case "office of the dead":
					own += w.dead[book.ID]
				}
				text.Level = append(text.Level, own)
			}
		}
	}
}

// effects are those of most cells.
func (w *World) effects() {
	w.picture, w.slope = 0.05, 0.015
	w.evening["B1"] = -0.012
	w.dead["B2"] = 0.10
}

// offsets lets days and observers differ.
func (w *World) offsets() { w.scenario.Offsets = demo.Offsets{Day: 0.015, Observer: 0.015} }

// ids are those of all books.
func (w *World) ids() []string {
	var ids []string
	for _, b := range w.scenario.Books {
		ids = append(ids, b.ID)
	}
	return ids
}

// observers take the days in turn.
var observers = []string{"HB", "SV"}

// day adds a measuring day.
func (w *World) day(d demo.Day) {
	n := len(w.scenario.Days)
	d.Date = fmt.Sprintf("2026-03-%02d", n+2)
	d.Instrument = "bench"
	if d.Observer == "" {
		d.Observer = observers[n%2]
	}
	d.Drift = [2]float64{0, 0.01}
	w.scenario.Days = append(w.scenario.Days, d)
}

// cross lays the days out across all books: each measures every n-th page
// of all of them. Their number has no factor in common with the pages of offices
// and quires.
func (w *World) cross() {
	days := 5
	if len(w.scenario.Books) > 6 {
		days = 11
	}
	for d := range days {
		w.day(demo.Day{Books: w.ids(), Every: days, First: d + 1})
	}
}

// confound has each half of each book measured on a day of its own, the first by
// one observer, the second by the other; again adds two days on which a tenth of
// all pages is measured again.
func (w *World) confound(again bool) {
	w.halvesKnown = again
	for _, id := range w.ids() {
		w.day(demo.Day{Books: []string{id}, From: 0, To: firstHalf})
		w.day(demo.Day{Books: []string{id}, From: firstHalf, To: 1})
	}
	if again {
		w.day(demo.Day{Books: w.ids(), Every: 20, First: 5})
		w.day(demo.Day{Books: w.ids(), Every: 20, First: 15})
	}
}

// stain stains five pages, each in a book drawn by chance.
func (w *World) stain() {
	for range 5 {
		book := &w.scenario.Books[w.rng.IntN(len(w.scenario.Books))]
		page := w.rng.IntN(pagesOfBook)
		label := strconv.Itoa(page/2+1) + []string{"r", "v"}[page%2]
		book.Standouts = append(book.Standouts, demo.Standout{Page: label, Extra: 0.1 + 0.4*w.rng.Float64(), Why: "stained"})
	}
}

// fall lets wear fall along every book.
func (w *World) fall(by float64) {
	w.decline = by
	for b := range w.scenario.Books {
		w.scenario.Books[b].Decline = by
	}
}

// leaveOut leaves a share of the pages of every book unmeasured.
func (w *World) leaveOut(share float64) {
	for b := range w.scenario.Books {
		for page := range pagesOfBook {
			if w.rng.Float64() < share {
				w.scenario.Books[b].Unmeasured = append(w.scenario.Books[b].Unmeasured, page+1)
			}
		}
	}
}

// whiten gives a share of the leaves a parchment whiter than the instrument can
// read.
func (w *World) whiten(share float64) {
	w.scenario.Instruments[0].Floor = 0.03
	for b := range w.scenario.Books {
		for leaf := range pagesOfBook / 2 {
			if w.rng.Float64() < share {
				w.scenario.Books[b].White = append(w.scenario.Books[b].White, leaf+1)
			}
		}
	}
}

// darken lowers the instrument's ceiling to where about 40 % of the pages lie
// beyond it, and brings the books to one level, so that no book lies beyond it as
// a whole.
func (w *World) darken() {
	w.book = 0.005
	w.scenario.Instruments[0].Ceiling = math.Round((0.15+bookLevel+0.015)*100) / 100
}

// unnamed takes the sections out of all models.
func (w *World) unnamed() {
	w.change("[[model.random]]\nby    = \"section\"\nterms = [\"intercept\"]\n", "")
	w.change("[[model.random]]\nby    = [\"book\", \"section\"]\nterms = [\"intercept\"]\n", "")
}

// change changes the study file. Every cell's text is there to be found.
func (w *World) change(from, to string) {
	if !strings.Contains(w.text, from) {
		panic("the study file of the claims has no " + strconv.Quote(from))
	}
	w.text = strings.ReplaceAll(w.text, from, to)
}

// demonstration takes the written truth of the demonstration.
func (w *World) demonstration() {
	scenario, err := demo.Written()
	if err != nil {
		panic(err) // the truth is part of the program
	}
	w.scenario, w.isDemo = scenario, true
	made, err := scenario.Make(1)
	if err != nil {
		panic(err)
	}
	const tried = `models = ["pictures", "halves", "wax"]`
	text := made.Files["study.toml"]
	if !bytes.Contains(text, []byte(tried)) {
		panic("the demonstration's study file has changed")
	}
	scenario.Study = bytes.Replace(text, []byte(tried), []byte("models = []"), 1)
	for _, b := range scenario.Books {
		w.picture += b.Picture / float64(len(scenario.Books))
	}
	for _, b := range scenario.Books {
		w.slope += (b.Picture - w.picture) * (b.Picture - w.picture) / float64(len(scenario.Books)-1)
	}
	w.slope = math.Sqrt(w.slope)
}
