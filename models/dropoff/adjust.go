package dropoff

import (
	"fmt"
	"maps"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/student"
	"thumbed/models/table"
)

// Columns of the table that the hours are adjusted on, beside codex's.
const (
	columnWear   = "wear"
	columnWearSE = "wear_se"
	columnLimit  = "limit"
	columnPart   = "part" // of the book between known breaks
	columnText   = "text" // a run of pages of one section, or of none
	columnEnds   = "ends" // 1 over 1 + leaves from the nearer end of the book, less its mean
)

// An adjustment is the model of wear: a mean for each office, or each text, on a
// plain page at a middling distance from the book's ends, the disturbances, and
// quires.
type adjustment struct {
	offices      []codex.Office
	by           string   // the column of what has means of its own
	levels       []string // of it
	table        *table.Table
	used         []disturbance
	fullLeverage []bool // the rows of which nothing is left once these are removed
	notes        []string
	fit          *mixed.Fit
	modes        []mixed.RandomEffect // of quires
}

// adjust fits the model. What pictures and the like add to pages in no order of offices
// is told from other pages of the same text: texts differ, and where those with many
// pictures are worn less than others, say, it would else be taken for what pictures do.
func (h *hours) adjust() (*adjustment, error) {
	a := &adjustment{offices: h.measured(), by: codex.ColumnOffice}
	a.levels = names(a.offices)
	var err error
	if a.table, err = h.table(); err != nil {
		return nil, err
	}
	if h.set == "" {
		if texts, _ := a.table.Column(columnText).Levels(); a.tellsWithin(columnText, texts) {
			a.by, a.levels = columnText, texts
		}
	}
	a.chooseDisturbances()
	model := mixed.Model{
		Outcome: columnWear,
		Levels:  map[string][]string{},
		Residual: mixed.Residual{
			KnownSD: columnWearSE,
			Along:   codex.FeaturePosition, // neighbouring pages share a hand's dirt and a stain
			Limits:  columnLimit,
			Offsets: profile.Offsets(h.among.Shared),
		},
	}
	if len(a.levels) > 1 {
		model.Fixed = []mixed.Term{{a.by}}
		model.Levels[a.by] = a.levels
	}
	for _, d := range a.used {
		model.Fixed = append(model.Fixed, mixed.Term{d.column})
		if d.column != columnEnds {
			model.Levels[d.column] = []string{"no", "yes"}
		}
	}
	if a.severalQuires() {
		model.Random = []mixed.Random{{By: []string{codex.ColumnQuire}, Terms: []string{"intercept"}}}
	}
	if err := a.fitOrApart(model); err != nil {
		return nil, fmt.Errorf("the pages of book %s cannot be compared: %w", h.book.ID, err)
	}
	if !a.fit.Converged {
		a.notes = append(a.notes, "The model that removes these effects did not settle: take its means as rough, and measure more pages.")
	}
	a.modes = a.fit.RandomEffects()
	a.modesBesideBreaks(model)
	return a, nil
}

// modesBesideBreaks takes what quires add from a model in which the parts of the
// book between known breaks differ as well: a rebinding lies between two quires, and
// would else be taken for a part of theirs. Where the model cannot tell parts from
// offices, offices hold the difference already.
func (a *adjustment) modesBesideBreaks(model mixed.Model) {
	parts, _ := a.table.Column(columnPart).Levels()
	if model.Random == nil || len(parts) < 2 {
		return
	}
	model.Residual.Along = a.fit.Model().Residual.Along
	model.Fixed = append(slices.Clone(model.Fixed), mixed.Term{columnPart})
	model.Levels = maps.Clone(model.Levels)
	model.Levels[columnPart] = parts
	if fit, err := model.Fit(a.table); err == nil && fit.Converged {
		a.modes = fit.RandomEffects()
	}
}

// fitOrApart fits the model, and where it comes to no end fits it once more
// with neighbouring pages taken as no more alike than others: the likelihood of
// few pages can rise for ever as their correlation goes to 1 and the scatter
// about a common drift without bound, so that no level of them is left to be
// known.
func (a *adjustment) fitOrApart(model mixed.Model) error {
	var err error
	if a.fit, err = model.Fit(a.table); err == nil && a.fit.Converged {
		return nil
	}
	model.Residual.Along = ""
	apart, errApart := model.Fit(a.table)
	if errApart != nil || !apart.Converged {
		return err
	}
	a.fit = apart
	a.notes = append(a.notes, "Neighbouring pages are alike over stretches so long that their correlation is not distinguishable from differences between offices. It is left out here; where it is real, intervals are too narrow.")
	return nil
}

func names(offices []codex.Office) []string {
	out := make([]string, len(offices))
	for i, office := range offices {
		out[i] = officeName(office)
	}
	return out
}

// officeName names an office, and pages that are not looked at by offices.
func officeName(office codex.Office) string {
	if office == codex.NoOffice {
		return "all"
	}
	return office.String()
}

// table is the features of the pages measured, with their wear.
func (h *hours) table() (*table.Table, error) {
	row := map[int]int{}
	for i, page := range h.book.Present() {
		row[page] = i
	}
	n := len(h.rows)
	at, limit, office, part, text := make([]int, n), make([]string, n), make([]string, n), make([]string, n), make([]string, n)
	wear, se, ends, position := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	texts := 0
	for i, r := range h.rows {
		if i == 0 || h.book.Pages[r.page].Section != h.book.Pages[h.rows[i-1].page].Section {
			texts++
		}
		text[i] = fmt.Sprintf("text %d", texts)
		var ok bool
		if at[i], ok = row[r.page]; !ok {
			return nil, fmt.Errorf("page %s of book %s has wear but its leaf is lost: mend the table of leaves", h.book.Pages[r.page].Label, h.book.ID)
		}
		wear[i], se[i], limit[i] = r.wear.Density, r.wear.SE, string(r.wear.Limit)
		office[i] = officeName(r.office)
		part[i] = fmt.Sprintf("part %d", h.book.Known.Side(r.page)+1)
		position[i] = float64(h.book.Pages[r.page].Position)
	}
	features := codex.Features([]*codex.Book{h.book}).Select(at)
	for i, edge := range features.Column(codex.FeatureEdge).Numbers {
		ends[i] = 1 / (1 + edge)
	}
	floats.AddConst(-stat.Mean(ends, nil), ends)
	columns := []*table.Column{
		table.Numbers(columnWear, wear), table.Numbers(columnWearSE, se), table.Labels(columnLimit, limit),
		table.Numbers(columnEnds, ends), table.Numbers(codex.FeaturePosition, position), table.Labels(codex.ColumnOffice, office),
		table.Labels(columnPart, part), table.Labels(columnText, text),
	}
	whole := &readings.Result{Shared: h.among.Shared}
	for _, source := range h.among.Shared {
		cells := make([]string, n)
		for i := range h.rows {
			cells[i] = whole.Loads(&h.rows[i].wear, source.By)
		}
		columns = append(columns, table.Labels(source.Column(), cells))
	}
	for _, name := range []string{codex.ColumnPicture, codex.FeatureFacing, codex.ColumnIncipit, codex.ColumnQuire} {
		columns = append(columns, table.Labels(name, known(features.Column(name))))
	}
	return table.New(columns...)
}

// known gives the labels of a column, with "no" for what is not known: whether
// a picture was on the lost page that faced this one, say, or the quire.
func known(c *table.Column) []string {
	out := make([]string, c.Len())
	for i := range out {
		if out[i] = c.Label(i); out[i] == "" {
			out[i] = "no"
		}
	}
	return out
}

// leastQuires is how many quires a scatter between quires can be told from.
const leastQuires = 3

// severalQuires tells whether quires can be told from single pages and from
// offices. Without offices they are not removed: a habit may begin with a quire.
func (a *adjustment) severalQuires() bool {
	if len(a.offices) < 2 {
		return false
	}
	levels, _ := a.table.Column(codex.ColumnQuire).Levels()
	return len(levels) >= leastQuires && len(levels) < a.table.Rows()/2
}

// adjusted names what was removed.
func (a *adjustment) adjusted() []string {
	var out []string
	for _, d := range a.used {
		out = append(out, d.words)
	}
	if len(a.fit.Random) > 0 {
		out = append(out, "quires")
	}
	return out
}

// weights are those of an office's mean on a plain page.
func (a *adjustment) weights(office codex.Office) map[string]float64 {
	w := map[string]float64{"intercept": 1}
	if office != a.offices[0] {
		w[codex.ColumnOffice+"="+office.String()] = 1
	}
	return w
}

// mean is an office's mean on a plain page.
func (a *adjustment) mean(office codex.Office) (mixed.Coefficient, error) {
	return a.fit.Contrast(office.String(), a.weights(office))
}

// ratio is the mean of an office over that of the first, with its interval at
// the level given. Its degrees of freedom
// are Satterthwaite's for the difference that Fieller's method looks at, the
// office less the ratio times the first; ok is false where the first is not
// clearly above nothing.
func (a *adjustment) ratio(office codex.Office, level float64) (r ratio, ok bool, err error) {
	first := a.offices[0]
	top, err := a.mean(office)
	if err != nil {
		return r, false, err
	}
	base, err := a.mean(first)
	if err != nil {
		return r, false, err
	}
	df := base.DF
	if base.Estimate > 0 {
		weights := a.weights(office)
		weights["intercept"] -= top.Estimate / base.Estimate
		difference, err := a.fit.Contrast("difference", weights)
		if err != nil {
			return r, false, err
		}
		df = difference.DF
	}
	df = max(df, leastContrastDF)
	t := student.Half(level, df)
	r, ok = fieller(top.Estimate, base.Estimate, top.SE*top.SE, base.SE*base.SE, a.covariance(first, office), t)
	r.df = df
	return r, ok, nil
}

// leastContrastDF bounds degrees of freedom from below: where a handful of
// quires tell the scatter between quires, Satterthwaite's go to 1 and intervals
// lose all meaning. With 3 they still hold the truth in 92 of 100 cases where
// quires differ as much as pages do, and in 95 and more where they differ less
// (TestCoverageOfShares).
const leastContrastDF = 3

// df are the degrees of freedom of an office's difference from the first.
func (a *adjustment) df(office codex.Office) (float64, error) {
	difference, err := a.fit.Contrast("difference", map[string]float64{codex.ColumnOffice + "=" + office.String(): 1})
	return difference.DF, err
}

// covariance is that of the means of two offices.
func (a *adjustment) covariance(one, other codex.Office) float64 {
	cov := a.fit.Covariance()
	x, y := a.vector(one), a.vector(other)
	return mat.Inner(x, cov, y)
}

func (a *adjustment) vector(office codex.Office) *mat.VecDense {
	weights := a.weights(office)
	v := mat.NewVecDense(len(a.fit.Fixed), nil)
	for i, term := range a.fit.Fixed {
		v.SetVec(i, weights[term.Term])
	}
	return v
}
