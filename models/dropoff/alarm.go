package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// alarmDraws is how many series without change are drawn to see how often
// noise alone looks as much like a change as the series does.
const alarmDraws = 99

// alarmLevel is the false-alarm rate kept: where noise alone does so more
// often, no change is reported.
const alarmLevel = 0.05

// mostDrawn is the longest series for which others are drawn.
const mostDrawn = 5000

// alarmChanges bounds the number of changes in the statistic: one that is
// there shows with a few, if it does at all.
const alarmChanges = 4

// alarmLikenesses are the correlations of the noise that the statistic weighs.
var alarmLikenesses = []float64{0, 0.2, 0.4, 0.6}

// A contest is how much better the best segmentation with changes is than none,
// by the criterion, both with the correlation of the noise that suits them
// best.
type contest struct {
	gain float64
	rho  float64 // the correlation that suits no change best
}

// newContest computes the statistic. It takes the noise from neighbouring rows
// alone, so that drawn series are treated as the real one is.
func newContest(s Series, o Options, where places) contest {
	none, some := -inf, -inf
	var c contest
	for _, rho := range o.likenesses() {
		q := search{newRows(s, robustNoise(s, rho)), where, o.MinLength}
		by := newCriterion(q, s.SE != nil)
		q.path(func(k int, places []int) bool {
			score := by.of(places) - likenessCost(rho, q.n)
			switch {
			case k > 0:
				some = max(some, score)
			case score > none:
				none, c.rho = score, rho
			}
			return k < alarmChanges
		})
	}
	c.gain = some - none
	return c
}

// likenesses are the correlations that the statistic weighs.
func (o Options) likenesses() []float64 {
	if o.Correlation != nil {
		return []float64{*o.Correlation}
	}
	return alarmLikenesses
}

// falseAlarm estimates how often a series without change, with noise like this
// one's, looks as much like a change: the share of drawn series, the real one
// counted in, whose statistic is as large (Davison and Hinkley 1997, Bootstrap
// Methods and their Application, section 4.2). Noise is drawn from the series'
// own innovations about one level, so that heavy tails stay heavy, with the
// correlation estimated about one level and corrected for its bias (Marriott
// and Pope 1954, Biometrika 41, 390–402), rows' standard errors and positions
// as they are, and as many rows at the floor as the series has.
//
// Drawing ends early once it is clear that the rate is above alarmLevel, in
// which case the estimate is from fewer draws.
func falseAlarm(s Series, o Options, where places) float64 {
	real := newContest(s, o, where)
	d := newDrawing(s, real.rho)
	enough := int(alarmLevel * (alarmDraws + 1))
	asLarge := 0
	for draw := range alarmDraws {
		if newContest(d.draw(uint64(draw)), o, where).gain >= real.gain {
			if asLarge++; asLarge >= 2*enough {
				return float64(asLarge+1) / float64(draw+2)
			}
		}
	}
	return float64(asLarge+1) / (alarmDraws + 1)
}

// A drawing makes series of one level with noise like a given one's.
type drawing struct {
	like    Series
	noise   noise
	share   []float64 // of row i−1 in row i
	sd      []float64 // of the rest
	errors  []float64 // innovations in units of their standard deviation
	floored int       // rows with the smallest value
}

// newDrawing takes the innovations of a series about one level, with the
// correlation given.
func newDrawing(s Series, rho float64) drawing {
	n := len(s.Values)
	v := fittedNoise(s, rho, nil)
	if s.SE == nil {
		v = robustNoise(s, rho)
	}
	level, _ := v.mean(s, 0, n)
	d := drawing{like: s, floored: floored(s.Values)}
	for i := 1; i <= n; i++ {
		share, rest := v.link(s, i)
		e := s.Values[i-1] - level
		if i > 1 {
			e -= share * (s.Values[i-2] - level)
		}
		d.errors = append(d.errors, e/math.Sqrt(rest))
	}
	mean, sd := stat.MeanStdDev(d.errors, nil)
	for i := range d.errors {
		d.errors[i] = (d.errors[i] - mean) / sd
	}
	// Estimated about an estimated level the correlation is too small by
	// (1 + 3ρ)/n.
	v.rho = min(rho+(1+3*rho)/float64(n), mostLikeness)
	if rho == 0 {
		v.rho = 0
	}
	for i := 1; i <= n; i++ {
		share, rest := v.link(s, i)
		d.share, d.sd = append(d.share, share), append(d.sd, math.Sqrt(rest))
	}
	return d
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
	if d.floored > 0 {
		sorted := slices.Clone(out.Values)
		slices.Sort(sorted)
		for i := range out.Values {
			out.Values[i] = max(out.Values[i], sorted[d.floored-1])
		}
	}
	return out
}

// floored is how many rows have the smallest value, if they are so many that
// it must be a floor; otherwise 0.
func floored(values []float64) int {
	low, _ := bounds(values)
	at := 0
	for _, v := range values {
		if v == low {
			at++
		}
	}
	if at < 3 || 10*at < len(values) {
		return 0
	}
	return at
}
