package generalised

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
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

// What is predicted of a judge of the wines under the probit stands on the mean and the
// variance of the judge's effect given the grades: against a brute integral by 400
// points at the same parameters, written down anew. Laplace's modes are at least five
// times as far off.
func TestPropagationModes(t *testing.T) {
	data := readTable(t, "wine.csv")
	f := fitOf(t, "link = \"probit\"\n"+wineModel, "wine.csv")
	judges, codes := data.Column("judge").Levels()
	laplace := newTrial(f.d)
	laplace.logLik(f.psi)
	p := f.newPredictor()
	sd := f.Random[0].SD[0]
	worst, worstOfLaplace := 0.0, 0.0
	for g := range judges {
		moment := func(power float64) float64 {
			return quad.Fixed(func(z float64) float64 {
				product := math.Exp(-z*z/2) * math.Pow(z, power)
				for i, c := range codes {
					if int(c) != g {
						continue
					}
					eta := sd * z
					for k, column := range []string{"temp", "contact"} {
						if label := data.Column(column).Label(i); label == "warm" || label == "yes" {
							eta += f.Fixed[k].Estimate
						}
					}
					var grade int
					fmt.Sscan(data.Column("rating").Label(i), &grade)
					upper, lower := 1.0, 0.0
					if grade < 5 {
						upper = probit{}.at(f.Thresholds[grade-1].Estimate - eta).F
					}
					if grade > 1 {
						lower = probit{}.at(f.Thresholds[grade-2].Estimate - eta).F
					}
					product *= upper - lower
				}
				return product
			}, -9, 9, 400, nil, 0)
		}
		mean := moment(1) / moment(0)
		own := math.Sqrt(moment(2)/moment(0) - mean*mean)
		worst = math.Max(worst, math.Abs(p.modes[0][g]-mean)/own)
		worstOfLaplace = math.Max(worstOfLaplace, math.Abs(laplace.mode()[g]-mean)/own)
		v := make([]float64, len(judges))
		v[g] = 1
		p.standing.solve(v)
		if math.Abs(math.Sqrt(v[g])-own) > 0.02*own {
			t.Errorf("judge %s: standard deviation %.4f, by the integral %.4f", judges[g], math.Sqrt(v[g]), own)
		}
	}
	t.Logf("at most %.2g of the standard deviation from the mean, Laplace's mode %.2g", worst, worstOfLaplace)
	if 5*worst > worstOfLaplace {
		t.Errorf("a mean is %.2g of its standard deviation off, Laplace's mode only %.2g", worst, worstOfLaplace)
	}
}
