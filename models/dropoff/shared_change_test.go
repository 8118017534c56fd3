package dropoff

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"thumbed/models/codex"
)

// measuredOffices makes what DeclineOf leaves of a book: offices' means drawn
// about the levels given, with a standard error each and a covariance common to
// all.
func measuredOffices(rng *rand.Rand, se, common float64, levels ...float64) *Decline {
	n := len(levels)
	c := &Decline{covariance: mat.NewSymDense(n, nil), df: 40}
	shared := common * rng.NormFloat64()
	for i, level := range levels {
		c.Offices = append(c.Offices, OfficeShare{Office: codex.Office(i + 1), Wear: level + shared + se*rng.NormFloat64(), SE: math.Hypot(se, common)})
		for j := range i + 1 {
			v := common * common
			if i == j {
				v += se * se
			}
			c.covariance.SetSym(i, j, v)
		}
	}
	return c
}

var (
	neglected = []float64{0.30, 0.30, 0.30, 0.15, 0.15, 0.15, 0.15, 0.15}
	faithful  = []float64{0.30, 0.30, 0.30, 0.30, 0.30, 0.30, 0.30, 0.30}
)

// TestTogether: three books that drop after Prime and one that does not: the
// shared place is found, and which books have it.
func TestTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 4))
	books := []*Decline{
		measuredOffices(rng, 0.01, 0.01, neglected...), measuredOffices(rng, 0.01, 0.01, neglected...),
		measuredOffices(rng, 0.01, 0.01, neglected...), measuredOffices(rng, 0.01, 0.01, faithful...),
		{Refused: "No page of these hours was measured."},
	}
	got, err := FindSharedChange(books)
	if err != nil {
		t.Fatal(err)
	}
	if got.After != codex.Prime || got.None > 0.01 {
		t.Errorf("after %s, none with probability %v", got.After, got.None)
	}
	total := got.None
	for _, p := range got.Places {
		total += p.Probability
	}
	if math.Abs(total-1) > 1e-9 {
		t.Errorf("the probabilities sum to %v", total)
	}
	for i, want := range []bool{true, true, true, false} {
		b := got.Books[i]
		if b.Has != want || (want && (b.Low > 0.5 || b.High < 0.5)) {
			t.Errorf("book %d: %+v", i, b)
		}
	}
	if len(got.Left) != 1 || got.Left[0].Decline != 4 || !strings.Contains(got.Left[0].Why, "No page") || !strings.Contains(got.Sentence, "3 of 4") {
		t.Errorf("left %+v; %s", got.Left, got.Sentence)
	}
	for i, want := range []codex.Office{codex.Prime, codex.Prime, codex.Prime} {
		if b := got.Books[i]; mostProbable(b.Places) != want || b.None > 0.05 {
			t.Errorf("book %d alone: %+v", i, b)
		}
	}
	if b := got.Books[3]; b.None < 0.5 {
		t.Errorf("the faithful book alone has no drop with probability %v", b.None)
	}
	if _, err := FindSharedChange(books[3:]); err == nil {
		t.Error("one book alone was compared")
	}
}

// TestTogetherNone: books that all carry on have no shared drop-off in nearly
// all draws: at most 5 of 100, and in 200 draws by chance no more than 18.
func TestTogetherNone(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 4))
	claimed := 0
	for range 200 {
		got, err := FindSharedChange([]*Decline{measuredOffices(rng, 0.02, 0.01, faithful...), measuredOffices(rng, 0.02, 0.01, faithful...)})
		if err != nil {
			t.Fatal(err)
		}
		if 1-got.None >= likelyShared {
			claimed++
		}
	}
	if claimed > 18 {
		t.Errorf("a shared drop-off was claimed in %d of 200 draws without any", claimed)
	}
}

// TestDiffer: readers alike are told apart in 5 of 100 draws (here at most 3
// standard errors more, 29 of 300), and those that differ nearly always; the
// interval of the last office's difference holds the truth as often as it
// should.
func TestDiffer(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const draws = 300
	alike, held, apart := 0, 0, 0
	for range draws {
		same, err := Differ(measuredOffices(rng, 0.02, 0.01, neglected...), measuredOffices(rng, 0.02, 0.01, neglected...))
		if err != nil {
			t.Fatal(err)
		}
		if same.P < 0.05 {
			alike++
		}
		if last := same.Offices[len(same.Offices)-1]; last.Low <= 0 && last.High >= 0 {
			held++
		}
		other, err := Differ(measuredOffices(rng, 0.02, 0.01, faithful...), measuredOffices(rng, 0.02, 0.01, neglected...))
		if err != nil {
			t.Fatal(err)
		}
		if other.P < 0.05 {
			apart++
		}
	}
	if alike > 29 {
		t.Errorf("readers alike were told apart in %d of %d draws", alike, draws)
	}
	if held < 270 {
		t.Errorf("the true difference was held in %d of %d draws", held, draws)
	}
	if apart < 285 {
		t.Errorf("readers who differ were told apart in %d of %d draws only", apart, draws)
	}
}

func TestDifferWords(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	good := measuredOffices(rng, 0.01, 0, neglected...)
	if d, err := Differ(good, measuredOffices(rng, 0.01, 0, faithful...)); err != nil || !strings.Contains(d.Sentence, "differ in their decline") || !strings.Contains(d.Sentence, "Compline") {
		t.Errorf("%v, %v", d, err)
	}
	if _, err := Differ(good, measuredOffices(rng, 0.2, 0, faithful...)); err == nil || !strings.Contains(err.Error(), "second reader is hardly worn") {
		t.Errorf("%v", err)
	}
	if _, err := Differ(good, measuredOffices(rng, 0.01, 0, 0.3)); err == nil || !strings.Contains(err.Error(), "two offices or more") {
		t.Errorf("%v", err)
	}
}

// anyOffices draws what DeclineOf leaves of a book, of any levels.
func anyOffices(t *rapid.T) *Decline {
	levels := rapid.SliceOfN(rapid.Float64Range(0.1, 0.5), 8, 8).Draw(t, "levels")
	seed := rapid.Uint64Range(0, 1000).Draw(t, "seed")
	return measuredOffices(rand.New(rand.NewPCG(seed, 9)), 0.01, 0.005, levels...)
}

// TestTogetherInAnyOrder: probabilities sum to 1, of all books and of each, and
// the order of the books does not matter (to 1e-9: sums run in another order).
func TestTogetherInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		books := []*Decline{anyOffices(t), anyOffices(t), anyOffices(t)}
		got, err := FindSharedChange(books)
		if err != nil {
			t.Fatal(err)
		}
		slices.Reverse(books)
		other, err := FindSharedChange(books)
		if err != nil {
			t.Fatal(err)
		}
		sum := func(places []SharedPlace, none float64) float64 {
			for _, p := range places {
				none += p.Probability
			}
			return none
		}
		if s := sum(got.Places, got.None); math.Abs(s-1) > 1e-9 || math.Abs(got.None-other.None) > 1e-9 {
			t.Fatalf("all sum to %v; none %v and %v", s, got.None, other.None)
		}
		for k, b := range got.Books {
			if s := sum(b.Places, b.None); math.Abs(s-1) > 1e-9 {
				t.Fatalf("book %d: sum %v", k, s)
			}
			if turned := other.Books[2-k]; got.After == other.After && math.Abs(b.Drop-turned.Drop) > 1e-9 {
				t.Fatalf("book %d: drop %v and %v", k, b.Drop, turned.Drop)
			}
		}
	})
}

// TestDifferTurned: two readers exchanged differ by as much the other way, with
// the same test.
func TestDifferTurned(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one, other := anyOffices(t), anyOffices(t)
		there, err := Differ(one, other)
		if err != nil {
			t.Skip(err.Error())
		}
		back, err := Differ(other, one)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(there.F-back.F) > 1e-9*(1+there.F) || math.Abs(there.P-back.P) > 1e-9 {
			t.Fatalf("F %v and %v, p %v and %v", there.F, back.F, there.P, back.P)
		}
		for k, o := range there.Offices {
			if b := back.Offices[k]; math.Abs(o.Difference+b.Difference) > 1e-12 || math.Abs(o.Low+b.High) > 1e-12 || math.Abs(o.High+b.Low) > 1e-12 {
				t.Fatalf("%+v and %+v", o, b)
			}
		}
	})
}
