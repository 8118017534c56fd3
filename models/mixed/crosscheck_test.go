package mixed_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A crossDesign is one random design of the crosscheck, for ours and for the
// reference library.
type crossDesign struct {
	By          string  `json:"by"`
	Formula     string  `json:"formula"`
	Random      string  `json:"random"`
	Correlation string  `json:"correlation"`
	Weights     string  `json:"weights"`
	Sigma       float64 `json:"sigma"` // 0: estimated
	Data        string  `json:"data"`
	Restricted  bool    `json:"restricted"`
	Model       string  `json:"model"`

	table *table.Table
}

// TestCrossCheck fits random designs with ours and, live, with the reference
// libraries in R: sizes, levels, imbalance, nested and crossed groups, slopes,
// autoregression, known errors, another spread for each level.
//
//	THUMBED_CROSSCHECK=200 go test -run CrossCheck -v ./models/mixed
//
// THUMBED_CROSSCHECK_SEED names another run. A difference above the tolerance is
// told with the design that made it, and fails, except where our likelihood is the
// higher one: that is told, as is every one higher by more than 1e-6. Tolerances: the log likelihood 1e-6 of its size;
// estimates and standard errors 1e-4 of theirs; the reference's standard
// deviations, correlations and autocorrelation, put into our likelihood, come to
// the reference's log likelihood and residual standard deviation to 1e-6 of their
// size; and ours are within 1e-3 of the reference's, or the likelihood is flat
// between the two, see compareVariances.
func TestCrossCheck(t *testing.T) {
	designs, err := strconv.Atoi(os.Getenv("THUMBED_CROSSCHECK"))
	if err != nil || designs <= 0 {
		t.Skip("set THUMBED_CROSSCHECK to the number of designs to run this against R")
	}
	seed, err := strconv.ParseUint(os.Getenv("THUMBED_CROSSCHECK_SEED"), 10, 64)
	if err != nil {
		seed = 1
	}
	folder := t.TempDir()
	list := make([]crossDesign, designs)
	for k := range list {
		list[k] = drawCross(rand.New(rand.NewPCG(seed, uint64(k))))
		writeCross(t, folder, k, &list[k])
	}
	command := exec.Command("Rscript", filepath.Join(references, "live", "crosscheck.R"), folder)
	if out, err := command.CombinedOutput(); err != nil {
		t.Fatalf("R: %v\n%s", err, out)
	}
	var failed, higher int
	for k := range list {
		told, fails := compareCross(t, folder, k, &list[k])
		if told == "" {
			continue
		}
		if fails {
			failed++
			t.Errorf("design %d (seed %d): %s\n%s in R: %s %s %s %s\n%s", k, seed, told, list[k].By, list[k].Formula, list[k].Random, list[k].Correlation, list[k].Weights, list[k].Model)
			continue
		}
		higher++
		t.Logf("design %d (seed %d): %s (%s %s)", k, seed, told, list[k].Formula, list[k].Random)
	}
	t.Logf("%d designs: %d agree, %d where ours is the higher likelihood or the reference failed, %d differ", designs, designs-failed-higher, higher, failed)
}

func writeCross(t *testing.T, folder string, k int, c *crossDesign) {
	t.Helper()
	c.Data = fmt.Sprintf("design%03d.csv", k)
	f, err := os.Create(filepath.Join(folder, c.Data))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := c.table.Write(f); err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, fmt.Sprintf("design%03d.json", k)), data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// compareCross tells how ours and the reference differ, and whether that fails.
func compareCross(t *testing.T, folder string, k int, c *crossDesign) (told string, fails bool) {
	t.Helper()
	var want struct {
		LogLik   float64
		Estimate numbers
		SE       numbers
		Singular bool
		Failed   string
		crossVariances
	}
	data, err := os.ReadFile(filepath.Join(folder, fmt.Sprintf("design%03d.reference.json", k)))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	m, err := mixed.ParseModel("model.toml", []byte(c.Model))
	if err != nil {
		return err.Error(), true
	}
	fit, err := m.Fit(c.table)
	if err != nil {
		return "ours: " + err.Error(), true
	}
	if !fit.Converged {
		return "ours did not converge", true
	}
	if want.Failed != "" {
		return "the reference failed: " + strings.TrimSpace(want.Failed), false
	}
	difference := fit.LogLik - want.LogLik
	if tolerance := 1e-6 * math.Max(math.Abs(want.LogLik), 1); difference > tolerance {
		return fmt.Sprintf("our log likelihood %.9g is higher than the reference's %.9g", fit.LogLik, want.LogLik), false
	} else if difference < -tolerance {
		return fmt.Sprintf("log likelihood %.9g, reference %.9g", fit.LogLik, want.LogLik), true
	} else if difference > 1e-6 {
		t.Logf("design %d: our log likelihood is higher than the reference's by %.2g, within the tolerance", k, difference)
	}
	// The reference's optimum is as exact as its criterion is flat: an error e of
	// the criterion moves a variance parameter by about sqrt(e) of its own
	// uncertainty.
	for j, e := range fit.Fixed {
		if math.Abs(e.Estimate-want.Estimate[j]) > 1e-4*math.Max(math.Abs(want.Estimate[j]), want.SE[j]) {
			return fmt.Sprintf("%s %.9g, reference %.9g", e.Term, e.Estimate, want.Estimate[j]), true
		}
		if math.Abs(e.SE-want.SE[j]) > 1e-4*want.SE[j] && !want.Singular {
			return fmt.Sprintf("standard error of %s %.9g, reference %.9g", e.Term, e.SE, want.SE[j]), true
		}
	}
	told = compareVariances(t, fit, want.LogLik, want.crossVariances)
	return told, told != ""
}

// crossVariances are the reference's variance parameters.
type crossVariances struct {
	Random []struct {
		Grp, Var1, Var2 string
		SDCor           float64
	}
	Residual, Rho float64
	Levels        map[string]float64
}

// truth gives the reference's variance parameters as our fit names them.
func (v crossVariances) truth(fit *mixed.Fit) mixed.Parameters {
	theirs := strings.NewReplacer("intercept", "(Intercept)", "picture=", "picture")
	copies := regexp.MustCompile(`\.\d+$`) // the data frame numbers terms of the same groups, and then writes a:b as a.b
	out := fit.Estimates()
	out.Residual = mixed.ResidualFit{SD: v.Residual, Rho: v.Rho}
	for _, level := range fit.Residual.Levels {
		out.Residual.Levels = append(out.Residual.Levels, mixed.LevelSpread{Level: level.Level, SD: v.Levels[level.Level]})
	}
	if len(out.Residual.Levels) > 0 {
		out.Residual.SD = out.Residual.Levels[0].SD
	}
	out.Random = nil
	for _, r := range fit.Random {
		of := func(a, b string) float64 {
			for _, row := range v.Random {
				if strings.ReplaceAll(copies.ReplaceAllString(row.Grp, ""), ":", ".") == strings.Join(r.By, ".") &&
					(row.Var1 == a && row.Var2 == b || row.Var1 == b && row.Var2 == a) {
					return row.SDCor
				}
			}
			return math.NaN()
		}
		given := mixed.RandomFit{By: r.By, Terms: r.Terms}
		for a, term := range r.Terms {
			given.SD = append(given.SD, of(theirs.Replace(term), ""))
			row := make([]float64, len(r.Terms))
			for b, other := range r.Terms {
				switch {
				case a == b:
					row[b] = 1
				case r.Correlation[a][b] != 0: // 0 where none is modelled
					row[b] = of(theirs.Replace(term), theirs.Replace(other))
				}
			}
			given.Correlation = append(given.Correlation, row)
		}
		out.Random = append(out.Random, given)
	}
	return out
}

// compareVariances tells how the variance parameters differ. Where they differ
// by more than 1e-3 (of a standard deviation, or of the range of a correlation)
// the likelihood has to be flat between the two: a variance near zero, or a
// correlation of small variances, can be moved far at no cost, and then neither
// place is more right. Flat is that on the whole way from ours to the
// reference's the log likelihood falls by no more than the 1e-6 of its size to
// which the two agree.
func compareVariances(t *testing.T, fit *mixed.Fit, logLik float64, v crossVariances) string {
	t.Helper()
	there := v.truth(fit)
	surface, err := fit.SurfaceTowards(there, 16)
	if err != nil {
		return err.Error()
	}
	tolerance := 1e-6 * math.Max(math.Abs(logLik), 1)
	if last := -surface.Criterion[len(surface.Criterion)-1] / 2; !(math.Abs(last-logLik) <= tolerance) {
		return fmt.Sprintf("the reference's variances have log likelihood %.9g by ours, %.9g by its own", last, logLik)
	}
	if !(math.Abs(surface.Sigma-there.Residual.SD) <= 1e-6*there.Residual.SD) {
		return fmt.Sprintf("the reference's variances have residual standard deviation %.9g by ours, %.9g by its own", surface.Sigma, there.Residual.SD)
	}
	var differ []string
	off := func(what string, ours, theirs, size float64) {
		if !(math.Abs(ours-theirs) <= 1e-3*size) {
			differ = append(differ, fmt.Sprintf("%s %.6g, reference %.6g", what, ours, theirs))
		}
	}
	for k, r := range fit.Random {
		for a, term := range r.Terms {
			off(term+" by "+strings.Join(r.By, ", "), r.SD[a], there.Random[k].SD[a], there.Random[k].SD[a])
			for b := range a {
				off("correlation of "+r.Terms[b]+" and "+term, r.Correlation[a][b], there.Random[k].Correlation[a][b], 1)
			}
		}
	}
	off("residual", fit.Residual.SD, there.Residual.SD, there.Residual.SD)
	off("autocorrelation", fit.Residual.Rho, there.Residual.Rho, 1)
	for k, level := range fit.Residual.Levels {
		off("residual of "+level.Level, level.SD, there.Residual.Levels[k].SD, there.Residual.Levels[k].SD)
	}
	if len(differ) == 0 {
		return ""
	}
	for _, c := range surface.Criterion {
		if !(c-surface.Criterion[0] <= 2*tolerance) {
			return strings.Join(differ, "; ")
		}
	}
	t.Logf("flat: %s", strings.Join(differ, "; "))
	return ""
}

// drawCross draws a design.
func drawCross(r *rand.Rand) crossDesign {
	books := 4 + r.IntN(20)
	readers := 3 + r.IntN(6)
	var book, quire, reader, picture []string
	var x, place, se, wear []float64
	scale := math.Pow(10, float64(r.IntN(5)-2))
	readerEffect := make([]float64, readers)
	for k := range readerEffect {
		readerEffect[k] = 0.4 * r.NormFloat64()
	}
	slopeSD := r.Float64() * float64(r.IntN(2))
	bookSD := r.Float64() * float64(min(r.IntN(4), 1))
	for b := range books {
		level, slope, own := bookSD*r.NormFloat64(), slopeSD*r.NormFloat64(), 0.0
		pages := 6 + r.IntN(30)
		at := 0.0
		noise := r.NormFloat64()
		for p := range pages {
			if p%6 == 0 {
				own = 0.3 * r.NormFloat64()
			}
			gap := float64(1 + r.IntN(3))
			at += gap
			rho := math.Pow(0.6, gap)
			noise = rho*noise + math.Sqrt(1-rho*rho)*r.NormFloat64()
			k := r.IntN(readers)
			shown := "no"
			v := r.NormFloat64() + 1
			y := 2 + level + (0.5+slope)*v + own + readerEffect[k] + 0.5*noise + 0.2*r.NormFloat64()
			if r.IntN(3) == 0 {
				shown = "yes"
				y += 0.4
			}
			book = append(book, fmt.Sprint("b", b))
			quire = append(quire, fmt.Sprint("q", p/6))
			reader = append(reader, fmt.Sprint("r", k))
			picture = append(picture, shown)
			x = append(x, v)
			place = append(place, at)
			se = append(se, scale*(0.05+0.3*r.Float64()))
			wear = append(wear, scale*y)
		}
	}
	t, err := table.New(table.Labels("book", book), table.Labels("quire", quire), table.Labels("reader", reader), table.Labels("picture", picture),
		table.Numbers("x", x), table.Numbers("place", place), table.Numbers("se", se), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	c := crossDesign{table: t, Restricted: r.IntN(2) == 0}
	estimate := "full"
	if c.Restricted {
		estimate = "restricted"
	}
	fixed, formula := `["x", "picture"]`, "wear ~ x + picture"
	if r.IntN(3) == 0 {
		fixed, formula = `["x", "picture", ["x", "picture"]]`, "wear ~ x * picture"
	}
	c.Model = fmt.Sprintf("outcome = \"wear\"\nestimate = %q\nfixed = %s\n[levels]\npicture = [\"no\", \"yes\"]\n", estimate, fixed)
	if r.IntN(10) < 7 {
		c.By = "lme4"
		c.drawRandom(r, formula)
		return c
	}
	c.By = "nlme"
	c.Formula = formula
	c.drawResidual(r)
	return c
}

// drawRandom adds random terms for lme4.
func (c *crossDesign) drawRandom(r *rand.Rand, formula string) {
	add := func(by, terms string, correlated bool, bars string) {
		c.Model += fmt.Sprintf("[[random]]\nby = %s\nterms = %s\ncorrelated = %v\n", by, terms, correlated)
		formula += " + " + bars
	}
	switch r.IntN(4) {
	case 0:
		add(`"book"`, `["intercept"]`, false, "(1 | book)")
	case 1:
		add(`"book"`, `["intercept", "x"]`, true, "(1 + x | book)")
	case 2:
		add(`"book"`, `["intercept", "x"]`, false, "(1 | book) + (0 + x | book)")
	case 3:
		add(`"book"`, `["intercept", "picture"]`, true, "(1 + picture | book)")
	}
	if r.IntN(2) == 0 {
		add(`["book", "quire"]`, `["intercept"]`, false, "(1 | book:quire)")
	}
	switch r.IntN(3) {
	case 0:
		add(`"reader"`, `["intercept"]`, false, "(1 | reader)")
	case 1:
		add(`"reader"`, `["intercept", "x"]`, true, "(1 + x | reader)")
	}
	c.Formula = formula
}

// drawResidual adds a random intercept by book and a residual structure for
// nlme.
func (c *crossDesign) drawResidual(r *rand.Rand) {
	c.Model += "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	c.Random = "list(book = ~ 1)"
	switch r.IntN(3) {
	case 0:
		c.Model += "[residual]\nalong = \"place\"\nwithin = \"book\"\n"
		c.Correlation = "corCAR1(0.3, form = ~ place | book)"
	case 1:
		c.Model += "[residual]\nlevels = \"picture\"\n"
		c.Weights = "varIdent(form = ~ 1 | picture)"
	case 2:
		// nlme's restricted likelihood with sigma held is another criterion, see
		// make-reference.R
		c.Model = strings.Replace(c.Model, "\"restricted\"", "\"full\"", 1) + "[residual]\nknown_sd = \"se\"\n"
		c.Restricted = false
		c.Random = "list(book = ~ 1, row = ~ 1)"
		c.Weights = "varFixed(~ I(se^2))"
		c.Sigma = 1
	}
}
