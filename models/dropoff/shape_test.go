package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// newShapedTrial is a trial with room for three rows a piece, whose positions
// have gaps.
func newShapedTrial(seed uint64) trial {
	x := newTrial(seed)
	rng := rand.New(rand.NewPCG(seed, 5))
	x.o.MinLength = 3
	for len(x.s.Values) < 13 {
		n := len(x.s.Values)
		x.s.Values = append(x.s.Values, x.s.Values[n-1]/2+rng.NormFloat64())
		x.s.Position = append(x.s.Position, x.s.Position[n-1]+1+float64(rng.IntN(2)))
		if x.s.SE != nil {
			x.s.SE = append(x.s.SE, 0.2+rng.Float64())
		}
	}
	if x.o.Breaks != nil {
		x.o.Breaks = []int{8 + rng.IntN(3)}
	}
	x.v.se = x.s.SE
	return x
}

// part is the trial of rows from+1 to to alone.
func (t trial) part(from, to int) trial {
	out := trial{s: Series{Values: t.s.Values[from:to], Position: t.s.Position[from:to]}, v: t.v}
	if t.s.SE != nil {
		out.s.SE = t.s.SE[from:to]
		out.v.se = out.s.SE
	}
	return out
}

// parts calls f with the first and last row of each stretch between places.
func (t trial) parts(places []int, f func(from, to int)) {
	from := 0
	for _, to := range append(slices.Clone(places), len(t.s.Values)) {
		f(from, to)
		from = to
	}
}

// bent are the columns of lines joined at the places inside rows from+1 to to.
func bent(at []float64, places []int, from, to int) [][]float64 {
	columns := [][]float64{filled(to-from, 1), at[from:to]}
	for _, s := range places {
		if from < s && s < to {
			beyond := make([]float64, to-from)
			for i := range beyond {
				beyond[i] = max(at[from+i]-at[s-1], 0)
			}
			columns = append(columns, beyond)
		}
	}
	return columns
}

// shapesOf are the models of a trial by name.
func (t trial) shapesOf(tb testing.TB) (candidateFits, map[Shape]shaped) {
	l := newCandidateFits(t.s, t.v, t.search(tb))
	return l, map[Shape]shaped{LevelAndSlope: newSlopes(l), JoinedLines: newJoints(l), LevelAndScatter: newScatters(l)}
}

// shapeCost is what a segmentation costs by dense generalised least squares: −2
// log likelihood; for levels with their own scatter it is integrated over both.
func (t trial) shapeCost(tb testing.TB, shape Shape, at []float64, places []int) float64 {
	cost := 0.0
	alone := func(from, to int) {
		part := t.part(from, to)
		if shape == LevelAndSlope {
			misfit, _, _ := part.dense(tb, filled(to-from, 1), at[from:to])
			cost += misfit + logDetOf(part)
			return
		}
		misfit, logDet, _ := part.dense(tb, filled(to-from, 1))
		half := float64(to-from-1) / 2
		gamma, _ := math.Lgamma(half)
		cost -= gamma - half*math.Log(misfit/2) - (logDet+logDetOf(part))/2
	}
	if shape == JoinedLines {
		t.parts(t.o.breaks(), func(from, to int) { // joints stand on rows
			part := t.part(from, to)
			misfit, _, _ := part.dense(tb, bent(at, places, from, to)...)
			cost += misfit + logDetOf(part)
		})
		return cost
	}
	t.parts(places, alone)
	return cost
}

// ownCost is the same as the model has it.
func (t trial) ownCost(l candidateFits, shape Shape, m shaped, places []int) float64 {
	criterion, misfit := m.score(places)
	cost := misfit + l.logs
	switch shape {
	case JoinedLines:
		t.parts(t.o.breaks(), func(from, _ int) { cost += l.start[from+1] })
	case LevelAndSlope:
		t.parts(places, func(from, _ int) { cost += l.start[from+1] })
	default:
		// The unit of the noise and the whole's logarithms are left out of evidence.
		changes := float64(len(places) - l.breaks)
		cost = -(criterion + changes*math.Log(float64(l.n))) + float64(len(places)+1)*l.unit()/2 + l.logs/2
	}
	return cost
}

// TestShapesAgainstBruteForce: for each number of changes, and for a penalty, the
// best segmentation of each shape is the best of all there are, fitted by dense
// generalised least squares, with standard errors, correlation, gaps, known breaks
// and no-change stretches. Tolerance 1e-7: dense equations of nearly collinear
// columns.
func TestShapesAgainstBruteForce(t *testing.T) {
	for seed := range uint64(60) {
		x := newShapedTrial(seed)
		l, models := x.shapesOf(t)
		at := l.at[1:]
		for shape, m := range models {
			best, penalised := map[int]float64{}, inf
			const asked = 2.5
			penalty := asked
			if shape == LevelAndScatter {
				penalty -= l.unit() / 2 // levels are flat beforehand in units of the noise
			}
			x.all(func(places []int, changes int) {
				cost := x.shapeCost(t, shape, at, places)
				if now, ok := best[changes]; !ok || cost < now {
					best[changes] = cost
				}
				penalised = min(penalised, cost+penalty*float64(changes))
			})
			tried := 0
			m.path(func(k int, places []int) bool {
				tried++
				if cost := x.ownCost(l, shape, m, places); !near(cost, best[k], 1e-7) {
					t.Errorf("seed %d, %s, %d changes: %v, not %v", seed, shape, k, cost, best[k])
				}
				return true
			})
			if tried != len(best) {
				t.Errorf("seed %d, %s: %d numbers of changes, not %d", seed, shape, tried, len(best))
			}
			places := m.cheapest(asked)
			if cost := x.ownCost(l, shape, m, places) + penalty*float64(len(places)-l.breaks); !near(cost, penalised, 1e-7) {
				t.Errorf("seed %d, %s, penalised: %v, not %v", seed, shape, cost, penalised)
			}
		}
	}
}

// logDetOf is the logarithm of the determinant of a trial's covariance.
func logDetOf(x trial) float64 {
	n := len(x.s.Values)
	return minusTwice(make([]float64, n), x.implied())
}

// TestSizesAgainstDense: the sizes of a change and the slopes of pieces, and their
// standard errors, are those of dense generalised least squares. Tolerance 1e-6:
// dense equations of nearly collinear columns.
func TestSizesAgainstDense(t *testing.T) {
	agree := func(what string, seed uint64, e estimate, value, variance float64) {
		t.Helper()
		if !near(e.value, value, 1e-6) || !near(e.se, math.Sqrt(variance), 1e-6) {
			t.Errorf("seed %d, %s: %v (%v), not %v (%v)", seed, what, e.value, e.se, value, math.Sqrt(variance))
		}
	}
	for seed := range uint64(60) {
		x := newShapedTrial(seed)
		l, models := x.shapesOf(t)
		n, span := l.n, x.s.Position[l.n-1]-x.s.Position[0]
		places := append([]int{4}, x.o.Breaks...)
		switch {
		case x.o.Breaks == nil:
			places = []int{4, 8}
		case places[1] < 7:
			places = []int{places[1], places[1] + 3}
		}
		j := slices.IndexFunc(places, func(s int) bool { return !slices.Contains(x.o.Breaks, s) })
		place := places[j]
		from, to := neighbours(places, j, n)
		scale := func(misfit float64, p int) float64 { return l.scaleOf(misfit, p) }

		// Lines that are not joined: from the row of the change on.
		rise := func(from, to int) (b *mat.VecDense, cov *mat.Dense, misfit float64) {
			beyond := make([]float64, to-from)
			for i := range beyond {
				beyond[i] = x.s.Position[from+i] - x.s.Position[place]
			}
			b, precision, misfit := x.part(from, to).squares(t, filled(to-from, 1), beyond)
			cov = &mat.Dense{}
			if err := cov.Inverse(precision); err != nil {
				t.Fatal(err)
			}
			return b, cov, misfit
		}
		whole := 0.0
		x.parts(places, func(from, to int) {
			_, _, misfit := rise(from, to)
			whole += misfit
		})
		phi := scale(whole, 2*(len(places)+1))
		old, oldCov, _ := rise(from, place)
		now, nowCov, _ := rise(place, to)
		found := models[LevelAndSlope].differences(places, j)
		agree("jump", seed, found[0], now.AtVec(0)-old.AtVec(0), phi*(oldCov.At(0, 0)+nowCov.At(0, 0)))
		agree("change of slope", seed, found[1], now.AtVec(1)-old.AtVec(1), phi*(oldCov.At(1, 1)+nowCov.At(1, 1)))
		agree("slope", seed, models[LevelAndSlope].slope(places, j), old.AtVec(1), phi*oldCov.At(1, 1))

		// Joined lines: the coefficient of what lies beyond the joint.
		whole = 0
		var b *mat.VecDense
		var cov mat.Dense
		at := 0 // which column
		x.parts(x.o.breaks(), func(from, to int) {
			columns := bent(l.at[1:], places, from, to)
			coefficients, precision, misfit := x.part(from, to).squares(t, columns...)
			whole += misfit
			if from < place && place < to {
				b = coefficients
				if err := cov.Inverse(precision); err != nil {
					t.Fatal(err)
				}
				for _, s := range places {
					if from < s && s < place {
						at++
					}
				}
			}
		})
		phi = scale(whole, l.breaks*2+2+len(places)-l.breaks)
		bend := models[JoinedLines].differences(places, j)[0]
		agree("bend", seed, bend, b.AtVec(2+at)/span, phi*cov.At(2+at, 2+at)/span/span)

		// Levels with their own scatter: means, and their misfits.
		mean := func(from, to int) (level, variance, phi float64) {
			b, precision, misfit := x.part(from, to).squares(t, filled(to-from, 1))
			return b.AtVec(0), misfit / float64(to-from-1) / precision.At(0, 0), misfit / float64(to-from-1)
		}
		oldLevel, oldVariance, oldPhi := mean(from, place)
		level, variance, newPhi := mean(place, to)
		found = models[LevelAndScatter].differences(places, j)
		agree("means", seed, found[0], level-oldLevel, oldVariance+variance)
		if want := math.Sqrt(newPhi / oldPhi); !near(found[1].value, want, 1e-6) {
			t.Errorf("seed %d: ratio of scatters %v, not %v", seed, found[1].value, want)
		}
	}
}

// scaleOf is the variance of the noise alone.
func (l candidateFits) scaleOf(misfit float64, p int) float64 {
	phi, _ := l.scale(misfit, p)
	return phi
}

// TestShapesFound: each shape finds what was made, its place inside the
// interval.
func TestShapesFound(t *testing.T) {
	const n = 60
	for _, c := range []struct {
		shape Shape
		makes func(i int, noise float64) float64
		place int
	}{
		{LevelAndSlope, func(i int, e float64) float64 {
			if i < 30 {
				return float64(i)/10 + e
			}
			return 1 - float64(i-30)/20 + e
		}, 30},
		{JoinedLines, func(i int, e float64) float64 { return 5 - max(float64(i+1-25), 0)/6 + e }, 25},
		{LevelAndScatter, func(i int, e float64) float64 {
			if i < 25 {
				return e
			}
			return 0.3 + 5*e
		}, 25},
	} {
		rng := rand.New(rand.NewPCG(8, 8))
		s := Series{}
		for i := range n {
			s.Values = append(s.Values, c.makes(i, 0.4*rng.NormFloat64()))
		}
		found, err := SegmentBy(c.shape, s, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(found.Bends) != 1 {
			t.Errorf("%s: %+v", c.shape, found.Bends)
			continue
		}
		if b := found.Bends[0]; b.Low > c.place || b.High < c.place || b.Probability < 0.9 {
			t.Errorf("%s: %+v, made after %d", c.shape, b, c.place)
		}
		if len(found.Pieces) != 2 || found.Pieces[1].To != n {
			t.Errorf("%s: %+v", c.shape, found.Pieces)
		}
	}
}

// TestShapesSeldomFoundInNoise: in noise without change no shape is found more
// often than in 5 of 100 draws; in 30, by chance, hardly more than 4 times.
func TestShapesSeldomFoundInNoise(t *testing.T) {
	for _, shape := range []Shape{LevelAndSlope, JoinedLines, LevelAndScatter} {
		claimed := 0
		for seed := range uint64(30) {
			s := Series{Values: autoregressive(kindsOfNoise()[0], 50, []float64{0, 0.5}[seed%2], seed)}
			found, err := SegmentBy(shape, s, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if len(found.Bends) > 0 {
				claimed++
			}
		}
		if claimed > 4 {
			t.Errorf("%s was found in %d of 30 series of noise", shape, claimed)
		}
	}
}

func TestShapeWords(t *testing.T) {
	five := 5
	s := Series{Values: []float64{1, 2, 1, 2, 1, 2, 1}}
	for words, err := range map[string]error{
		`"wavy" is no shape`: second(SegmentBy("wavy", s, Options{})),
		"has 2 rows":         second(SegmentBy(LevelAndSlope, Series{Values: s.Values[:2]}, Options{})),
		"in 7 rows with ":    second(SegmentBy(LevelAndScatter, s, Options{Number: &five})),
	} {
		if err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%v, without %q", err, words)
		}
	}
}

func second(_ *Shaped, err error) error { return err }

// TestShapesInLongSeries: in series with more rows than are searched all at once,
// each shape finds its change within five rows of the interval of the place, and its
// size inside that of the size; and at a known break nothing is counted.
func TestShapesInLongSeries(t *testing.T) {
	for shape, c := range map[Shape]struct {
		n    int
		make func(beyond, e float64) float64 // of a row so far beyond the change
		size float64                         // the last one
	}{
		LevelAndSlope:   {5200, func(beyond, e float64) float64 { return max(beyond, 0)*0.001 + e + step(beyond > 0) }, 0.001},
		JoinedLines:     {2100, func(beyond, e float64) float64 { return max(beyond, 0)*0.004 + e }, 0.004},
		LevelAndScatter: {5200, func(beyond, e float64) float64 { return e * (1 + step(beyond > 0)/2) }, 1.5},
	} {
		place, known := 5*c.n/8, c.n/4
		values := autoregressive(kindsOfNoise()[0], c.n, 0.3, 78)
		for i := range values {
			values[i] = c.make(float64(i+1-place), values[i]) + 2*step(i >= known)
		}
		found, err := SegmentBy(shape, Series{Values: values}, Options{Breaks: []int{known}})
		if err != nil {
			t.Fatal(err)
		}
		if len(found.Bends) != 1 {
			t.Errorf("%s: %+v", shape, found.Bends)
			continue
		}
		b := found.Bends[0]
		if b.Low-5 > place || b.High+5 < place || b.Probability < 0.9 {
			t.Errorf("%s: %+v, made after %d", shape, b, place)
		}
		if last := b.Sizes[len(b.Sizes)-1]; last.Low > c.size || last.High < c.size {
			t.Errorf("%s: %+v, made %v", shape, last, c.size)
		}
	}
}

func step(after bool) float64 {
	if after {
		return 1
	}
	return 0
}
