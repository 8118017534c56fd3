package dropoff

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// alarmDraws is how many series without change are drawn to see how often
// noise alone looks as much like a change as the series does.
const alarmDraws = 99

// AlarmAsked is up to which share of drawn series may look as much like a change
// for it to be reported. The rate of false alarms to be kept is 5 in 100, by
// simulation with heavy tails, floors and correlations up to 0.6; drawn series have
// the noise that was estimated, which at times is less alike in neighbours than the
// true one, so that asking for 5 would let up to 5.3 pass.
const AlarmAsked = 0.04

// mostDrawnLikeness bounds the correlation of the noise that is drawn. It is
// estimated about one level, and a step makes its neighbours look alike: about one
// level a clear step has a correlation near 0.9, and noise of that kind looks like
// steps at every turn, so that no step could ever be told from it. False alarms are
// to be kept at correlations up to 0.6, which this bound leaves room for; beyond, a
// note warns.
const mostDrawnLikeness = 0.7

// mostDrawn is the longest series for which others are drawn.
const mostDrawn = 5000

// alarmChanges bounds the number of changes in the statistic: one that is
// there shows with a few, if it does at all.
const alarmChanges = 4

// alarmLikenesses are the correlations of the noise that the statistic weighs.
var alarmLikenesses = []float64{0, 0.2, 0.4, 0.6}

// A contest holds the four candidate models of a series, each with the correlation of
// the noise that suits it best.
type contest struct {
	none, steady, broken, steps entry
}

// An entry is a candidate with the fits that fitted it.
type entry struct {
	Candidate
	candidateFits
}

// gain is how much better steps are than no change.
func (c contest) gain() float64 { return c.steps.Criterion - c.none.Criterion }

// best is how much better the best candidate is than no change.
func (c contest) best() float64 {
	return max(c.gain(), c.steady.Criterion-c.none.Criterion, c.broken.Criterion-c.none.Criterion)
}

// newContest fits the candidates. It takes the noise from neighbouring rows
// alone, so that drawn series are treated as the real one is.
func newContest(s Series, o Options, where places) contest {
	lowest := entry{Candidate: Candidate{Criterion: -inf}}
	c := contest{lowest, lowest, lowest, lowest}
	s, _ = o.joined(s)
	flat := s.levelled(o.breaks())
	for _, rho := range o.correlations() {
		v := robustNoise(flat, rho)
		l := newCandidateFits(s, v, search{newRows(s, v), where, o.MinLength})
		cost := correlationCost(rho, l.n)
		enter := func(e *entry, a Candidate) {
			if a.Criterion -= cost; a.Criterion > e.Criterion {
				*e = entry{a, l}
			}
		}
		none, steps := l.levels()
		steady, broken := l.lines()
		enter(&c.none, none)
		enter(&c.steady, steady)
		enter(&c.broken, broken)
		enter(&c.steps, steps)
	}
	return c
}

// correlations are those that the candidates are fitted with.
func (o Options) correlations() []float64 {
	if o.Correlation != nil {
		return []float64{*o.Correlation}
	}
	return alarmLikenesses
}

// alarms says how often series without change look as much like a change as
// the real one: like steps, and like any of the candidates of a change.
type alarms struct{ steps, any float64 }

// falseAlarms estimates how often a series without change, with noise like this
// one's, looks as much like a change: the share of drawn series, the real one
// counted in, whose criterion is as much better than that of no change (Davison
// and Hinkley 1997, Bootstrap Methods and their Application, section 4.2). Noise
// is drawn from the series' own innovations about one level, or about one between
// any two known breaks, which are drawn and fitted along, so that heavy tails
// stay heavy, with the correlation estimated about one level and corrected for
// its bias (Marriott and Pope 1954, Biometrika 41, 390–402), rows' standard
// errors and positions as they are, and as many rows at the floor as the series
// has; see mostDrawnLikeness. Single rows far from both their neighbours are put
// between these before any candidate is fitted, and drawn as such; see isolated.go.
//
// Drawing ends early once it is clear that both rates are above what is asked; the
// estimates are then from fewer draws. Where less is asked than so many draws can
// tell, rates come from the tail of what was drawn (tailRate).
func falseAlarms(real contest, s Series, o Options, where places) alarms {
	d, most := newDrawing(s, o, 0), alarmDraws
	if o.asked()*(alarmDraws+1) < leastTold {
		most = tailDraws
	}
	clear := max(int(2*o.asked()*float64(most+1)), int(2*leastTold*float64(most+1)/(alarmDraws+1)))
	if most == alarmDraws {
		clear = int(2 * o.asked() * (alarmDraws + 1))
	}
	var steps, any []float64
	asSteps, asAny := 1, 1
	for len(steps) < most && min(asSteps, asAny) <= clear {
		drawn := newContest(d.draw(uint64(len(steps)+1)), o, where)
		steps, any = append(steps, drawn.gain()), append(any, drawn.best())
		if drawn.gain() >= real.gain() {
			asSteps++
		}
		if drawn.best() >= real.best() {
			asAny++
		}
	}
	if most == tailDraws && len(steps) == most {
		return alarms{tailRate(steps, real.gain(), asSteps), tailRate(any, real.best(), asAny)}
	}
	return alarms{float64(asSteps) / float64(len(steps)+1), float64(asAny) / float64(len(any)+1)}
}

// leastTold is how many of the drawn series, the real one among them, must be let
// pass for their share to be told by counting; tailDraws are drawn where it is fewer.
const (
	leastTold = 4
	tailDraws = 199
)

// tailRate is the chance that a drawn value reaches at, where few do: beyond the
// largest quarter of the values it falls off exponentially, as that of a likelihood
// ratio does, by their mean excess (Knijnenburg, Wessels, Reinders and Shmulevich
// 2009, Bioinformatics 25, i161–i168, with the shape of the Pareto tail 0). Where ten
// or more reach it, they are counted; reached counts the real series in.
func tailRate(drawn []float64, at float64, reached int) float64 {
	counted := float64(reached) / float64(len(drawn)+1)
	if reached > 10 {
		return counted
	}
	sorted := slices.Clone(drawn)
	slices.SortFunc(sorted, func(a, b float64) int { return cmp.Compare(b, a) })
	tail := len(sorted) / 4
	from := (sorted[tail-1] + sorted[tail]) / 2
	scale := stat.Mean(sorted[:tail], nil) - from
	if !(scale > 0) || !(at > from) {
		return counted
	}
	return 0.25 * math.Exp(-(at-from)/scale)
}

// A drawing makes series of one level with noise like a given one's.
type drawing struct {
	like    Series
	share   []float64 // of row i−1 in row i
	sd      []float64 // of the rest
	errors  []float64 // innovations in units of their standard deviation
	apart   []float64 // how far single rows stand apart from their neighbours
	floored int       // rows with the smallest value
	adjust  func([]float64)
	ends    []int // last rows of the parts between known breaks; none or one where there is no break
}

// newDrawing takes the innovations of a series about one level, or one between
// any two known breaks, with the correlation that suits it best; slopes are how
// many slopes were taken out of it beforehand.
func newDrawing(s Series, o Options, slopes int) drawing {
	n, breaks := len(s.Values), o.breaks()
	d := drawing{like: s, adjust: o.Adjust, floored: floored(s.Values), ends: append(breaks, n)}
	s, d.apart = o.joined(s)
	s = s.levelled(breaks)
	rho := o.alone(s)
	v := fittedNoise(s, rho, breaks)
	if s.SE == nil {
		v = robustNoise(s, rho)
	}
	from := 0
	for _, to := range d.ends {
		level, _ := v.mean(s, from, to)
		for i := from + 1; i <= to && to-from > 1; i++ { // a single row is its own level
			share, rest := v.afresh(s, i, from)
			e := s.Values[i-1] - level
			if i > from+1 {
				e -= share * (s.Values[i-2] - level)
			}
			d.errors = append(d.errors, e/math.Sqrt(rest))
		}
		from = to
	}
	mean, sd := stat.MeanStdDev(d.errors, nil)
	if sd == 0 {
		sd = 1 // innovations that are all the same: nothing is left of them
	}
	for i := range d.errors {
		d.errors[i] = (d.errors[i] - mean) / sd
	}
	if o.Correlation == nil {
		// Estimated about an estimated level the correlation is too small by
		// (1 + 3ρ)/n, of which each further level or slope adds the (1 + ρ)/n that it
		// has from being estimated.
		v.rho = min(rho+(1+3*rho+float64(len(breaks)+slopes)*(1+rho))/float64(n), mostDrawnLikeness)
	}
	from = 0
	for _, to := range d.ends {
		for i := from + 1; i <= to; i++ {
			share, rest := v.afresh(s, i, from)
			d.share, d.sd = append(d.share, share), append(d.sd, math.Sqrt(rest))
		}
		from = to
	}
	return d
}

// afresh is link, where noise begins afresh after row from.
func (v noise) afresh(s Series, i, from int) (share, rest float64) {
	if i == from+1 {
		return 0, v.variance(i)
	}
	return v.link(s, i)
}

// alone is the correlation of the noise of a series of one level: the one
// given, or that with the largest likelihood integrated over the level.
func (o Options) alone(s Series) float64 {
	if o.Correlation != nil {
		return *o.Correlation
	}
	best, rho := -inf, 0.0
	breaks := o.breaks()
	for at := 0.0; at < mostLikeness; at += 0.05 {
		one := search{rows: newRows(s, robustNoise(s, at)), places: places{breaks: len(breaks)}}
		if score := newCriterion(one, s.SE != nil).of(breaks); score > best {
			best, rho = score, at
		}
	}
	return rho
}

// draw makes one series.
func (d drawing) draw(seed uint64) Series {
	rng := rand.New(rand.NewPCG(seed, 0x7469726564)) // a fixed stream for each draw
	out := d.like
	out.Values = make([]float64, len(d.share))
	for i := range out.Values {
		out.Values[i] = d.sd[i] * d.errors[rng.IntN(len(d.errors))]
		if i > 0 {
			out.Values[i] += d.share[i] * out.Values[i-1]
		}
	}
	d.scatter(out.Values, rng)
	if d.adjust != nil {
		d.adjust(out.Values)
	}
	ends := d.ends
	if len(ends) < 2 {
		ends = []int{len(out.Values)}
	}
	from := 0
	for _, to := range ends {
		raise(out.Values[from:to], d.floor(from, to))
		from = to
	}
	return out
}

// scatter puts as many single rows apart as the series had, none near another as
// long as there is room.
func (d drawing) scatter(values []float64, rng *rand.Rand) {
	var taken []int
	near := func(at int) bool {
		return slices.ContainsFunc(taken, func(other int) bool { return distance(other, at) < 3 })
	}
	for _, by := range d.apart {
		at := rng.IntN(len(values))
		for tries := 0; tries < 20 && near(at); tries++ {
			at = rng.IntN(len(values))
		}
		values[at] += by
		taken = append(taken, at)
	}
}

// floor is how many of the rows from+1 to to are at the floor: that of the series,
// or one of their own, where what was measured before and after a known break was
// not measured alike.
func (d drawing) floor(from, to int) int {
	if len(d.ends) < 2 {
		return d.floored // of a window these are a share of those of the series
	}
	part := d.like.Values[from:to]
	at, low := lowest(part)
	if all, _ := bounds(d.like.Values); d.floored > 0 && low == all {
		return at
	}
	return floored(part)
}

// lowest is how many values are the smallest, and that one.
func lowest(values []float64) (at int, low float64) {
	low, _ = bounds(values)
	for _, v := range values {
		if v == low {
			at++
		}
	}
	return at, low
}

// raise brings the smallest values, so many of them, up to the largest of these.
func raise(values []float64, many int) {
	if many == 0 {
		return
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	for i := range values {
		values[i] = max(values[i], sorted[many-1])
	}
}

// floored is how many rows have the smallest value, if they are so many that
// it must be a floor; otherwise 0.
func floored(values []float64) int {
	at, _ := lowest(values)
	if at < 3 || 10*at < len(values) {
		return 0
	}
	return at
}
