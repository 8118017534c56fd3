package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/hypotheses/power"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// OfStudy makes ready the measuring sheet of a study whose books are described, with no
// plan and no simulation: what is measured is what tells most, until the hours of its
// section [sheet] are used. What given holds counts before what the file says. The error
// is a [*table.Fault].
func OfStudy(path string, given study.Sheet) (*Plan, error) {
	s, err := study.OpenSheet(path, given)
	if err != nil {
		return nil, err
	}
	p := &Plan{Path: s.Path, where: s.Lines(), described: s,
		File: &File{Title: s.Title, Author: s.Author, Note: s.Note, Invented: s.Invented, Sheet: &MeasuringSheet{Visits: 1, SheetOrder: s.Sheet.SheetOrder}}}
	p.Setting.Cost = power.Cost{Placing: usualPlacing, Turn: usualTurn, Day: s.Sheet.Hours / float64(len(s.Sheet.Dates))}
	if s.Sheet.Placing > 0 {
		p.Setting.Cost.Placing = s.Sheet.Placing
	}
	if s.Sheet.Turn > 0 {
		p.Setting.Cost.Turn = s.Sheet.Turn
	}
	return p, nil
}

// How much a page tells, as a label of the column rank.
const (
	rank    = "rank on the sheet"
	named   = "named"   // by the study, under must
	telling = "telling" // a picture, what faces it, the first or the last page of a text
	other   = "other"
)

// A candidate is a book of which pages are to be chosen.
type candidate struct {
	book  *codex.Book
	pages *table.Table // those that may be measured, with their rank
	count map[string]int
	taken []int // rows of pages
}

// choose takes, of each book, the pages that the study names, those with a picture and
// what faces them, the first and last pages of texts, and of the others so many, spread
// evenly, as there is time for.
func (p *Plan) choose(books []*codex.Book) ([]OrderBook, error) {
	var ps table.Problems
	list := p.candidates(books, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	s := p.described.Sheet
	room := 3600*s.Hours - float64(len(s.Dates)*tilesADay*s.Tiles)*p.Setting.Cost.Placing
	if need := p.take(list, nil, []string{named}, 1); need > room {
		return nil, p.fault(fmt.Sprint(s.Hours), fmt.Sprintf("hours for all pages under [sheet.must]; these alone take %.1f, beside the tile", need/3600), "write more hours, or name fewer pages", "sheet", "hours")
	}
	first, more := []string{named}, []string{named, telling}
	all := p.take(list, nil, more, 1)
	if all <= room {
		first, more = more, []string{named, telling, other}
	}
	// the largest share of those that come next
	low, high := 0.0, 1.0
	if p.take(list, first, more, 1) > room {
		for range 40 {
			if half := (low + high) / 2; p.take(list, first, more, half) > room {
				high = half
			} else {
				low = half
			}
		}
		p.take(list, first, more, low)
	}
	if len(list) == 0 || slices.IndexFunc(list, func(c *candidate) bool { return len(c.taken) > 0 }) < 0 {
		return nil, p.fault(fmt.Sprint(s.Hours), "hours enough for a page of each book", "write more hours", "sheet", "hours")
	}
	if all > room {
		p.tell("There is not time for every page with a picture, what faces it, and the first and last pages of texts, which take about %.0f hours: some of each book's are left out, evenly along it.", math.Ceil((all-room)/3600+s.Hours))
	}
	var out []OrderBook
	for _, c := range list {
		p.tell("%s", c.words())
		if len(c.taken) == 0 {
			continue
		}
		out = append(out, orderBook(c.book, c.pages.Select(c.taken)))
	}
	if p.take(list, nil, []string{named, telling, other}, 1) <= room {
		p.tell("The hours suffice for every page that may be measured.")
	}
	return out, p.spreadDays(out)
}

// tilesADay is how often a day's tile is read: at the start, in the middle and at the
// end of two sessions.
const tilesADay = 6

func (p *Plan) tell(format string, args ...any) {
	p.chosen = append(p.chosen, fmt.Sprintf(format, args...))
}

// take chooses all pages of the ranks first, and a share of those of the ranks more
// beyond, of each book; it gives the seconds that all take together.
func (p *Plan) take(list []*candidate, first, more []string, share float64) float64 {
	s := p.File.Sheet
	total := 0.0
	for k, c := range list {
		sure, upTo := 0, 0
		for _, r := range first {
			sure += c.count[r]
		}
		for _, r := range more {
			upTo += c.count[r]
		}
		n := sure + int(math.Round(share*float64(upTo-sure)))
		pool := c.rows(more)
		of := c.pages.Select(pool)
		chosen := power.Take(of, n, map[string][]string{rank: first}, rand.New(rand.NewPCG(s.Seed, math.MaxUint64-uint64(k))))
		c.taken = c.taken[:0]
		for _, i := range chosen {
			c.taken = append(c.taken, pool[i])
		}
		openings, opened := 0, c.pages.Column(codex.FeatureOpening)
		for i, row := range c.taken {
			if i == 0 || opened.Label(row) != opened.Label(c.taken[i-1]) {
				openings++
			}
		}
		seconds := float64(openings)*p.Setting.Cost.Turn + float64(len(c.taken)*(s.Zeros+s.Placings))*p.Setting.Cost.Placing
		total += seconds * (1 + s.share())
	}
	return total
}

// rows are those whose rank is one of these.
func (c *candidate) rows(ranks []string) (out []int) {
	column := c.pages.Column(rank)
	for i := range c.pages.Rows() {
		if slices.Contains(ranks, column.Label(i)) {
			out = append(out, i)
		}
	}
	return out
}

// spreadDays gives a book more days where those of the study would be too long.
func (p *Plan) spreadDays(books []OrderBook) error {
	s := p.File.Sheet
	var err error
	for ; s.DaysABook <= len(s.Dates); s.DaysABook++ {
		if _, err = p.deal(books, s, rand.New(rand.NewPCG(s.Seed, 0))); err == nil {
			return nil
		}
	}
	return err
}

// words say which pages of the book are measured.
func (c *candidate) words() string {
	column := c.pages.Column(rank)
	taken := map[string]int{}
	for _, row := range c.taken {
		taken[column.Label(row)]++
	}
	var parts []string
	for _, of := range []struct{ rank, some, all string }{{named, "that the study names", "that the study names"},
		{telling, "with a picture, facing one, or first or last of a text", "with a picture, facing one, or first or last of a text"}, {other, "others, spread evenly", "others"}} {
		switch n, all := taken[of.rank], c.count[of.rank]; {
		case n == 1 && all == 1:
			parts = append(parts, "the one "+of.all)
		case n > 0 && n == all:
			parts = append(parts, fmt.Sprintf("all %d %s", n, of.all))
		case n > 0:
			parts = append(parts, fmt.Sprintf("%d of the %d %s", n, all, of.some))
		}
	}
	if len(parts) == 0 {
		return fmt.Sprintf("%s: no page, since the hours do not suffice.", c.book.ID)
	}
	return fmt.Sprintf("%s: %s, %s.", c.book.ID, wording.Count(len(c.taken), "page", "pages"), wording.List(parts))
}

// candidates ranks the pages of the books.
func (p *Plan) candidates(books []*codex.Book, ps *table.Problems) (list []*candidate) {
	ways := p.ways(books, ps)
	for _, b := range books {
		all := codex.Features([]*codex.Book{b})
		ranks := make([]string, all.Rows())
		for i := range ranks {
			ranks[i] = other
		}
		page, opening, picture, text := all.Column(codex.ColumnPage), all.Column(codex.FeatureOpening), all.Column(codex.ColumnPicture), all.Column(codex.ColumnSection)
		pictured, last := map[string]bool{}, map[string]int{}
		for i := range ranks {
			if picture.Label(i) == "yes" {
				pictured[opening.Label(i)] = true
			}
			if name := text.Label(i); name != "" {
				if _, seen := last[name]; !seen {
					ranks[i] = telling
				}
				last[name] = i
			}
		}
		for _, i := range last {
			ranks[i] = telling
		}
		var rows []int
		for i := range ranks {
			if pictured[opening.Label(i)] {
				ranks[i] = telling
			}
			switch ways.of(b.ID, page.Label(i), text.Label(i), all.Column(codex.ColumnKind).Label(i)) {
			case "must":
				ranks[i] = named
			case "may":
				ranks[i] = other
			case "never":
				continue
			}
			rows = append(rows, i)
		}
		if err := all.Add(table.Labels(rank, ranks)); err != nil {
			panic("plan: " + err.Error()) // no scholar's column has spaces beside these words
		}
		c := &candidate{book: b, pages: all.Select(rows), count: map[string]int{}}
		for _, i := range rows {
			c.count[ranks[i]]++
		}
		list = append(list, c)
	}
	return list
}

// Ways tell which of must, may and never holds for a page, a text and a kind. What is
// said of a page counts before what is said of its text, and that before its kind.
type ways struct{ pages, texts, kinds map[string]string }

func (w ways) of(book, page, text, kind string) string {
	for _, way := range []string{w.pages[book+"\n"+page], w.texts[strings.ToLower(text)], w.kinds[strings.ToLower(kind)]} {
		if way != "" {
			return way
		}
	}
	return ""
}

// ways reads what the study says of pages, texts and kinds.
func (p *Plan) ways(books []*codex.Book, ps *table.Problems) ways {
	w := ways{map[string]string{}, map[string]string{}, map[string]string{}}
	texts, kinds := []string{}, []string{}
	for _, b := range books {
		for i := range b.Sections {
			texts, kinds = append(texts, b.Sections[i].Name), append(kinds, b.Sections[i].Kind)
		}
	}
	s := p.described.Sheet
	for _, said := range []struct {
		way string
		of  study.Places
	}{{"must", s.Must}, {"may", s.May}, {"never", s.Never}} {
		set := func(at map[string]string, key, value, where string) {
			if before := at[key]; before != "" && before != said.way {
				ps.Add(p.where.Problem(p.Path, value, "each place under one of must, may and never", fmt.Sprintf("it stands under %s too: take it out of one", before), "sheet", said.way, where))
			}
			at[key] = said.way
		}
		named := func(names, known []string, at map[string]string, where string) {
			for _, name := range names {
				if !slices.ContainsFunc(known, func(k string) bool { return k != "" && strings.EqualFold(k, name) }) {
					ps.Add(p.where.Problem(p.Path, name, "one of the books' "+where, nearly(name, known), "sheet", said.way, where))
				}
				set(at, strings.ToLower(name), name, where)
			}
		}
		named(said.of.Texts, texts, w.texts, "texts")
		named(said.of.Kinds, kinds, w.kinds, "kinds")
		for _, written := range said.of.Pages {
			book, labels, problem := pagesNamed(written, books)
			if problem != "" {
				ps.Add(p.where.Problem(p.Path, written, "pages of a book, such as 12r–13v", problem, "sheet", said.way, "pages"))
			}
			for _, label := range labels {
				set(w.pages, book+"\n"+label, written, "pages")
			}
		}
	}
	return w
}

// pagesNamed finds the pages that are written such as "Ardel: 12r–13v"; where there is
// one book its name may be left out.
func pagesNamed(written string, books []*codex.Book) (id string, labels []string, problem string) {
	book, extent := books[0], written
	if name, rest, found := strings.Cut(written, ":"); found {
		at := slices.IndexFunc(books, func(b *codex.Book) bool { return b.ID == strings.TrimSpace(name) })
		if at < 0 {
			var ids []string
			for _, b := range books {
				ids = append(ids, b.ID)
			}
			return "", nil, fmt.Sprintf("there is no book %q: %s", strings.TrimSpace(name), nearly(strings.TrimSpace(name), ids))
		}
		book, extent = books[at], rest
	} else if len(books) > 1 {
		return "", nil, fmt.Sprintf("name the book before it, such as “%s: %s”", books[0].ID, strings.TrimSpace(written))
	}
	e, err := codex.ParseExtent(strings.TrimSpace(extent))
	if err != nil {
		return "", nil, "write it such as 12r–13v"
	}
	for _, r := range e.Ranges {
		from, ok := book.Find(r.From)
		to, also := book.Find(r.To)
		if !ok || !also || to < from {
			return "", nil, fmt.Sprintf("%s has no pages %s; %s", book.ID, r, book.NearestRemedy(r.From))
		}
		for i := from; i <= to; i++ {
			labels = append(labels, book.Pages[i].Label.String())
		}
	}
	return book.ID, labels, ""
}
