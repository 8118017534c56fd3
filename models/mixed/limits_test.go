package mixed_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"

	"gonum.org/v1/gonum/stat/distuv"
)

// atFloor raises every outcome below the share-quantile to it.
func atFloor(data *table.Table, share float64) (*table.Table, float64) {
	sorted := slices.Clone(data.Column("wear").Numbers)
	slices.Sort(sorted)
	floor := sorted[int(share*float64(len(sorted)))]
	return changed(data, "wear", func(c *table.Column) *table.Column {
		values := slices.Clone(c.Numbers)
		for i, v := range values {
			values[i] = math.Max(v, floor)
		}
		return table.Numbers("wear", values)
	}), floor
}

// exactLogLik is the full log likelihood of a random intercept by book with
// rows at the floor, integrated by the trapezoidal rule, which for a smooth
// integrand that dies off at both ends is exact to rounding.
func exactLogLik(fit *mixed.Fit, data *table.Table, floor float64) float64 {
	var sd float64
	if len(fit.Random) > 0 {
		sd = fit.Random[0].SD[0]
	}
	single := fit.Residual.SD
	byBook := map[string][]int{}
	var books []string
	for i := range data.Rows() {
		b := data.Column("book").Label(i)
		if byBook[b] == nil {
			books = append(books, b)
		}
		byBook[b] = append(byBook[b], i)
	}
	const points, reach = 2001, 8.0
	total := 0.0
	for _, b := range books {
		logs := make([]float64, points)
		for k := range logs {
			x := reach * (2*float64(k)/(points-1) - 1)
			u := x * sd
			logs[k] = distuv.UnitNormal.LogProb(x)
			for _, i := range byBook[b] {
				mean := fit.Fixed[0].Estimate + u
				if data.Column("picture").Label(i) == "yes" {
					mean += fit.Fixed[1].Estimate
				}
				y := data.Column("wear").Numbers[i]
				if y <= floor {
					logs[k] += math.Log(distuv.UnitNormal.CDF((floor - mean) / single))
				} else {
					logs[k] += distuv.Normal{Mu: mean, Sigma: single}.LogProb(y)
				}
			}
		}
		most := slices.Max(logs)
		sum := 0.0
		for k := range logs {
			sum += math.Exp(logs[k]-most) * 2 * reach / (points - 1)
		}
		total += most + math.Log(sum)
	}
	return total
}

const floorModel = `outcome = "wear"
estimate = "full"
fixed = ["picture"]
[levels]
picture = ["no", "yes"]
`

// TestBoundsWithoutRandomTerms: with no random term the approximation is the
// exact likelihood of Tobin's (1958) censored regression.
func TestBoundsWithoutRandomTerms(t *testing.T) {
	data, floor := atFloor(simulate(3, 5, 40, 3, usualTruth), 0.4)
	fit := fitted(t, parse(t, floorModel+fmt.Sprintf("[residual]\nlimit = %g\n", floor)), data)
	near(t, "log likelihood", fit.LogLik, exactLogLik(fit, data, floor), 1e-9, 0)
	// at the maximum: no small step goes up
	for k := range fit.Fixed {
		for _, step := range []float64{-1e-3, 1e-3} {
			moved := *fit
			moved.Fixed = slices.Clone(fit.Fixed)
			moved.Fixed[k].Estimate += step * fit.Fixed[k].SE
			if up := exactLogLik(&moved, data, floor); up > fit.LogLik {
				t.Errorf("%s moved by %g se: log likelihood %.12g above %.12g", fit.Fixed[k].Term, step, up, fit.LogLik)
			}
		}
	}
}

// TestBoundsAgainstQuadrature: with a random intercept the approximate log
// likelihood is within 0.005 of the exact one with up to 40 % of the rows at the
// floor, and within 0.05 with 60 %.
func TestBoundsAgainstQuadrature(t *testing.T) {
	for _, share := range []float64{0.1, 0.25, 0.4, 0.6} {
		data, floor := atFloor(simulate(4, 8, 24, 3, usualTruth), share)
		model := floorModel + "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n" + fmt.Sprintf("[residual]\nlimit = %g\n", floor)
		fit := fitted(t, parse(t, model), data)
		want := exactLogLik(fit, data, floor)
		t.Logf("%.0f %% at the floor: log likelihood %.6f, by quadrature %.6f", 100*share, fit.LogLik, want)
		allowed := 0.005
		if share > 0.4 {
			allowed = 0.05
		}
		near(t, "log likelihood", fit.LogLik, want, 0, allowed)
	}
}

// TestBoundsByColumn: a column that says below gives the same as a limit, and
// above is its mirror image.
func TestBoundsByColumn(t *testing.T) {
	data, floor := atFloor(simulate(6, 5, 40, 3, usualTruth), 0.3)
	random := "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	want := fitted(t, parse(t, floorModel+random+fmt.Sprintf("[residual]\nlimit = %g\n", floor)), data)
	said := make([]string, data.Rows())
	mirrored := make([]string, data.Rows())
	for i, v := range data.Column("wear").Numbers {
		if v <= floor {
			said[i], mirrored[i] = "below", "above"
		}
	}
	if err := data.Add(table.Labels("limit", said)); err != nil {
		t.Fatal(err)
	}
	like(t, fitted(t, parse(t, floorModel+random+"[residual]\nlimits = \"limit\"\n"), data), want, 1, 0)
	mirror := changed(changed(data, "limit", func(*table.Column) *table.Column { return table.Labels("limit", mirrored) }),
		"wear", func(c *table.Column) *table.Column {
			values := slices.Clone(c.Numbers)
			for i := range values {
				values[i] = -values[i]
			}
			return table.Numbers("wear", values)
		})
	like(t, fitted(t, parse(t, floorModel+random+"[residual]\nlimits = \"limit\"\n"), mirror), want, -1, 0)
}

// TestBoundsAreSound: 40 % of the pages at the floor, simulated studies of 10
// books: estimates are unbiased to within three standard errors of their mean,
// the 95 % intervals hold the truth as often as they should (but for three
// standard errors of that share), and the variances, too, come out; while the same pages taken at their face value give
// a picture effect that is far too small.
func TestBoundsAreSound(t *testing.T) {
	studies := 60
	if os.Getenv("THUMBED_SLOW") != "" {
		studies = 600
	}
	truth := usualTruth
	truth.place, truth.slope, truth.reader = 0, 0, 0
	random := "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[[random]]\nby = [\"book\", \"quire\"]\nterms = [\"intercept\"]\n"
	base := "outcome = \"wear\"\nfixed = [\"picture\"]\n[levels]\npicture = [\"no\", \"yes\"]\n" + random
	var effects, naive, single, between []float64
	held := 0
	for seed := range uint64(studies) {
		data, floor := atFloor(simulate(5000+seed, 10, 32, 2, truth), 0.4)
		fit := fitted(t, parse(t, base+fmt.Sprintf("[residual]\nlimit = %g\n", floor)), data)
		if !fit.Converged {
			t.Errorf("study %d did not converge", seed)
		}
		c := fit.Fixed[1]
		effects = append(effects, c.Estimate)
		single = append(single, fit.Residual.SD)
		between = append(between, fit.Random[0].SD[0]*fit.Random[0].SD[0])
		if c.Low <= truth.picture && truth.picture <= c.High {
			held++
		}
		naive = append(naive, fitted(t, parse(t, base), data).Fixed[1].Estimate)
	}
	check := func(what string, values []float64, want, allowed float64) {
		mean, se := meanAndError(values)
		t.Logf("%s: mean %.4f (se %.4f), truth %.4f", what, mean, se, want)
		if math.Abs(mean-want) > 3*se+allowed {
			t.Errorf("%s: mean %.4f (se %.4f), truth %.4f", what, mean, se, want)
		}
	}
	check("picture", effects, truth.picture, 0)
	check("residual", single, truth.single, 0.005) // a standard deviation is biased downwards by its own curvature
	check("variance between books", between, truth.book*truth.book, 0)
	if share := float64(held) / float64(studies); share < 0.95-3*math.Sqrt(0.95*0.05/float64(studies)) {
		t.Errorf("the interval holds the truth in %.1f %%", 100*share)
	}
	if mean, _ := meanAndError(naive); mean > 0.8*truth.picture {
		t.Errorf("taken at face value the picture effect is %.3f: the simulation does not put bounds to the test", mean)
	}
}

func meanAndError(values []float64) (mean, se float64) {
	for _, v := range values {
		mean += v
	}
	mean /= float64(len(values))
	for _, v := range values {
		se += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(se/float64(len(values)-1)) / math.Sqrt(float64(len(values)))
}

// TestBoundsAlong: rows that are bounds inside a series with autocorrelation.
// The truth of a simulated series comes back.
func TestBoundsAlong(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	var rhos, means []float64
	for range 12 {
		var book []string
		var place, wear, se []float64
		for b := range 4 {
			x := r.NormFloat64()
			for p := range 60 {
				if p > 0 {
					x = 0.7*x + math.Sqrt(1-0.49)*r.NormFloat64()
				}
				if p%7 == 3 {
					continue // a lost leaf
				}
				book = append(book, fmt.Sprint(b))
				place = append(place, float64(p))
				wear = append(wear, math.Max(1+x+0.3*r.NormFloat64(), 0.6))
				se = append(se, 0.3)
			}
		}
		data, err := table.New(table.Labels("book", book), table.Numbers("place", place), table.Numbers("wear", wear), table.Numbers("se", se))
		if err != nil {
			t.Fatal(err)
		}
		fit := fitted(t, parse(t, "outcome = \"wear\"\nfixed = []\n[residual]\nalong = \"place\"\nwithin = \"book\"\nknown_sd = \"se\"\nlimit = 0.6\n"), data)
		if !fit.Converged {
			t.Error("did not converge")
		}
		rhos = append(rhos, fit.Residual.Rho)
		means = append(means, fit.Fixed[0].Estimate)
	}
	mean, e := meanAndError(rhos)
	t.Logf("rho: mean %.3f (se %.3f)", mean, e)
	if math.Abs(mean-0.7) > 3*e+0.02 {
		t.Errorf("rho: mean %.3f (se %.3f), truth 0.7", mean, e)
	}
	mean, e = meanAndError(means)
	if math.Abs(mean-1) > 3*e {
		t.Errorf("mean: %.3f (se %.3f), truth 1", mean, e)
	}
}

// TestBoundsNotNamed: a table that says which rows are only bounds, and a model
// that takes them as values, make a note; a column of the same name with another
// meaning makes none, nor does a model that names it.
func TestBoundsNotNamed(t *testing.T) {
	data, floor := atFloor(simulate(6, 5, 40, 3, usualTruth), 0.3)
	said, other := make([]string, data.Rows()), make([]string, data.Rows())
	bounds := 0
	for i, v := range data.Column("wear").Numbers {
		other[i] = "city wall"
		if v <= floor {
			said[i] = "below"
			bounds++
		}
	}
	note := func(limit []string, residual string) string {
		t.Helper()
		with := changed(data, "place", func(c *table.Column) *table.Column { return c })
		if err := with.Add(table.Labels("limit", limit)); err != nil {
			t.Fatal(err)
		}
		for _, n := range fitted(t, parse(t, floorModel+residual), with).Notes {
			if strings.Contains(n, "takes it for the value") {
				return n
			}
		}
		return ""
	}
	if got := note(said, ""); !strings.HasPrefix(got, fmt.Sprintf("Column limit says of %d of 200 rows", bounds)) || !strings.Contains(got, `limits = "limit" under [residual]`) {
		t.Errorf("note %q", got)
	}
	if got := note(said, "[residual]\nlimits = \"limit\"\n"); got != "" {
		t.Errorf("named, and yet noted: %q", got)
	}
	if got := note(other, ""); got != "" {
		t.Errorf("another meaning, and yet noted: %q", got)
	}
}

// TestBoundsCoverage: with most rows only bounds, intervals for the mean and an effect
// hold the truth, since the standard errors count what the fixed effects share with
// the variances. 200 invented studies of 12 books of 20 pages, 75 % of which lie at
// the floor; the share must be within three standard errors of 95 %.
func TestBoundsCoverage(t *testing.T) {
	const studies, limit = 200, 0.156
	model := parse(t, fmt.Sprintf("outcome = \"wear\"\nfixed = [\"picture\"]\n[levels]\npicture = [\"no\", \"yes\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[residual]\nlimit = %g\n", limit))
	held := make([]int, 2)
	for s := range studies {
		r := rand.New(rand.NewPCG(uint64(s), 9))
		book, picture, wear := make([]string, 240), make([]string, 240), make([]float64, 240)
		level := 0.0
		for i := range wear {
			if i%20 == 0 {
				level = 0.04 * r.NormFloat64()
			}
			book[i], picture[i] = fmt.Sprint(i/20), []string{"no", "yes"}[r.IntN(2)]
			wear[i] = 0.1 + level + 0.05*r.NormFloat64()
			if picture[i] == "yes" {
				wear[i] += 0.025
			}
		}
		fit := fitted(t, model, tableOf(table.Labels("book", book), table.Labels("picture", picture), table.Numbers("wear", wear)))
		for k, truth := range []float64{0.1, 0.025} {
			if c := fit.Fixed[k]; c.Low <= truth && truth <= c.High {
				held[k]++
			}
		}
	}
	for k, n := range held {
		if share := float64(n) / studies; share < 0.95-3*math.Sqrt(0.95*0.05/studies) {
			t.Errorf("effect %d: intervals hold the truth in %.1f %%", k, 100*share)
		}
	}
}
