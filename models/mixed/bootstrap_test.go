package mixed_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"runtime"
	"strings"
	"testing"

	"thumbed/models/mixed"
)

const dyestuffText = "outcome = \"Yield\"\nfixed = []\n[[random]]\nby = \"Batch\"\nterms = [\"intercept\"]\n"

// TestBootstrapBalanced: on a balanced one-way design the intercept is the grand
// mean whatever the variances, so that over outcomes from the fitted model it is
// normal with variance (σ² + nτ²)/(nk), n rows in each of k groups (Searle,
// Casella and McCulloch 1992, section 3.3). Tolerances are four standard errors
// of a standard deviation, and of a quantile, over 2,000 replicates.
func TestBootstrapBalanced(t *testing.T) {
	const replicates = 2000
	fit := fitted(t, parse(t, dyestuffText), loadTable(t, "Dyestuff.csv"))
	b, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: replicates, Seed: 7})
	if err != nil {
		t.Fatal(err)
	}
	within, between := fit.Residual.SD, fit.Random[0].SD[0]
	sd := math.Sqrt((within*within + 5*between*between) / 30)
	got := b.Parameters[0]
	near(t, "sd", got.SD, sd, 4/math.Sqrt(2*replicates), 0)
	near(t, "bias", got.Bias, 0, 0, 4*sd/math.Sqrt(replicates))
	// the standard error of the 2.5 % quantile: sqrt(0.025·0.975/R)/φ(1.96)
	quantile := 4 * sd * math.Sqrt(0.025*0.975/replicates) / 0.0584
	near(t, "low", got.Low, got.Value-1.959964*sd, 0, quantile)
	near(t, "high", got.High, got.Value+1.959964*sd, 0, quantile)
	near(t, "basic low", got.BasicLow, 2*got.Value-got.High, 1e-12, 0)
	if b.Failed > 0 {
		t.Errorf("%d refits failed", b.Failed)
	}
}

// TestBootstrapCores: the result does not depend on the number of cores, and
// progress is told for every replicate in turn.
func TestBootstrapCores(t *testing.T) {
	fit := inferenceModels["sleepstudy-correlated"].fit(t, "restricted")
	var told []int
	o := mixed.Bootstrapping{Replicates: 60, Seed: 3, Progress: func(done, of int) { told = append(told, done*1000+of) }}
	want := ""
	for _, cores := range []int{1, 2, 5} {
		before := runtime.GOMAXPROCS(cores)
		b, err := fit.Bootstrap(context.Background(), o)
		runtime.GOMAXPROCS(before)
		if err != nil {
			t.Fatal(err)
		}
		if got := text(t, b); want == "" {
			want = got
		} else if got != want {
			t.Errorf("on %d cores: another result", cores)
		}
	}
	if len(told) != 180 || told[0] != 1060 || told[59] != 60060 {
		t.Errorf("progress %v", told)
	}
}

// TestBootstrapStops: an ended context stops the work and is told.
func TestBootstrapStops(t *testing.T) {
	fit := inferenceModels["sleepstudy-correlated"].fit(t, "restricted")
	ctx, stop := context.WithCancel(context.Background())
	done := 0
	_, err := fit.Bootstrap(ctx, mixed.Bootstrapping{Replicates: 100000, Progress: func(int, int) {
		if done++; done == 5 {
			stop()
		}
	}})
	if !errors.Is(err, context.Canceled) || done > 20 {
		t.Errorf("error %v after %d replicates", err, done)
	}
	if _, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: 3}); err == nil {
		t.Error("three replicates were taken")
	}
}

// TestBootstrapStructures: outcomes drawn from models of every residual
// structure give back, on average, the parameters they are drawn from. The
// tolerance is four standard errors of the mean and a tenth of the replicates'
// spread, for the bias of small samples.
func TestBootstrapStructures(t *testing.T) {
	for _, r := range loadReferences(t) {
		if r.By != "nlme" {
			continue
		}
		t.Run(r.Name, func(t *testing.T) {
			fit := fitted(t, parse(t, r.Model), loadTable(t, r.Data))
			b, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: 200, Seed: 5})
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range b.Parameters {
				if p.Kind == mixed.Autocorrelation {
					continue // of a distance far above the rows': skew beyond a mean
				}
				near(t, p.Name, p.Mean, p.Value, 0, (4/math.Sqrt(200)+0.1)*p.SD)
			}
			var out bytes.Buffer
			if err := b.Text(&out); err != nil || !strings.Contains(out.String(), "seed 5") {
				t.Errorf("text %q (%v)", out.String(), err)
			}
			c, err := b.Contrast("age", map[string]float64{fit.Fixed[1].Term: 2})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "contrast", c.Low, 2*b.Parameters[1].Low, 1e-12, 0)
		})
	}
}

// TestBootstrapRatio: where a mixture is known the bootstrap's p agrees with it.
// Tolerance four standard errors of a share over 500 replicates, and 0.02 since
// the mixture holds for many groups.
func TestBootstrapRatio(t *testing.T) {
	data := loadTable(t, "Dyestuff.csv")
	small := fitted(t, parse(t, "outcome = \"Yield\"\nfixed = []\n"), data)
	large := fitted(t, parse(t, dyestuffText), data)
	want, err := small.RatioTest(large)
	if err != nil {
		t.Fatal(err)
	}
	got, err := small.BootstrapRatio(context.Background(), large, mixed.Bootstrapping{Replicates: 500, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "statistic", got.Statistic, want.Statistic, 1e-12, 0)
	near(t, "p", got.P, want.P, 0, 4*math.Sqrt(want.P*(1-want.P)/500)+0.02)
}
