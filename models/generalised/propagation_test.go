package generalised

import (
	"math"
	"testing"
)

// The gradient of expectation propagation is that of its log likelihood, by central
// differences: crossed terms, a correlated slope, a spread of zero.
func TestPropagationGradient(t *testing.T) {
	for _, terms := range []string{
		"[[random]]\nby=\"judge\"\nterms=[\"intercept\",\"temp\"]\ncorrelated=true\n[[random]]\nby=\"bottle\"\nterms=[\"intercept\"]\n",
		"[[random]]\nby=\"judge\"\nterms=[\"intercept\"]\n",
	} {
		d, err := newDesign(parsed(t, "outcome=\"rating\"\nkind=\"grades\"\nlink=\"probit\"\nfixed=[\"temp\",\"contact\"]\n[levels]\nrating=[\"1\",\"2\",\"3\",\"4\",\"5\"]\n"+terms), readTable(t, "wine.csv"))
		if err != nil {
			t.Fatal(err)
		}
		x := append(d.start(), make([]float64, len(d.random.entries))...)
		for i := range x {
			if i >= d.size {
				x[i] = 0.5 + 0.2*float64(i-d.size)
			} else {
				x[i] += 0.03 * float64(i%3)
			}
		}
		a := d.approximation(0)
		if _, ok := a.(*propagation); !ok {
			t.Fatalf("the approximation is %T", a)
		}
		a.settle(modeSharp)
		a.logLik(x)
		exact := make([]float64, len(x))
		a.gradient(exact)
		for i := range x {
			const h = 1e-4
			y := append([]float64(nil), x...)
			y[i] += h
			up := a.logLik(y)
			y[i] -= 2 * h
			difference := (up - a.logLik(y)) / (2 * h)
			if math.Abs(difference-exact[i]) > 1e-6*(1+math.Abs(difference)) {
				t.Errorf("derivative %d is %g by differences and %g", i, difference, exact[i])
			}
		}
		x[len(x)-1] = 0
		if v := a.logLik(x); math.IsInf(v, 0) || math.IsNaN(v) {
			t.Errorf("with a spread of zero the log likelihood is %g", v)
		}
	}
}

// Expectation propagation is nearer to quadrature with 25 points than Laplace's
// approximation is, in the log likelihood of a group, in the deviation and in the
// effect: the simulation that chose it for grades under the probit (COVERAGE.md has it
// at length).
func TestPropagationBeatsLaplace(t *testing.T) {
	c := cell{kind: "grades", keys: "link = \"probit\"\n", books: 60, rows: 5}
	logLik, deviation, effect := approximationError(t, c, 0, 10)
	laplace, laplaceDeviation, laplaceEffect := approximationError(t, c, 1, 10)
	if 5*math.Abs(logLik) > math.Abs(laplace) || 5*math.Abs(deviation) > math.Abs(laplaceDeviation) || 5*math.Abs(effect) > math.Abs(laplaceEffect) {
		t.Errorf("it is not five times as near as Laplace's: log likelihood of a group %.2g (Laplace's %.2g), deviation %.2g (%.2g), effect %.2g (%.2g)", logLik, laplace, deviation, laplaceDeviation, effect, laplaceEffect)
	}
}
