package claims

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/student"
	"thumbed/models/study"
	"thumbed/models/table"
)

// An estimate is an oracle's answer to a question. Where a reading is only a bound
// both oracles know the wear itself.
type estimate struct {
	known  bool
	effect float64
	se     float64
	df     float64 // +Inf: the sizes of all variances are known
}

// oracled are the answers of both oracles to one question.
//
// The ceiling knows the covariance of the pages outright: generalised least squares,
// of which nothing is estimated (Aitken 1935, Proc. R. Soc. Edinb. 55, 42–48). The
// oracle knows the truth's structure, which effects vary between what and how rows are
// correlated, but no size, and zero is a size: what varies between groups it learns
// from the groups that the question is asked of, as anyone has to. Where books differ in the effect that
// is asked about, Student's t over the books' own estimates is exact for it where books are read alike
// (Student 1908, Biometrika 6, 1–25; each estimate is the ceiling's, within its book);
// elsewhere sections, quires and days cross, and restricted likelihood of the
// true structure serves, with standard errors and degrees of freedom after Kenward and
// Roger (1997, Biometrics 53, 983–997), which come to the exact t where the layout is
// balanced.
type oracled struct{ oracle, ceiling estimate }

// oracles answers the questions of the results, in their order.
func (j *judgement) oracles() []oracled {
	type fitted struct{ model, book, only string }
	ceilings, fits := map[fitted]*oracle{}, map[fitted]*mixed.Fit{}
	ceiling := func(key fitted) *oracle {
		if _, done := ceilings[key]; !done {
			ceilings[key] = j.oracle(key.model, key.book, key.only)
		}
		return ceilings[key]
	}
	out := make([]oracled, len(j.results.Answers))
	for i, a := range j.results.Answers {
		key := fitted{a.Question.Model, a.Book, ""}
		if o := ceiling(key); o != nil {
			out[i].ceiling = o.contrast(a.Question.Contrast)
		}
		if _, byBook := a.Question.Contrast["picture=yes"]; byBook && a.Book == "" && a.Question.Model == "pictures" {
			out[i].oracle = j.overBooks(a.Question, func(book string) *oracle { return ceiling(fitted{key.model, "", book}) })
			continue
		}
		if _, done := fits[key]; !done {
			fits[key] = j.structured(key.model, key.book)
		}
		if fit := fits[key]; fit != nil {
			if c, err := fit.Contrast("", a.Question.Contrast); err == nil {
				out[i].oracle = estimate{known: true, effect: c.Estimate, se: c.SE, df: c.DF}
			}
		}
	}
	return out
}

// overBooks is Student's t over the books' own estimates, of gives those of one.
func (j *judgement) overBooks(q hypotheses.Question, of func(book string) *oracle) estimate {
	var effects []float64
	for _, book := range j.truth.ids {
		if o := of(book); o != nil {
			if e := o.contrast(q.Contrast); e.known {
				effects = append(effects, e.effect)
			}
		}
	}
	if len(effects) < 2 {
		return estimate{}
	}
	mean, sd := stat.MeanStdDev(effects, nil)
	n := float64(len(effects))
	return estimate{known: true, effect: mean, se: sd / math.Sqrt(n), df: n - 1}
}

// structured is the fit of a model's fixed effects with the truth's own structure: what
// varies between books, sections, quires and, where they differ at all, days (each has one
// observer); known errors of reading, and neighbours alike. It is nil where there is none.
func (j *judgement) structured(model, book string) *mixed.Fit {
	stated, data := j.asked(model, book)
	if data == nil {
		return nil
	}
	m := stated.Model
	level := []string{"intercept"}
	m.Random = []mixed.Random{{By: []string{"section"}, Terms: level}, {By: []string{"quire"}, Terms: level}}
	if book == "" && stated.Only == nil {
		m.Random = []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept", "picture"}}, {By: []string{"book", "section"}, Terms: level}, {By: []string{"book", "quire"}, Terms: level}}
	}
	m.Residual = mixed.Residual{KnownSD: "wear_se", Along: "position", Within: "book"}
	// days of which pages were measured again: their spread as the study estimated it
	for _, r := range j.results.Models {
		if r.Name == model && r.Book == book && r.Fit != nil {
			m.Residual.Offsets = r.Fit.Model().Residual.Offsets
		}
	}
	if len(m.Residual.Offsets) == 0 && j.truth.scenario.Offsets.Day > 0 {
		m.Random = append(m.Random, mixed.Random{By: []string{"day"}, Terms: level})
	}
	m.DF = ""
	fit, err := m.Fit(data)
	if err != nil {
		return nil
	}
	return fit
}

// power counts what was said where there was something to say, beside what the
// oracles would say, the intervals of all answers holding at once at 95 % by
// Bonferroni's inequality.
func (j *judgement) power(oracles []oracled) {
	limit := 0.05 / float64(len(oracles))
	says := func(p float64) bool { return 2*p <= limit }
	for i, a := range j.results.Answers {
		o := oracles[i]
		if !o.oracle.known || !o.ceiling.known || !j.truth.identified(a.Question) {
			continue
		}
		effect, exact := j.truth.answer(a.Question, a.Book)
		if !exact {
			continue
		}
		count := func(kind string, found, oracle, ceiling bool) {
			c := at(j.Power, kind)
			c.There++
			for counter, said := range map[*int]bool{&c.Found: found, &c.Oracle: oracle, &c.Ceiling: ceiling} {
				if said {
					*counter++
				}
			}
		}
		yes, no := o.oracle.evidence(a.Question)
		ceilingYes, ceilingNo := o.ceiling.evidence(a.Question)
		asked := inDirection(a.Question, effect, effect)
		there, matters := asked > 1e-9 && effect != 0, asked >= smallest(a.Question)
		switch {
		case there:
			count("yes", a.Verdict == hypotheses.Yes, says(yes), says(ceilingYes))
		case a.Question.Smallest > 0 && !matters:
			count("no", a.Verdict == hypotheses.No, says(no), says(ceilingNo))
		}
		if !there && says(yes) || matters && says(no) {
			j.Misled++
		}
	}
}

// evidence gives the p-values, of one end of an interval, against no effect and
// against one that would matter.
func (e estimate) evidence(q hypotheses.Question) (yes, no float64) {
	below := func(t float64) float64 { return student.CDF(t/e.se, e.df) }
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
	return estimate{known: true, effect: mat.Dot(w, &o.beta), se: math.Sqrt(mat.Inner(w, &o.covariance, w)), df: math.Inf(1)}
}

// asked gives a model of the study file and its rows, wear itself where a reading is
// only a bound; no rows where the truth of the demonstration is not of the model's form.
func (j *judgement) asked(model, book string) (*study.Model, *table.Table) {
	if j.truth.isDemo && model != "pictures" {
		return nil, nil
	}
	at := slices.IndexFunc(j.study.Models, func(m study.Model) bool { return m.Name == model })
	data, err := j.study.Rows(model, book)
	if at < 0 || err != nil {
		return nil, nil
	}
	wear := data.Column("wear")
	values := make([]float64, data.Rows())
	for i := range values {
		values[i] = wear.Number(i)
		if s := j.sitting(data, i); s != nil && data.Column("limit").Label(i) != "" {
			values[i] = j.truth.wear(s.book, s.page)
		}
	}
	columns := slices.Clone(data.Columns())
	columns[slices.Index(data.Names(), "wear")] = table.Numbers("wear", values)
	known, err := table.New(columns...)
	if err != nil {
		return nil, nil
	}
	return &j.study.Models[at], known
}

// sitting is what was measured of the page of a row; nil where it was not.
func (j *judgement) sitting(data *table.Table, i int) *sitting {
	return j.sittings()[pageKey{data.Column("book").Label(i), data.Column("page").Label(i)}]
}

// oracle fits one model with the true covariance, to all of its rows or to those of one
// book; nil where it has none.
func (j *judgement) oracle(model, book, only string) *oracle {
	stated, data := j.asked(model, book)
	if data == nil {
		return nil
	}
	var rows []int
	var pages []sitting
	books := map[int]bool{}
	for i := range data.Rows() {
		if at := j.sitting(data, i); at != nil && !math.IsNaN(data.Column("wear").Number(i)) && (only == "" || data.Column("book").Label(i) == only) {
			rows = append(rows, i)
			pages = append(pages, *at)
			books[at.book] = true
		}
	}
	if len(rows) == 0 {
		return nil
	}
	o := &oracle{}
	x := o.design(&stated.Model, data, rows)
	v := mat.NewSymDense(len(rows), nil)
	for a := range rows {
		for b := a; b < len(rows); b++ {
			v.SetSym(a, b, j.truth.covariance(&pages[a], &pages[b], len(books) > 1))
		}
	}
	y := mat.NewVecDense(len(rows), nil)
	for k, i := range rows {
		y.SetVec(k, data.Column("wear").Number(i))
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
