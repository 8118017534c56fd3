package generalised

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Separation as it is in published data: Heinze and Schemper (2002), against brglm2.
// Theirs are standard errors by the expected information, ours by the observed, which
// are the same for the logit alone.
func TestFirthAgainstReference(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(references, "separation.json"))
	if err != nil {
		t.Fatal(err)
	}
	var their struct {
		Fits []struct {
			Link         string
			LogLik       float64
			Estimate, SE []float64
		}
	}
	if err := json.Unmarshal(text, &their); err != nil {
		t.Fatal(err)
	}
	for _, r := range their.Fits {
		m := parsed(t, "outcome = \"HG\"\nkind = \"yes or no\"\nlink = \""+r.Link+"\"\nfixed = [\"NV\", \"PI\", \"EH\"]\n[levels]\nHG = [\"0\", \"1\"]\n")
		f, err := New(m, readTable(t, "endometrial.csv"))
		if err != nil {
			t.Fatal(err)
		}
		if f.apart == nil || strings.Join(f.apart.terms, " ") != "NV" || f.apart.rows != 13 {
			t.Errorf("%s: the separation is %v; 13 rows have NV = 1, all of grade 1", r.Link, f.apart)
		}
		if math.Abs(f.LogLik-r.LogLik) > 1e-7*math.Abs(r.LogLik) {
			t.Errorf("%s: log likelihood %.9g, theirs %.9g", r.Link, f.LogLik, r.LogLik)
		}
		for j, c := range f.Fixed {
			if math.Abs(c.Estimate-r.Estimate[j]) > 1e-5*math.Max(1, math.Abs(r.Estimate[j])) {
				t.Errorf("%s: %s is %.8g, theirs %.8g", r.Link, c.Term, c.Estimate, r.Estimate[j])
			}
			if r.Link == "logit" && math.Abs(c.own-r.SE[j]) > 1e-5*r.SE[j] {
				t.Errorf("%s: standard error of %s is %.8g, theirs %.8g", r.Link, c.Term, c.own, r.SE[j])
			}
		}
	}
}

// A separation is found where there is one and named, and nowhere else.
func TestSeparationIsNamed(t *testing.T) {
	const head = "outcome = \"touched\"\nkind = \"yes or no\"\nfixed = [\"part\"]\n[levels]\ntouched = [\"no\", \"yes\"]\npart = [\"face\", \"hand\", \"sky\"]\n"
	const random = "[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	rows := "touched,part,book\n"
	for b := range 6 {
		for k, part := range []string{"face", "hand", "sky"} {
			for r := range 4 {
				touched := "no"
				if k < 2 && (r+b+k)%3 == 0 {
					touched = "yes"
				}
				rows += touched + "," + part + ",b" + string(rune('a'+b)) + "\n"
			}
		}
	}
	for _, model := range []string{head, head + random} {
		f, err := New(parsed(t, model), tableOf(t, rows))
		if err != nil {
			t.Fatal(err)
		}
		if f.apart == nil || strings.Join(f.apart.terms, " ") != "part=sky" || f.apart.rows != 24 {
			t.Errorf("the separation is %v; the sky was never touched in 24 rows", f.apart)
		}
		if c := f.Fixed[2]; !(c.Estimate < -1 && c.Estimate > -8 && c.SE < 4) {
			t.Errorf("the effect of the sky is %g ± %g; a penalised one is neither near zero nor without end", c.Estimate, c.SE)
		}
		if len(f.Notes) == 0 || !strings.Contains(f.Notes[0], "part=sky on one side only") {
			t.Errorf("the notes are %q", f.Notes)
		}
		if f.InWords(strings.ToUpper); !strings.Contains(f.Notes[0], "PART=SKY on one side only") {
			t.Errorf("in words the notes are %q", f.Notes)
		}
	}
	f, err := New(parsed(t, head+random), tableOf(t, rows+"yes,sky,ba\n"))
	if err != nil {
		t.Fatal(err)
	}
	if f.apart != nil {
		t.Errorf("a separation is told of %v, where one row speaks against it", f.apart)
	}
}
