package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"thumbed/models/table"
)

func TestZZBounds(t *testing.T) {
	for _, random := range []bool{false, true} {
	for _, share := range []float64{0.4, 0.6, 0.8} {
		for _, method := range []string{"Kenward–Roger", "Satterthwaite"} {
		sims := 600
		var cover [2]int
		fails := 0
		var df, width float64
		for s := range sims {
			n := 240
			r := rand.New(rand.NewPCG(uint64(s), 9))
			book, pic := make([]string, n), make([]string, n)
			y := make([]float64, n)
			var lev float64
			sd := 0.05
			z := map[float64]float64{0.4: -0.2533, 0.6: 0.2533, 0.8: 0.8416}[share]
			total := 0.06
			if random { total = math.Hypot(0.05, 0.04) }
			limit := 0.1 + 0.0125 + z*total
			for i := range n {
				if i%20 == 0 { lev = 0.04*r.NormFloat64() }
				book[i] = fmt.Sprint(i / 20); pic[i] = []string{"no", "yes"}[r.IntN(2)]
				y[i] = 0.1 + sd*r.NormFloat64()
				if random { y[i] += lev }
				if pic[i] == "yes" { y[i] += 0.025 }
			}
			data, _ := table.New(table.Labels("book", book), table.Labels("picture", pic), table.Numbers("wear", y))
			rnd := ""
			if random { rnd = "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n" }
			m := parse(t, fmt.Sprintf("outcome = \"wear\"\nfixed = [\"picture\"]\ndf = %q\n[levels]\npicture = [\"no\", \"yes\"]\n%s[residual]\nlimit = %g\n", method, rnd, limit))
			f, err := m.Fit(data)
			if err != nil { fails++; continue }
			for k, truth := range []float64{0.1, 0.025} {
				if c := f.Fixed[k]; c.Low <= truth && truth <= c.High { cover[k]++ }
			}
			df += math.Min(1e4, f.Fixed[0].DF); width += f.Fixed[0].High-f.Fixed[0].Low
		}
		N := float64(sims-fails)
		fmt.Printf("random %v bounds %.1f %s intercept %.3f picture %.3f fails %d df %.1f width %.4f\n", random, share, method, float64(cover[0])/N, float64(cover[1])/N, fails, df/N, width/N)
		}
	}
	}
}
