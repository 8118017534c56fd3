package power

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/table"
)

// A Design is one way to spend a campaign.
type Design struct {
	Books    int `json:"books"`    // books measured
	Pages    int `json:"pages"`    // pages measured of each book; all where it has fewer
	Placings int `json:"placings"` // placings on the thumbed place of each page; of looks at traces, looks at each thing
}

// An Aim is what the scholar wants of a campaign.
type Aim struct {
	Power float64 `json:"power,omitempty"`                       // chance to claim the effect; 0: no matter
	Width float64 `json:"width,omitempty" unit:"of the outcome"` // width of the interval that nine campaigns of ten do not exceed, of looks of the share or rate asked about; 0: no matter
}

// A Cost is what a campaign asks of the books and of the scholar.
type Cost struct {
	Placing float64 `json:"placing"` // seconds a placing, on a page, a zero or the tile
	Turn    float64 `json:"turn"`    // seconds to turn to an opening and settle the book
	Tiles   int     `json:"tiles"`   // placings on the tile a day
	Day     float64 `json:"day"`     // hours of measuring a day
}

// aDay is how many pages a day has time for; at least 1.
func (c Cost) aDay(readings int, turnsAPage float64) int {
	seconds := float64(readings)*c.Placing + turnsAPage*c.Turn
	if !(seconds > 0) || !(c.Day > 0) {
		return math.MaxInt
	}
	return int(math.Max(1, (3600*c.Day-float64(c.Tiles)*c.Placing)/seconds))
}

// A BookColumn is a column that is the same on all pages of a book: whose it
// was, where it was made. Books take its labels in turn, by their shares.
type BookColumn struct {
	Name   string    `json:"name"`
	Labels []string  `json:"labels"`
	Shares []float64 `json:"shares"` // of the books, one a label; they sum to 1
}

// A Setting is all that is needed to try designs.
type Setting struct {
	Model    mixed.Model // of wear
	Question hypotheses.Question
	Effect   float64 // of the question's contrast: what the power is for, in the outcome's unit on the model's scale
	Level    float64 // error rate of the claim, two-sided; of all claims together where Study is set
	// Study are the questions that a study asks beside this one, with which its
	// interval holds at once; nil: the question stands alone.
	Study *Study
	// Each tells that the model is fitted in each book by itself: a campaign is drawn
	// of one of the books, and asks of it. Named tells that the model speaks of certain
	// books: a campaign is drawn of these. Either way a design's other books are
	// measured beside them.
	Each, Named bool
	Truth       mixed.Parameters // parameters that campaigns are drawn from; the contrast itself is set to Effect and to none
	// Draws are other parameters that a pilot allows, each for as many campaigns of
	// a design as any other; none: all campaigns are drawn from Truth.
	Draws   []Draw   `json:",omitempty"`
	Spreads []string `json:",omitempty"` // names of what differs between the draws, in the order of Draw.At
	Measuring
	// Schedule is the order in which pages are measured; nil: in the order of the
	// books, as many a day as there is time for, and the study does not know what days
	// and observers differ by.
	Schedule Scheduler `json:"-"`
	Cost     Cost
	// Books are the pages of the books to draw from, with the columns that the
	// model needs: each drawn campaign takes books from these in turn, in an order
	// of its own.
	Books []*table.Table
	// Keep are pages that are measured before any other, by column and labels.
	Keep       map[string][]string
	ByBook     []BookColumn
	Designs    []Design
	Replicates int // campaigns drawn of each design
	Seed       uint64
	Aim        Aim
	// Looks draws a campaign of looks at traces; nil where campaigns measure wear.
	Looks Looking `json:"-"`
}

// Looking draws one campaign of a design, with the effect and with none, by its number;
// random numbers depend on the seed, the design and the number alone. A page stands in
// [Campaign.Pages] once, the looks at it in Campaign.Looks.
type Looking func(d Design, number int, random *rand.Rand) Campaign

// drawn is how many books of a design a campaign is drawn of.
func (s *Setting) drawn(d Design) int {
	switch {
	case s.Each:
		return 1
	case s.Named:
		return len(s.Books)
	}
	return d.Books
}

// A Study is what a study asks beside the question that is planned for.
type Study struct {
	Asked      []hypotheses.Question // of the same model, the question planned for among them
	Adjustment hypotheses.Adjustment
	// Answers of other fits that are adjusted together with those of this one: once,
	// and of each book.
	Once, EachBook int
}

// elsewhere counts the answers of other fits that are adjusted together with those
// of a campaign's fit.
func (s *Setting) elsewhere(books int) int {
	n := s.Study.Once + s.Study.EachBook*books
	if s.Each {
		n += (books - 1) * len(s.Study.Asked)
	}
	return n
}

// A Draw is one set of parameters that a pilot allows.
type Draw struct {
	Truth mixed.Parameters
	Book  int       // where Each is set: index into Books of the book that it speaks of
	At    []float64 // where each spread stands in what the pilot allows, 0 to 1
}

// drawOf is the number of the draw that a campaign of a design is made from.
func (s *Setting) drawOf(number int) int { return number * len(s.Draws) / s.Replicates }

// columnBook and columnOpening are the features of pages that a campaign is
// drawn by.
const (
	columnBook    = "book"
	columnOpening = "opening"
	columnPage    = "page"
)

// most bounds the campaigns of a plan.
const most = 10_000_000

// Check tells what keeps the setting from being tried at all. What a single
// design cannot do is seen in its campaigns.
func (s *Setting) Check() error {
	var faults []error
	add := func(format string, args ...any) { faults = append(faults, fmt.Errorf(format, args...)) }
	if s.Looks == nil && !outcome.Of(s.Model).Read() {
		add("the model is of %q; campaigns can be drawn for models of %s only", s.Model.Outcome, outcome.Wear)
	}
	if len(s.Books) == 0 || len(s.Designs) == 0 {
		add("there are %d books to draw from and %d designs to try: at least one of each is needed", len(s.Books), len(s.Designs))
	}
	for _, d := range s.Designs {
		if d.Books < 1 || d.Pages < 1 || d.Placings < 1 {
			add("a design of %d books, %d pages and %d placings cannot be tried: each must be 1 or more", d.Books, d.Pages, d.Placings)
		}
	}
	if s.Replicates < 1 || s.Replicates*max(1, len(s.Designs)) > most {
		add("%d campaigns of each of %d designs cannot be drawn: give replicates from 1, at most %d campaigns in all", s.Replicates, len(s.Designs), most)
	}
	if !(s.Level > 0 && s.Level < 1) {
		add("a claim cannot have the error rate %g: give a level between 0 and 1, most often 0.05", s.Level)
	}
	if s.Effect == 0 || math.IsNaN(s.Effect) || math.IsInf(s.Effect, 0) {
		add("the effect that the plan is for is %g: state one, most often the smallest that would matter", s.Effect)
	}
	if s.Looks != nil {
		return errors.Join(faults...)
	}
	if !(s.Truth.Residual.SD > 0) {
		add("single pages differ by %g beyond all else: give a standard deviation above 0", s.Truth.Residual.SD)
	}
	if err := s.Measuring.check(); err != nil {
		faults = append(faults, err)
	}
	return errors.Join(faults...)
}

// completed is the setting with the levels of the model's columns of labels
// pinned to those of all books, so that no drawn campaign takes another baseline,
// and with the pages and columns of its books that a campaign needs.
func (s Setting) completed() *Setting {
	s.pinLevels()
	needed := append(s.modelColumns(), columnBook, columnOpening, columnPage)
	for name := range s.Keep {
		needed = append(needed, name)
	}
	var books []*table.Table
	for _, book := range s.Books {
		rows := s.Usable(book)
		if len(rows) == 0 {
			continue
		}
		pages := &table.Table{}
		for _, c := range book.Columns() {
			if slices.Contains(needed, c.Name) {
				must(pages, pages.Add(c))
			}
		}
		books = append(books, pages.Select(rows))
	}
	s.Books = books
	return &s
}

// modelColumns are the columns of pages that the model is fitted to.
func (s *Setting) modelColumns() []string {
	m := s.Model
	needed := append(termColumns(m), m.Residual.Along, m.Residual.Within, m.Residual.Levels)
	for _, r := range m.Random {
		needed = append(needed, r.By...)
	}
	for _, curve := range m.Smooth {
		needed = append(append(needed, curve.Column), curve.By...)
	}
	return needed
}

// Usable are the pages (rows) that the model can speak of: those with a value in
// each of its columns that the table has. Only they are worth measuring.
func (s *Setting) Usable(pages *table.Table) []int {
	var rows []int
	for i := range pages.Rows() {
		if !slices.ContainsFunc(s.modelColumns(), func(name string) bool {
			c := pages.Column(name)
			return c != nil && c.Missing(i)
		}) {
			rows = append(rows, i)
		}
	}
	return rows
}

func (s *Setting) pinLevels() {
	levels := map[string][]string{}
	for name, labels := range s.Model.Levels {
		levels[name] = labels
	}
	for _, name := range termColumns(s.Model) {
		if levels[name] != nil {
			continue
		}
		if labels := s.labelsOf(name); labels != nil {
			levels[name] = labels
		}
	}
	s.Model.Levels = levels
}

// labelsOf are the labels of a column over all books, in order of first
// appearance; nil where it holds numbers or is not there.
func (s *Setting) labelsOf(name string) []string {
	for _, c := range s.ByBook {
		if c.Name == name {
			return c.Labels
		}
	}
	var labels []string
	for _, book := range s.Books {
		c := book.Column(name)
		if c == nil || c.IsNumber() {
			return nil
		}
		found, _ := c.Levels()
		for _, label := range found {
			if !slices.Contains(labels, label) {
				labels = append(labels, label)
			}
		}
	}
	return labels
}

// termColumns are the columns of the fixed effects and of what varies between
// groups.
func termColumns(m mixed.Model) []string {
	var names []string
	add := func(term []string) {
		for _, name := range term {
			if name != intercept && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	for _, term := range m.Fixed {
		add(term)
	}
	for _, r := range m.Random {
		add(r.Terms)
	}
	return names
}

const intercept = "intercept"

// truths are a campaign's parameters with the effect and with none. Among all ways to set
// the contrast c'β to a value the nearest is taken: β + c(value − c'β)/(c'c).
func (s *Setting) truths(number int) (there, none mixed.Parameters) {
	base := s.Truth
	if len(s.Draws) > 0 {
		base = s.Draws[s.drawOf(number)].Truth
	}
	product, length := 0.0, 0.0
	for term, weight := range s.Question.Contrast {
		product += weight * base.Fixed[term]
		length += weight * weight
	}
	at := func(value float64) mixed.Parameters {
		t := base
		t.Fixed = map[string]float64{}
		for term, effect := range base.Fixed {
			t.Fixed[term] = effect
		}
		for term, weight := range s.Question.Contrast {
			t.Fixed[term] += weight * (value - product) / length
		}
		return t
	}
	return at(s.Effect), at(0)
}

// Terms names the fixed effects of the model over all pages of all books, each
// book twice. Its error is a [*table.Fault] of what keeps the model from being
// fitted even then.
func (s *Setting) Terms() ([]string, error) {
	all := s.completed()
	if len(all.Books) == 0 {
		all.Books = s.Books // to be told what their pages lack
	}
	parts := make([]*table.Table, 2*len(all.Books))
	for i := range parts {
		parts[i] = all.asBook(all.Books[i%len(all.Books)], i)
	}
	pages := stack(parts)
	log := make([]measured, pages.Rows())
	for i := range log {
		log[i].wear, log[i].se = 1+float64(i%7)/100, 0.01
	}
	return all.Model.Terms(withWear(pages, log))
}
