package claims

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/readings"
	"thumbed/models/study/demo"
)

// A truth is what a study that was run should say: its pages as they truly are.
type truth struct {
	*World
	books   []*codex.Book
	ids     []string
	pages   []map[string]*demo.Page // by label, of each book
	darkest map[string]float64      // by which the darkest spot of a page is darker than its mean, of books that were read so
}

func (w *World) truth(made *demo.Made, books []*codex.Book) *truth {
	t := &truth{World: w, books: books, darkest: map[string]float64{}}
	for _, book := range made.Books {
		t.ids = append(t.ids, book.ID)
		pages := map[string]*demo.Page{}
		for _, p := range book.Pages {
			pages[p.Label] = p
		}
		t.pages = append(t.pages, pages)
	}
	for _, day := range w.scenario.Days {
		for _, id := range day.Books {
			if day.Darkest && len(day.Books) == 1 {
				// The expected largest of as many normal values as were tried on most pages,
				// times the standard deviation between readings of spots.
				mean, _ := readings.Largest(w.scenario.Darkest.Tried[0])
				t.darkest[id] = mean * math.Hypot(w.scenario.Darkest.Spread, w.scenario.Instruments[0].Noise)
			}
		}
	}
	return t
}

// page is the true page of an index into a book's pages.
func (t *truth) page(book, page int) *demo.Page {
	return t.pages[book][t.books[book].Pages[page].Label.String()]
}

// wear is the true wear of a page as it is read.
func (t *truth) wear(book, page int) float64 {
	return t.page(book, page).Wear + t.darkest[t.ids[book]]
}

// plain is what the habits have put on a page without its picture and the like:
// the level that its text and place have.
func (t *truth) plain(book, page int) float64 {
	return t.page(book, page).Base - t.declined(book, page) + t.darkest[t.ids[book]]
}

// declined is by how much the wear of a page lies below that of the first page.
func (t *truth) declined(book, page int) float64 {
	return t.decline * float64(t.books[book].Pages[page].Position-1) / (pagesOfBook - 1)
}

// own is the wear that a page bears beyond the level of its text and place: of
// its picture, the facing one, an incipit, a stain, the edge of the book.
func (t *truth) own(book, page int) float64 {
	p := t.page(book, page)
	return p.Expected - p.Base + t.declined(book, page)
}

// sectionLevel is the mean wear of the pages of a section as the habits have it,
// pictures and all.
func (t *truth) sectionLevel(book, section int) float64 {
	sum, pages := 0.0, t.books[book].Sections[section].Pages
	for _, page := range pages {
		sum += t.page(book, page).Expected
	}
	return sum / float64(len(pages))
}

// sectionWear is the mean wear of the pages of a section as they are.
func (t *truth) sectionWear(book, section int) float64 {
	sum, pages := 0.0, t.books[book].Sections[section].Pages
	for _, page := range pages {
		sum += t.wear(book, page)
	}
	return sum / float64(len(pages))
}

// share is the wear of a plain page of an office over that of the first office
// of a set of hours.
func (t *truth) share(book int, set string, first, office codex.Office) float64 {
	return t.office(book, set, office) / t.office(book, set, first)
}

// office is the wear of a plain page of an office.
func (t *truth) office(book int, set string, office codex.Office) float64 {
	sum, n := 0.0, 0.0
	for _, section := range t.books[book].Sections {
		if section.Set == set && section.Office == office {
			for _, page := range section.Pages {
				sum += t.plain(book, page)
				n++
			}
		}
	}
	return sum / n
}

// levels are the levels of the pages of a series that are abrupt in the truth:
// those of the texts, without a slow decline.
func (t *truth) levels(book int, pages []int) []float64 {
	levels := make([]float64, len(pages))
	for i, page := range pages {
		levels[i] = t.page(book, page).Base
	}
	return levels
}

// steps lists after how many rows a series has a true step.
func steps(levels []float64) []int {
	var out []int
	for i := 1; i < len(levels); i++ {
		if math.Abs(levels[i]-levels[i-1]) > 1e-9 {
			out = append(out, i)
		}
	}
	return out
}

// flat tells whether wear along the pages of a series neither steps nor declines.
func (t *truth) flat(book int, pages []int) bool {
	return len(steps(t.levels(book, pages))) == 0 && t.decline == 0
}

// holdsStep tells whether the interval of a change holds a true step.
func holdsStep(c dropoff.Change, steps []int) bool {
	return slices.ContainsFunc(steps, func(at int) bool { return c.Low <= at && at <= c.High })
}

// answer is the true answer to a question. It is exact where the model that is
// asked is of the truth's form: only then can its interval be judged.
func (t *truth) answer(q hypotheses.Question, book string) (effect float64, exact bool) {
	if t.isDemo {
		return t.demoAnswer(q, book), true
	}
	exact = true
	for term, weight := range q.Contrast {
		value, known := t.effect(q.Model, book, term)
		if !known {
			value, exact = t.declines(term), false
		}
		effect += weight * value
	}
	return effect, exact
}

// declines is what a slow decline along the book makes of an effect of where a
// page stands: the difference between the mean pages.
func (t *truth) declines(term string) float64 {
	mean := func(from, to float64) float64 { return -t.decline * (from + to - 1) / 2 / (pagesOfBook - 1) }
	switch term {
	case "office_order":
		return mean(10, 14) - mean(6, 10)
	case "kind=office of the dead":
		return mean(48, 58) - mean(6, 38)
	case "half=second":
		return mean(38, 64) - mean(0, 38)
	}
	return 0
}

// effect is the true effect of a term of a model; known is false where the truth
// has none of that name.
func (t *truth) effect(model, book, term string) (value float64, known bool) {
	switch term {
	case "picture=yes":
		switch {
		case model == "pictures":
			return t.picture, true
		case t.isDemo && model == "evening":
			return 0, false // which holds no incipits, so that its pictures stand for both
		case model == "halves":
			if book = "B3"; t.isDemo {
				book = "Hendemaar"
			}
		}
		for _, b := range t.scenario.Books {
			if b.ID == book {
				return b.Picture, true
			}
		}
	case "facing=yes":
		return t.scenario.Common.Facing, !t.isDemo || model != "evening"
	case "incipit=yes": // the first page of its text, so that a decline is part of it
		return t.scenario.Common.Incipit, t.decline == 0
	case "hair=hair":
		return 0, true
	case "office_order":
		return t.evening[book], !t.isDemo && t.decline == 0
	case "kind=office of the dead":
		return t.dead[book], !t.isDemo && t.decline == 0
	case "half=second", "kind=psalms", "kind=lessons", "kind=prayer":
		return 0, !t.isDemo && t.decline == 0
	}
	return 0, false
}

// identified tells whether a question can be answered at all from how the pages
// were measured.
func (t *truth) identified(q hypotheses.Question) bool {
	return t.halvesKnown || q.Model != "halves" && q.Model != "texts"
}

// demoAnswer is the true answer to a question of the demonstration.
func (t *truth) demoAnswer(q hypotheses.Question, book string) float64 {
	at := slices.Index(t.ids, book)
	switch q.Model {
	case "evening":
		return t.slope8(at)
	case "texts":
		return t.level(at, func(p *demo.Page) bool { return p.Kind == "office of the dead" }) -
			t.level(at, func(p *demo.Page) bool { return p.Kind == "hours" })
	case "halves":
		at = slices.Index(t.ids, "Hendemaar")
		return t.level(at, func(p *demo.Page) bool { return p.Half == "second" && p.Section != "" }) -
			t.level(at, func(p *demo.Page) bool { return p.Half == "first" && p.Section != "" })
	}
	sum := 0.0
	for term, weight := range q.Contrast {
		value, _ := t.effect(q.Model, book, term)
		sum += weight * value
	}
	return sum
}

// level is the mean over sections of the true wear of their text.
func (t *truth) level(book int, which func(*demo.Page) bool) float64 {
	sections := map[string]float64{}
	sum := 0.0
	for page := range t.books[book].Pages {
		p := t.page(book, page)
		if p == nil || !which(p) {
			continue
		}
		if _, seen := sections[p.Section]; !seen {
			sections[p.Section] = p.Base
			sum += p.Base
		}
	}
	return sum / float64(len(sections))
}

// slope8 is the change of true wear from each office of the hours of the Virgin to
// the next in the demonstration: the steps of its offices are not a line, so it is
// the least-squares slope of what the habits put on each page, by the columns of
// the model.
func (t *truth) slope8(book int) float64 {
	order := map[string]float64{}
	for i, office := range offices {
		order[office] = float64(i + 1)
	}
	indicator := map[bool]float64{true: 1}
	var x, y []float64
	for _, page := range t.books[book].Pages {
		p := t.pages[book][page.Label.String()]
		if p != nil && p.Set == "of the Virgin" && p.Measured {
			x = append(x, 1, order[p.Office], indicator[p.Picture], indicator[p.Facing])
			y = append(y, p.Expected)
		}
	}
	var beta mat.VecDense
	if err := beta.SolveVec(mat.NewDense(len(y), 4, x), mat.NewVecDense(len(y), y)); err != nil {
		panic(err)
	}
	return beta.AtVec(1)
}
