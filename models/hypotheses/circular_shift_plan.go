package hypotheses

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"strings"
	"sync"

	"thumbed/models/mixed"
	"thumbed/models/table"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/stat"
)

// A CircularShiftPlan is a question with its rows in the order of the books, and the
// arrangements to fit.
type CircularShiftPlan struct {
	q       Question
	m       mixed.Model
	data    *table.Table // complete rows, by book and place
	columns []string     // to be pushed round
	books   []shiftBook  // that tell the effect
	left    int          // books that do not
	places  [][]int      // by how many rows each arrangement pushes each book; none across books
	exact   bool         // these are all there are
}

// A shiftBook is one book that tells the effect: its rows, and what is fitted to them.
type shiftBook struct {
	pages *table.Table
	model mixed.Model
	seen  mixed.Coefficient // the contrast as the pages stand
}

// PlanCircularShift lays out what [CircularShift] does, so that the arrangements can be fitted one
// share here and another there. Nothing is fitted yet.
func PlanCircularShift(q Question, m mixed.Model, data *table.Table, s CircularShifts) (*CircularShiftPlan, error) {
	if ps := q.Check(nil, nil); len(ps) > 0 {
		return nil, inWords(ps)
	}
	columns, err := asked(q, m)
	if err != nil {
		return nil, err
	}
	used, err := usedColumns(m, data, s)
	if err != nil {
		return nil, err
	}
	complete := used.Select(completeRows(used, mayBeEmpty(m)))
	plan := &CircularShiftPlan{q: q, m: withLevels(m, complete, columns), columns: columns}
	plan.data = complete.Select(inBookOrder(complete, s))
	runs := bookRuns(plan.data, s.Within)
	if !plan.varies(runs) {
		return nil, fmt.Errorf("%s is the same on all pages of each book, so pushing it round changes nothing; ask this of several books by the model itself", strings.Join(columns, " and "))
	}
	if slices.Contains(columns, s.Along) {
		return nil, fmt.Errorf("the question is of %s, the place in the book, which nothing can be pushed along; ask it by the model itself", s.Along)
	}
	var why error
	for _, run := range runs {
		rows := make([]int, run[1]-run[0])
		for i := range rows {
			rows[i] = run[0] + i
		}
		book, err := plan.book(plan.data.Select(rows), s.Along)
		if err != nil {
			plan.left++
			why = err
			continue
		}
		plan.books = append(plan.books, book)
	}
	if len(plan.books) == 0 {
		return nil, fmt.Errorf("the model cannot be fitted to the pages as they stand, in no book by itself: %w", why)
	}
	if !plan.across() {
		plan.places, plan.exact = plan.arrangements(s)
	}
	return plan, nil
}

// across tells whether the books are too few for shifting, and too many to speak of
// one.
func (p *CircularShiftPlan) across() bool { return len(p.books) > 1 && len(p.books) < fewBooks }

// book is what is fitted to the pages of one book: the fixed effects that vary there,
// with a straight trend. The error says why the book does not tell the effect.
func (p *CircularShiftPlan) book(pages *table.Table, along string) (shiftBook, error) {
	m := mixed.Model{Outcome: p.m.Outcome, Scale: p.m.Scale, Levels: map[string][]string{},
		Residual: mixed.Residual{Limits: p.m.Residual.Limits, Limit: p.m.Residual.Limit}}
	still := func(name string) bool {
		c := pages.Column(name)
		if c.IsNumber() {
			for i := range c.Len() {
				if c.Number(i) != c.Number(0) {
					return false
				}
			}
			return true
		}
		found, _ := c.Levels()
		if levels := p.m.Levels[name]; levels != nil {
			found = slices.DeleteFunc(slices.Clone(levels), func(level string) bool { return !slices.Contains(found, level) })
		}
		m.Levels[name] = found
		return len(found) < 2
	}
	trend := false
	for _, term := range p.m.Fixed {
		if slices.ContainsFunc(term, still) {
			continue
		}
		m.Fixed = append(m.Fixed, term)
		trend = trend || slices.Equal(term, mixed.Term{along})
	}
	for name, levels := range m.Levels {
		if len(levels) < 2 {
			delete(m.Levels, name)
		}
	}
	for _, name := range p.columns {
		if levels := p.m.Levels[name]; levels != nil && (m.Levels[name] == nil || m.Levels[name][0] != levels[0]) {
			return shiftBook{}, fmt.Errorf("no page has another %s than one, or none has %s, which the others are set against", name, levels[0])
		}
	}
	if !trend {
		m.Fixed = append(m.Fixed, mixed.Term{along})
	}
	b := shiftBook{pages: pages, model: m}
	var err error
	b.seen, err = b.contrast(p, 0)
	return b, err
}

// contrast pushes the columns by so many rows and gives the contrast.
func (b shiftBook) contrast(p *CircularShiftPlan, places int) (mixed.Coefficient, error) {
	n := b.pages.Rows()
	from := make([]int, n)
	for i := range from {
		from[i] = (i - places + n) % n
	}
	all := b.pages.Select(from)
	var moved []*table.Column
	for _, name := range p.columns {
		moved = append(moved, all.Column(name))
	}
	fit, err := b.model.Fit(b.pages.With(moved...))
	if err != nil {
		return mixed.Coefficient{}, err
	}
	c, err := fit.Contrast(p.q.effect(), p.q.Contrast)
	if err == nil && math.IsNaN(c.T) {
		err = errors.New("the contrast has no standard error")
	}
	return c, err
}

// Count is the number of arrangements beside the one seen.
func (p *CircularShiftPlan) Count() int { return len(p.places) }

// Fit gives the t of the arrangements numbered from up to but not including to,
// NaN where the model could not be fitted to one. They are fitted in parallel.
// progress, where given, is told how many are done of how many, never twice at
// once. The error is that of the context.
func (p *CircularShiftPlan) Fit(ctx context.Context, from, to int, progress func(done, of int)) ([]float64, error) {
	ts := make([]float64, to-from)
	var lock sync.Mutex
	done := 0
	var fits errgroup.Group
	fits.SetLimit(runtime.GOMAXPROCS(0))
	for k := range ts {
		fits.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			t, err := p.statistic(p.places[from+k])
			if err != nil {
				t = math.NaN() // counts against the finding
			}
			ts[k] = t
			lock.Lock()
			defer lock.Unlock()
			if done++; progress != nil {
				progress(done, len(ts))
			}
			return nil
		})
	}
	return ts, fits.Wait()
}

// intercept is the model's name for it.
const intercept = "intercept"

// product stands between the columns of a product in the name of a fixed effect.
const product = " × "

// asked lists the model's columns that the contrast speaks of.
func asked(q Question, m mixed.Model) ([]string, error) {
	var known, out []string
	for _, term := range m.Fixed {
		known = append(known, term...)
	}
	for _, name := range sortedTerms(q.Contrast) {
		for part := range strings.SplitSeq(name, product) {
			i := slices.IndexFunc(known, func(column string) bool {
				return part == column || strings.HasPrefix(part, column+"=")
			})
			if i < 0 && part != intercept {
				return nil, fmt.Errorf("the contrast's term %q is on no column of the model's fixed effects (%s); name one of these", name, strings.Join(known, ", "))
			}
			if i >= 0 && !slices.Contains(out, known[i]) {
				out = append(out, known[i])
			}
		}
	}
	if len(out) == 0 {
		return nil, errors.New("the contrast is of the intercept only, which has no place in the book to be pushed from; ask about a feature of the pages")
	}
	return out, nil
}

// usedColumns is the table of the columns that the model and the shift need.
func usedColumns(m mixed.Model, data *table.Table, s CircularShifts) (*table.Table, error) {
	names := []string{m.Outcome, s.Along, s.Within, m.Residual.KnownSD, m.Residual.Along, m.Residual.Within, m.Residual.Levels, m.Residual.Limits}
	for _, term := range m.Fixed {
		names = append(names, term...)
	}
	for _, r := range m.Random {
		names = append(append(names, r.By...), r.Terms...)
	}
	for _, o := range m.Residual.Offsets {
		names = append(names, o.By)
	}
	for _, smooth := range m.Smooth {
		names = append(append(names, smooth.By...), smooth.Column)
	}
	used, err := table.New()
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		if name == "" || name == intercept || used.Column(name) != nil {
			continue
		}
		c := data.Column(name)
		if c == nil {
			return nil, fmt.Errorf("there is no column %q in the data; it has %s", name, strings.Join(data.Names(), ", "))
		}
		if err := used.Add(c); err != nil {
			return nil, err
		}
	}
	if along := used.Column(s.Along); along == nil || !along.IsNumber() {
		return nil, fmt.Errorf("the place along the book must be a column of numbers, and %q is none; most often it is position", s.Along)
	}
	return used, nil
}

// mayBeEmpty are the columns of a model in which an empty cell says something: that the
// outcome is a number, that a page has no part in an error that others share.
func mayBeEmpty(m mixed.Model) []string {
	names := []string{m.Residual.Limits}
	for _, o := range m.Residual.Offsets {
		names = append(names, o.By)
	}
	return names
}

// completeRows lists the rows without a missing value, but in the columns that may be
// empty.
func completeRows(used *table.Table, empty []string) []int {
	var rows []int
	for i := range used.Rows() {
		missing := func(c *table.Column) bool { return !slices.Contains(empty, c.Name) && c.Missing(i) }
		if !slices.ContainsFunc(used.Columns(), missing) {
			rows = append(rows, i)
		}
	}
	return rows
}

// withLevels fixes the levels of the columns to be pushed round to their order
// as the rows stand, so that the baseline stays when the first row changes.
func withLevels(m mixed.Model, data *table.Table, columns []string) mixed.Model {
	levels := maps.Clone(m.Levels)
	if levels == nil {
		levels = make(map[string][]string)
	}
	for _, name := range columns {
		if c := data.Column(name); levels[name] == nil && !c.IsNumber() {
			levels[name], _ = c.Levels()
		}
	}
	m.Levels = levels
	return m
}

// inBookOrder sorts rows by book and place.
func inBookOrder(data *table.Table, s CircularShifts) []int {
	order := make([]int, data.Rows())
	for i := range order {
		order[i] = i
	}
	along, within := data.Column(s.Along), data.Column(s.Within)
	slices.SortStableFunc(order, func(a, b int) int {
		if within != nil {
			if c := cmp.Compare(within.Label(a), within.Label(b)); c != 0 {
				return c
			}
		}
		return cmp.Compare(along.Number(a), along.Number(b))
	})
	return order
}

// bookRuns gives the rows of each book.
func bookRuns(data *table.Table, within string) [][2]int {
	var runs [][2]int
	c := data.Column(within)
	for i := range data.Rows() {
		if i == 0 || c != nil && c.Label(i) != c.Label(i-1) {
			runs = append(runs, [2]int{i, i})
		}
		runs[len(runs)-1][1] = i + 1
	}
	return runs
}

// varies tells whether any column to be pushed round differs inside any book.
func (p *CircularShiftPlan) varies(runs [][2]int) bool {
	for _, name := range p.columns {
		c := p.data.Column(name)
		for _, book := range runs {
			for i := book[0] + 1; i < book[1]; i++ {
				if c.Label(i) != c.Label(book[0]) {
					return true
				}
			}
		}
	}
	return false
}

// arrangements lists, for each arrangement beside the one seen, by how many
// rows each book is pushed: all that there are, or so many drawn.
func (p *CircularShiftPlan) arrangements(s CircularShifts) (list [][]int, exact bool) {
	draws := s.Draws
	if draws == 0 {
		draws = defaultDraws
	}
	all := 1
	for _, book := range p.books {
		all *= book.pages.Rows()
		if all > draws+1 {
			return p.drawn(draws, s.Seed), false
		}
	}
	for k := 1; k < all; k++ {
		rest, places := k, make([]int, len(p.books))
		for b, book := range p.books {
			places[b] = rest % book.pages.Rows()
			rest /= book.pages.Rows()
		}
		list = append(list, places)
	}
	return list, true
}

// drawn draws arrangements, each from a stream of its own.
func (p *CircularShiftPlan) drawn(draws int, seed uint64) [][]int {
	list := make([][]int, draws)
	for k := range list {
		r := rand.New(rand.NewPCG(seed, uint64(k)))
		list[k] = make([]int, len(p.books))
		for b, book := range p.books {
			list[k][b] = r.IntN(book.pages.Rows())
		}
	}
	return list
}

// statistic is the t of an arrangement, nil for the one seen: of one book its own, of
// several that across them.
func (p *CircularShiftPlan) statistic(places []int) (float64, error) {
	estimates := make([]float64, len(p.books))
	for k, b := range p.books {
		c := b.seen
		if places != nil && places[k] != 0 {
			var err error
			if c, err = b.contrast(p, places[k]); err != nil {
				return 0, err
			}
		}
		if len(p.books) == 1 {
			return c.T, nil
		}
		estimates[k] = c.Estimate
	}
	mean, sd := stat.MeanStdDev(estimates, nil)
	if sd == 0 {
		return 0, errors.New("the effect is the same in all books to the last digit, so that nothing tells how it varies")
	}
	return mean / (sd / math.Sqrt(float64(len(estimates)))), nil
}
