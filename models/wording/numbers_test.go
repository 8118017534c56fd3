package wording

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestFixed(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0.3154, 3, "0.315"},
		{-0.0104, 2, "−0.01"},
		{-0.0004, 2, "0.00"}, // no negative zero
		{1234, 0, "1234"},
		{12345.678, 1, "12\u202f345.7"},
		{-1234567, 0, "−1\u202f234\u202f567"},
		{math.NaN(), 2, "not known"},
		{math.Inf(-1), 2, "no bound"},
	} {
		if got := Fixed(c.v, c.decimals); got != c.want {
			t.Errorf("Fixed(%v, %d) = %q, want %q", c.v, c.decimals, got, c.want)
		}
	}
}

// TestDecimals uses two worked values of JCGM 100:2008 (from memory): the
// combined standard uncertainty of 32 nm in H.1, and the mass of 100.02147 g with
// a standard uncertainty of 0.35 mg in 7.2.2. The others are where rounding
// carries over a power of ten.
func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		uncertainty float64
		want        int
	}{
		{32, 0}, {0.00035, 5}, {0.031, 3}, {0.31, 2}, {3.1, 1}, {0.0996, 2}, {9.96, 0}, {0.0949, 3}, {1e-12, 6}, {0, 3}, {math.NaN(), 3}, {math.Inf(1), 3},
	} {
		if got := Decimals(c.uncertainty); got != c.want {
			t.Errorf("Decimals(%v) = %d, want %d", c.uncertainty, got, c.want)
		}
	}
	if got := Fixed(100.02147, Decimals(0.00035)); got != "100.02147" {
		t.Errorf("the guide's mass prints as %s", got)
	}
}

func TestIntervals(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct{ got, want string }{
		{Interval(0.12, 0.31, 2), "0.12 to 0.31"},
		{Interval(-inf, 0.31, 2), "at most 0.31"},
		{Interval(0.12, inf, 2), "at least 0.12"},
		{Interval(-inf, inf, 2), "any value"},
		{Interval(math.NaN(), 1, 2), "interval not known"},
		{Estimate(0.21, 0.15, 0.27, 2), "0.21 (0.15 to 0.27)"},
		{FirstEstimate(0.21, 0.15, 0.27, 2), "0.21 (95\u202f% interval 0.15 to 0.27)"},
		{PercentEstimate(0.38, 0.31, 0.463), "38\u202f% (31 to 46\u202f%)"},
		{PercentEstimate(math.NaN(), math.NaN(), math.NaN()), "not known (interval not known)"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestProbabilities(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{P(0.0042), "p\u00a0=\u00a00.004"},
		{P(0.00003), "p\u00a0<\u00a00.0001"},
		{P(0.9999), "p\u00a0>\u00a00.99"},
		{P(0), "p\u00a0<\u00a00.0001"},
		{P(math.NaN()), "p not known"},
		{PValue(0.00042), "0.0004"},
		{PValue(0.0499), "0.050"},
		{PValue(0.0999), "0.10"},
		{PValue(0.231), "0.23"},
		{Probability(0.9999), "above 0.99"},
		{Probability(0), "below 0.01"},
		{Probability(0.974), "0.97"},
		{DF(12.34), "12.3"},
		{DF(12), "12"},
		{DF(214.6), "215"},
		{DF(math.Inf(1)), "no bound"},
		{Count(0, "page", "pages"), "no pages"},
		{Count(1, "leaf", "leaves"), "1\u00a0leaf"},
		{Count(20000, "page", "pages"), "20\u202f000\u00a0pages"},
		{List([]string{"a", "b", "c"}), "a, b and c"},
		{Sentence("no end"), "No end."},
		{Sentence("an end?"), "An end?"},
		{Typeset("0.1 (95 % interval -0.02 to 0.1; p = 0.01, on f. 12r"), "0.1 (95\u202f% interval −0.02 to 0.1; p\u00a0=\u00a00.01, on f.\u00a012r"},
		{Typeset("a well-worn page's corner, 3-4 times; the offices' wear"), "a well-worn page’s corner, 3-4 times; the offices’ wear"},
		{Clipped("Prayer of Veldermond Bridge", 24), "Prayer of Veldermond…"},
		{Clipped("Matins", 24), "Matins"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// read reads a typeset number back.
func read(text string) (float64, error) {
	return strconv.ParseFloat(strings.NewReplacer(Minus, "-", Narrow, "").Replace(text), 64)
}

// TestFixedReadsBack: what is printed is the number to the decimals printed, and
// has no hyphen, which a line break could part from its digits.
func TestFixedReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e9, 1e9).Draw(t, "v")
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		text := Fixed(v, decimals)
		if strings.Contains(text, "-") {
			t.Fatalf("%q has a hyphen", text)
		}
		got, err := read(text)
		if err != nil {
			t.Fatal(err)
		}
		// Half a unit of the last decimal, and one rounding of the reading back.
		if off := math.Abs(got - v); off > 0.5*math.Pow(10, -float64(decimals))*(1+1e-9)+1e-7 {
			t.Fatalf("%q is %v from %v", text, off, v)
		}
		if got == 0 && strings.HasPrefix(text, Minus) {
			t.Fatalf("a negative zero: %q", text)
		}
	})
}

// TestDecimalsShowsTwoDigits: the uncertainty printed differs from the true one
// by less than 5 %, which is what two significant digits promise.
func TestDecimalsShowsTwoDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := math.Pow(10, rapid.Float64Range(-4.9, 0.99).Draw(t, "exponent"))
		got, err := read(Fixed(u, Decimals(u)))
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got-u) > 0.051*u {
			t.Fatalf("%v printed as %v", u, got)
		}
	})
}

// TestPValuesInOrder: a smaller p never prints as a larger one, and none prints
// as 0 or 1, which no p is.
func TestPValuesInOrder(t *testing.T) {
	value := func(p float64) float64 {
		text := PValue(p)
		if rest, ok := strings.CutPrefix(text, "<"+NoBreak); ok {
			v, _ := read(rest)
			return v / 2
		}
		if strings.HasPrefix(text, ">") {
			return 1
		}
		v, _ := read(text)
		return v
	}
	rapid.Check(t, func(t *rapid.T) {
		p, q := rapid.Float64Range(0, 1).Draw(t, "p"), math.Pow(10, rapid.Float64Range(-8, 0).Draw(t, "log q"))
		if p > q {
			p, q = q, p
		}
		if value(p) > value(q) {
			t.Fatalf("p %v prints %s, q %v prints %s", p, PValue(p), q, PValue(q))
		}
		for _, v := range []float64{p, q} {
			if text := PValue(v); strings.Trim(text, "0.") == "" || text == "1" || text == "1.00" {
				t.Fatalf("%v prints as %q", v, text)
			}
		}
	})
}
