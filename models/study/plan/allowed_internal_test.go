package plan

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestAllowancesHoldTheTruth: from many pilots of four groups, whose variance is seen
// with an error, what they allow for the spread holds the true one as often as it says
// (the χ² distribution of a variance, exact). The ends of profile likelihood intervals,
// taken for quantiles, say it too seldom above.
func TestAllowancesHoldTheTruth(t *testing.T) {
	const sigma2, v, nu, pilots = 0.0009, 0.0001, 3.0, 400
	// the power of eight books for an effect of 0.03, two-sided at 5 %: noncentral t
	const df, points = 7, 100
	half := distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(0.975)
	var errors [points]float64 // what the estimated standard error may be, in the true one
	for i := range errors {
		errors[i] = math.Sqrt(distuv.ChiSquared{K: df}.Quantile((float64(i)+0.5)/points) / df)
	}
	power := func(sd float64) float64 {
		sum := 0.0
		for _, e := range errors {
			sum += distuv.UnitNormal.CDF(0.03/math.Sqrt((sd*sd+v)/8) - half*e)
		}
		return sum / points
	}
	truth := power(math.Sqrt(sigma2))
	promised, inBand, before, beforeIn := 0.0, 0, 0.0, 0
	promise := func(a *allowance) (mean float64, holds bool) {
		for k := range allowedDraws {
			mean += power(a.quantile((float64(k)+0.5)/allowedDraws)) / allowedDraws
		}
		return mean, power(a.quantile(0.9)) <= truth && truth <= power(a.quantile(0.1))
	}
	r := rand.New(rand.NewPCG(5, 6))
	levels := []float64{0.1, 0.5, 0.9}
	held, plain := make([]int, len(levels)), make([]int, len(levels))
	chi := distuv.ChiSquared{K: nu, Src: r}
	for range pilots {
		total := (sigma2 + v) * chi.Rand() / nu
		estimate := math.Max(0, total-v)
		// the ends of its profile likelihood intervals
		minus := func(variance float64) float64 { return nu * (math.Log(variance+v) + total/(variance+v)) }
		a := allowance{}
		end := func(u float64) {
			z := distuv.UnitNormal.Quantile(u)
			low, high := estimate, 1.0
			if u < 0.5 {
				low, high = 0, estimate
				if minus(0)-minus(estimate) < z*z {
					a.at, a.values = append(a.at, u), append(a.values, 0)
					return
				}
			}
			for range 80 {
				half := (low + high) / 2
				if (minus(half)-minus(estimate) < z*z) == (u > 0.5) {
					low = half
				} else {
					high = half
				}
			}
			a.at, a.values = append(a.at, u), append(a.values, math.Sqrt(low))
		}
		for k := len(profileLevels) - 1; k >= 0; k-- {
			end((1 - profileLevels[k]) / 2)
		}
		for _, level := range profileLevels {
			end((1 + level) / 2)
		}
		for k, u := range levels {
			if a.quantile(u) >= math.Sqrt(sigma2) {
				plain[k]++
			}
		}
		mean, holds := promise(&a)
		if before += mean / pilots; holds {
			beforeIn++
		}
		a.fit(math.Sqrt(estimate), 4)
		mean, holds = promise(&a)
		if promised += mean / pilots; holds {
			inBand++
		}
		for k, u := range levels {
			if a.quantile(u) >= math.Sqrt(sigma2) {
				held[k]++
			}
		}
	}
	for k, u := range levels {
		got, margin := float64(held[k])/pilots, 3*math.Sqrt(u*(1-u)/pilots)
		t.Logf("the %.0f %% limit holds the truth in %.1f %% (the profile's end in %.1f %%)", 100*u, 100*got, 100*float64(plain[k])/pilots)
		if math.Abs(got-u) > margin+0.01 {
			t.Errorf("the %.0f %% limit holds the truth in %.1f %% of pilots", 100*u, 100*got)
		}
	}
	t.Logf("a power of %.3f is promised as %.3f on average, and the band of eight in ten holds it for %.3f of pilots (by the profile's ends %.3f and %.3f)",
		truth, promised, float64(inBand)/pilots, before, float64(beforeIn)/pilots)
	if share := float64(inBand) / pilots; math.Abs(share-0.8) > 3*math.Sqrt(0.8*0.2/pilots)+0.01 {
		t.Errorf("the band of eight in ten holds the truth for %.3f of pilots", share)
	}
	if math.Abs(promised-truth) > 0.08 {
		t.Errorf("a power of %.3f is promised as %.3f on average", truth, promised)
	}
}
