package mixed_test

import (
	"testing"

	"thumbed/models/mixed"
)

// TestJointTests holds F tests of several contrasts to lmerTest (Fai and
// Cornelius 1996) and pbkrtest (Kenward and Roger 1997). Tolerance 1e-4 for F,
// 1e-3 for degrees of freedom, which the reference takes from numerical
// derivatives.
func TestJointTests(t *testing.T) {
	one := func(terms ...string) []map[string]float64 {
		var out []map[string]float64
		for _, term := range terms {
			out = append(out, map[string]float64{term: 1})
		}
		return out
	}
	oats, cake := inferenceModels["Oats"].satterthwaite(t), inferenceModels["cake"].satterthwaite(t)
	var products []string
	for _, c := range cake.Fixed[8:] {
		products = append(products, c.Term)
	}
	short := loadTable(t, "Machines.csv")
	var kept []int
	for i := range short.Rows() {
		if (i+1)%5 != 0 {
			kept = append(kept, i)
		}
	}
	cases := []struct {
		name      string
		fit       *mixed.Fit
		contrasts []map[string]float64
		want      jointReference
	}{
		{"sleepstudy", inferenceModels["sleepstudy-correlated"].satterthwaite(t), one("intercept", "Days"), loadInference(t, "sleepstudy-correlated").Joint},
		{"Oats, varieties", oats, one("Variety=Marvellous", "Variety=Victory"), loadInference(t, "Oats").Joint},
		{"Oats, products", oats, one("nitro × Variety=Marvellous", "nitro × Variety=Victory"), loadInference(t, "Oats").Product},
		{"cake, products", cake, one(products...), loadInference(t, "cake").Joint},
		{"Orthodont", inferenceModels["Orthodont"].satterthwaite(t), one("Sex=Female", "age × Sex=Female"), loadInference(t, "Orthodont").Joint},
		{"Machines", inferenceModels["Machines"].satterthwaite(t), one("Machine=B", "Machine=C"), loadInference(t, "Machines").Joint},
		{"Machines, uneven", fitted(t, parse(t, satterthwaiteText+machinesText), short.Select(kept)), one("Machine=B", "Machine=C"), loadInference(t, "Machines").Uneven},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := c.fit.JointTest(c.name, c.contrasts)
			if err != nil {
				t.Fatal(err)
			}
			compareF(t, "Satterthwaite", got, c.want.Satterthwaite)
			kr, err := c.fit.KenwardRoger()
			if err != nil {
				t.Fatal(err)
			}
			got, err = kr.JointTest(c.name, c.contrasts)
			if err != nil {
				t.Fatal(err)
			}
			compareF(t, "Kenward–Roger", got, c.want.KenwardRoger)
		})
	}
}

func compareF(t *testing.T, method string, got mixed.JointTest, want fReference) {
	t.Helper()
	if got.Method != method {
		t.Errorf("method %q", got.Method)
	}
	near(t, method+" F", got.F, want.F, 1e-4, 0)
	near(t, method+" numerator df", got.NumDF, want.Num, 0, 0)
	near(t, method+" df", got.DF, want.DF, 1e-3, 0)
	near(t, method+" p", got.P, want.P, 2e-3, 1e-12)
}

// TestJointTestOfOne: an F test of one contrast is the square of its t test.
func TestJointTestOfOne(t *testing.T) {
	fit := inferenceModels["Orthodont"].fit(t, "restricted")
	kr, err := fit.KenwardRoger()
	if err != nil {
		t.Fatal(err)
	}
	one := []map[string]float64{{"age": 3}}
	s, errS := fit.JointTest("age", one)
	k, errK := kr.JointTest("age", one)
	if errS != nil || errK != nil {
		t.Fatal(errS, errK)
	}
	near(t, "F", s.F, fit.Fixed[1].T*fit.Fixed[1].T, 1e-9, 0)
	near(t, "p", s.P, fit.Fixed[1].P, 1e-6, 0)
	c := kr.Fixed()[1]
	near(t, "F, Kenward–Roger", k.F, c.T*c.T, 1e-9, 0)
	near(t, "p, Kenward–Roger", k.P, c.P, 1e-6, 0)
}

// TestTermTests: each term is tested with all of its columns, and what does not
// make a test is told.
func TestTermTests(t *testing.T) {
	fit := inferenceModels["Oats"].fit(t, "restricted")
	tests, err := fit.TermTests()
	if err != nil {
		t.Fatal(err)
	}
	if len(tests) != 3 || tests[2].NumDF != 2 || len(tests[1].Terms) != 2 || tests[2].Name != "nitro × Variety" {
		t.Errorf("tests %+v", tests)
	}
	near(t, "F of the product", tests[2].F, loadInference(t, "Oats").Product.Satterthwaite.F, 1e-4, 0)
	for _, bad := range [][]map[string]float64{nil, {{"nitro": 1}, {"nitro": 2}}, {{"no such": 1}}} {
		if _, err := fit.JointTest("x", bad); err == nil {
			t.Errorf("contrasts %v were taken", bad)
		}
	}
}
