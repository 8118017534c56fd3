package readings

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// The peak flow of 17 people by two meters (Bland and Altman 1986, Lancet i, 307–310,
// table 1, first readings; held to its transcription in the R package blandr): mean
// difference −2.1, standard deviation 38.8, limits of agreement −79.7 to 75.5 with two
// standard deviations.
func TestLimitsOfAgreement(t *testing.T) {
	large := []float64{494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427}
	mini := []float64{512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451}
	a := agreement(mini, large, make([]int, len(large)), 1)
	near(t, "mean difference", a.Difference, -2.1, 0.05)
	near(t, "standard deviation", a.SD, 38.8, 0.05)
	near(t, "lower limit", a.Difference-2*a.SD, -79.7, 0.1)
	near(t, "upper limit", a.Difference+2*a.SD, 75.5, 0.1)
}

// The same people, each measured twice by each meter (table 1 and the section on repeated
// measurements): means of two differ with a standard deviation of 33.2, single readings,
// by what the readings of one meter differ by (21.6 and 28.2), of 37.7.
func TestLimitsOfAgreementOfRepeatedReadings(t *testing.T) {
	large := [][]float64{{494, 490}, {395, 397}, {516, 512}, {434, 401}, {476, 470}, {557, 611}, {413, 415}, {442, 431}, {650, 638}, {433, 429}, {417, 420}, {656, 633}, {267, 275}, {478, 492}, {178, 165}, {423, 372}, {427, 421}}
	mini := [][]float64{{512, 525}, {430, 415}, {520, 508}, {428, 444}, {500, 500}, {600, 625}, {364, 460}, {380, 390}, {658, 642}, {445, 432}, {432, 420}, {626, 605}, {260, 227}, {477, 467}, {259, 268}, {350, 370}, {451, 443}}
	p := &paired{}
	of := make([]pool, 2)
	for i := range large {
		p.spots = append(p.spots, pairedSpot{book: fmt.Sprint(i), values: map[int][]float64{0: mini[i], 1: large[i]}})
		of[0].add(mini[i], 1)
		of[1].add(large[i], 1)
	}
	p.variance = []float64{of[0].variance(), of[1].variance()}
	near(t, "mini, twice", math.Sqrt(2*p.variance[0]), 28.2, 0.05)
	near(t, "large, twice", math.Sqrt(2*p.variance[1]), 21.6, 0.05)
	a, ok := p.compare(0, 1, []Instrument{{ID: "mini"}, {ID: "large"}})
	if !ok {
		t.Fatal("no agreement")
	}
	near(t, "mean difference", a.Difference, -6.0, 0.05)
	near(t, "standard deviation of single readings", a.SD, 37.7, 0.05)
	if said := a.Sentence(); !strings.Contains(said, "95 % of single placings by") {
		t.Errorf("said: %s", said)
	}
}

// Intervals of slope and offset hold in 95 % (Monte-Carlo error of 600 sets: 0.9 %;
// four times it below, and the jackknife is known to be a little wide above), where
// least squares of one on the other would shrink the slope.
func TestDemingIntervalsHold(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1993))
	const sets, slope, offset, noise = 600, 1.1, 0.01, 0.03
	held := [2]int{}
	mean := 0.0
	for range sets {
		var x, y []float64
		for range 40 {
			truth := 0.1 + 0.3*rng.Float64()
			x, y = append(x, truth+noise*rng.NormFloat64()), append(y, offset+slope*truth+noise*rng.NormFloat64())
		}
		a := agreement(x, y, make([]int, len(x)), 1)
		mean += a.Slope / sets
		if a.SlopeLow <= slope && slope <= a.SlopeHigh {
			held[0]++
		}
		if a.OffsetLow <= offset && offset <= a.OffsetHigh {
			held[1]++
		}
	}
	for _, n := range held {
		if share := float64(n) / sets; share < 0.914 || share > 0.985 {
			t.Errorf("%.3f of the intervals hold", share)
		}
	}
	if math.Abs(mean-slope) > 0.02 {
		t.Errorf("the mean slope is %.3f", mean)
	}
}

// Where what two instruments differ by differs from book to book (the ground's colour,
// the gloss of its dirt), intervals over books hold and those over spots do not.
func TestDemingIntervalsHoldOverBooks(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1993))
	const sets, books, spots, slope, noise, differ = 300, 10, 8, 1.1, 0.01, 0.03
	byBook, bySpot, limits := 0, 0, 0.0
	for range sets {
		var x, y []float64
		var book, none []int
		for b := range books {
			own := differ * rng.NormFloat64()
			for range spots {
				truth := 0.1 + 0.02*float64(b) + 0.2*rng.Float64()
				x, y = append(x, truth+noise*rng.NormFloat64()), append(y, slope*truth+own+noise*rng.NormFloat64())
				book, none = append(book, b), append(none, 0)
			}
		}
		a := agreement(x, y, book, 1)
		if !a.ByBook || a.Books != books {
			t.Fatalf("%+v", a)
		}
		if a.OffsetLow <= 0 && 0 <= a.OffsetHigh {
			byBook++
		}
		if a := agreement(x, y, none, 1); a.OffsetLow <= 0 && 0 <= a.OffsetHigh {
			bySpot++
		}
		limits += a.SD / sets
	}
	t.Logf("over books %.3f of the intervals hold, over spots %.3f", float64(byBook)/sets, float64(bySpot)/sets)
	if share := float64(byBook) / sets; share < 0.9 {
		t.Errorf("over books %.3f of the intervals hold", share)
	}
	if share := float64(bySpot) / sets; share > 0.9 {
		t.Errorf("over spots %.3f of the intervals hold: the books do not differ", share)
	}
	if want := math.Sqrt(differ*differ + 2*noise*noise); limits < want || limits > 1.15*want { // and what the slope adds over the densities
		t.Errorf("differences of any book have a standard deviation of %.4f on the mean; about %.4f was drawn", limits, want)
	}
}

// The ratio of error variances is that of placings repeated on one spot.
func TestAPairedTableTellsTheRatio(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	p := &paired{}
	for b := range 8 {
		for range 10 {
			truth := 0.1 + 0.4*rng.Float64()
			p.spots = append(p.spots, pairedSpot{book: string(rune('a' + b)), values: map[int][]float64{
				0: {truth + 0.01*rng.NormFloat64(), truth + 0.01*rng.NormFloat64()},
				1: {0.02 + 1.2*truth + 0.03*rng.NormFloat64(), 0.02 + 1.2*truth + 0.03*rng.NormFloat64()}}})
		}
	}
	for in := range 2 {
		var of pool
		for _, s := range p.spots {
			of.add(s.values[in], 1)
		}
		p.variance = append(p.variance, of.variance())
	}
	a, ok := p.compare(0, 1, []Instrument{{ID: "A"}, {ID: "B"}})
	if !ok || !a.RatioTold || a.Ratio < 6 || a.Ratio > 13.5 { // 9; F with 80 and 80 degrees of freedom
		t.Errorf("%+v", a)
	}
	if a.SlopeLow > 1.2 || a.SlopeHigh < 1.2 || a.OffsetLow > 0.02 || a.OffsetHigh < 0.02 {
		t.Errorf("slope %.3f to %.3f, offset %.3f to %.3f", a.SlopeLow, a.SlopeHigh, a.OffsetLow, a.OffsetHigh)
	}
	if said := a.Sentence(); !strings.Contains(said, "intervals over books") || !strings.Contains(said, "80 paired spots") {
		t.Errorf("said: %s", said)
	}
}
