package profile

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/student"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// texts compare the wear of a book's sections by a mixed model of its pages: a mean
// for each section with what pictures and beginnings of texts add, quires about them,
// neighbouring pages alike, pages scattered, and the errors of measuring, shared ones
// too.
//
// Few quires hardly tell what quires differ by, and where that comes out as nothing
// they tell no degrees of freedom either; where each text lies in a quire of its own,
// nothing tells quires from texts. So the model is fitted for several spreads of quires,
// each with the weight of its restricted likelihood and of a half-normal prior whose
// variance is half that of pages (Gelman 2006, Bayesian Anal. 1, 515–534, section 3):
// quires are taken to differ by hardly more than pages of one text do. What is said of a
// difference is the mean over them.
type texts struct {
	fits  []weighed
	base  string               // the section that the others are told from
	share []map[string]float64 // of each section's pages, with each of the features that are adjusted for
}

// A weighed fit is that for one spread between quires.
type weighed struct {
	fit        *mixed.Fit
	weight     float64
	terms      []string
	covariance *mat.SymDense
}

// Columns of the table that texts are compared on.
const (
	columnText  = "text"
	columnQuire = "quire"
	columnAt    = "position"
	columnHeld  = "quire_offset"
)

// leastQuires is how many quires a scatter between quires can be told from.
const leastQuires = 3

// compareTexts fits the model to the pages of sections; wear is the study's.
func compareTexts(b *codex.Book, book int, wear []readings.Wear, shared []readings.Source) *texts {
	section := map[int]int{}
	for i := len(b.Sections) - 1; i >= 0; i-- { // a page on which two sections meet counts in the first
		for _, page := range b.Sections[i].Pages {
			section[page] = i
		}
	}
	var value, se, at []float64
	var limit, text, quire []string
	var pages []int
	whole := &readings.Result{Shared: shared}
	offset := map[string][]string{}
	for i := range wear {
		w := &wear[i]
		s, in := section[w.Page]
		if w.Book != book || !in {
			continue
		}
		value, se, at = append(value, w.Density), append(se, math.Max(w.SE, math.Sqrt(leastVariance))), append(at, float64(b.Pages[w.Page].Position))
		limit, text = append(limit, string(w.Limit)), append(text, textName(s))
		quire, pages = append(quire, quireName(b, w.Page)), append(pages, w.Page)
		for _, source := range shared {
			offset[source.By] = append(offset[source.By], whole.Loads(w, source.By))
		}
	}
	columns := []*table.Column{
		table.Numbers("wear", value), table.Numbers("wear_se", se), table.Numbers(columnAt, at),
		table.Labels("limit", limit), table.Labels(columnText, text), table.Labels(columnQuire, quire), table.Labels(columnHeld, quire),
	}
	model := mixed.Model{
		Outcome: "wear", Fixed: []mixed.Term{{columnText}},
		Residual: mixed.Residual{KnownSD: "wear_se", Along: columnAt, Limits: "limit"},
	}
	t := &texts{share: make([]map[string]float64, len(b.Sections))}
	for i := range t.share {
		t.share[i] = map[string]float64{}
	}
	for _, f := range pageFeatures {
		has := make([]float64, len(pages))
		for i, page := range pages {
			has[i] = f.of(b, page)
		}
		if !toldApart(has, text) {
			continue
		}
		columns = append(columns, table.Numbers(f.name, has))
		model.Fixed = append(model.Fixed, mixed.Term{f.name})
		for i, section := range b.Sections {
			for _, page := range section.Pages {
				t.share[i][f.name] += f.of(b, page) / float64(len(section.Pages))
			}
		}
	}
	for _, source := range shared {
		columns = append(columns, table.Labels(source.Column(), offset[source.By]))
	}
	model.Residual.Offsets = append(Offsets(shared), offsetsOfAnySize(shared)...)
	rows, err := table.New(columns...)
	if err != nil || rows.Rows() == 0 {
		return &texts{}
	}
	names, _ := rows.Column(columnText).Levels()
	if len(names) < 2 {
		return &texts{}
	}
	model.Levels = map[string][]string{columnText: names}
	t.base = names[0]
	t.fit(model, rows)
	return t
}

// pageFeatures are what is adjusted for: pages are touched for it, of whatever text
// they are.
var pageFeatures = []struct {
	name string
	of   func(b *codex.Book, page int) float64
}{
	{"picture", func(b *codex.Book, page int) float64 { return asNumber(b.Pages[page].Picture) }},
	{"facing", func(b *codex.Book, page int) float64 {
		other, ok := b.Opening(page)
		return asNumber(ok && b.Pages[other].Picture)
	}},
	{"incipit", func(b *codex.Book, page int) float64 { return asNumber(b.Pages[page].Incipit) }},
}

func asNumber(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// leastTelling is how many texts have to have pages both with and without a feature
// for what it adds to be told from what texts differ by.
const leastTelling = 3

func toldApart(has []float64, text []string) bool {
	with, without, telling := map[string]bool{}, map[string]bool{}, 0
	for i, v := range has {
		if v > 0 {
			with[text[i]] = true
		} else {
			without[text[i]] = true
		}
	}
	for t := range with {
		if without[t] {
			telling++
		}
	}
	return telling >= leastTelling
}

// fit fits the model for each spread of quires.
func (t *texts) fit(model mixed.Model, rows *table.Table) {
	first, err := model.Fit(rows)
	if err != nil || !first.Converged {
		model.Residual.Along = "" // few pages may not tell how alike neighbours are
		if first, err = model.Fit(rows); err != nil || !first.Converged {
			return
		}
	}
	quires, _ := rows.Column(columnQuire).Levels()
	if len(quires) < leastQuires || len(quires) >= rows.Rows()/2 {
		t.fits = []weighed{{fit: first, weight: 1}}
		t.prepare()
		return
	}
	best := first.LogLik
	scatter := math.Max(first.Residual.SD, stat.Mean(rows.Column("wear_se").Numbers, nil))
	for k, step := range quireSpreads {
		fit := first
		if step > 0 {
			with := model
			with.Residual.Offsets = append(slices.Clone(model.Residual.Offsets), mixed.Offset{By: columnHeld, SD: step * scatter})
			if fit, err = with.Fit(rows); err != nil || !fit.Converged {
				continue
			}
		}
		width := quireSpreads[min(k+1, len(quireSpreads)-1)] - quireSpreads[max(k-1, 0)] // twice that of the trapezium
		best = max(best, fit.LogLik)
		t.fits = append(t.fits, weighed{fit: fit, weight: width * math.Exp(fit.LogLik-first.LogLik-step*step)})
		if fit.LogLik < best-hopeless {
			break
		}
	}
	t.prepare()
}

// quireSpreads are the standard deviations between quires that are tried, in that of
// pages; hopeless is by how much the log likelihood of one may lie below the best for
// larger ones to be tried still.
var quireSpreads = []float64{0, 0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.7}

const hopeless = 7

// leastWeight is the share of all weights below which a fit is left out.
const leastWeight = 1e-7

// prepare makes weights sum to 1, and drops fits without any.
func (t *texts) prepare() {
	all := 0.0
	for _, w := range t.fits {
		all += w.weight
	}
	t.fits = slices.DeleteFunc(t.fits, func(w weighed) bool { return !(w.weight > leastWeight*all) })
	for k := range t.fits {
		w := &t.fits[k]
		w.weight /= all
		w.covariance = w.fit.Covariance()
		for _, term := range w.fit.Fixed {
			w.terms = append(w.terms, term.Term)
		}
	}
}

// Offsets are the errors that pages share as a model states them: those of known
// spread, the degrees of freedom 0 where that is exact.
func Offsets(shared []readings.Source) []mixed.Offset {
	var out []mixed.Offset
	for _, source := range shared {
		if source.Known && source.SD > 0 {
			o := mixed.Offset{By: source.Column(), SD: source.SD}
			if !math.IsInf(source.DF, 1) {
				o.DF = source.DF
			}
			out = append(out, o)
		}
	}
	return out
}

// anySize is a standard deviation beyond any that offsets of days, observers or
// instruments may have, density: with it texts are compared inside each of these, and
// where they share none nothing can be told of their difference.
const anySize = 1

// offsetsOfAnySize are the errors that pages share of which no spread is known.
func offsetsOfAnySize(shared []readings.Source) []mixed.Offset {
	var out []mixed.Offset
	for _, source := range shared {
		if !source.Known {
			out = append(out, mixed.Offset{By: source.Column(), SD: anySize})
		}
	}
	return out
}

// unknownNote says of which sources no spread is known; empty where there is none.
func unknownNote(shared []readings.Source) string {
	var by []string
	for _, source := range shared {
		if !source.Known {
			by = append(by, source.By+"s")
		}
	}
	if len(by) == 0 {
		return ""
	}
	return fmt.Sprintf("What %s differ by is not known: texts are ranked only by pages that were measured on the same day, by the same observer, with the same instrument, and texts that share none are not set apart.", wording.List(by))
}

// quireName names the quire of a page; all pages of no known quire are of one.
func quireName(b *codex.Book, page int) string {
	if leaf := b.Pages[page].Leaf; leaf >= 0 && leaf < len(b.Leaves) {
		return fmt.Sprintf("quire %d", b.Leaves[leaf].Quire+1)
	}
	return "none"
}

func textName(section int) string { return fmt.Sprintf("text %d", section+1) }

// beaten gives, of each section but the first, the chance that it reads as far below
// another as it does where it is not: below that from which it is told best.
func (t *texts) beaten(order []Area) map[int]float64 {
	out := map[int]float64{}
	if len(t.fits) == 0 {
		return out
	}
	likeliest := slices.MaxFunc(t.fits, func(a, b weighed) int { return cmp.Compare(a.weight, b.weight) })
	for _, a := range order[1:] {
		var by Area
		farthest := math.Inf(-1)
		for _, other := range order {
			if other.Section == a.Section {
				continue
			}
			if far := likeliest.apart(t.weights(other.Section, a.Section)); far > farthest {
				farthest, by = far, other
			}
		}
		weights := t.weights(by.Section, a.Section)
		chance := 0.0
		for _, w := range t.fits {
			c, err := w.fit.Contrast("difference", weights)
			if err != nil || !(c.SE > 0) || !(c.DF > 0) {
				chance = 1
				break
			}
			chance += w.weight * student.CDF(-c.Estimate/c.SE, c.DF)
		}
		out[a.Section] = math.Min(1, chance)
	}
	return out
}

// weights are those of the fixed effects in the wear of one section less that of
// another.
func (t *texts) weights(one, other int) map[string]float64 {
	out := map[string]float64{}
	for section, w := range map[int]float64{one: 1, other: -1} {
		if name := textName(section); name != t.base {
			out[columnText+"="+name] = w
		}
	}
	for feature, share := range t.share[one] {
		out[feature] = share - t.share[other][feature]
	}
	return out
}

// apart is a weighted sum of fixed effects in its standard errors.
func (w weighed) apart(weights map[string]float64) float64 {
	var at []int // terms that have a weight: few of a book's many texts
	estimate, variance := 0.0, 0.0
	for i, term := range w.terms {
		if v := weights[term]; v != 0 {
			at = append(at, i)
			estimate += v * w.fit.Fixed[i].Estimate
		}
	}
	for _, i := range at {
		for _, j := range at {
			variance += weights[w.terms[i]] * weights[w.terms[j]] * w.covariance.At(i, j)
		}
	}
	se := math.Sqrt(variance)
	if !(se > 0) {
		return math.Inf(-1)
	}
	return estimate / se
}
