package plan

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/codex"
	"thumbed/models/generalised"
	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// usualLook is how long a look takes with its entry, in seconds (common practice, no
// source).
const usualLook = 20.0

// A looking draws campaigns of looks at traces like those of a pilot.
type looking struct {
	plan   *Plan
	fits   []study.TraceFit // one, or of each book where the model is fitted book by book
	effect []float64        // on the scale of the link, of each fit
	books  [][][][]int      // rows of each fit, by book and page
	open   bool             // spreads are drawn from what the pilot leaves open
}

// useLooks takes model, question, spreads and books from a pilot's model of a trace.
func (p *Plan) useLooks(s *study.Study, m *study.Model) error {
	if err := p.takeQuestion(s, m.Name); err != nil {
		return err
	}
	q := p.Setting.Question
	fits, err := s.FitTrace(m.Name)
	if err != nil {
		return fmt.Errorf("the pilot tells nothing to plan by: %w", err)
	}
	if book := p.File.Pilot.Book; book != "" {
		if fits = slices.DeleteFunc(fits, func(f study.TraceFit) bool { return f.Book != book }); len(fits) == 0 {
			return p.fault(book, "a book in which the pilot's model can be fitted", "delete book", "pilot", "book")
		}
	}
	l := &looking{plan: p, open: p.File.Pilot.Spreads == averaged}
	looks, silent := 0, ""
	for _, f := range fits {
		effect, err := l.effectOf(q, f)
		if err != nil {
			silent = err.Error()
			continue
		}
		l.fits, l.effect, l.books = append(l.fits, f), append(l.effect, effect), append(l.books, pagesOfBooks(f.Rows))
		looks += f.Rows.Rows()
	}
	if l.fits == nil {
		return fmt.Errorf("the question cannot be planned for by what the pilot saw: %s", silent)
	}
	p.Setting.Each = m.Each != ""
	p.Setting.Effect = l.effect[0]
	p.Setting.Truth = truthOf(l.fits[0].Fit)
	for range l.books[0] {
		p.Setting.Books = append(p.Setting.Books, l.fits[0].Rows)
	}
	p.Setting.Designs = p.lookDesigns(l)
	p.Setting.Looks = l.campaign
	p.takeFamilies(s, m)
	p.say("Model, spreads and books are those of the model “%s” of the study “%s” (%s): a campaign takes its books in turn, of each as many pages by chance as the design has, with the looks at them and who looked.", m.Name, s.Title, wording.Count(looks, "look", "looks"))
	if len(l.fits) > 1 {
		p.say("It is fitted in each book by itself: a campaign is drawn like one of %s, each as often as any other.", wording.Count(len(l.fits), "book", "books"))
	}
	if l.open {
		p.Setting.Spreads = []string{averaged}
		p.say("Each campaign has spreads between books, pages and observers of its own, drawn from what their standard errors in the pilot leave open (normal, each by itself).")
	}
	if given := p.File.Question; given.Effect == 0 {
		p.say("The effect is the smallest difference that would matter, %s, from what the pilot expects.", differenceWords(q.Smallest, m.Kind))
	}
	return nil
}

// settleLooks takes what the plan file says of the work over the usual, and refuses what a
// campaign of looks has no use for.
func (p *Plan) settleLooks() error {
	for _, n := range []struct {
		is  bool
		key string
	}{{p.File.Layout != nil, "layout"}, {p.File.Sheet != nil, "sheet"}, {p.File.Designs.Keep != nil, "designs"}} {
		if n.is {
			return p.fault("["+n.key+"]", "no layout, sheet or pages to keep in a plan for looks at traces, whose pages are the pilot's", "delete it; thumbed sheet STUDY --traces makes the sheet to code by", n.key)
		}
	}
	given := p.File.Measuring
	p.Setting.Cost = power.Cost{Placing: usualLook, Turn: usualTurn, Day: usualDay}
	for _, n := range []struct{ to, from *float64 }{{&p.Setting.Cost.Placing, given.Placing}, {&p.Setting.Cost.Turn, given.Turn}, {&p.Setting.Cost.Day, given.Day}} {
		if n.from != nil {
			*n.to = *n.from
		}
	}
	c := p.Setting.Cost
	p.say("A look takes %g seconds and a turn to a page %g; a day has %g hours of looking.", c.Placing, c.Turn, c.Day)
	if err := p.Setting.Check(); err != nil {
		return fmt.Errorf("the plan %s cannot be tried: %w", p.Path, err)
	}
	return nil
}

func differenceWords(smallest float64, kind string) string {
	if kind == mixed.Counts {
		return wording.Fixed(smallest, wording.Decimals(smallest))
	}
	return wording.Fixed(100*smallest, 0) + " in a hundred"
}

// effectOf is the effect to plan for on the scale of the link: what the plan states, or
// what the smallest difference that would matter comes to in a fit.
func (l *looking) effectOf(q hypotheses.Question, f study.TraceFit) (float64, error) {
	asked := hypotheses.AskTrace([]hypotheses.Question{q}, f.Model, f.Fit, f.Rows, f.Telling)
	if asked.Errs[0] != nil {
		return 0, asked.Errs[0]
	}
	if given := l.plan.File.Question.Effect; given != 0 {
		return given, nil
	}
	size := asked.Answers[0].Question.Smallest
	if q.Direction == "less" {
		size = -size
	}
	return size, nil
}

// truthOf are a fit's parameters as a plan tells them.
func truthOf(fit *generalised.Fit) mixed.Parameters {
	truth := mixed.Parameters{Fixed: map[string]float64{}, Random: fit.Random}
	for _, c := range fit.Fixed {
		truth.Fixed[c.Term] = c.Estimate
	}
	return truth
}

// lookDesigns are those of the plan file, else around what was looked at: looks at
// a thing are one.
func (p *Plan) lookDesigns(l *looking) []power.Design {
	books, pages := p.File.Designs.Books, p.File.Designs.Pages
	if len(books) == 0 || len(pages) == 0 || p.alone() {
		var counts []float64
		n := 0
		for _, own := range l.books {
			n += len(own)
			for _, b := range own {
				counts = append(counts, float64(len(b)))
			}
		}
		slices.Sort(counts)
		pages, books = []int{int(stat.Quantile(0.5, stat.Empirical, counts, nil))}, nil
		for _, times := range usualTimes {
			books = append(books, times*n)
		}
	}
	var out []power.Design
	for _, b := range books {
		for _, n := range pages {
			out = append(out, power.Design{Books: b, Pages: n, Placings: 1})
		}
	}
	return out
}

// alone tells whether a study is planned for without a plan file.
func (p *Plan) alone() bool { return p.pilot != nil && p.Path == p.pilot.Path }

// pagesOfBooks are the rows of looks by book and page, in the order of the table.
func pagesOfBooks(rows *table.Table) [][][]int {
	var out [][][]int
	of := map[string]int{}
	at := map[[2]string][2]int{}
	book, page := rows.Column(codex.ColumnBook), rows.Column(codex.ColumnPage)
	for i := range rows.Rows() {
		id := book.Label(i)
		b, known := of[id]
		if !known {
			b = len(out)
			of[id] = b
			out = append(out, nil)
		}
		key := [2]string{id, page.Label(i)}
		place, known := at[key]
		if !known {
			place = [2]int{b, len(out[b])}
			at[key] = place
			out[b] = append(out[b], nil)
		}
		out[b][place[1]] = append(out[b][place[1]], i)
	}
	return out
}

// campaign draws one campaign, and asks of it as the study does.
func (l *looking) campaign(d power.Design, number int, random *rand.Rand) power.Campaign {
	k := number % len(l.fits)
	rows, c := l.draw(k, d, random)
	seeds := [2]uint64{random.Uint64(), random.Uint64()}
	answer := func(value float64) power.CampaignResult {
		return l.outcome(k, rows, value, d.Books, rand.New(rand.NewPCG(seeds[0], seeds[1])))
	}
	c.There, c.None = answer(l.effect[k]), answer(0)
	if c.There.Failed == "" { // effects differ between fits; what is told is about the plan's
		c.There.Estimate += l.plan.Setting.Effect - l.effect[k]
	}
	return c
}

// draw takes books in turn, in an order by chance, and pages of each by chance.
func (l *looking) draw(k int, d power.Design, random *rand.Rand) (*table.Table, power.Campaign) {
	all, books := l.books[k], d.Books
	if l.plan.Setting.Each {
		books = 1
	}
	order := random.Perm(len(all))
	var c power.Campaign
	var rows []int
	var ids []string
	for b := range books {
		pages := all[order[b%len(all)]]
		take := random.Perm(len(pages))[:min(d.Pages, len(pages))]
		slices.Sort(take)
		c.Pages += len(take)
		for _, page := range take {
			for _, row := range pages[page] {
				rows, ids = append(rows, row), append(ids, "book "+strconv.Itoa(b+1))
			}
		}
	}
	c.Openings, c.Looks = c.Pages, len(rows)
	return l.fits[k].Rows.Select(rows).With(table.Labels(codex.ColumnBook, ids)), c
}

// outcome draws what is seen, and puts the question to the model fitted to it.
func (l *looking) outcome(k int, rows *table.Table, value float64, books int, random *rand.Rand) power.CampaignResult {
	f, s := &l.fits[k], &l.plan.Setting
	failed := func(err error) power.CampaignResult { return power.CampaignResult{Failed: err.Error()} }
	seen, err := f.Fit.Redraw(rows, generalised.Redrawing{Contrast: s.Question.Contrast, Value: value, Open: l.open}, random)
	if err != nil {
		return failed(err)
	}
	rows = rows.With(seen)
	m, _ := generalised.Present(f.Model, rows)
	fit, err := generalised.New(m, rows)
	if err == nil && !fit.Converged {
		err = errors.New("the fit did not converge")
	}
	if err != nil {
		return failed(err)
	}
	asked := hypotheses.AskTrace(s.Asked(), m, fit, rows, f.Telling)
	return s.Settle(asked.Answers, asked.Errs, books, boundary(fit))
}

// boundary tells whether a spread between groups came out as zero.
func boundary(fit *generalised.Fit) bool {
	return slices.ContainsFunc(fit.Random, func(r mixed.RandomFit) bool { return slices.Contains(r.SD, 0) })
}
