package generalised

import (
	"math"
	"runtime"
	"slices"
	"testing"
)

// The gradient is that of the approximation itself: differences of the log
// likelihood agree to what central differences with steps of 1e-5 can give.
func TestGradientIsExact(t *testing.T) {
	const herds = "outcome=\"incidence\"\nkind=\"yes or no\"\ntrials=\"size\"\nfixed=[\"period\"]\n[levels]\nperiod=[\"1\",\"2\",\"3\",\"4\"]\n"
	for _, c := range []struct{ name, data, model string }{
		{"yes or no", "cbpp.csv", herds + "[[random]]\nby=\"herd\"\nterms=[\"intercept\"]\n"},
		{"correlated slopes, complementary log-log", "cbpp.csv", "link=\"complementary log-log\"\n" + herds + "[[random]]\nby=\"herd\"\nterms=[\"intercept\",\"period\"]\ncorrelated=true\n"},
		{"grades by threshold, crossed", "wine.csv", "outcome=\"rating\"\nkind=\"grades\"\nby_threshold=[\"contact\"]\nfixed=[\"temp\",\"contact\"]\n[levels]\nrating=[\"1\",\"2\",\"3\",\"4\",\"5\"]\n[[random]]\nby=\"judge\"\nterms=[\"intercept\",\"temp\"]\ncorrelated=true\n[[random]]\nby=\"bottle\"\nterms=[\"intercept\"]\n"},
		{"probit grades, symmetric", "wine.csv", "outcome=\"rating\"\nkind=\"grades\"\nlink=\"probit\"\nthresholds=\"symmetric\"\nfixed=[\"temp\"]\n[levels]\nrating=[\"1\",\"2\",\"3\",\"4\",\"5\"]\n[[random]]\nby=\"judge\"\nterms=[\"intercept\"]\n"},
		{"negative binomial, slope", "epil.csv", "outcome=\"y\"\nkind=\"counts\"\nspread=\"negative binomial\"\nfixed=[\"trt\"]\n[[random]]\nby=\"subject\"\nterms=[\"lage\"]\n"},
		{"zero inflation by terms", "Owls.csv", "outcome=\"calls\"\nkind=\"counts\"\nspread=\"negative binomial\"\nexposure=\"BroodSize\"\nzero_inflation=[\"food\"]\nfixed=[\"food\",\"parent\"]\n[[random]]\nby=\"Nest\"\nterms=[\"intercept\"]\n"},
	} {
		d, err := newDesign(parsed(t, c.model), readTable(t, c.data))
		if err != nil {
			t.Fatal(err)
		}
		for _, points := range []int{1, 7} {
			if points > 1 && len(d.random.entries) > 1 {
				continue
			}
			x := append(d.start(), make([]float64, len(d.random.entries))...)
			for i := range x {
				if i >= d.size {
					x[i] = 0.4 + 0.1*float64(i-d.size)
				} else {
					x[i] += 0.03 * float64(i%3)
				}
			}
			a := d.approximation(points)
			a.logLik(x)
			exact := make([]float64, len(x))
			a.gradient(exact)
			for i := range x {
				const h = 1e-5
				y := append([]float64(nil), x...)
				y[i] += h
				up := a.logLik(y)
				y[i] -= 2 * h
				difference := (up - a.logLik(y)) / (2 * h)
				if math.Abs(difference-exact[i]) > 1e-5*(10+math.Abs(difference)) {
					t.Errorf("%s, %d points: derivative %d is %g by differences and %g", c.name, points, i, difference, exact[i])
				}
			}
		}
	}
}

// A fit is the same to the last digit on any number of cores: sums over rows are those
// of chunks, added in their order.
func TestFitDoesNotDependOnCores(t *testing.T) {
	m := parsed(t, "outcome=\"resp\"\nkind=\"grades\"\nfixed=[\"Anger\",\"situ\"]\n[levels]\nresp=[\"no\",\"perhaps\",\"yes\"]\n[[random]]\nby=\"id\"\nterms=[\"intercept\"]\n[[random]]\nby=\"item\"\nterms=[\"intercept\"]\n")
	data := readTable(t, "VerbAgg.csv.gz")
	var first []float64
	for _, cores := range []int{1, 3} {
		before := runtime.GOMAXPROCS(cores)
		f, err := New(m, data)
		runtime.GOMAXPROCS(before)
		if err != nil {
			t.Fatal(err)
		}
		if f.d.chunks() < 2 {
			t.Fatal("a table of one chunk tests nothing")
		}
		got := append([]float64{f.LogLik}, f.psi...)
		for _, c := range f.Fixed {
			got = append(got, c.SE)
		}
		if first == nil {
			first = got
		} else if !slices.Equal(first, got) {
			t.Errorf("on %d cores %v, on one %v", cores, got, first)
		}
	}
}
