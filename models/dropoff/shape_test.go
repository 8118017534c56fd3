package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// newShapedTrial is a trial without breaks and with room for three rows a
// piece.
func newShapedTrial(seed uint64) trial {
	x := newTrial(seed)
	rng := rand.New(rand.NewPCG(seed, 5))
	x.o.MinLength, x.o.Breaks = 3, nil
	for len(x.s.Values) < 11 {
		n := len(x.s.Values)
		x.s.Values = append(x.s.Values, x.s.Values[n-1]/2+rng.NormFloat64())
		x.s.Position = append(x.s.Position, x.s.Position[n-1]+1+float64(rng.IntN(2)))
		if x.s.SE != nil {
			x.s.SE = append(x.s.SE, 0.5)
		}
	}
	x.v.se = x.s.SE
	return x
}

// TestShapesAgainstBruteForce: for each number of changes the best segmentation
// of each shape is the best of all there are, fitted by dense generalised least
// squares. Tolerance 1e-7: dense equations of nearly collinear columns.
func TestShapesAgainstBruteForce(t *testing.T) {
	for seed := range uint64(60) {
		x := newShapedTrial(seed)
		if x.v.rho > 0 && x.s.SE != nil {
			continue
		}
		q := x.search(t)
		l := newLineup(x.s, x.v, q)
		n := len(x.s.Values)
		one := filled(n, 1)
		at := slices.Clone(l.at[1:])
		for name, m := range map[string]shaped{
			"slopes":   &slopes{lineup: l, sums: l.prefix()},
			"joints":   newJoints(l),
			"scatters": &scatters{lineup: l},
		} {
			best := map[int]float64{}
			x.all(func(places []int, changes int) {
				cost := 0.0
				switch name {
				case "joints":
					// Joints stand on rows, and the first piece has its own row too.
					columns := [][]float64{one, at}
					for _, s := range places {
						beyond := make([]float64, n)
						for i := range beyond {
							beyond[i] = max(at[i]-at[s-1], 0)
						}
						columns = append(columns, beyond)
					}
					cost, _, _ = x.dense(t, columns...)
				default:
					from := 0
					for _, to := range append(slices.Clone(places), n) {
						part := trial{s: Series{Values: x.s.Values[from:to], Position: x.s.Position[from:to]}, v: x.v}
						if x.s.SE != nil {
							part.s.SE = x.s.SE[from:to]
						}
						if name == "slopes" {
							misfit, _, _ := part.dense(t, one[from:to], at[from:to])
							cost += misfit + logDetOf(part)
						} else {
							misfit, logDet, _ := part.dense(t, one[from:to])
							half := float64(to-from-1) / 2
							gamma, _ := math.Lgamma(half)
							cost -= gamma - half*math.Log(misfit/2) - (logDet+logDetOf(part))/2
						}
						from = to
					}
				}
				if now, ok := best[changes]; !ok || cost < now {
					best[changes] = cost
				}
			})
			tried := 0
			m.path(func(k int, places []int) bool {
				tried++
				var cost float64
				criterion, misfit := m.score(places)
				switch name {
				case "joints":
					cost = misfit
				case "slopes":
					cost = misfit + q.logs
					for _, s := range append([]int{0}, places...) {
						cost += q.start[s+1]
					}
				default:
					// The unit of the noise and the whole's logarithms are left out of evidence.
					pieces := float64(k + 1)
					cost = -(criterion + float64(k)*math.Log(float64(n))) + pieces*l.unit()/2 + q.logs/2
				}
				if !near(cost, best[k], 1e-7) {
					t.Errorf("seed %d, %s, %d changes: %v, not %v", seed, name, k, cost, best[k])
				}
				return true
			})
			if tried != len(best) {
				t.Errorf("seed %d, %s: %d numbers of changes, not %d", seed, name, tried, len(best))
			}
		}
	}
}

// logDetOf is the logarithm of the determinant of a trial's covariance.
func logDetOf(x trial) float64 {
	n := len(x.s.Values)
	return minusTwice(make([]float64, n), x.covariance(0, n))
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
		"lines that are joined do not go with known breaks": second(SegmentBy(JoinedLines, s, Options{Breaks: []int{3}})),
		"has 2 rows":      second(SegmentBy(LevelAndSlope, Series{Values: s.Values[:2]}, Options{})),
		"has 4000 rows":   second(SegmentBy(LevelAndSlope, Series{Values: append(make([]float64, 3999), 1)}, Options{})),
		"in 7 rows with ": second(SegmentBy(LevelAndScatter, s, Options{Number: &five})),
	} {
		if err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%v, without %q", err, words)
		}
	}
}

func second(_ *Shaped, err error) error { return err }
