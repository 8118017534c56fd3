package claims

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// An estimate is an oracle's answer to a question: generalised least squares with
// the true covariance of the pages (Aitken 1935, Proc. R. Soc. Edinb. 55, 42–48),
// of which nothing is estimated. Where a reading is only a bound it knows the wear
// itself.
type estimate struct {
	known  bool
	effect float64
	se     float64
}

// oracles answers the questions of the results, in their order.
func (j *judgement) oracles() []estimate {
	type fitted struct{ model, book string }
	memo := map[fitted]*oracle{}
	out := make([]estimate, len(j.results.Answers))
	for i, a := range j.results.Answers {
		key := fitted{a.Question.Model, a.Book}
		if _, done := memo[key]; !done {
			memo[key] = j.oracle(a.Question.Model, a.Book)
		}
		if o := memo[key]; o != nil {
			out[i] = o.contrast(a.Question.Contrast)
		}
	}
	return out
}

// power counts what was said where there was something to say, beside what the
// oracle would say, the intervals of all its answers holding at once at 95 % by
// Bonferroni's inequality.
func (j *judgement) power(oracle []estimate) {
	count := func(kind string, found bool, p float64) {
		c := at(j.Power, kind)
		c.There++
		if found {
			c.Found++
		}
		if 2*p <= 0.05/float64(len(oracle)) {
			c.Oracle++
		}
	}
	for i, a := range j.results.Answers {
		if !oracle[i].known || !j.truth.identified(a.Question) {
			continue
		}
		yes, no := oracle[i].evidence(a.Question)
		effect, exact := j.truth.answer(a.Question, a.Book)
		switch {
		case !exact:
		case inDirection(a.Question, effect, effect) > 1e-9 && effect != 0:
			count("yes", a.Verdict == hypotheses.Yes, yes)
		case a.Question.Smallest > 0 && inDirection(a.Question, effect, effect) < smallest(a.Question):
			count("no", a.Verdict == hypotheses.No, no)
		}
	}
}

// evidence gives the p-values, of one end of an interval, against no effect and
// against one that would matter.
func (e estimate) evidence(q hypotheses.Question) (yes, no float64) {
	below := func(t float64) float64 { return distuv.UnitNormal.CDF(t / e.se) }
	short, over := below(e.effect-q.Smallest), below(-e.effect-q.Smallest)
	switch q.Direction {
	case "more":
		return below(-e.effect), short
	case "less":
		return below(e.effect), over
	}
	return below(-math.Abs(e.effect)), math.Max(short, over)
}

// An oracle is generalised least squares of one model.
type oracle struct {
	terms      []string
	beta       mat.VecDense
	covariance mat.Dense
}

func (o *oracle) contrast(weights map[string]float64) estimate {
	w := mat.NewVecDense(len(o.terms), nil)
	matched := 0
	for i, term := range o.terms {
		if weight, named := weights[term]; named {
			w.SetVec(i, weight)
			matched++
		}
	}
	if matched < len(weights) {
		return estimate{}
	}
	return estimate{known: true, effect: mat.Dot(w, &o.beta), se: math.Sqrt(mat.Inner(w, &o.covariance, w))}
}

// oracle fits one model with the true covariance; nil where the truth of the
// demonstration is not of the model's form.
func (j *judgement) oracle(model, book string) *oracle {
	if j.truth.isDemo && model != "pictures" {
		return nil
	}
	data, err := j.study.Rows(model, book)
	if err != nil {
		return nil
	}
	var stated *mixed.Model
	for i := range j.study.Models {
		if m := &j.study.Models[i]; m.Name == model {
			stated = &m.Model
		}
	}
	sittings := j.sittings()
	var rows []int
	var pages []sitting
	books := map[int]bool{}
	for i := range data.Rows() {
		if at, measured := sittings[pageKey{data.Column("book").Label(i), data.Column("page").Label(i)}]; measured && !math.IsNaN(data.Column("wear").Number(i)) {
			rows = append(rows, i)
			pages = append(pages, *at)
			books[at.book] = true
		}
	}
	if len(rows) == 0 {
		return nil
	}
	o := &oracle{}
	x := o.design(stated, data, rows)
	v := mat.NewSymDense(len(rows), nil)
	for a := range rows {
		for b := a; b < len(rows); b++ {
			v.SetSym(a, b, j.truth.covariance(&pages[a], &pages[b], len(books) > 1))
		}
	}
	y := mat.NewVecDense(len(rows), nil)
	for k, i := range rows {
		y.SetVec(k, data.Column("wear").Number(i))
		if data.Column("limit").Label(i) != "" {
			y.SetVec(k, j.truth.wear(pages[k].book, pages[k].page))
		}
	}
	var chol mat.Cholesky
	var vx, precision mat.Dense
	var vy, xy mat.VecDense
	if !chol.Factorize(v) || chol.SolveTo(&vx, x) != nil || chol.SolveVecTo(&vy, y) != nil {
		return nil
	}
	precision.Mul(x.T(), &vx)
	xy.MulVec(x.T(), &vy)
	if o.covariance.Inverse(&precision) != nil {
		return nil
	}
	o.beta.MulVec(&o.covariance, &xy)
	return o
}

// design makes the columns of the fixed effects of some rows, and names them.
// Columns that are constant in these rows are left out.
func (o *oracle) design(m *mixed.Model, data *table.Table, rows []int) *mat.Dense {
	columns := [][]float64{make([]float64, len(rows))}
	for k := range rows {
		columns[0][k] = 1
	}
	o.terms = []string{"intercept"}
	add := func(term string, value func(i int) float64) {
		column := make([]float64, len(rows))
		varies := false
		for k, i := range rows {
			column[k] = value(i)
			varies = varies || column[k] != column[0]
		}
		if varies {
			o.terms, columns = append(o.terms, term), append(columns, column)
		}
	}
	for _, term := range m.Fixed {
		name := term[0]
		column := data.Column(name)
		if column.IsNumber() {
			add(name, column.Number)
			continue
		}
		for _, level := range m.Levels[name][1:] {
			add(name+"="+level, func(i int) float64 {
				if column.Label(i) == level {
					return 1
				}
				return 0
			})
		}
	}
	x := mat.NewDense(len(rows), len(columns), nil)
	for c, column := range columns {
		x.SetCol(c, column)
	}
	return x
}

type pageKey struct{ book, page string }

// A sitting is all that was measured of one page: how many placings on which day
// by whom.
type sitting struct {
	book, page     int
	placings       float64
	zeros          float64
	days, by, with map[string]float64 // shares of the placings
	quire          string
	section        int
	picture        bool
	position       int
}

// sittings gathers the log by page.
func (j *judgement) sittings() map[pageKey]*sitting {
	if j.measured != nil {
		return j.measured
	}
	j.measured = map[pageKey]*sitting{}
	for i := range j.study.Log.Readings {
		r := &j.study.Log.Readings[i]
		if r.Target == readings.OnTile || r.Excluded != "" {
			continue
		}
		b := j.study.Books[r.Book]
		p := &b.Pages[r.Page]
		key := pageKey{b.ID, p.Label.String()}
		s := j.measured[key]
		if s == nil {
			s = &sitting{book: r.Book, page: r.Page, section: p.Section, picture: p.Picture, position: p.Position,
				days: map[string]float64{}, by: map[string]float64{}, with: map[string]float64{}, quire: fmt.Sprint(b.Leaves[p.Leaf].Quire)}
			j.measured[key] = s
		}
		if r.Target == readings.OnZero {
			s.zeros++
			continue
		}
		s.placings++
		s.days[r.Day]++
		s.by[r.Observer]++
		s.with[j.study.Log.Instruments[r.Instrument].ID]++
	}
	for _, s := range j.measured {
		for _, of := range []map[string]float64{s.days, s.by, s.with} {
			for label := range of {
				of[label] /= s.placings
			}
		}
	}
	return j.measured
}

// covariance is that of the wear of two pages; several tells whether the model
// speaks of several books, whose levels and pictures then differ.
func (t *truth) covariance(a, b *sitting, several bool) float64 {
	shared := func(a, b map[string]float64, sd float64) float64 {
		if sd == 0 {
			return 0
		}
		sum := 0.0
		for _, label := range slices.Sorted(maps.Keys(a)) {
			sum += a[label] * b[label]
		}
		return sum * square(sd)
	}
	offsets, scatter := t.scenario.Offsets, t.scenario.Scatter
	v := shared(a.days, b.days, offsets.Day) + shared(a.by, b.by, offsets.Observer) + shared(a.with, b.with, offsets.Instrument)
	if a.book != b.book {
		return v
	}
	if several {
		v += square(t.book)
		if a.picture && b.picture {
			v += square(t.slope)
		}
	}
	if a.section == b.section && a.section >= 0 {
		v += square(t.section)
	}
	if a.quire == b.quire {
		v += square(scatter.Quire)
	}
	v += square(scatter.Page) * math.Pow(scatter.Along, math.Abs(float64(a.position-b.position)))
	if a.page == b.page {
		instrument := t.scenario.Instruments[0]
		repeat := square(instrument.Noise) + square(instrument.Resolution)/12
		v += repeat*(1/a.placings+1/a.zeros) + square(offsets.Placing)/float64(len(a.days))
	}
	return v
}
