package dropoff

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"thumbed/models/codex"
)

// TestKnownBreakByHand: of 1, 1.2, 0.8 and 5, 5.1, 4.9 with a break between them,
// the level rises by 4; with the variance 0.1/4 of the rows about their levels the
// standard error is √(0.025 (1/3 + 1/3)) = 0.129, and the interval 2.78 of it either
// way (Student's t, 4 degrees of freedom). The variance is averaged over, which
// widens the interval: by less than a half.
func TestKnownBreakByHand(t *testing.T) {
	none := 0.0
	found, err := Segment(Series{Values: []float64{1, 1.2, 0.8, 5, 5.1, 4.9}, Labels: []string{"1r", "1v", "2r", "2v", "3r", "3v"}},
		Options{Breaks: []int{3}, Correlation: &none, Named: map[int]BreakName{3: {"2v", "a second scribe begins"}}})
	if err != nil {
		t.Fatal(err)
	}
	if len(found.Changes) != 0 || len(found.Known) != 1 {
		t.Fatalf("changes %+v, known %+v", found.Changes, found.Known)
	}
	k := found.Known[0]
	half := (k.SizeHigh - k.SizeLow) / 2
	if want := 0.358; !near(k.Size, 4, 1e-12) || half < want || half > 1.5*want || !k.Differs() {
		t.Errorf("size %v, half the interval %v, where 4 and %v were worked out by hand", k.Size, half, want)
	}
	if k.After != 3 || k.At != "2r" || k.Name() != "before 2v (a second scribe begins)" {
		t.Errorf("told as %+v", k)
	}
	var text strings.Builder
	if err := found.Text(&text); err != nil {
		t.Fatal(err)
	}
	for _, words := range []string{"No change of level in 6 rows beside 1 known break.", "Known break before 2v (a second scribe begins), after 2r (row 3): a step of +4", "not counted among the changes"} {
		if !strings.Contains(text.String(), words) {
			t.Errorf("the text lacks %q:\n%s", words, &text)
		}
	}
}

// broken draws a series with known breaks and changes of its own.
func broken(t *rapid.T) (Series, Options) {
	n := rapid.IntRange(12, 40).Draw(t, "rows")
	rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 12))
	s := Series{}
	level := 0.0
	for range n {
		if rng.IntN(12) == 0 {
			level = 4 * rng.NormFloat64()
		}
		s.Values = append(s.Values, level+rng.NormFloat64())
	}
	o := Options{Breaks: []int{rapid.IntRange(1, n-1).Draw(t, "break")}}
	if rapid.Bool().Draw(t, "two breaks") {
		o.Breaks = append(o.Breaks, rapid.IntRange(1, n-1).Draw(t, "other break"))
	}
	if rapid.Bool().Draw(t, "standard errors") {
		for range n {
			s.SE = append(s.SE, 0.1+0.5*rng.Float64())
		}
	}
	return s, o
}

// TestSizeOfABreakBearsOnNothing: by how much the level differs at a known break
// changes no place, interval, probability or false-alarm rate; the break's own size
// moves along. Tolerance 1e-6: sums that round otherwise. Rows here carry no standard
// errors: where they do, rounding decides whether the noise is at the bound that
// these set or just above, which moves probabilities in the fourth digit.
func TestSizeOfABreakBearsOnNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, o := broken(t)
		s.SE = nil
		shift := rapid.Float64Range(-20, 20).Draw(t, "shift")
		last := slices.Max(o.Breaks)
		moved := s
		moved.Values = slices.Clone(s.Values)
		floats.AddConst(shift, moved.Values[last:])
		one, err := Segment(s, o)
		if err != nil {
			t.Fatal(err)
		}
		other, err := Segment(moved, o)
		if err != nil {
			t.Fatal(err)
		}
		if len(one.Changes) != len(other.Changes) || one.FalseAlarm != other.FalseAlarm || one.Compared.Best != other.Compared.Best {
			t.Fatalf("changes %+v and %+v, false alarms %v and %v", one.Changes, other.Changes, one.FalseAlarm, other.FalseAlarm)
		}
		for k, c := range one.Changes {
			d := other.Changes[k]
			if c.After != d.After || c.Low != d.Low || c.High != d.High || !near(c.Probability, d.Probability, 1e-6) || !near(c.Size, d.Size, 1e-6) {
				t.Errorf("change %+v, and %+v with the break shifted by %v", c, d, shift)
			}
		}
		k := len(one.Known) - 1
		if !near(one.Known[k].Size+shift, other.Known[k].Size, 1e-6) {
			t.Errorf("the break is %v, and %v when shifted by %v", one.Known[k].Size, other.Known[k].Size, shift)
		}
		for _, c := range one.Changes {
			for _, b := range o.breaks() {
				if c.After == b || c.Low <= b && b <= c.High {
					t.Errorf("change %+v at, or with an interval across, the known break after row %d", c, b)
				}
			}
		}
	})
}

// TestBreaksAreCuts: with the noise given, a series with known breaks is its parts
// by themselves: the best segmentations for a penalty are those of the parts, the
// evidence over all segmentations is the product of the parts', and so is the
// probability of no change. Tolerance 1e-9: rounding.
func TestBreaksAreCuts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, o := broken(t)
		v := noise{scatter: rapid.Float64Range(0.3, 2).Draw(t, "scatter"), rho: rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "correlation"), se: s.SE}
		const penalty, phi, minLength = 6, 1.2, 2
		p := prior{change: 0.1, spread: 3}
		where, err := o.places(len(s.Values))
		if err != nil {
			t.Fatal(err)
		}
		whole := search{newRows(s.levelled(o.breaks()), v), where, minLength}
		post := newPosterior(whole, p, phi)
		var places []int
		evidence, none, from := 0.0, 1.0, 0
		for _, to := range append(o.breaks(), len(s.Values)) {
			part := Series{Values: s.Values[from:to]}
			own := v
			if s.SE != nil {
				own.se = s.SE[from:to]
			}
			within, err := Options{MinLength: minLength}.places(to - from)
			if err != nil {
				t.Fatal(err)
			}
			q := search{newRows(part, own), within, minLength}
			for _, at := range q.penalised(penalty) {
				places = append(places, from+at)
			}
			if to < len(s.Values) {
				places = append(places, to)
			}
			alone := newPosterior(q, p, phi)
			evidence += alone.evidence
			none *= alone.number(1e-12)[0]
			from = to
		}
		if got := whole.penalised(penalty); !slices.Equal(got, places) {
			t.Errorf("best places %v, of the parts %v", got, places)
		}
		if !near(post.evidence, evidence, 1e-9) || !near(post.number(1e-12)[0], none, 1e-9) {
			t.Errorf("evidence %v and no change %v, of the parts %v and %v", post.evidence, post.number(1e-12)[0], evidence, none)
		}
	})
}

// TestStretchesAreNeverBroken: whatever the rows, no change is placed in a stretch
// and no probability falls there.
func TestStretchesAreNeverBroken(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _ := broken(t)
		n := len(s.Values)
		from := rapid.IntRange(1, n-1).Draw(t, "from")
		to := rapid.IntRange(from+1, n).Draw(t, "to")
		number := rapid.IntRange(0, 1).Draw(t, "number")
		o := Options{Quiet: [][2]int{{from, to}}, Why: []string{"one prayer"}}
		if to-from < n-6 {
			o.Number = &number // so that one is placed wherever it may
		}
		found, err := Segment(s, o)
		if err != nil {
			if strings.Contains(err.Error(), "cannot be placed") {
				return
			}
			t.Fatal(err)
		}
		for _, c := range found.Changes {
			if from <= c.After && c.After < to {
				t.Errorf("change %+v inside rows %d to %d", c, from, to)
			}
		}
		if inside := floats.Sum(found.ChangeProbability[from-1 : to-1]); inside != 0 {
			t.Errorf("the probability of changes inside rows %d to %d is %v", from, to, inside)
		}
		if want := (UnbrokenRows{from, to, "one prayer"}); len(found.Unbroken) != 1 || found.Unbroken[0] != want {
			t.Errorf("told as %+v", found.Unbroken)
		}
	})
}

// TestFalseAlarmsBesideABreak: with one known break at which the level differs by
// three standard deviations, steps are reported and a change of any kind is claimed
// in at most 5 of 100 series that have no other change. A cell may exceed that by
// three standard errors of the estimate. Slow.
func TestFalseAlarmsBesideABreak(t *testing.T) {
	slow(t)
	const n, after, size, series = 60, 22, 3, 400
	for _, kind := range kindsOfNoise() {
		for _, rho := range []float64{0, 0.3, 0.6} {
			steps, any := 0, 0
			for seed := range uint64(series) {
				values := autoregressive(kind, n, rho, seed)
				floats.AddConst(size, values[after:])
				found, err := Segment(Series{Values: values}, Options{Breaks: []int{after}})
				if err != nil {
					t.Fatal(err)
				}
				if len(found.Changes) > 0 {
					steps++
				}
				if found.Compared.Best != NoChange {
					any++
				}
			}
			row := fmt.Sprintf("%s, correlation %.1f: steps in %.1f of 100, a change of any kind in %.1f", kind.name, rho, 100*float64(steps)/series, 100*float64(any)/series)
			t.Log(row)
			if float64(max(steps, any)) > series*(0.05+3*math.Sqrt(0.05*0.95/series)) {
				t.Error(row)
			}
		}
	}
}

// parted gives a book a known break: the offices up to one before it, the rest
// behind it, with the share of the next office's pages that are before it too.
func parted(c *Decline, before codex.Office, more float64) *Decline {
	one, other := make([]float64, len(c.Offices)), make([]float64, len(c.Offices))
	for i, o := range c.Offices {
		switch {
		case o.Office <= before:
			one[i] = 1
		case o.Office == before+1:
			one[i], other[i] = more, 1-more
		default:
			other[i] = 1
		}
	}
	c.parts = [][]float64{one, other}
	return c
}

// TestTogetherAtABreak: a drop right at a book's known break is no more probable by
// that book than none, and its size is not told; the other books still share it. A
// break elsewhere takes nothing from a drop.
func TestTogetherAtABreak(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 4))
	at := parted(measuredOffices(rng, 0.01, 0.01, neglected...), codex.Prime, 0)
	elsewhere := parted(measuredOffices(rng, 0.01, 0.01, neglected...), codex.Sext, 0)
	within := parted(measuredOffices(rng, 0.01, 0.01, neglected...), codex.Vespers, 0.5)
	got, err := FindSharedChange([]*Decline{at, elsewhere, within})
	if err != nil {
		t.Fatal(err)
	}
	if got.After != codex.Prime || got.None > 0.05 {
		t.Errorf("after %s, none with probability %v", got.After, got.None)
	}
	if b := got.Books[0]; !b.AtBreak || b.Has || b.Refused == "" || slices.ContainsFunc(b.Places, func(p SharedPlace) bool { return p.After == codex.Prime }) {
		t.Errorf("the book with a break there: %+v", b)
	}
	for k, b := range got.Books[1:] {
		if !b.Has || b.Low > 0.5 || b.High < 0.5 {
			t.Errorf("book %d, with its break elsewhere: %+v", k+2, b)
		}
	}
	if e := at.evidenceOfPlaces(); e.after[codex.Prime] != e.none || e.possible[codex.Prime] {
		t.Errorf("by the book with a break there the drop has evidence %v, none %v", e.after[codex.Prime], e.none)
	}
	if e := at.evidenceOfPlaces(); e.after[codex.Sext] > e.none+3 { // odds of 20
		t.Error("levels that differ at the break were taken for a drop elsewhere")
	}
}
