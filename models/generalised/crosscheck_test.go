package generalised

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/table"
)

// A randomDesign is one model of the cross-check, as the reference libraries take it
// and as ours does.
type randomDesign struct {
	File       string   `json:"file"`
	Kind       string   `json:"kind"`
	Link       string   `json:"link"`
	Thresholds string   `json:"thresholds"`
	Negative   bool     `json:"negative"`
	Formula    string   `json:"formula"`
	Zero       string   `json:"zero"`
	Compiled   bool     `json:"compiled"` // whether ordinal fits it by its compiled code
	Classes    []string `json:"classes"`
	model      string
}

// newRandomDesign draws a design with outcomes and gives its table.
func newRandomDesign(number int) (d randomDesign, text string) {
	random := rand.New(rand.NewPCG(17, uint64(number)))
	d = randomDesign{File: fmt.Sprintf("design%d.csv", number), Kind: []string{"grades", "yes or no", "counts"}[number%3], Link: "logit", Thresholds: "flexible", Zero: "~0",
		Classes: []string{"character", "numeric", "character", "character", "character"}}
	n := 120 + random.IntN(300)
	groups := 6 + random.IntN(25)
	items := 4 + random.IntN(6)
	second, slope := random.IntN(2) == 0, random.IntN(3) == 0
	links := map[string]string{"logit": "logit", "probit": "probit", "cloglog": "complementary log-log"}
	keys := ""
	grades := 3 + random.IntN(3)
	switch d.Kind {
	case "grades":
		d.Link = []string{"logit", "probit", "cloglog"}[random.IntN(3)]
		keys = fmt.Sprintf("link = %q\n", links[d.Link])
		if shape := random.IntN(3); shape > 0 {
			d.Thresholds = []string{"symmetric", "equidistant"}[shape-1]
			keys += fmt.Sprintf("thresholds = %q\n", []string{"symmetric", "equal"}[shape-1])
		}
	case "yes or no":
		d.Link = []string{"logit", "probit", "cloglog"}[random.IntN(3)]
		keys = fmt.Sprintf("link = %q\n", links[d.Link])
	case "counts":
		d.Classes[0] = "numeric"
		if d.Negative = random.IntN(2) == 0; d.Negative {
			keys = "spread = \"negative binomial\"\n"
		}
		if random.IntN(3) == 0 {
			d.Zero = "~1"
			keys += "zero_inflation = true\n"
		}
	}
	d.Formula = "y ~ x + kind"
	terms := `terms = ["intercept"]`
	if slope {
		d.Formula += " + (1 + x | book)"
		terms = "terms = [\"intercept\", \"x\"]\ncorrelated = true"
	} else {
		d.Formula += " + (1 | book)"
	}
	tail := "[[random]]\nby = \"book\"\n" + terms + "\n"
	if second {
		d.Formula += " + (1 | part)"
		tail += "[[random]]\nby = \"part\"\nterms = [\"intercept\"]\n"
	}
	d.Compiled = !second && !slope
	levels := "[levels]\nkind = [\"a\", \"b\"]\n"
	switch d.Kind {
	case "grades":
		names := make([]string, grades)
		for k := range names {
			names[k] = fmt.Sprintf("%q", "g"+strconv.Itoa(k+1))
		}
		levels += "y = [" + strings.Join(names, ", ") + "]\n"
	case "yes or no":
		levels += "y = [\"no\", \"yes\"]\n"
	}
	d.model = fmt.Sprintf("outcome = \"y\"\nkind = %q\n%sfixed = [\"x\", \"kind\"]\n%s%s", d.Kind, keys, levels, tail)
	return d, drawTable(random, d, n, groups, items, grades, second, slope)
}

// drawTable draws the rows of a design: effects of half a unit, deviations near 0.7.
func drawTable(random *rand.Rand, d randomDesign, n, groups, items, grades int, second, slope bool) string {
	byBook, bySlope, byPart := make([]float64, groups), make([]float64, groups), make([]float64, items)
	for g := range byBook {
		byBook[g], bySlope[g] = 0.8*random.NormFloat64(), 0.5*random.NormFloat64()
	}
	for g := range byPart {
		byPart[g] = 0.6 * random.NormFloat64()
	}
	var b strings.Builder
	b.WriteString("y,x,kind,book,part\n")
	for i := range n {
		book, part := i%groups, random.IntN(items)
		x := math.Round(1000*random.NormFloat64()) / 1000
		kind := random.IntN(2)
		eta := 0.4*x + 0.5*float64(kind) + byBook[book]
		if slope {
			eta += bySlope[book] * x
		}
		if second {
			eta += byPart[part]
		}
		y := ""
		switch d.Kind {
		case "grades":
			grade := int(math.Floor((eta+logistic1(random))/1.3 + float64(grades)/2))
			if i < grades { // every grade once
				grade = i
			}
			y = "g" + strconv.Itoa(min(max(grade, 0), grades-1)+1)
		case "yes or no":
			y = "no"
			if eta+logistic1(random) > 0.3 {
				y = "yes"
			}
		case "counts":
			mu := math.Exp(0.6 + 0.6*eta)
			if d.Negative {
				mu *= (random.ExpFloat64() + random.ExpFloat64()) / 2
			}
			count := 0
			for s := random.ExpFloat64(); s < mu; s += random.ExpFloat64() {
				count++
			}
			if d.Zero == "~1" && random.IntN(4) == 0 {
				count = 0
			}
			y = strconv.Itoa(count)
		}
		fmt.Fprintf(&b, "%s,%g,%s,b%d,p%d\n", y, x, []string{"a", "b"}[kind], book, part)
	}
	return b.String()
}

func logistic1(random *rand.Rand) float64 {
	u := random.Float64()
	return math.Log(u / (1 - u))
}

// Random designs by ours and by ordinal and glmmTMB, live.
//
//	THUMBED_CROSSCHECK=200 go test -run CrossCheck -v ./models/generalised
//
// THUMBED_CROSSCHECK_FROM=50 begins with the fifty-first, to run them in parts.
// Where their search ends below ours they are told, and not counted against us: a
// likelihood that is higher under the same approximation is nearer its maximum.
func TestCrossCheck(t *testing.T) {
	designs, _ := strconv.Atoi(os.Getenv("THUMBED_CROSSCHECK"))
	if designs == 0 {
		t.Skip("set THUMBED_CROSSCHECK to the number of designs; it needs R")
	}
	folder := t.TempDir()
	all := make([]randomDesign, designs)
	texts := make([]string, designs)
	from, _ := strconv.Atoi(os.Getenv("THUMBED_CROSSCHECK_FROM"))
	for k := range all {
		all[k], texts[k] = newRandomDesign(from + k)
		if err := os.WriteFile(filepath.Join(folder, all[k].File), []byte(texts[k]), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	written, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(folder, "designs.json"), written, 0o644); err != nil {
		t.Fatal(err)
	}
	command := exec.Command("Rscript", filepath.Join(references, "live", "crosscheck.R"), folder)
	command.Stderr = os.Stderr
	if err := command.Run(); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(folder, "fits.json"))
	if err != nil {
		t.Fatal(err)
	}
	var theirs []struct {
		Error                    string
		LogLik                   *float64
		Estimate, SE, Thresholds numbers
	}
	if err := json.Unmarshal(text, &theirs); err != nil {
		t.Fatal(err)
	}
	same, short, failed := 0, 0, 0
	for k, d := range all {
		var ps table.Problems
		f, err := New(withPoints(parsed(t, d.model), 1), table.Read(d.File, []byte(texts[k]), &ps))
		if err != nil {
			t.Errorf("%s: %v\n%s", d.File, err, d.model)
			continue
		}
		if !f.Converged {
			t.Errorf("%s did not converge:\n%s", d.File, d.model)
		}
		r := theirs[k]
		if r.Error != "" || r.LogLik == nil || math.IsNaN(*r.LogLik) {
			failed++
			continue
		}
		gap := f.LogLik - *r.LogLik
		switch {
		case gap < -1e-6*math.Abs(*r.LogLik):
			t.Errorf("%s: log likelihood %.8f, theirs %.8f\n%s", d.File, f.LogLik, *r.LogLik, d.model)
		case gap > 1e-6*math.Abs(*r.LogLik):
			short++
			t.Logf("%s: theirs ends %.2g below ours (%s)", d.File, gap, d.Formula)
		default:
			same++
			for j, c := range f.Fixed {
				if math.Abs(c.Estimate-r.Estimate[j]) > math.Max(1e-4*math.Max(1, math.Abs(c.Estimate)), 2e-3*c.own) {
					t.Errorf("%s: %s is %.7f, theirs %.7f (se %.3g)\n%s", d.File, c.Term, c.Estimate, r.Estimate[j], c.own, d.model)
				}
			}
		}
	}
	t.Logf("%d designs: %d agree, in %d theirs ends lower, %d theirs could not fit", designs, same, short, failed)
}
