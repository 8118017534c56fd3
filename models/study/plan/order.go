package plan

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/hypotheses/power"
	"thumbed/models/study"
	"thumbed/models/table"
)

// An Order is the order of placings of a campaign: what is read when.
type Order struct {
	Books []OrderBook `json:"books"`
	Days  []OrderDay  `json:"days"`
	Draws int         `json:"draws"` // of which this order is the best
	Seed  uint64      `json:"seed"`
	Notes []string    `json:"notes"`

	plan *Plan
}

// An OrderBook is a book to be measured, with how its order of placings stands to
// the order of its leaves.
type OrderBook struct {
	ID       string `json:"id"`
	Title    string `json:"title"`
	Pages    int    `json:"pages"`
	Openings int    `json:"openings"`
	Turns    int    `json:"turns"`  // from one opening to another, over all days
	Leaves   int    `json:"leaves"` // turned over on the way
	Days     int    `json:"days"`
	// Correlations are those of the order of visits with what the visits are to.
	Correlations []Correlation `json:"correlations"`

	pages    *table.Table // features of the chosen pages
	openings [][]int      // rows of pages by opening
	leaf     []int        // by opening: leaves before it
	untold   []string     // features with too many labels for so few openings
}

// A Correlation is that of a feature of the pages with when they are measured or by
// whom. Of labels (quires, texts, days, observers) it is the multiple correlation,
// less what as many labels would have by chance.
type Correlation struct {
	With  string  `json:"with"`  // the feature
	Along string  `json:"along"` // with what it is correlated
	Value float64 `json:"value"`
}

// An OrderDay is one day of measuring.
type OrderDay struct {
	Date     string `json:"date"`
	Observer string `json:"observer"`
	Steps    []Step `json:"steps"`
}

// A Step is one thing to do: read the tile, rest, or read the pages of an opening.
type Step struct {
	Kind    StepKind    `json:"kind"`
	Clock   int         `json:"clock"` // seconds after midnight, as planned
	Tiles   int         `json:"tiles,omitempty"`
	Book    int         `json:"book"`           // index into Order.Books; −1 where none
	Sweep   int         `json:"sweep"`          // through the book on that day, from 1
	Back    bool        `json:"back,omitempty"` // whether it goes backwards
	Opening string      `json:"opening,omitempty"`
	Pages   []PageVisit `json:"pages,omitempty"`

	opening int
}

// A StepKind is what a step is.
type StepKind string

// The kinds of step.
const (
	OnTile StepKind = "tile"
	Rest   StepKind = "rest"
	Visit  StepKind = "visit"
)

// A PageVisit is what is read of a page at one visit.
type PageVisit struct {
	Page     string `json:"page"`
	Zeros    int    `json:"zeros"`
	Placings int    `json:"placings"`
	Again    bool   `json:"again,omitempty"` // measured already, on another day
}

// Hours of a reading room's day, in seconds (common practice, no source).
const (
	noonRest = 3600
	halfDay  = 0.5 // of the hours a day, after which there is a rest
)

// Order makes the order of placings of the plan's measuring sheet.
//
// A book is gone through in sweeps. Two, there and back, keep a straight drift over
// the day apart from the order of the book, and four, there, back, back and there, one
// that bends too (run orders robust against trends: Cox 1951, Biometrika 38, 312–323),
// with few turns. Which
// sweep, and which day, an opening belongs to is drawn by chance among
// neighbouring openings, one for each sweep, so that every sweep covers the whole
// book (restricted randomisation: Youden 1972, Technometrics 14, 13–22). Of
// several draws of each book the one is taken in which the place in the book, quires, texts and
// pictures are least correlated with the course of the day, straight and bent, the day
// and the observer (Morgan and Rubin 2012, Annals of
// Statistics 40, 1263–1282).
func (p *Plan) Order() (*Order, error) {
	if p.File.Sheet == nil {
		return nil, p.fault("", "the section [sheet]: what to make a measuring sheet of", "write pages, placings, dates and instrument below it", "sheet")
	}
	books, err := p.sheetBooks()
	if err != nil {
		return nil, err
	}
	s := p.File.Sheet
	load := make([]float64, len(s.Dates))
	var parts []part
	for b := range books {
		best, err := p.best(books, b, load, s)
		if err != nil {
			return nil, err
		}
		parts = append(parts, best...)
	}
	if err := p.overlong(load, s); err != nil {
		return nil, err
	}
	best := &Order{Books: slices.Clone(books), Days: p.days(books, parts, s)}
	for b := range best.Books {
		best.Books[b].measure(best.Days, b)
	}
	for _, b := range best.Books {
		if s.MostTurns > 0 && b.Turns > s.MostTurns {
			return nil, p.fault(fmt.Sprint(s.MostTurns), fmt.Sprintf("an order of at most so many turns; %s is asked for %d", b.ID, b.Turns),
				"measure fewer pages of a book, or give it fewer visits; what a binding can bear is for the library's conservators to say", "sheet", "most_turns")
		}
	}
	best.Draws, best.Seed, best.plan = s.Draws, s.Seed, p
	best.say(s)
	return best, nil
}

// sheetBooks chooses the pages of the books to be measured.
func (p *Plan) sheetBooks() ([]OrderBook, error) {
	s := p.File.Sheet
	found, err := p.booksToMeasure(s)
	if err != nil {
		return nil, err
	}
	if p.described != nil {
		return p.choose(found)
	}
	var out []OrderBook
	for k, b := range found {
		all := codex.Features([]*codex.Book{b})
		all = all.Select(p.Setting.Usable(all))
		if all.Rows() == 0 {
			return nil, p.fault(b.ID, "books with pages that the model can speak of: a value in each of its columns", "describe the book's texts and quires, or leave the book out", "sheet", "books")
		}
		rows := power.Take(all, s.Pages, p.Setting.Keep, rand.New(rand.NewPCG(s.Seed, math.MaxUint64-uint64(k))))
		out = append(out, orderBook(b, all.Select(rows)))
	}
	return out, nil
}

// orderBook is a book of which these pages are to be measured.
func orderBook(b *codex.Book, pages *table.Table) OrderBook {
	out := OrderBook{ID: b.ID, Title: b.Title, Pages: pages.Rows(), pages: pages}
	out.open()
	return out
}

// booksToMeasure are those of the study named, of the pilot, or numbers of books
// like the layout's.
func (p *Plan) booksToMeasure(s *MeasuringSheet) ([]*codex.Book, error) {
	var from []*codex.Book
	switch {
	case s.Study != "":
		opened, err := study.OpenUnread(p.near(s.Study))
		if err != nil {
			return nil, fmt.Errorf("the books to be measured cannot be read: %w", err)
		}
		from = opened.Books
	case p.described != nil:
		from = p.described.Books
	case p.pilot != nil:
		from = p.pilot.Books
	default:
		ids := s.Books
		if ids == nil {
			ids = []string{"1"}
		}
		for _, id := range ids {
			b, err := p.File.book(id)
			if err != nil {
				return nil, err
			}
			from = append(from, b)
		}
		return from, nil
	}
	if s.Books == nil {
		return from, nil
	}
	var ids []string
	for _, b := range from {
		ids = append(ids, b.ID)
	}
	var out []*codex.Book
	for _, id := range s.Books {
		at := slices.Index(ids, id)
		if at < 0 {
			return nil, p.fault(id, fmt.Sprintf("books of the study: %q", ids), nearly(id, ids), "sheet", "books")
		}
		out = append(out, from[at])
	}
	return out, nil
}

// A part is the share of a book that one day has, in its sweeps: which openings,
// in their order.
type part struct {
	book, day int
	sweeps    [][]stop // in the book's order
	again     []stop   // openings measured on another day too
}

// A stop is a visit to an opening, the n-th of as many as it has.
type stop struct{ opening, visit int }

// days are those of the parts, with what is done on each.
func (p *Plan) days(books []OrderBook, parts []part, s *MeasuringSheet) (days []OrderDay) {
	for day, date := range s.Dates {
		var today []*part
		for k := range parts {
			if parts[k].day == day {
				today = append(today, &parts[k])
			}
		}
		if len(today) > 0 {
			days = append(days, OrderDay{Date: date, Observer: s.Observers[day%len(s.Observers)], Steps: p.steps(books, today, s)})
		}
	}
	return days
}

// leavesFirst is how many times the correlation of the order of the leaves counts where
// orders are chosen: texts, quires and offices all lie along it (common practice, no
// source).
const leavesFirst = 2

// best is, of several draws of how a book is shared out, that in which what is read goes
// least with when and by whom; it takes the book's time into the load of the days. Other
// books hardly move it: a book is read in one go on each of its days.
func (p *Plan) best(books []OrderBook, b int, load []float64, s *MeasuringSheet) (best []part, err error) {
	least := math.Inf(1)
	for draw := range s.Draws {
		parts, err := p.dealBook(books, b, load, s, rand.New(rand.NewPCG(s.Seed, uint64(b)<<32|uint64(draw))))
		if err != nil {
			return nil, err
		}
		book := books[b]
		book.measure(p.days(books, parts, s), b)
		if worst := book.worst(s.Sweeps, leavesFirst); worst < least {
			best, least = parts, worst
		}
	}
	p.busy(books, best, load, s)
	return best, nil
}

// busy adds the time of parts to the load of their days.
func (p *Plan) busy(books []OrderBook, parts []part, load []float64, s *MeasuringSheet) {
	for k := range parts {
		load[parts[k].day] += p.seconds(&books[parts[k].book], &parts[k], s)
	}
}

// deal shares the openings of each book out among its days and sweeps.
func (p *Plan) deal(books []OrderBook, s *MeasuringSheet, r *rand.Rand) ([]part, error) {
	load := make([]float64, len(s.Dates))
	var parts []part
	for b := range books {
		of, err := p.dealBook(books, b, load, s, r)
		if err != nil {
			return nil, err
		}
		p.busy(books, of, load, s)
		parts = append(parts, of...)
	}
	return parts, p.overlong(load, s)
}

// overlong says which day is too long for its work.
func (p *Plan) overlong(load []float64, s *MeasuringSheet) error {
	for day, seconds := range load {
		if seconds > 1.1*3600*p.Setting.Cost.Day {
			return p.fault(s.Dates[day], fmt.Sprintf("dates for %.1f hours of measuring, at %.1f hours a day", sum(load)/3600, p.Setting.Cost.Day), fmt.Sprintf("the day would take %.1f hours: add dates, or measure fewer pages", seconds/3600), "sheet", "dates")
		}
	}
	return nil
}

// dealBook shares the openings of a book out among its days, the least loaded ones, and
// their sweeps.
func (p *Plan) dealBook(books []OrderBook, b int, load []float64, s *MeasuringSheet, r *rand.Rand) ([]part, error) {
	book := &books[b]
	days := p.daysOf(book, s)
	if days > len(s.Dates) {
		return nil, p.fault(fmt.Sprint(s.Dates), fmt.Sprintf("at least %d dates, since %s needs so many days", days, book.ID), "add dates, or measure fewer pages", "sheet", "dates")
	}
	var own []part
	for _, day := range leastLoaded(load, days, len(s.Observers)) {
		own = append(own, part{book: b, day: day, sweeps: make([][]stop, s.Sweeps)})
	}
	cells, busy := days*s.Sweeps, make([]float64, days)
	for from := 0; from < len(book.openings); from += cells {
		if len(book.openings) < from+cells { // the last, of which some days have no more
			for k := range own {
				busy[k] = load[own[k].day] + p.seconds(book, &own[k], s)
			}
		}
		order := turns(r.Perm(cells), busy)
		for k := range min(cells, len(book.openings)-from) {
			for visit := range s.Visits {
				cell := order[(k+visit*cells/s.Visits)%cells]
				sweep := &own[cell%days].sweeps[cell/days]
				*sweep = append(*sweep, stop{from + k, visit})
			}
		}
	}
	own = append(own, p.repeat(book, own, s, r)...)
	for k := range own {
		for _, sweep := range own[k].sweeps {
			slices.SortFunc(sweep, func(a, b stop) int { return a.opening - b.opening })
		}
	}
	return own, nil
}

// turns puts cells, of which as many days take turns as there are in busy, into an order
// in which each day comes once before any comes again, the less busy first; else they
// stand as they came. So neighbouring openings are read on different days, and no day has
// many more than another.
func turns(cells []int, busy []float64) []int {
	before, round := make([]int, len(busy)), make([]int, len(cells))
	for _, cell := range cells {
		round[cell] = before[cell%len(busy)]
		before[cell%len(busy)]++
	}
	slices.SortStableFunc(cells, func(a, b int) int {
		return cmp.Or(cmp.Compare(round[a], round[b]), cmp.Compare(busy[a%len(busy)], busy[b%len(busy)]))
	})
	return cells
}

func sum(values []float64) float64 {
	total := 0.0
	for _, v := range values {
		total += v
	}
	return total
}

// repeat chooses openings that are measured once more, on another day of the
// book or else on the day after its first. They are drawn by chance, one from each of
// as many stretches of the book, and visited in one sweep of their own.
func (p *Plan) repeat(book *OrderBook, own []part, s *MeasuringSheet, r *rand.Rand) []part {
	n := int(math.Round(s.share() * float64(len(book.openings))))
	if n == 0 {
		return nil
	}
	var chosen []stop
	for k := range n { // one by chance in each of as many stretches
		from, to := k*len(book.openings)/n, (k+1)*len(book.openings)/n
		chosen = append(chosen, stop{opening: from + r.IntN(to-from)})
	}
	if len(own) == 1 {
		return []part{{book: own[0].book, day: (own[0].day + 1) % len(s.Dates), sweeps: make([][]stop, s.Sweeps), again: chosen}}
	}
	for _, wanted := range chosen { // to the day with fewest of those that have it not yet
		best := -1
		for k := range own {
			if !own[k].has(wanted.opening) && (best < 0 || len(own[k].again) < len(own[best].again)) {
				best = k
			}
		}
		if best >= 0 {
			own[best].again = append(own[best].again, wanted)
		}
	}
	return nil
}

// has tells whether the part holds an opening.
func (p *part) has(opening int) bool {
	return slices.ContainsFunc(p.sweeps, func(sweep []stop) bool {
		return slices.ContainsFunc(sweep, func(at stop) bool { return at.opening == opening })
	})
}

// daysOf is over how many days a book is spread.
func (p *Plan) daysOf(book *OrderBook, s *MeasuringSheet) int {
	var whole part
	for visit := range s.Visits {
		whole.sweeps = append(whole.sweeps, nil)
		for opening := range book.openings {
			whole.sweeps[visit] = append(whole.sweeps[visit], stop{opening, visit})
		}
	}
	needed := int(math.Ceil(p.seconds(book, &whole, s) / (3600 * p.Setting.Cost.Day)))
	return min(max(s.DaysABook, needed, 1), max(1, len(book.openings)))
}

func allOf(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// leastLoaded are the days with least to do so far, in their order; of observers who
// take the days in turn each has as many of them as can be.
func leastLoaded(load []float64, n, observers int) []int {
	days := allOf(len(load))
	slices.SortStableFunc(days, func(a, b int) int { return cmp.Compare(load[a], load[b]) })
	taken := make([]int, observers)
	var chosen []int
	for len(chosen) < n {
		best := -1
		for _, day := range days {
			if !slices.Contains(chosen, day) && (best < 0 || taken[day%observers] < taken[best%observers]) {
				best = day
			}
		}
		taken[best%observers]++
		chosen = append(chosen, best)
	}
	slices.Sort(chosen)
	return chosen
}

// seconds is about how long a part takes.
func (p *Plan) seconds(book *OrderBook, part *part, s *MeasuringSheet) float64 {
	total := 0.0
	for k, sweep := range part.all() {
		for _, at := range sweep {
			placings := s.Zeros + s.placings(at, k == len(part.sweeps))
			total += p.Setting.Cost.Turn + p.Setting.Cost.Placing*float64(len(book.openings[at.opening])*placings)
		}
	}
	return total
}

// all are the sweeps of the part, that of the openings measured again last.
func (p *part) all() [][]stop { return slices.Concat(p.sweeps, [][]stop{p.again}) }

// placings are those on each page at a stop: all of them where the opening is
// measured again, else its visit's share.
func (s *MeasuringSheet) placings(at stop, again bool) int {
	if again {
		return s.Placings
	}
	share := s.Placings / s.Visits
	if at.visit < s.Placings%s.Visits {
		share++
	}
	return share
}

// steps are those of a day, with the tile at the start, the middle and the end
// of each session, and a rest between two sessions.
func (p *Plan) steps(books []OrderBook, parts []*part, s *MeasuringSheet) []Step {
	var visits []Step
	for _, part := range parts {
		visits = append(visits, p.visits(books, part, s)...)
	}
	seconds := 0.0
	for i := range visits {
		seconds += p.visitSeconds(&visits[i])
	}
	sessions := [][]Step{visits}
	if seconds > 3600*p.Setting.Cost.Day*halfDay {
		half := middle(visits, p.visitSeconds)
		sessions = [][]Step{visits[:half], visits[half:]}
	}
	clock := float64(s.start())
	var out []Step
	add := func(step Step, seconds float64) {
		step.Clock = int(clock)
		out = append(out, step)
		clock += seconds
	}
	tile := func() { add(Step{Kind: OnTile, Tiles: s.Tiles, Book: -1}, float64(s.Tiles)*p.Setting.Cost.Placing) }
	for k, session := range sessions {
		if k > 0 {
			add(Step{Kind: Rest, Book: -1}, noonRest)
		}
		tile()
		half := middle(session, p.visitSeconds)
		for i := range session {
			if i == half && half > 0 {
				tile()
			}
			add(session[i], p.visitSeconds(&session[i]))
		}
		tile()
	}
	return out
}

// middle is the first visit of the second half of the time.
func middle(visits []Step, seconds func(*Step) float64) int {
	total, so := 0.0, 0.0
	for i := range visits {
		total += seconds(&visits[i])
	}
	for i := range visits {
		if so >= total/2 {
			return i
		}
		so += seconds(&visits[i])
	}
	return len(visits)
}

func (p *Plan) visitSeconds(step *Step) float64 {
	n := 0
	for _, page := range step.Pages {
		n += page.Zeros + page.Placings
	}
	return p.Setting.Cost.Turn + float64(n)*p.Setting.Cost.Placing
}

// visits are the openings of a part in the order of its sweeps; those measured again
// come last.
func (p *Plan) visits(books []OrderBook, part *part, s *MeasuringSheet) []Step {
	var out []Step
	for k, sweep := range part.all() {
		again := k == len(part.sweeps)
		stops := slices.Clone(sweep)
		if backwards(k) {
			slices.Reverse(stops)
		}
		for _, at := range stops {
			out = append(out, books[part.book].visit(part.book, at, k, again, s))
		}
	}
	return out
}

// backwards tells which sweeps, counted from 0, go backwards: there, back, back, there
// and so on, each half the mirror of the one before (the sequence of Prouhet, Thue and
// Morse), so that of four neither a straight nor a quadratic drift lies along the book.
func backwards(sweep int) bool { return bits.OnesCount(uint(sweep))%2 == 1 }

// visit is one visit to an opening.
func (b *OrderBook) visit(book int, at stop, sweep int, again bool, s *MeasuringSheet) Step {
	step := Step{Kind: Visit, Book: book, Sweep: sweep + 1, Back: backwards(sweep), opening: at.opening}
	label, opened := b.pages.Column(codex.ColumnPage), b.pages.Column(codex.FeatureOpening)
	step.Opening = opened.Label(b.openings[at.opening][0])
	for _, row := range b.openings[at.opening] {
		step.Pages = append(step.Pages, PageVisit{Page: label.Label(row), Zeros: s.Zeros, Placings: s.placings(at, again), Again: again})
	}
	return step
}
