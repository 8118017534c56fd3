package generalised

import (
	"fmt"
	"math"
	"os"
	"testing"
	"time"
)

func TestGradient(t *testing.T) {
	for _, c := range []struct{ data, model string }{
		{"cbpp.csv", "outcome=\"incidence\"\nkind=\"yes or no\"\ntrials=\"size\"\nfixed=[\"period\"]\n[levels]\nperiod=[\"1\",\"2\",\"3\",\"4\"]\n[[random]]\nby=\"herd\"\nterms=[\"intercept\"]\n"},
		{"cbpp.csv", "outcome=\"incidence\"\nkind=\"yes or no\"\nlink=\"complementary log-log\"\ntrials=\"size\"\nfixed=[\"period\"]\n[levels]\nperiod=[\"1\",\"2\",\"3\",\"4\"]\n[[random]]\nby=\"herd\"\nterms=[\"intercept\",\"period\"]\ncorrelated=true\n"},
		{"wine.csv", "outcome=\"rating\"\nkind=\"grades\"\nby_threshold=[\"contact\"]\nfixed=[\"temp\",\"contact\"]\n[levels]\nrating=[\"1\",\"2\",\"3\",\"4\",\"5\"]\n[[random]]\nby=\"judge\"\nterms=[\"intercept\",\"temp\"]\ncorrelated=true\n[[random]]\nby=\"bottle\"\nterms=[\"intercept\"]\n"},
		{"epil.csv", "outcome=\"y\"\nkind=\"counts\"\nspread=\"negative binomial\"\nfixed=[\"trt\"]\n[[random]]\nby=\"subject\"\nterms=[\"lage\"]\n"},
		{"Owls.csv", "outcome=\"calls\"\nkind=\"counts\"\nspread=\"negative binomial\"\nexposure=\"BroodSize\"\nzero_inflation=[\"food\"]\nfixed=[\"food\",\"parent\"]\n[[random]]\nby=\"Nest\"\nterms=[\"intercept\"]\n"},
	} {
		d, err := newDesign(parsed(t, c.model), readTable(t, c.data))
		if err != nil {
			t.Fatal(err)
		}
		for _, points := range []int{1, 7} {
			if points > 1 && len(d.random.entries) > 1 {
				continue
			}
			tr := d.approximation(points)
			x := append(d.start(), make([]float64, len(d.random.entries))...)
			for i := range x {
				if i >= d.size {
					x[i] = 0.4 + 0.1*float64(i-d.size)
				} else {
					x[i] += 0.03 * float64(i%3)
				}
			}
			f := tr.logLik(x)
			g := make([]float64, len(x))
			tr.gradient(g)
			fmt.Println(c.data, f, d.n, d.patterns)
			for i := range x {
				h := 1e-5
				y := append([]float64(nil), x...)
				y[i] += h
				up := tr.logLik(y)
				y[i] -= 2 * h
				down := tr.logLik(y)
				fd := (up - down) / (2 * h)
				if math.Abs(fd-g[i]) > 1e-4*(1+math.Abs(fd)) {
					t.Errorf("%s: %d: %g by differences, %g", c.data, i, fd, g[i])
				}
			}
		}
	}
}

func TestQuick(t *testing.T) {
	if os.Getenv("QUICK") == "" {
		t.Skip()
	}
	for _, m := range readReferences(t) {
		d, err := newDesign(parsed(t, m.Model), readTable(t, m.Data))
		if err != nil {
			t.Error(m.Name, err)
			continue
		}
		if d.random.q > 500 && os.Getenv("QUICK") == "1" {
			continue
		}
		begun := time.Now()
		f := d.optimise(d.lay.Model.Points)
		fmt.Printf("%s: %v, %.8f settled %v", m.Name, time.Since(begun), f.logLik, f.settled)
		for _, r := range m.Fits {
			fmt.Printf("  %s %.8f (%.1e)", r.Library, r.LogLik, (f.logLik-r.LogLik)/math.Abs(r.LogLik))
		}
		fmt.Println()
		fmt.Println("   ", f.psi)
		for _, r := range m.Fits {
			fmt.Println("   ", r.Alpha.Estimate, r.Estimate, r.Zero.Estimate, r.Dispersion)
		}
	}
}
