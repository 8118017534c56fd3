package profile

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/student"
)

// A Profile is the curve, the areas and the standouts of one book.
type Profile struct {
	Book      int // index into the study's books
	Measured  int // pages with wear, those at an instrument's limit among them
	Curve     Curve
	Outliers  []int           // pages that the curve leaves out, since they stand far apart from the text pages on either side; indices into the book's Pages
	Filled    map[int]float64 // what stands in the areas for a page at an instrument's limit, density; by index into the book's Pages
	Areas     []Area          // in the order of the book's Sections; sections with no measured page left out
	Tests     []Standout      // of every page tested for standing out, by Page
	Standouts []Standout      // of these, those that are claimed: see At
	Tested    int             // pages tested for standing out
	Pictures  int             // of these, pages with a picture
	Rate      float64         // the false-discovery rate kept; of pages without a picture it is Level
	Notes     []string        // plain sentences: what was assumed, left out or is doubtful
	// Level is the chance that may be taken of a false claim in the ranking; see At.
	Level float64

	// beaten is the chance that a section reads as far below another as it does where it
	// is not, by section; nil: of the areas' own errors.
	beaten map[int]float64
}

// fewest is the smallest number of pages read as numbers that a profile is
// made of: a straight line and a scatter about it leave one page over.
const fewest = 4

// leastVariance is the square of a hundred-thousandth density, far below the
// last digit of any instrument: no page is known better than that.
const leastVariance = 1e-10

// Of gives the profile of books[book] from the wear of its pages; wear of
// other books is passed over, so that one list serves all. Densities carry
// through in the unit of the readings.
//
// The error is a sentence for the scholar: too few measured pages, a page
// measured twice or without a standard error, or a lost page with wear.
//
// shared are the errors that pages share by day, observer and instrument
// ([readings.Result.Shared]), to which the pages' loadings point: curve, areas,
// excesses and ranking hold them too.
func Of(books []*codex.Book, book int, wear []readings.Wear, shared ...readings.Source) (*Profile, error) {
	p, err := Unranked(books, book, wear, shared...)
	if err == nil && len(p.Areas) > 1 {
		p.beaten = compareTexts(books[book], book, ofBook(wear, book), shared).beaten(p.order().Order)
		if note := unknownNote(shared); note != "" {
			p.Notes = append(p.Notes, note)
		}
	}
	return p, err
}

// ofBook is the wear of one book's pages in their order.
func ofBook(wear []readings.Wear, book int) []readings.Wear {
	wear = slices.DeleteFunc(slices.Clone(wear), func(w readings.Wear) bool { return w.Book != book })
	slices.SortStableFunc(wear, func(a, b readings.Wear) int { return cmp.Compare(a.Page, b.Page) })
	return wear
}

// Unranked is [Of] without the model by which texts are compared, which takes most of
// the time: [Profile.Rank] then goes by the errors of their areas alone.
func Unranked(books []*codex.Book, book int, wear []readings.Wear, shared ...readings.Source) (*Profile, error) {
	if book < 0 || book >= len(books) {
		return nil, fmt.Errorf("profile: there is no book number %d among %d books; give an index into the study's books", book, len(books))
	}
	pages, err := gather(books[book], book, ofBook(wear, book), shared)
	if err != nil {
		return nil, err
	}
	p := &Profile{Book: book, Measured: len(pages)}
	curve, expected, out, err := curveOf(books[book], pages)
	if err != nil {
		return nil, err
	}
	p.Curve = curve
	for i, page := range pages {
		if out[i] {
			p.Outliers = append(p.Outliers, page.page)
		}
	}
	p.Notes = append(p.Notes, limitNotes(books[book], pages)...)
	if note := apartNote(books[book], p.Outliers); note != "" {
		p.Notes = append(p.Notes, note)
	}

	p.Filled = map[int]float64{}
	for _, page := range expected {
		if page.limit != readings.Measured {
			p.Filled[page.page] = page.value
		}
	}
	areas, notes := areasOf(books[book], expected)
	p.Areas, p.Notes = areas, append(p.Notes, notes...)
	tested, notes := standoutsOf(books[book], pages)
	p.Tests, p.Tested, p.Notes = tested, len(tested), append(p.Notes, notes...)
	for i := range tested {
		if tested[i].picture = books[book].Pages[tested[i].Page].Picture; tested[i].picture {
			p.Pictures++
		}
	}
	p.At(unasked)
	return p, nil
}

// At sets the chance that may be taken that something is claimed of the book which is
// not so, a study that looks at many books sharing its own out: of texts in the ranking,
// and of pages that stand out, whose rate of false ones is kept at it, so that where no
// page stands out in truth it is the chance of any. Where pictures as a whole add to
// wear, at that level, those that stand out are told at the usual rate: families first,
// then their members (Benjamini and Bogomolov 2014, J. R. Stat. Soc. B 76, 297–318).
// Intervals of pages that stand out are at the level of those selected, so that on the
// average 5 % of them miss (Benjamini and Yekutieli 2005, J. Am. Stat. Assoc. 100, 71–81).
func (p *Profile) At(level float64) {
	p.Level, p.Rate, p.Standouts = level, level, nil
	if c := p.Curve; level < falseDiscoveryRate && c.PictureSE > 0 && student.CDF(-c.Picture/c.PictureSE, c.DF) <= level {
		p.Rate = falseDiscoveryRate
	}
	selected := 0
	for _, s := range p.Tests {
		if s.Q <= p.Limit(s) {
			selected++
		}
	}
	intervals(p.Tests, func(s Standout) float64 {
		if s.Q <= p.Limit(s) {
			return missed * float64(selected) / float64(len(p.Tests))
		}
		return missed
	})
	for _, s := range p.Tests {
		if s.Q <= p.Limit(s) {
			p.Standouts = append(p.Standouts, s)
		}
	}
}

// Limit is the adjusted p at or below which a page stands out.
func (p *Profile) Limit(s Standout) float64 {
	if s.picture {
		return p.Rate
	}
	return p.Level
}

// A measured is one page with its wear: what the three parts of a profile are
// made of.
type measured struct {
	page     int     // index into the book's Pages
	value    float64 // density; the bound where limit is set
	variance float64 // of measuring, density squared
	df       float64 // of variance; +Inf where it is known
	limit    readings.Limit
	shared   []load // of the errors that it shares with other pages
}

// gather picks one book's wear out of the study's and checks it.
func gather(b *codex.Book, book int, wear []readings.Wear, shared []readings.Source) ([]measured, error) {
	at := make([]int, len(b.Pages)) // place in wear, from 1
	numbers := 0
	for i, w := range wear {
		if w.Book != book {
			continue
		}
		if w.Page < 0 || w.Page >= len(b.Pages) {
			return nil, fmt.Errorf("book %s has %d pages, but there is wear for page number %d; join the readings to this book's own pages", b.ID, len(b.Pages), w.Page+1)
		}
		if err := usable(b, w); err != nil {
			return nil, err
		}
		if at[w.Page] != 0 {
			return nil, fmt.Errorf("book %s: page %s has two values of wear; average its placings into one", b.ID, nameOf(b, w.Page))
		}
		at[w.Page] = i + 1
		if w.Limit == readings.Measured {
			numbers++
		}
	}
	if numbers < fewest {
		return nil, fmt.Errorf("book %s has wear for %d of its pages (instrument limits not counted); a profile needs at least %d: measure more pages, or leave this book out", b.ID, numbers, fewest)
	}
	var ordered []readings.Wear // by page
	for _, i := range at {
		if i > 0 {
			ordered = append(ordered, wear[i-1])
		}
	}
	loads := loadsOf(ordered, shared)
	var pages []measured
	for i, w := range ordered {
		df := w.DF
		if !(df > 0) {
			df = math.Inf(1)
		}
		variance := math.Max(leastVariance, w.SE*w.SE)
		pages = append(pages, measured{page: w.Page, value: w.Density, variance: variance, df: df, limit: w.Limit, shared: loads(i)})
	}
	return pages, nil
}

// usable tells in words why a page's wear cannot enter a profile.
func usable(b *codex.Book, w readings.Wear) error {
	switch page := nameOf(b, w.Page); {
	case b.Pages[w.Page].Lost:
		return fmt.Errorf("book %s: page %s has wear, but its leaf is lost; correct the state of the leaf or the page of the reading", b.ID, page)
	case math.IsNaN(w.Density) || math.IsInf(w.Density, 0):
		return fmt.Errorf("book %s: the wear of page %s is no number; exclude its readings with a reason, or measure it again", b.ID, page)
	case !(w.SE >= 0) || math.IsInf(w.SE, 0):
		return fmt.Errorf("book %s: page %s has no standard error, since the log has no repeated placings to take it from; place the instrument twice on some pages", b.ID, page)
	}
	return nil
}
