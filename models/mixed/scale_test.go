package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"thumbed/models/table"
)

// TestMeansOfLogarithms: outcomes whose logarithm is normal, in books. The mean
// in the outcome's own unit comes back without bias and its interval holds the
// truth (400 simulated studies of 12 books; three standard errors of the share).
// exp of the mean logarithm is far off.
func TestMeansOfLogarithms(t *testing.T) {
	const studies = 400
	const between, single, level = 0.5, 0.7, -1.0
	truth := math.Exp(level + (between*between+single*single)/2)
	m := parse(t, "outcome = \"wear\"\nscale = \"log\"\nfixed = []\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n")
	var estimates, naive []float64
	held := 0
	for seed := range uint64(studies) {
		r := rand.New(rand.NewPCG(seed, 99))
		var book []string
		var wear []float64
		for b := range 12 {
			effect := between * r.NormFloat64()
			for range 20 {
				book = append(book, fmt.Sprint(b))
				wear = append(wear, math.Exp(level+effect+single*r.NormFloat64()))
			}
		}
		data, err := table.New(table.Labels("book", book), table.Numbers("wear", wear))
		if err != nil {
			t.Fatal(err)
		}
		fit := fitted(t, m, data)
		mean := fit.OutcomeMean(fit.Fixed[0])
		estimates = append(estimates, mean.Estimate)
		naive = append(naive, fit.Fixed[0].Ratio().Estimate)
		if mean.Low <= truth && truth <= mean.High {
			held++
		}
	}
	mean, se := meanAndError(estimates)
	share := float64(held) / studies
	t.Logf("truth %.4f, mean estimate %.4f (se %.4f), interval holds it in %.1f %%", truth, mean, se, 100*share)
	if math.Abs(mean-truth) > 3*se {
		t.Errorf("mean %.4f (se %.4f), truth %.4f", mean, se, truth)
	}
	if share < 0.917 {
		t.Errorf("the interval holds the truth in %.1f %%", 100*share)
	}
	if without, _ := meanAndError(naive); without > 0.8*truth {
		t.Errorf("uncorrected mean %.4f: the simulation does not put the correction to the test", without)
	}
}
