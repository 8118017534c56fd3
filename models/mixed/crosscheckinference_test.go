package mixed_test

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

	"thumbed/models/mixed"
)

// TestCrossCheckInference holds degrees of freedom, adjusted standard errors and
// joint tests on random designs to lmerTest and pbkrtest, live: a fifth as many
// designs as TestCrossCheck's, those for lme4 by restricted likelihood.
//
//	THUMBED_CROSSCHECK=200 go test -run CrossCheck -v ./models/mixed
//
// Designs whose fit ends at the edge of a variance's range, where the
// reference's numerical derivatives have no meaning, are not drawn; where the
// reference ends there, or at a lower likelihood, the design is told and passed
// over. Tolerances: Kenward–Roger 5e-3 of the degrees of
// freedom and 1e-3 of standard errors, Satterthwaite 2e-2, each for the
// reference's own optimum and numerical Hessian.
func TestCrossCheckInference(t *testing.T) {
	designs, err := strconv.Atoi(os.Getenv("THUMBED_CROSSCHECK"))
	if err != nil || designs <= 0 {
		t.Skip("set THUMBED_CROSSCHECK to a number of designs to run this against R")
	}
	seed, err := strconv.ParseUint(os.Getenv("THUMBED_CROSSCHECK_SEED"), 10, 64)
	if err != nil {
		seed = 1
	}
	folder := t.TempDir()
	var list []crossDesign
	for k := uint64(0); len(list) < max(designs/5, 10); k++ {
		c := drawCross(rand.New(rand.NewPCG(seed, 1000+k)))
		if c.By == "lme4" && c.Restricted && len(fitted(t, parse(t, c.Model), c.table).Boundary) == 0 {
			list = append(list, c)
			writeCross(t, folder, len(list)-1, &list[len(list)-1])
		}
	}
	command := exec.Command("Rscript", filepath.Join(references, "live", "crosscheck-inference.R"), folder)
	if out, err := command.CombinedOutput(); err != nil {
		t.Fatalf("R: %v\n%s", err, out)
	}
	agree := 0
	for k := range list {
		passed, differences := compareInference(t, folder, k, &list[k])
		switch {
		case passed != "":
			t.Logf("design %d (seed %d) passed over: %s (%s)", k, seed, passed, list[k].Formula)
		case len(differences) > 0:
			t.Errorf("design %d (seed %d): %s\nin R: %s\n%s", k, seed, strings.Join(differences, "; "), list[k].Formula, list[k].Model)
		default:
			agree++
		}
	}
	t.Logf("%d designs: inference agrees in %d", len(list), agree)
	if agree < len(list)/2 {
		t.Errorf("only %d of %d designs could be compared", agree, len(list))
	}
}

// compareInference tells why a design cannot be compared, or what differs.
func compareInference(t *testing.T, folder string, k int, c *crossDesign) (passed string, differences []string) {
	t.Helper()
	var want struct {
		LogLik   float64
		Singular bool
		DF       numbers
		KRDF     numbers `json:"kr.df"`
		KRSE     numbers `json:"kr.se"`
		Joint    jointReference
		Failed   string
	}
	data, err := os.ReadFile(filepath.Join(folder, fmt.Sprintf("design%03d.inference.json", k)))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &want); err != nil {
		t.Fatal(err)
	}
	fit := fitted(t, parse(t, c.Model), c.table)
	switch {
	case want.Failed != "":
		return "the reference failed: " + strings.TrimSpace(want.Failed), nil
	case want.Singular || len(fit.Boundary) > 0:
		return "a variance at the edge of its range", nil
	case fit.LogLik-want.LogLik > 1e-6*math.Max(1, math.Abs(fit.LogLik)):
		return fmt.Sprintf("our likelihood is higher by %.3g", fit.LogLik-want.LogLik), nil
	}
	off := func(what string, got, reference, tolerance float64) {
		if !(math.Abs(got-reference) <= tolerance*math.Abs(reference)) {
			differences = append(differences, fmt.Sprintf("%s %.8g, reference %.8g", what, got, reference))
		}
	}
	kr, err := fit.KenwardRoger()
	if err != nil {
		return "", []string{err.Error()}
	}
	var contrasts []map[string]float64
	for j, adjusted := range kr.Fixed() {
		off("Satterthwaite df of "+adjusted.Term, fit.Fixed[j].DF, want.DF[j], 2e-2)
		off("Kenward–Roger df of "+adjusted.Term, adjusted.DF, want.KRDF[j], 5e-3)
		off("Kenward–Roger se of "+adjusted.Term, adjusted.SE, want.KRSE[j], 1e-3)
		if j > 0 {
			contrasts = append(contrasts, map[string]float64{adjusted.Term: 1})
		}
	}
	s, errS := fit.JointTest("all", contrasts)
	a, errA := kr.JointTest("all", contrasts)
	if errS != nil || errA != nil {
		return "", []string{fmt.Sprint(errS, errA)}
	}
	for what, pair := range map[string]struct {
		got  mixed.JointTest
		want fReference
	}{"Satterthwaite": {s, want.Joint.Satterthwaite}, "Kenward–Roger": {a, want.Joint.KenwardRoger}} {
		off(what+" joint F", pair.got.F, pair.want.F, 1e-3)
		off(what+" joint df", pair.got.DF, pair.want.DF, 2e-2)
	}
	return "", differences
}
