package traces

import (
	"cmp"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/mixed"
	"thumbed/models/student"
)

// An Agreement says how far observers agree on one trace, on the things that were
// coded twice or more.
type Agreement struct {
	Trace  string `json:"trace"`  // the trace
	Things int    `json:"things"` // coded by two looks or more that can tell
	Looks  int    `json:"looks"`  // at these
	// Alpha is Krippendorff's: 1 where all agree, 0 where they agree as by chance. Of
	// grades by their order, of yes or no by name, of counts by their ratio. Nominal
	// is that of grades as mere names. Intervals are by drawing pages anew.
	Alpha   Estimate     `json:"alpha"`             // Krippendorff’s alpha: 1 where all agree, 0 where they agree as by chance; of grades by their order, of yes or no by name, of counts by their ratio; its interval by drawing pages anew
	Nominal *Estimate    `json:"nominal,omitempty"` // alpha of grades as mere names
	Pairs   []Pair       `json:"pairs"`             // two observers, or one at two times
	Grades  []GradeAgree `json:"grades"`            // of counts empty
	Words   string       `json:"words"`             // in sentences
}

// A Pair is two observers, or one at two times, on the things that both looked at.
type Pair struct {
	One       string   `json:"one"`                 // observer
	Other     string   `json:"other"`               // the same as One where one observer looked twice
	Things    int      `json:"things"`              // both looked at, and both could tell
	Same      int      `json:"same"`                // with the same value
	Higher    int      `json:"higher"`              // on which Other gave the higher value
	Lower     int      `json:"lower"`               // on which Other gave the lower value
	P         float64  `json:"p"`                   // two-sided, of Higher and Lower being as likely (sign test)
	Kappa     *float64 `json:"kappa"`               // weighted by squared distances of grades; null for counts, and where all is one value
	Low       float64  `json:"low"`                 // 95 % interval of kappa
	High      float64  `json:"high"`                // 95 % interval of kappa
	Confusion [][]int  `json:"confusion,omitempty"` // things by One's value (rows) and Other's

	// Drift tells whether the two drift apart as they go through a book; null where too
	// few pages tell it.
	Drift *Estimate `json:"drift"` // by which Other's value minus One's grows from the first leaf of a book to the last, in grades, shares of yes, or counts, with a 95 % interval; null where too few pages tell it

	differences map[[2]int]difference // by page
}

// A difference is the sum of what two observers differ by on a page, over its parts.
type difference struct{ sum, n, place float64 }

// A GradeAgree says how often one value, where any look of a pair gave it, was given
// by both (specific agreement: Spitzer and Fleiss 1974, British Journal of Psychiatry
// 125, 341–347).
type GradeAgree struct {
	Level string  `json:"level"`  // the value
	Given int     `json:"given"`  // times, over both looks of all pairs
	Both  float64 `json:"agreed"` // share of these in which the other look gave it too
	With  string  `json:"with"`   // the value that it is most often exchanged for; empty where never
}

// A Coded is a thing that was coded by two looks or more that can tell.
type Coded struct {
	Trace, Book, Page int       // as a look has them
	Place             float64   // of its leaf in the book: 0 is the first, 1 the last
	Observers         []string  // of each look, in the order of days
	Values            []float64 // that each gave
}

// Coded are the things that were coded twice or more, in a fixed order.
func (l *Looks) Coded() (out []Coded) {
	things, looks := l.Of()
	for _, t := range things {
		c := Coded{Trace: t.Trace, Book: t.Book, Page: t.Page, Place: float64(t.Page/2) / float64(max(1, len(l.Books[t.Book].Leaves)-1))}
		for _, look := range looks[t] {
			if !math.IsNaN(look.Value) {
				c.Observers, c.Values = append(c.Observers, look.Observer), append(c.Values, look.Value)
			}
		}
		if len(c.Values) > 1 {
			out = append(out, c)
		}
	}
	return out
}

// Agreements are those of every trace of which anything was coded twice.
func (l *Looks) Agreements() []Agreement { return AgreementsOf(l.Book, l.Coded()) }

// AgreementsOf are [Looks.Agreements] from what was coded twice, of several studies with
// one coding book too, whose books have numbers of their own.
func AgreementsOf(book []Trace, coded []Coded) []Agreement {
	out := []Agreement{}
	for trace := range book {
		a := agreement{trace: &book[trace], pages: map[[2]int]int{}, pairs: map[[2]string]*Pair{}}
		for _, c := range coded {
			if c.Trace == trace {
				a.add(c)
			}
		}
		if a.things > 0 {
			out = append(out, a.agreement())
		}
	}
	return out
}

// An agreement gathers what was coded twice of one trace.
type agreement struct {
	trace  *Trace
	things int
	looks  int
	units  [][]float64    // values of each thing
	page   []int          // of each unit
	pages  map[[2]int]int // numbers of pages
	pairs  map[[2]string]*Pair
}

func (a *agreement) add(c Coded) {
	a.things++
	a.looks += len(c.Values)
	key := [2]int{c.Book, c.Page}
	if _, known := a.pages[key]; !known {
		a.pages[key] = len(a.pages)
	}
	a.units, a.page = append(a.units, c.Values), append(a.page, a.pages[key])
	for one := range c.Values {
		for other := one + 1; other < len(c.Values); other++ {
			if c.Observers[one] > c.Observers[other] { // looks stand in the order of days
				a.pair(c, other, one)
			} else {
				a.pair(c, one, other)
			}
		}
	}
}

// pair enters two looks at a thing.
func (a *agreement) pair(c Coded, one, other int) {
	key := [2]string{c.Observers[one], c.Observers[other]}
	p := a.pairs[key]
	if p == nil {
		p = &Pair{One: key[0], Other: key[1], differences: map[[2]int]difference{}}
		if n := len(a.trace.Levels()); n > 0 {
			p.Confusion = make([][]int, n)
			for i := range p.Confusion {
				p.Confusion[i] = make([]int, n)
			}
		}
		a.pairs[key] = p
	}
	x, y := c.Values[one], c.Values[other]
	p.Things++
	page := [2]int{c.Book, c.Page}
	d := p.differences[page]
	p.differences[page] = difference{d.sum + y - x, d.n + 1, c.Place}
	switch {
	case x == y:
		p.Same++
	case y > x:
		p.Higher++
	default:
		p.Lower++
	}
	if p.Confusion != nil {
		p.Confusion[int(x)][int(y)]++
	}
}

func (a *agreement) agreement() Agreement {
	out := Agreement{Trace: a.trace.Name, Things: a.things, Looks: a.looks, Pairs: []Pair{}, Grades: []GradeAgree{}}
	by := ordinal
	switch a.trace.Kind {
	case mixed.YesNo:
		by = nominal
	case mixed.Counts:
		by = ratio
	}
	out.Alpha = a.alpha(by)
	if a.trace.Kind == mixed.Grades {
		asNames := a.alpha(nominal)
		out.Nominal = &asNames
	}
	for _, p := range a.pairs {
		p.settle()
		out.Pairs = append(out.Pairs, *p)
	}
	slices.SortFunc(out.Pairs, func(x, y Pair) int { return cmp.Or(cmp.Compare(x.One, y.One), cmp.Compare(x.Other, y.Other)) })
	out.Grades = append(out.Grades, gradesOf(a.trace.Levels(), out.Pairs)...)
	out.Words = out.words(a.trace)
	return out
}

// drift is the slope of what the two differ by on a page on its place in the book, by least
// squares over pages, with Student's t; nil where fewer than [fewestPages] tell it or all
// stand at one place.
func (p *Pair) drift() *Estimate {
	if len(p.differences) < fewestPages {
		return nil
	}
	var at, by []float64
	for _, d := range slices.SortedFunc(maps.Values(p.differences), func(a, b difference) int {
		return cmp.Or(cmp.Compare(a.place, b.place), cmp.Compare(a.sum, b.sum), cmp.Compare(a.n, b.n))
	}) {
		at, by = append(at, d.place), append(by, d.sum/d.n)
	}
	n := float64(len(at))
	level, slope := stat.LinearRegression(at, by, nil, false)
	left := 0.0
	for i := range at {
		e := by[i] - level - float64(slope*at[i])
		left += float64(e * e)
	}
	half := student.Half(0.95, n-2) * math.Sqrt(left/(n-2)/(n-1)/stat.Variance(at, nil))
	if math.IsNaN(half) || math.IsInf(half, 0) {
		return nil
	}
	return &Estimate{slope, slope - half, slope + half}
}

// settle takes what follows from the counts of a pair.
func (p *Pair) settle() {
	if p.One != p.Other { // else the two looks stand in the order of days
		p.Drift = p.drift()
	}
	n := float64(p.Higher + p.Lower)
	p.P = 1
	if n > 0 {
		b := distuv.Binomial{N: n, P: 0.5}
		p.P = min(1, 2*b.CDF(float64(min(p.Higher, p.Lower))))
	}
	if p.Confusion == nil {
		return
	}
	kappa, se := weightedKappa(p.Confusion, squared)
	if math.IsNaN(kappa) {
		return
	}
	p.Kappa = &kappa
	half := distuv.UnitNormal.Quantile(0.975) * se
	p.Low, p.High = max(-1, kappa-half), min(1, kappa+half)
}

func gradesOf(levels []string, pairs []Pair) []GradeAgree {
	var out []GradeAgree
	for k, level := range levels {
		g := GradeAgree{Level: level}
		with := make([]int, len(levels))
		both := 0
		for _, p := range pairs {
			for j := range levels {
				if j == k {
					both += 2 * p.Confusion[k][k]
				} else {
					with[j] += p.Confusion[k][j] + p.Confusion[j][k]
				}
			}
		}
		g.Given = both
		most := 0
		for j, n := range with {
			g.Given += n
			if n > most {
				most, g.With = n, levels[j]
			}
		}
		if g.Given > 0 {
			g.Both = float64(both) / float64(g.Given)
		}
		out = append(out, g)
	}
	return out
}

// squared weighs the disagreement of two of n grades by the square of their distance.
func squared(i, j, n int) float64 {
	d := float64(i-j) / float64(max(n-1, 1))
	return d * d
}

// weightedKappa is Cohen's weighted kappa of a table of confusion (Cohen 1968,
// Psychological Bulletin 70, 213–220), with its large-sample standard error (Fleiss,
// Cohen and Everitt 1969, Psychological Bulletin 72, 323–327). disagreement gives the
// weight of each cell, 0 on the diagonal, in any unit. NaN where all stands in one
// cell, so that there is no disagreement to be had by chance.
func weightedKappa(confusion [][]int, disagreement func(i, j, n int) float64) (kappa, se float64) {
	k := len(confusion)
	n, most := 0.0, 0.0
	rows, columns := make([]float64, k), make([]float64, k)
	for i := range k {
		for j := range k {
			c := float64(confusion[i][j])
			n += c
			rows[i] += c
			columns[j] += c
			most = max(most, disagreement(i, j, k))
		}
	}
	weight := func(i, j int) float64 { return 1 - disagreement(i, j, k)/most }
	byRow, byColumn := make([]float64, k), make([]float64, k)
	observed, expected := 0.0, 0.0
	for i := range k {
		for j := range k {
			w := weight(i, j)
			observed += w * float64(confusion[i][j]) / n
			expected += w * rows[i] * columns[j] / (n * n)
			byRow[i] += w * columns[j] / n
			byColumn[j] += w * rows[i] / n
		}
	}
	if !(expected < 1-1e-12) {
		return math.NaN(), math.NaN()
	}
	kappa = (observed - expected) / (1 - expected)
	sum := 0.0
	for i := range k {
		for j := range k {
			d := weight(i, j)*(1-expected) - (byRow[i]+byColumn[j])*(1-observed)
			sum += float64(confusion[i][j]) / n * d * d
		}
	}
	last := observed*expected - 2*expected + observed
	variance := (sum - last*last) / (n * math.Pow(1-expected, 4))
	return kappa, math.Sqrt(max(0, variance))
}

// A metric is what Krippendorff's alpha holds for the distance of two values.
type metric int

// The metrics: values as names, in their order, or by the ratio of counts.
const (
	nominal metric = iota
	ordinal
	ratio
)

// coincidences are the pairs of values inside units, by the values that occur.
type coincidences struct {
	values []float64
	unit   [][]cell // of each unit
	metric metric
}

type cell struct {
	i, j   int
	weight float64
}

func newCoincidences(units [][]float64, by metric) *coincidences {
	c := &coincidences{metric: by}
	for _, u := range units {
		c.values = append(c.values, u...)
	}
	slices.Sort(c.values)
	c.values = slices.Compact(c.values)
	for _, u := range units {
		var cells []cell
		for a, one := range u {
			for b, other := range u {
				if a != b {
					i, _ := slices.BinarySearch(c.values, one)
					j, _ := slices.BinarySearch(c.values, other)
					cells = append(cells, cell{i, j, 1 / float64(len(u)-1)})
				}
			}
		}
		c.unit = append(c.unit, cells)
	}
	return c
}

// alpha is Krippendorff's alpha of some units, given by their numbers and each as often
// as it stands there; nil: of all (Krippendorff 2004, Content analysis, chapter 11;
// computed as in his “Computing Krippendorff's alpha-reliability”, 2011). Units with one
// value count for nothing. NaN where all values are the same.
func (c *coincidences) alpha(some []int) float64 {
	k := len(c.values)
	table := make([]float64, k*k)
	add := func(u int) {
		for _, e := range c.unit[u] {
			table[e.i*k+e.j] += e.weight
		}
	}
	if some == nil {
		for u := range c.unit {
			add(u)
		}
	}
	for _, u := range some {
		add(u)
	}
	margin := make([]float64, k)
	n := 0.0
	for i := range k {
		for j := range k {
			margin[i] += table[i*k+j]
		}
		n += margin[i]
	}
	observed, expected := 0.0, 0.0
	for i := range k {
		for j := range k {
			d := c.distance(i, j, margin)
			observed += table[i*k+j] * d
			expected += margin[i] * margin[j] * d
		}
	}
	if !(expected > 0) {
		return math.NaN()
	}
	return 1 - (n-1)*observed/expected
}

// distance is the squared difference of two values.
func (c *coincidences) distance(i, j int, margin []float64) float64 {
	if i == j {
		return 0
	}
	switch c.metric {
	case ordinal:
		low, high := min(i, j), max(i, j)
		between := -(margin[low] + margin[high]) / 2
		for g := low; g <= high; g++ {
			between += margin[g]
		}
		return between * between
	case ratio:
		a, b := c.values[i], c.values[j]
		return (a - b) * (a - b) / ((a + b) * (a + b))
	}
	return 1
}

// Drawing anew.
const (
	alphaDraws = 999
	alphaSeed  = 20261130
)

// alpha is Krippendorff's with an interval by drawing pages anew with all their units
// (Efron and Tibshirani 1993, section 8.6: clusters are drawn whole).
func (a *agreement) alpha(by metric) Estimate {
	c := newCoincidences(a.units, by)
	e := Estimate{c.alpha(nil), math.NaN(), math.NaN()}
	if math.IsNaN(e.Value) {
		return e
	}
	of := make([][]int, len(a.pages))
	for u, page := range a.page {
		of[page] = append(of[page], u)
	}
	a.sortByValues(of)
	var drawn []float64
	for k := range alphaDraws {
		rng := rand.New(rand.NewPCG(alphaSeed, uint64(k)))
		var some []int
		for range of {
			some = append(some, of[rng.IntN(len(of))]...)
		}
		if v := c.alpha(some); !math.IsNaN(v) {
			drawn = append(drawn, v)
		}
	}
	if len(of) < fewestPages || len(drawn) < alphaDraws/2 {
		return e
	}
	slices.Sort(drawn)
	at := func(q float64) float64 { return drawn[int(math.Round(q*float64(len(drawn)-1)))] }
	e.Low, e.High = at(0.025), at(0.975)
	return e
}

// sortByValues puts the units of each page and the pages in the order of their values,
// so that what is drawn does not depend on the order of rows or books.
func (a *agreement) sortByValues(of [][]int) {
	sorted := make([][]float64, len(a.units))
	for u, values := range a.units {
		sorted[u] = slices.Sorted(slices.Values(values))
	}
	units := func(x, y int) int { return slices.Compare(sorted[x], sorted[y]) }
	for _, page := range of {
		slices.SortFunc(page, units)
	}
	slices.SortFunc(of, func(x, y []int) int { return slices.CompareFunc(x, y, units) })
}

// fewestPages is the number of pages from which an interval of alpha is told (common
// practice, no source).
const fewestPages = 10
