package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A trial is a short random series with options, small enough to try all its
// segmentations.
type trial struct {
	s Series
	o Options
	v noise
}

func newTrial(seed uint64) trial { return newTrialOf(seed, 5, 9) }

// newTrialOf draws one of least to most rows.
func newTrialOf(seed uint64, least, most int) trial {
	rng := rand.New(rand.NewPCG(seed, 1))
	n := least + rng.IntN(most-least+1)
	t := trial{o: Options{MinLength: 1 + rng.IntN(2), Expected: 0.5 + rng.Float64()}, v: noise{scatter: 0.5 + rng.Float64()}}
	level, position := 0.0, 0.0
	for range n {
		if rng.IntN(4) == 0 {
			level = 2 * rng.NormFloat64()
		}
		t.s.Values = append(t.s.Values, level+rng.NormFloat64())
		position += float64(1 + rng.IntN(3))
		t.s.Position = append(t.s.Position, position)
	}
	if seed%2 == 0 {
		for range n {
			t.s.SE = append(t.s.SE, 0.2+rng.Float64())
		}
		t.v.se = t.s.SE
	}
	if seed%3 == 0 {
		t.v.rho = 0.6
	}
	if seed%5 == 0 {
		t.o.Breaks = []int{n / 2}
	}
	if seed%15 == 0 {
		t.o.Breaks = []int{n / 2, 1, n / 2} // a row by itself; and one named twice
	}
	if seed%7 == 0 {
		t.o.Quiet = [][2]int{{1, 3}}
		if t.o.Breaks != nil {
			t.o.Breaks = []int{max(n/2, 3)} // not inside it
		}
	}
	return t
}

func (t trial) search(tb testing.TB) search {
	tb.Helper()
	where, err := t.o.places(len(t.s.Values))
	if err != nil {
		tb.Fatal(err)
	}
	return search{newRows(t.s, t.v), where, t.o.MinLength}
}

// all calls f with every segmentation that the options allow, as the last rows
// of all segments but the last, and its number of changes.
func (t trial) all(f func(places []int, changes int)) {
	n := len(t.s.Values)
	for mask := range 1 << (n - 1) {
		var places []int
		changes, ok := 0, true
		for s := 1; s < n; s++ {
			at := mask>>(s-1)&1 == 1
			known := slices.Contains(t.o.Breaks, s)
			if at {
				places = append(places, s)
				if !known {
					changes++
				}
			}
			ok = ok && (at || !known)
			for _, zone := range t.o.Quiet {
				ok = ok && !(at && !known && zone[0] <= s && s < zone[1])
			}
		}
		from := 0
		known := append([]int{0, n}, t.o.Breaks...)
		for _, to := range append(slices.Clone(places), n) {
			ok = ok && (to-from >= t.o.MinLength || slices.Contains(known, from) && slices.Contains(known, to))
			from = to
		}
		if ok {
			f(places, changes)
		}
	}
}

// covariance is that of rows from+1 to to, written out.
func (t trial) covariance(from, to int) *mat.SymDense {
	v := mat.NewSymDense(to-from, nil)
	for i := from; i < to; i++ {
		for j := i; j < to; j++ {
			c := t.v.scatter * t.v.scatter
			if i != j {
				c *= math.Pow(t.v.rho, t.s.Position[j]-t.s.Position[i])
			}
			if i == j && t.s.SE != nil {
				c += t.s.SE[i] * t.s.SE[i]
			}
			v.SetSym(i-from, j-from, c)
		}
	}
	return v
}

// minusTwice is −2 log density of values with that covariance, without the
// constant n log 2π.
func minusTwice(values []float64, v mat.Symmetric) float64 {
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		return math.NaN()
	}
	y := mat.NewVecDense(len(values), slices.Clone(values))
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, y); err != nil {
		return math.NaN()
	}
	return mat.Dot(y, &x) + chol.LogDet()
}

// segmentAt is −2 log likelihood of rows from+1 to to about a level: the full
// covariance, or with both correlation and standard errors the product of each
// row given the one before.
func (t trial) segmentAt(from, to int, level float64) float64 {
	y := slices.Clone(t.s.Values[from:to])
	floats.AddConst(-level, y)
	if t.v.rho == 0 || t.s.SE == nil {
		return minusTwice(y, t.covariance(from, to))
	}
	sum := minusTwice(y[:1], t.covariance(from, from+1))
	for i := 1; i < len(y); i++ {
		sum += minusTwice(y[i-1:i+1], t.covariance(from+i-1, from+i+1)) - minusTwice(y[i-1:i], t.covariance(from+i-1, from+i))
	}
	return sum
}

// quadraticOf is the segment as a quadratic in the level, from three levels.
func (t trial) quadraticOf(from, to int) quadratic {
	f0, f1, f2 := t.segmentAt(from, to, 0), t.segmentAt(from, to, 1), t.segmentAt(from, to, -1)
	return quadratic{a: (f1+f2)/2 - f0, b: (f2 - f1) / 4, c: f0}
}

const trials = 210 // all combinations of standard errors, correlation, breaks and zones

// TestPathAgainstBruteForce: for each number of changes and for a penalty, the
// best segmentation is the best of all there are. Tolerance 1e-9 of the cost:
// rounding of ten rows.
func TestPathAgainstBruteForce(t *testing.T) {
	for seed := range uint64(trials) {
		x := newTrial(seed)
		best := map[int]float64{}
		const penalty = 3.0
		penalised := math.Inf(1)
		x.all(func(places []int, changes int) {
			cost, from := 0.0, 0
			for _, to := range append(slices.Clone(places), len(x.s.Values)) {
				cost += x.quadraticOf(from, to).least()
				from = to
			}
			if now, ok := best[changes]; !ok || cost < now {
				best[changes] = cost
			}
			penalised = min(penalised, cost+penalty*float64(changes))
		})
		q := x.search(t)
		var path [][]int
		q.path(func(_ int, places []int) bool {
			path = append(path, places)
			return true
		})
		if len(path) != len(best) {
			t.Errorf("seed %d: %d numbers of changes, not %d", seed, len(path), len(best))
		}
		for k, places := range path {
			misfit, logs := q.total(places)
			if !near(misfit+logs, best[k], 1e-9) {
				t.Errorf("seed %d, %d changes: cost %v, not %v", seed, k, misfit+logs, best[k])
			}
		}
		places := q.penalised(penalty)
		misfit, logs := q.total(places)
		if got := misfit + logs + penalty*float64(len(places)-len(x.o.breaks())); !near(got, penalised, 1e-9) {
			t.Errorf("seed %d: penalised cost %v, not %v", seed, got, penalised)
		}
	}
}

func near(a, b, tolerance float64) bool {
	return math.Abs(a-b) <= tolerance*max(1, math.Abs(a), math.Abs(b))
}

// tallied sums the weights of all segmentations of a trial by what happens in
// them; see [TestPosteriorAgainstBruteForce].
func (t trial) tallied(q search, p prior, phi float64, zones []zone, low, high int) map[string]float64 {
	weights := map[string]float64{}
	t.all(func(places []int, changes int) {
		w := math.Exp(t.logWeight(q, p, phi, places, changes))
		weights["all"] += w
		weights[key("number", changes)] += w
		none := true
		for _, s := range places {
			weights[key("end", s)] += w
			none = none && (s < low || s > high)
		}
		if none {
			weights["none"] += w
		}
		if spots, ok := t.oneEach(places, zones); ok {
			for j, s := range spots {
				weights[key("spot", j, s)] += w
			}
		}
	})
	return weights
}

// logWeight is the logarithm of a segmentation's weight: of its changes
// beforehand, and the density of its rows with the level integrated out by adding
// its variance to the covariance.
func (t trial) logWeight(q search, p prior, phi float64, places []int, changes int) float64 {
	log, from := float64(changes)*math.Log(p.change/(1-p.change)), 0
	for _, to := range append(slices.Clone(places), len(t.s.Values)) {
		y := slices.Clone(t.s.Values[from:to])
		floats.AddConst(-q.centre, y)
		v := t.covariance(from, to)
		for i := range y {
			for j := i; j < len(y); j++ {
				v.SetSym(i, j, phi*v.At(i, j)+p.spread)
			}
		}
		log -= minusTwice(y, v) / 2
		from = to
	}
	return log
}

// oneEach gives the place in each zone, where there is exactly one in each and
// none elsewhere, known breaks passed over.
func (t trial) oneEach(places []int, zones []zone) (spots []int, ok bool) {
	for _, s := range places {
		if slices.Contains(t.o.Breaks, s) {
			continue
		}
		j := len(spots)
		if j == len(zones) || s < zones[j].low || s > zones[j].high {
			return nil, false
		}
		spots = append(spots, s)
	}
	return spots, len(spots) == len(zones)
}

// TestPosteriorAgainstBruteForce: the recursion gives the probabilities that
// summing over all segmentations gives. Tolerance 1e-9: rounding of a few hundred
// terms.
func TestPosteriorAgainstBruteForce(t *testing.T) {
	const phi, low, high = 1.3, 2, 3
	p := prior{change: 0.2, spread: 4}
	for seed := range uint64(trials) {
		x := newTrial(seed)
		if x.v.rho > 0 && x.s.SE != nil {
			continue // each row given the one before: no covariance to write out
		}
		q := x.search(t)
		n := len(x.s.Values)
		zones := q.zonesAbout([]int{n / 3, n - 2})
		weights := x.tallied(q, p, phi, zones, low, high)
		post := newPosterior(q, p, phi)
		agree := func(what string, got float64) {
			t.Helper()
			if want := weights[what] / weights["all"]; !near(got, want, 1e-9) {
				t.Errorf("seed %d, %s: probability %v, not %v", seed, what, got, want)
			}
		}
		for s := 1; s < n; s++ {
			agree(key("end", s), post.ends[s])
		}
		for k, got := range post.number(1e-12) {
			agree(key("number", k), got)
		}
		agree("none", post.none(low, high))
		for j, spot := range post.spots(zones) {
			for s, got := range spot {
				agree(key("spot", j, s), got)
			}
		}
		if want := math.Log(weights["all"]); !near(post.evidence, want, 1e-9) {
			t.Errorf("seed %d: evidence %v, not %v", seed, post.evidence, want)
		}
	}
}

// key names what happens in a segmentation.
func key(what string, numbers ...int) string {
	for _, k := range numbers {
		what += " " + string(rune('0'+k))
	}
	return what
}
