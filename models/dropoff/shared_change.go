package dropoff

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
	"thumbed/models/student"
)

// A SharedChange drop-off is one that several books have in common, at the same place
// among the offices of the day.
type SharedChange struct {
	// After is the most probable place: the last office before the drop.
	After codex.Office
	// Places are the probabilities of a drop after each office, None that of no
	// shared drop at all.
	Places   []SharedPlace
	None     float64
	Books    []BookDrop
	Left     []LeftOut
	Sentence string
}

// A LeftOut is a book that could not be compared.
type LeftOut struct {
	Decline int    // index into what was given
	Why     string // a sentence
}

// A SharedPlace is one place for a shared drop.
type SharedPlace struct {
	After       codex.Office `json:"-"`
	Probability float64      `json:"probability"` // probability of that place
}

// A BookDrop is the drop of one book at the shared place.
type BookDrop struct {
	Decline   int     // index into what was given
	Drop      float64 // share of the earlier offices' wear that is missing in the later ones
	Low, High float64 // interval of Drop, with 95 % confidence for all books at once
	Has       bool    // the interval lies above 0
	Refused   string  // why no share can be given; else empty
	AtBreak   bool    // it is refused since a known break lies at that place
	// Places are the probabilities of a drop after each office, None that of
	// none, from this book alone.
	Places []SharedPlace
	None   float64
}

// FindSharedChange looks for a drop-off that books share, aligned on the offices of
// the day. Each book has two levels of its own, before and after a place that is
// the same for all; the offices' means count with their whole covariance.
// On either side of a known break ([codex.Known]) a book has levels of its own
// too, as many as there are parts, each weighed by the share of an office's pages in
// it; so a drop right at its break is no more probable by that book than none, and
// its size is not told.
// Places, and no drop, are weighed by the likelihood integrated over the levels,
// which are flat in units of the noise beforehand, as in [Segment]; no drop and
// a drop somewhere are equally probable beforehand. At the most probable place
// each book's drop has Fieller's interval at the level 0.95^(1/B) for B books
// (Šidák 1967).
//
// It fails where fewer than two books can be compared.
func FindSharedChange(carried []*Decline) (*SharedChange, error) {
	s := &SharedChange{}
	var used []int
	for i, c := range carried {
		if c.covariance == nil {
			s.Left = append(s.Left, LeftOut{i, c.Refused})
			continue
		}
		used = append(used, i)
	}
	used = slices.DeleteFunc(used, func(i int) bool {
		if carried[i].identified() {
			return false
		}
		s.Left = append(s.Left, LeftOut{i, "The known breaks leave no office beside which another could be set."})
		return true
	})
	if len(used) < 2 {
		return nil, errors.New("a drop-off can only be shared by two books or more with several offices measured: measure more")
	}
	var together evidence
	for _, i := range used {
		own := carried[i].evidenceOfPlaces()
		together.add(own)
		book := BookDrop{Decline: i}
		book.Places, book.None = own.posterior()
		s.Books = append(s.Books, book)
	}
	s.Places, s.None = together.posterior()
	s.After = mostProbable(s.Places)
	level := math.Pow(bandLevel, 1/float64(len(used)))
	for k, i := range used {
		carried[i].dropAfter(s.After, &s.Books[k], level)
	}
	s.Sentence = s.sentence()
	return s, nil
}

// evidence is the logarithms of the likelihoods of no drop, and of one after
// each office; possible says after which there can be one.
type evidence struct {
	none     float64
	after    [codex.Compline]float64 // by office, from Matins, 1; none after Compline
	possible [codex.Compline]bool
}

// evidenceOfPlaces weighs all places by one book.
func (c *Decline) evidenceOfPlaces() evidence {
	e := evidence{none: c.evidenceOf(c.columns(nil))}
	for after := codex.Matins; after < codex.Compline; after++ {
		columns := c.columns(c.later(after))
		if e.after[after] = e.none; len(columns) > len(c.columns(nil)) {
			if at := c.evidenceOf(columns); at > -inf {
				e.after[after], e.possible[after] = at, true
			}
		}
	}
	return e
}

// told says whether a drop after some office can be told by this book.
func (c *Decline) identified() bool {
	e := c.evidenceOfPlaces()
	return slices.Contains(e.possible[:], true)
}

// columns are the levels of the offices' means: one for each part between known
// breaks, or two where some of its offices are later and some are not.
func (c *Decline) columns(later []bool) [][]float64 {
	parts := c.parts
	if parts == nil {
		parts = [][]float64{filled(len(c.Offices), 1)}
	}
	if later == nil {
		return parts
	}
	var out [][]float64
	for _, part := range parts {
		before, after := cut(part, later)
		for _, column := range [][]float64{before, after} {
			if column != nil {
				out = append(out, column)
			}
		}
	}
	return out
}

// cut parts a column in what is not later and what is; nil where there is none.
func cut(part []float64, later []bool) (before, after []float64) {
	for i, v := range part {
		side := &before
		if later[i] {
			side = &after
		}
		if v > 0 && *side == nil {
			*side = make([]float64, len(part))
		}
		if v > 0 {
			(*side)[i] = v
		}
	}
	return before, after
}

// add takes in another book.
func (e *evidence) add(other evidence) {
	e.none += other.none
	for i := range e.after {
		e.after[i] += other.after[i]
		e.possible[i] = e.possible[i] || other.possible[i]
	}
}

// posterior gives every place its probability: a drop somewhere is as probable
// beforehand as none.
func (e evidence) posterior() (places []SharedPlace, none float64) {
	var logs []float64
	for after := codex.Matins; after < codex.Compline; after++ {
		if e.possible[after] {
			places = append(places, SharedPlace{After: after})
			logs = append(logs, e.after[after])
		}
	}
	logs = append(logs, e.none+math.Log(float64(len(places))))
	normalise(logs, slices.Max(logs))
	for k := range places {
		places[k].Probability = logs[k]
	}
	return places, logs[len(places)]
}

// mostProbable is the place of the largest probability, the first of several.
func mostProbable(places []SharedPlace) codex.Office {
	best := places[0]
	for _, p := range places {
		if p.Probability > best.Probability {
			best = p
		}
	}
	return best.After
}

// later says of each office of the book whether it comes after the one given.
func (c *Decline) later(after codex.Office) []bool {
	out := make([]bool, len(c.Offices))
	for i, o := range c.Offices {
		out[i] = o.Office > after
	}
	return out
}

// evidenceOf is the logarithm of the likelihood of the offices' means with these
// levels, integrated over them.
func (c *Decline) evidenceOf(columns [][]float64) float64 {
	if len(columns) > len(c.Offices) {
		return -inf
	}
	fit, ok := c.generalised(columns)
	if !ok {
		return -inf
	}
	unit := mat.Trace(c.covariance) / float64(len(c.Offices))
	return -(fit.misfit + fit.logDet + float64(len(columns))*math.Log(unit)) / 2
}

// A levelFit is generalised least squares of the offices' means on columns.
type levelFit struct {
	levels     []float64
	covariance mat.Dense
	misfit     float64
	logDet     float64 // of the levels' precision
}

func (c *Decline) generalised(columns [][]float64) (f levelFit, ok bool) {
	n, p := len(c.Offices), len(columns)
	x, y := mat.NewDense(n, p, nil), mat.NewVecDense(n, nil)
	for j, column := range columns {
		x.SetCol(j, column)
	}
	for i, o := range c.Offices {
		y.SetVec(i, o.Wear)
	}
	var chol mat.Cholesky
	if !chol.Factorize(c.covariance) {
		return f, false
	}
	var vx, precision mat.Dense
	var vy, xy, b mat.VecDense
	if chol.SolveTo(&vx, x) != nil || chol.SolveVecTo(&vy, y) != nil {
		return f, false
	}
	precision.Mul(x.T(), &vx)
	xy.MulVec(x.T(), &vy)
	if f.covariance.Inverse(&precision) != nil {
		return f, false
	}
	b.MulVec(&f.covariance, &xy)
	f.levels = b.RawVector().Data
	f.misfit = mat.Dot(y, &vy) - mat.Dot(&b, &xy)
	f.logDet, _ = mat.LogDet(&precision)
	return f, true
}

// dropAfter is the book's drop after an office.
func (c *Decline) dropAfter(after codex.Office, d *BookDrop, level float64) {
	later := c.later(after)
	if !slices.Contains(later, true) || !slices.Contains(later, false) {
		d.Refused = fmt.Sprintf("no office was measured on one side of %s", after)
		return
	}
	columns := c.columns(later)
	first := c.split(later)
	if d.AtBreak = first < 0; d.AtBreak {
		d.Refused = "a known break lies there, so that what is missing is not distinguishable from what the break does"
		return
	}
	f, ok := c.generalised(columns)
	if !ok {
		d.Refused = "the offices' means are not known well enough"
		return
	}
	before, behind := first, first+1
	t := student.Half(level, c.df)
	r, ok := fieller(f.levels[behind], f.levels[before], f.covariance.At(behind, behind), f.covariance.At(before, before), f.covariance.At(before, behind), t)
	if !ok {
		d.Refused = fmt.Sprintf("the offices up to %s are hardly worn", after)
		return
	}
	d.Drop, d.Low, d.High = 1-r.value, 1-r.high, 1-r.low
	d.Has = d.Low > 0
}

// split is the column of the part, between known breaks, that a place cuts in
// two, and which the column of its later offices follows; −1 where the place is at
// a break and cuts none.
func (c *Decline) split(later []bool) int {
	at := 0
	for _, part := range c.columns(nil) {
		before, after := cut(part, later)
		if before != nil && after != nil {
			return at
		}
		at++
	}
	return -1
}

// likelyShared is the probability from which a drop at one place is claimed.
const likelyShared = 0.95

// Some is the probability of a drop at one place.
func (s *SharedChange) Some() float64 { return 1 - s.None }

// Claimed says that a drop at one place is claimed: its probability is 0.95 or
// more. It is shared only where two books or more have it.
func (s *SharedChange) Claimed() bool { return s.Some() >= likelyShared }

// At is the probability of a drop at the most probable place.
func (s *SharedChange) At() float64 {
	at := 0.0
	for _, p := range s.Places {
		at = max(at, p.Probability)
	}
	return at
}

// Having is how many books have the drop at the most probable place, of how many
// of which it can be told.
func (s *SharedChange) Having() (have, told int) {
	for _, b := range s.Books {
		if b.Refused == "" {
			told++
		}
		if b.Has {
			have++
		}
	}
	return have, told
}

func (s *SharedChange) sentence() string {
	have, told := s.Having()
	switch {
	case !s.Claimed():
		return fmt.Sprintf("No drop-off at one place is clear in the books together: the probability of one is %.2f, most likely after %s.", s.Some(), s.After)
	case have < 2:
		return fmt.Sprintf("No drop-off is shared: the books together have one, most likely after %s (probability %.2f there, %.2f anywhere), but it is clear in %d of %d only.", s.After, s.At(), s.Some(), have, told)
	}
	return fmt.Sprintf("The books together have a drop-off, most likely after %s (probability %.2f there, %.2f anywhere); at that place %d of %d have it clearly.", s.After, s.At(), s.Some(), have, told)
}
