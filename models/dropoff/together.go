package dropoff

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/codex"
)

// A Shared drop-off is one that several books have in common, at the same place
// among the offices of the day.
type Shared struct {
	// After is the most probable place: the last office before the drop.
	After codex.Office
	// Places are the probabilities of a drop after each office, None that of no
	// shared drop at all.
	Places []SharedPlace
	None   float64
	Books  []BookDrop
	// Left are the books left out, each with the reason.
	Left     []string
	Sentence string
}

// A SharedPlace is one place for a shared drop.
type SharedPlace struct {
	After       codex.Office
	Probability float64
}

// A BookDrop is the drop of one book at the shared place.
type BookDrop struct {
	Carried   int     // index into what was given
	Drop      float64 // share of the earlier offices' wear that is missing in the later ones
	Low, High float64 // interval of Drop, with 95 % confidence for all books at once
	Has       bool    // the interval lies above 0
	Refused   string  // why no share can be given; else empty
}

// Together looks for a drop-off that books share, aligned on the offices of
// the day. Each book has two levels of its own, before and after a place that is
// the same for all; the offices' means count with their whole covariance.
// Places, and no drop, are weighed by the likelihood integrated over the levels,
// which are flat in units of the noise beforehand, as in [Segment]; no drop and
// a drop somewhere are equally probable beforehand. At the most probable place
// each book's drop has Fieller's interval at the level 0.95^(1/B) for B books
// (Šidák 1967).
//
// It fails where fewer than two books can be compared.
func Together(carried []*Carried) (*Shared, error) {
	s := &Shared{}
	var used []int
	for i, c := range carried {
		if c.covariance == nil {
			s.Left = append(s.Left, fmt.Sprintf("number %d: %s", i+1, c.Refused))
			continue
		}
		used = append(used, i)
	}
	if len(used) < 2 {
		return nil, errors.New("a drop-off can only be shared by two books or more with several offices measured: measure more")
	}
	s.weigh(carried, used)
	level := math.Pow(bandLevel, 1/float64(len(used)))
	for _, i := range used {
		s.Books = append(s.Books, carried[i].dropAfter(s.After, i, level))
	}
	s.Sentence = s.sentence()
	return s, nil
}

// weigh gives every place its probability.
func (s *Shared) weigh(carried []*Carried, used []int) {
	offices := codex.Offices()
	none := 0.0
	logs := make([]float64, 0, len(offices))
	for _, i := range used {
		none += carried[i].evidenceOf(nil)
	}
	for _, after := range offices[:len(offices)-1] {
		sum, inside := 0.0, false
		for _, i := range used {
			c := carried[i]
			later := c.later(after)
			inside = inside || slices.Contains(later, true) && slices.Contains(later, false)
			sum += c.evidenceOf(later)
		}
		if inside {
			s.Places = append(s.Places, SharedPlace{After: after})
			logs = append(logs, sum)
		}
	}
	shift := none + math.Log(float64(len(logs))) // a drop somewhere is as probable as none
	most := shift
	for _, v := range logs {
		most = max(most, v)
	}
	all := append(slices.Clone(logs), shift)
	normalise(all, most)
	s.None = all[len(logs)]
	best := 0
	for k := range s.Places {
		s.Places[k].Probability = all[k]
		if all[k] > all[best] {
			best = k
		}
	}
	s.After = s.Places[best].After
}

// later says of each office of the book whether it comes after the one given.
func (c *Carried) later(after codex.Office) []bool {
	out := make([]bool, len(c.Offices))
	for i, o := range c.Offices {
		out[i] = o.Office > after
	}
	return out
}

// evidenceOf is the logarithm of the likelihood of the offices' means with one
// level, or with two where some are later and some are not, integrated over the
// levels.
func (c *Carried) evidenceOf(later []bool) float64 {
	n := len(c.Offices)
	before, after := make([]float64, n), make([]float64, n)
	for i := range c.Offices {
		if later != nil && later[i] {
			after[i] = 1
		} else {
			before[i] = 1
		}
	}
	columns := [][]float64{before, after}
	if !slices.Contains(before, 1) {
		columns = columns[1:]
	} else if !slices.Contains(after, 1) {
		columns = columns[:1]
	}
	fit, ok := c.generalised(columns)
	if !ok {
		return -inf
	}
	unit := mat.Trace(c.covariance) / float64(n)
	return -(fit.misfit + fit.logDet + float64(len(columns))*math.Log(unit)) / 2
}

// A levelFit is generalised least squares of the offices' means on columns.
type levelFit struct {
	levels     []float64
	covariance mat.Dense
	misfit     float64
	logDet     float64 // of the levels' precision
}

func (c *Carried) generalised(columns [][]float64) (f levelFit, ok bool) {
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
func (c *Carried) dropAfter(after codex.Office, index int, level float64) BookDrop {
	d := BookDrop{Carried: index}
	later := c.later(after)
	before, behind := make([]float64, len(later)), make([]float64, len(later))
	for i := range later {
		before[i], behind[i] = 1, 0
		if later[i] {
			before[i], behind[i] = 0, 1
		}
	}
	if !slices.Contains(later, true) || !slices.Contains(later, false) {
		d.Refused = fmt.Sprintf("no office was measured on one side of %s", after)
		return d
	}
	f, ok := c.generalised([][]float64{before, behind})
	if !ok {
		d.Refused = "the offices' means are not known well enough"
		return d
	}
	t := distuv.StudentsT{Sigma: 1, Nu: c.df}.Quantile((1 + level) / 2)
	r, ok := fieller(f.levels[1], f.levels[0], f.covariance.At(1, 1), f.covariance.At(0, 0), f.covariance.At(0, 1), t)
	if !ok {
		d.Refused = fmt.Sprintf("the offices up to %s are hardly worn", after)
		return d
	}
	d.Drop, d.Low, d.High = 1-r.value, 1-r.high, 1-r.low
	d.Has = d.Low > 0
	return d
}

// likelyShared is the probability from which a shared drop is claimed.
const likelyShared = 0.95

func (s *Shared) sentence() string {
	has, told := 0, 0
	for _, b := range s.Books {
		if b.Refused == "" {
			told++
		}
		if b.Has {
			has++
		}
	}
	some := 1 - s.None
	at := 0.0
	for _, p := range s.Places {
		if p.After == s.After {
			at = p.Probability
		}
	}
	if some < likelyShared {
		return fmt.Sprintf("No drop-off at one place is clear in the books together: the probability of one is %.2f, most likely after %s.", some, s.After)
	}
	return fmt.Sprintf("The books together have a drop-off, most likely after %s (probability %.2f there, %.2f anywhere); at that place %d of %d have it clearly.", s.After, at, some, has, told)
}

// A Difference compares how far two readers carried on.
type Difference struct {
	Offices []OfficeDifference // offices that both have, without the first
	// F tests that all shares are the same, with DF1 and DF2 degrees of
	// freedom; P is its probability where they are.
	F, DF1, DF2, P float64
	Sentence       string
}

// An OfficeDifference is the share carried on to an office by the first reader
// less that by the second.
type OfficeDifference struct {
	Office     codex.Office
	Difference float64
	Low, High  float64 // 95 %
}

// Differ compares two readers, in two books or in two sets of hours, by the
// shares that they carried on to each office that both have measured; the first
// such office is what shares are of. Single differences have the interval of
// Zou and Donner (2008, Statistics in Medicine 27, 1693–1702), made of the two
// shares' own by Fieller; the test of all together is Wald's on the shares, with
// their covariance to first order and the fewer degrees of freedom of the two.
//
// It fails where fewer than two offices are common or a first office is hardly
// worn.
func Differ(one, other *Carried) (*Difference, error) {
	var common []codex.Office
	for _, o := range one.Offices {
		if other.index(o.Office) >= 0 {
			common = append(common, o.Office)
		}
	}
	if len(common) < 2 || one.covariance == nil || other.covariance == nil {
		return nil, errors.New("two readers can be compared only where two offices or more were measured in both: measure more of the same offices")
	}
	d := &Difference{}
	n := len(common) - 1
	differences, covariance := mat.NewVecDense(n, nil), mat.NewSymDense(n, nil)
	for k, c := range []*Carried{one, other} {
		shares, spread, ok := c.shares(common)
		if !ok {
			return nil, fmt.Errorf("%s of the %s reader is hardly worn, so that shares of it mean nothing: measure more pages of it", common[0], []string{"first", "second"}[k])
		}
		sign := float64(1 - 2*k)
		for i := range n {
			differences.SetVec(i, differences.AtVec(i)+sign*shares[i].value)
			for j := range i + 1 {
				covariance.SetSym(i, j, covariance.At(i, j)+spread.At(i, j))
			}
			if k == 0 {
				d.Offices = append(d.Offices, OfficeDifference{Office: common[i+1]})
			}
			d.Offices[i].combine(shares[i], sign)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(covariance) {
		return nil, errors.New("the shares are not known well enough to be compared: measure more pages")
	}
	var solved mat.VecDense
	if err := chol.SolveVecTo(&solved, differences); err != nil {
		return nil, fmt.Errorf("the shares cannot be compared: %w", err)
	}
	d.DF1, d.DF2 = float64(n), min(one.df, other.df)
	d.F = mat.Dot(differences, &solved) / d.DF1
	d.P = distuv.F{D1: d.DF1, D2: d.DF2}.Survival(d.F)
	d.Sentence = d.sentence()
	return d, nil
}

// combine adds one reader's share to the difference: until both are in, Low and
// High hold squares of the distances to the ends.
func (o *OfficeDifference) combine(r ratio, sign float64) {
	if sign > 0 {
		o.Difference = r.value
		o.Low, o.High = (r.value-r.low)*(r.value-r.low), (r.high-r.value)*(r.high-r.value)
		return
	}
	o.Difference -= r.value
	o.Low = o.Difference - math.Sqrt(o.Low+(r.high-r.value)*(r.high-r.value))
	o.High = o.Difference + math.Sqrt(o.High+(r.value-r.low)*(r.value-r.low))
}

func (c *Carried) index(office codex.Office) int {
	return slices.IndexFunc(c.Offices, func(o OfficeShare) bool { return o.Office == office })
}

// shares are those of the offices given, of the first of them, each with its
// 95 % interval, and their covariance to first order.
func (c *Carried) shares(offices []codex.Office) (shares []ratio, covariance *mat.SymDense, ok bool) {
	n := len(offices) - 1
	first := c.index(offices[0])
	base := c.Offices[first].Wear
	t := distuv.StudentsT{Sigma: 1, Nu: c.df}.Quantile((1 + shareLevel) / 2)
	slopes := mat.NewDense(n, len(c.Offices), nil)
	for i, office := range offices[1:] {
		at := c.index(office)
		r, ok := fieller(c.Offices[at].Wear, base, c.covariance.At(at, at), c.covariance.At(first, first), c.covariance.At(at, first), t)
		if !ok {
			return nil, nil, false
		}
		shares = append(shares, r)
		slopes.Set(i, at, 1/base)
		slopes.Set(i, first, -r.value/base)
	}
	var half, full mat.Dense
	half.Mul(slopes, c.covariance)
	full.Mul(&half, slopes.T())
	covariance = mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			covariance.SetSym(i, j, (full.At(i, j)+full.At(j, i))/2)
		}
	}
	return shares, covariance, true
}

func (d *Difference) sentence() string {
	last := d.Offices[len(d.Offices)-1]
	text := fmt.Sprintf("to %s the first carried on %+.0f %% points more than the second (95 %% interval %+.0f to %+.0f)", last.Office, 100*last.Difference, 100*last.Low, 100*last.High)
	if d.P < 0.05 {
		return fmt.Sprintf("The two readers did not carry on alike (p = %.2g): %s.", d.P, text)
	}
	return fmt.Sprintf("Nothing shows that the two readers did not carry on alike (p = %.2f): %s.", d.P, text)
}
