package generalised

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
)

const byThreshold = "outcome = \"rating\"\nkind = \"grades\"\nby_threshold = [\"contact\"]\nfixed = [\"temp\", \"contact\"]\n[levels]\nrating = [\"1\", \"2\", \"3\", \"4\", \"5\"]\n"

// Terms by threshold together with a random term, which no library at hand fits: the
// log likelihood by quadrature against a brute integral over each judge by 400 points
// at the estimates, written down here anew from the probabilities alone.
func TestByThresholdAgainstBruteForce(t *testing.T) {
	data := readTable(t, "wine.csv")
	f, err := New(parsed(t, "points = 25\n"+byThreshold+"[[random]]\nby = \"judge\"\nterms = [\"intercept\"]\n"), data)
	if err != nil {
		t.Fatal(err)
	}
	theta := make([]float64, 4)
	for j, h := range f.Thresholds {
		theta[j] = h.Estimate
	}
	effects := map[string]float64{}
	for _, c := range f.Fixed {
		effects[c.Term] = c.Estimate
	}
	below := func(j int, temp, contact string, b float64) float64 {
		if j < 0 {
			return 0
		}
		if j > 3 {
			return 1
		}
		x := theta[j] - b
		if temp == "warm" {
			x -= effects["temp=warm"]
		}
		if contact == "yes" {
			x -= effects[fmt.Sprintf("contact=yes at %d|%d", j+1, j+2)]
		}
		return 1 / (1 + math.Exp(-x))
	}
	judges, codes := data.Column("judge").Levels()
	total := 0.0
	for g := range judges {
		integral := quad.Fixed(func(z float64) float64 {
			product := math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
			for i, c := range codes {
				if int(c) != g {
					continue
				}
				var grade int
				fmt.Sscan(data.Column("rating").Label(i), &grade)
				temp, contact := data.Column("temp").Label(i), data.Column("contact").Label(i)
				b := f.Random[0].SD[0] * z
				product *= below(grade-1, temp, contact, b) - below(grade-2, temp, contact, b)
			}
			return product
		}, -12, 12, 400, nil, 0)
		total += math.Log(integral)
	}
	if math.Abs(total-f.LogLik) > 1e-7 {
		t.Errorf("log likelihood %.10f, by brute force %.10f", f.LogLik, total)
	}
	// with another effect at each threshold the likelihood is no lower than with one
	if one := fitOf(t, "points = 25\n"+wineModel, "wine.csv"); f.LogLik < one.LogLik-1e-8 {
		t.Errorf("log likelihood %.6f, with one effect %.6f", f.LogLik, one.LogLik)
	}
}

// Where effects by threshold would cross the thresholds, the fit is refused and a row
// that breaks is named.
func TestCrossingThresholdsAreRefused(t *testing.T) {
	// among a, the middle grade is common; among b there is hardly one, and the grades
	// on both sides pull the thresholds over each other
	rows := "grade,part,x\n"
	for i := range 60 {
		x := float64(i%20) / 4
		grade := 1 + i%3
		if i%20 > 12 {
			grade = []int{1, 3}[i%2]
		}
		rows += fmt.Sprintf("g%d,%s,%g\n", grade, []string{"a", "b"}[i%2], x)
	}
	_, err := New(parsed(t, "outcome = \"grade\"\nkind = \"grades\"\nby_threshold = [\"x\"]\nfixed = [\"x\"]\n[levels]\ngrade = [\"g1\", \"g2\", \"g3\"]\n"), tableOf(t, rows))
	if err == nil || !strings.Contains(err.Error(), "would cross in rows like this one") || !strings.Contains(err.Error(), "table.csv, line") {
		t.Errorf("the fit ended with %v", err)
	}
}
