package generalised

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"

	"thumbed/models/student"
)

const cbppModel = "outcome = \"incidence\"\nkind = \"yes or no\"\ntrials = \"size\"\nfixed = [\"period\"]\n[levels]\nperiod = [\"1\", \"2\", \"3\", \"4\"]\n[[random]]\nby = \"herd\"\nterms = [\"intercept\"]\n"

const wineModel = "outcome = \"rating\"\nkind = \"grades\"\nfixed = [\"temp\", \"contact\"]\n[levels]\nrating = [\"1\", \"2\", \"3\", \"4\", \"5\"]\n[[random]]\nby = \"judge\"\nterms = [\"intercept\"]\n"

func fitOf(t testing.TB, model, data string) *Fit {
	t.Helper()
	f, err := New(parsed(t, model), readTable(t, data))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Profile intervals of cbpp by lme4 1.1-31, confint(method = "profile", delta.cutoff =
// 1/16) at tolPwrss 1e-10; it interpolates, which leaves some 5e-5. Its limit is 3.84 for
// every effect.
func TestProfileAgainstReference(t *testing.T) {
	want := map[string][2]float64{"intercept": {-1.9011705, -0.94778915}, "period=2": {-1.6167389, -0.40780607}, "period=3": {-1.8009759, -0.51158098}, "period=4": {-2.5006955, -0.80080258}}
	f := fitOf(t, cbppModel, "cbpp.csv")
	own := f.parameters()
	for term, ends := range want {
		p := own[slices.IndexFunc(own, func(p parameter) bool { return p.Name == term })]
		p.reach = chiSquare95
		i := f.profile(p)
		if i.OpenLow || i.OpenHigh {
			t.Fatalf("%s: %v", term, i)
		}
		if math.Abs(i.Low-ends[0]) > 2e-4 || math.Abs(i.High-ends[1]) > 2e-4 {
			t.Errorf("%s: %.6f to %.6f, theirs %.6f to %.6f", term, i.Low, i.High, ends[0], ends[1])
		}
	}
	if _, err := f.Profile("size"); err == nil {
		t.Error("an effect that is not there has an interval")
	}
}

// The limit of a profile that rests on few groups: an F test with them rejects where the
// likelihood ratio passes it (t by the table, Student 1908's as in any handbook), and a
// sum of squares between them lies within the limits of its standard deviation in 95 of
// 100 draws. Inside groups, and with very many, it is χ²'s.
func TestReachOfAProfile(t *testing.T) {
	six := evidence{4, math.Sqrt(6. / 4)}
	if want := 6 * math.Log(1+2.776*2.776/4); math.Abs(six.reach()-want) > 2e-3 {
		t.Errorf("six books, two effects: %.4f, by the table of t %.4f", six.reach(), want)
	}
	if inside := (evidence{math.Inf(1), 1}); inside.reach() != chiSquare95 || inside.spreadReach() != chiSquare95 {
		t.Error("inside groups the limit is not that of χ²")
	}
	many := evidence{5000, 1}
	if math.Abs(many.reach()-chiSquare95) > 0.01 || math.Abs(many.spreadReach()-chiSquare95) > 0.01 {
		t.Errorf("with 5000 groups the limits are %g and %g", many.reach(), many.spreadReach())
	}
	random, held, draws := newRandom(8), 0, 20000
	reach := six.spreadReach()
	for range draws {
		x := 0.0
		for range 4 {
			v := random.NormFloat64()
			x += v * v
		}
		if 6*math.Log(6/x)+x-6 <= reach {
			held++
		}
	}
	if share := float64(held) / float64(draws); math.Abs(share-0.95) > 0.006 {
		t.Errorf("the limit %.3f of a deviation holds in %.3f of draws", reach, share)
	}
}

// Heinze and Schemper (2002, table III; from memory) give the penalised profile
// interval of neovasculation as 0.61 to 7.85.
func TestProfileUnderSeparation(t *testing.T) {
	f := fitOf(t, "outcome = \"HG\"\nkind = \"yes or no\"\nfixed = [\"NV\", \"PI\", \"EH\"]\n[levels]\nHG = [\"0\", \"1\"]\n", "endometrial.csv")
	if c := f.Fixed[1]; math.Abs(c.Low-0.61) > 0.005 || math.Abs(c.High-7.85) > 0.005 {
		t.Errorf("the interval of NV is %.3f to %.3f", c.Low, c.High)
	}
}

// A variance at zero costs what a model without it has less (ordinal's clm and clmm).
func TestProfileOfAVariance(t *testing.T) {
	f := fitOf(t, wineModel, "wine.csv")
	if v := f.ridge(len(f.psi) - 1).statistic(0); math.Abs(v-2*(86.49192337-81.56541)) > 1e-3 {
		t.Errorf("the statistic at zero is %g", v)
	}
}

// The ratio of wine with and without judges, from ordinal's log likelihoods, and its
// p as half that of χ² with one degree of freedom (Self and Liang 1987).
func TestRatio(t *testing.T) {
	with := fitOf(t, wineModel, "wine.csv")
	without := fitOf(t, "outcome = \"rating\"\nkind = \"grades\"\nfixed = [\"temp\", \"contact\"]\n[levels]\nrating = [\"1\", \"2\", \"3\", \"4\", \"5\"]\n", "wine.csv")
	r, err := Compare(without, with)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.Statistic-2*(86.49192337-81.56541)) > 1e-4 || len(r.Mixture) != 2 || r.Cautious || math.Abs(r.P-0.000848) > 2e-5 {
		t.Errorf("the test is %+v", r)
	}
	if _, err := Compare(with, without); err == nil {
		t.Error("the larger model was taken for the smaller")
	}
	points := fitOf(t, "points = 9\n"+wineModel, "wine.csv")
	if _, err := Compare(fitOf(t, "outcome = \"rating\"\nkind = \"grades\"\nfixed = [\"temp\"]\n[levels]\nrating = [\"1\", \"2\", \"3\", \"4\", \"5\"]\n[[random]]\nby = \"judge\"\nterms = [\"intercept\"]\n", "wine.csv"), points); err == nil {
		t.Error("likelihoods of unlike approximations were compared")
	}
}

// Adjusted means are probabilities: those of the grades sum to one; those of cbpp's
// periods are the integral of the logistic over the herds, here by Simpson's rule.
func TestMeans(t *testing.T) {
	f := fitOf(t, wineModel, "wine.csv")
	means, err := f.Means()
	if err != nil {
		t.Fatal(err)
	}
	sums := map[string]float64{}
	for _, m := range means {
		sums[m.Column+"="+m.Level] += m.Mean
		if !(m.Low < m.Mean && m.Mean < m.High) {
			t.Errorf("%+v", m)
		}
	}
	for at, v := range sums {
		if math.Abs(v-1) > 1e-12 {
			t.Errorf("the grades' probabilities at %s sum to %g", at, v)
		}
	}
	f = fitOf(t, cbppModel, "cbpp.csv")
	means, err = f.Means()
	if err != nil {
		t.Fatal(err)
	}
	sd := f.Random[0].SD[0]
	for k, m := range means {
		x := f.Fixed[0].Estimate
		if k > 0 {
			x += f.Fixed[k].Estimate
		}
		const steps = 2000
		total := 0.0
		for i := 0; i <= steps; i++ {
			z := -10 + 20*float64(i)/steps
			weight := 4.0
			switch {
			case i == 0 || i == steps:
				weight = 1
			case i%2 == 0:
				weight = 2
			}
			total += weight / (1 + math.Exp(-x-sd*z)) * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
		}
		total *= 20.0 / steps / 3
		if math.Abs(total-m.Mean) > 1e-9 {
			t.Errorf("period %s: %.12f, by Simpson's rule %.12f", m.Level, m.Mean, total)
		}
	}
}

// A random slope's column need be no fixed effect, and differs from row to row: the mean
// over all rows as they are is that of what is expected row by row.
func TestMeansOverSlopes(t *testing.T) {
	f := fitOf(t, "outcome = \"y\"\nkind = \"yes or no\"\nfixed = [\"ap\"]\n[levels]\ny = [\"n\", \"y\"]\n[[random]]\nby = \"ID\"\nterms = [\"week\"]\n", "bacteria.csv")
	if f.Random[0].SD[0] < 0.05 {
		t.Fatalf("the slopes of weeks differ by %g", f.Random[0].SD[0])
	}
	_, _, expected := f.Expected(1, func(int) int { return 0 })
	if m, err := f.Least("y", nil); err != nil || math.Abs(m.Mean-expected[0][1]) > 1e-12 {
		t.Errorf("a mean of %.6f (%v), row by row %.6f", m.Mean, err, expected[0][1])
	}
}

// Zeros and spread beyond the model's are told where they are known to be (Owls: Zuur
// and others 2009, chapter 11, call for both), and not where the data are drawn from
// the model.
func TestDiagnosis(t *testing.T) {
	const owls = "outcome = \"calls\"\nkind = \"counts\"\nexposure = \"BroodSize\"\nfixed = [\"food\", \"parent\"]\n[[random]]\nby = \"Nest\"\nterms = [\"intercept\"]\n"
	f := fitOf(t, owls, "Owls.csv")
	if notes := f.Diagnosis(1); len(notes) != 2 {
		t.Errorf("of the owls is said: %q", notes)
	}
	odd := 0
	for seed := range uint64(8) {
		d, err := f.d.with(f.draw(newRandom(seed), false))
		if err != nil {
			t.Fatal(err)
		}
		again, err := d.fit(f.model)
		if err != nil {
			t.Fatal(err)
		}
		if len(again.Diagnosis(seed)) > 0 {
			odd++
		}
	}
	// each of three looks finds fault in at most one in a hundred
	if odd > 2 {
		t.Errorf("%d of 8 sets drawn from the model are called odd", odd)
	}
}

// A bootstrap does not depend on the number of cores, and its standard deviations are
// near the standard errors where the sample is not small.
func TestBootstrap(t *testing.T) {
	f := fitOf(t, cbppModel, "cbpp.csv")
	effects, failed, err := f.Bootstrap(context.Background(), Bootstrapping{Replicates: 199, Seed: 7})
	if err != nil || failed > 5 {
		t.Fatalf("%d failed: %v", failed, err)
	}
	for k, e := range effects[:len(f.Fixed)] {
		if c := f.Fixed[k]; math.Abs(e.SD/c.own-1) > 0.3 || e.StudentLow > c.Estimate || e.StudentHigh < c.Estimate {
			t.Errorf("%s: %+v, standard error %g", c.Term, e, c.SE)
		}
	}
	again, _, err := f.Bootstrap(context.Background(), Bootstrapping{Replicates: 199, Seed: 7})
	if err != nil || !reflect.DeepEqual(again[1], effects[1]) {
		t.Errorf("the same seed gave %+v and %+v, %v", effects[1], again[1], err)
	}
}

// Two grades are yes or no, effects and all, with the threshold for minus the intercept.
func TestTwoGradesAreYesOrNo(t *testing.T) {
	for _, link := range []string{"logit", "probit"} {
		const rest = "fixed = [\"trt\", \"late\"]\n[levels]\ny = [\"n\", \"y\"]\n[[random]]\nby = \"ID\"\nterms = [\"intercept\"]\n"
		grades := fitOf(t, "outcome = \"y\"\nkind = \"grades\"\nlink = \""+link+"\"\n"+rest, "bacteria.csv")
		yes := fitOf(t, "outcome = \"y\"\nkind = \"yes or no\"\nlink = \""+link+"\"\n"+rest, "bacteria.csv")
		if math.Abs(grades.LogLik-yes.LogLik) > 1e-8 || math.Abs(grades.Thresholds[0].Estimate+yes.Fixed[0].Estimate) > 1e-5 {
			t.Errorf("%s: log likelihoods %.10f and %.10f, threshold %g, intercept %g", link, grades.LogLik, yes.LogLik, grades.Thresholds[0].Estimate, yes.Fixed[0].Estimate)
		}
		for k, c := range grades.Fixed {
			if o := yes.Fixed[k+1]; c.Term != o.Term || math.Abs(c.Estimate-o.Estimate) > 1e-5 || math.Abs(c.SE-o.SE) > 1e-5 {
				t.Errorf("%s: %+v and %+v", link, c, o)
			}
		}
	}
	// under the complementary log-log: in the other order, with the signs changed
	grades := fitOf(t, "outcome = \"y\"\nkind = \"grades\"\nlink = \"complementary log-log\"\nfixed = [\"trt\", \"late\"]\n[levels]\ny = [\"y\", \"n\"]\n[[random]]\nby = \"ID\"\nterms = [\"intercept\"]\n", "bacteria.csv")
	yes := fitOf(t, "outcome = \"y\"\nkind = \"yes or no\"\nlink = \"complementary log-log\"\nfixed = [\"trt\", \"late\"]\n[levels]\ny = [\"n\", \"y\"]\n[[random]]\nby = \"ID\"\nterms = [\"intercept\"]\n", "bacteria.csv")
	if math.Abs(grades.LogLik-yes.LogLik) > 1e-8 || math.Abs(grades.Fixed[0].Estimate+yes.Fixed[1].Estimate) > 1e-5 {
		t.Errorf("complementary log-log: %.10f and %.10f, %+v and %+v", grades.LogLik, yes.LogLik, grades.Fixed[0], yes.Fixed[1])
	}
	if len(grades.Notes) == 0 {
		t.Error("nothing is said of how the two relate")
	}
}

// A refit without a group is the fit of the table without its rows.
func TestRefitWithoutGroup(t *testing.T) {
	counts := "outcome=\"TICKS\"\nkind=\"counts\"\nfixed=[\"height\"]\n[[random]]\nby=\"LOCATION\"\nterms=[\"intercept\"]\n"
	for _, c := range []struct{ name, data, by, model string }{
		{"yes or no", "cbpp.csv", "herd", cbppModel},
		{"yes or no, probit", "cbpp.csv", "herd", "link=\"probit\"\n" + cbppModel},
		{"grades", "wine.csv", "judge", wineModel},
		{"grades by expectation propagation", "wine.csv", "judge", "link=\"probit\"\n" + wineModel},
		{"counts", "grouseticks.csv", "LOCATION", counts},
		{"counts, negative binomial", "grouseticks.csv", "LOCATION", "spread=\"negative binomial\"\n" + counts},
	} {
		t.Run(c.name, func(t *testing.T) {
			model, data := parsed(t, c.model), readTable(t, c.data)
			f, err := New(model, data)
			if err != nil {
				t.Fatal(err)
			}
			information := inverse(f.covariance)
			groups, _ := data.Column(c.by).Levels()
			for _, group := range groups[:3] {
				var rows []int
				for i := range data.Rows() {
					if data.Column(c.by).Label(i) != group {
						rows = append(rows, i)
					}
				}
				exact, err := New(model, data.Select(rows))
				if err != nil {
					t.Fatal(err)
				}
				own := f.refitWithout(&f.d.random.factors[0], slices.Index(f.d.lay.Factors[0].Groups, group), information)
				if len(own) != len(exact.psi) {
					t.Fatalf("without %s: %v", group, own)
				}
				for i, v := range own { // the refit ends where a step gains less than a thousandth
					if se := math.Sqrt(f.covariance.At(i, i)); math.Abs(v-exact.psi[i]) > 0.05*se {
						t.Errorf("without %s parameter %d is %.4f, of the table without its rows %.4f (standard error %.4f; with all %.4f)", group, i, v, exact.psi[i], se, f.psi[i])
					}
				}
			}
		})
	}
}

// The standard error told is that with which t, p and the interval go, whichever way
// they came about.
func TestStandardErrorGoesWithTheClaim(t *testing.T) {
	for _, c := range []struct{ data, model, term, by string }{
		{"grouseticks.csv", "outcome = \"TICKS\"\nkind = \"counts\"\nfixed = [\"YEAR\", \"height\"]\n[levels]\nYEAR = [\"95\", \"96\", \"97\"]\n[[random]]\nby = \"LOCATION\"\nterms = [\"intercept\"]\n", "height", byGroups},
		{"cbpp.csv", cbppModel, "period=2", byNormal},
		{"endometrial.csv", "outcome = \"HG\"\nkind = \"yes or no\"\nfixed = [\"NV\", \"PI\", \"EH\"]\n[levels]\nHG = [\"0\", \"1\"]\n", "PI", byNormal},
	} {
		f, err := New(parsed(t, c.model), readTable(t, c.data))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range f.Fixed {
			if math.Abs(e.SE*e.T-e.Estimate) > 1e-12*math.Abs(e.Estimate) {
				t.Errorf("%s: standard error %g times t %g is not the estimate %g", e.Term, e.SE, e.T, e.Estimate)
			}
			if e.Term != c.term {
				continue
			}
			df := math.Inf(1)
			if e.DF != nil {
				df = *e.DF
			}
			if half := student.Half(0.95, df) * e.SE; e.Method != c.by || math.Abs(e.High-e.Estimate-half) > 1e-12 || math.Abs(e.P-student.TwoSided(e.T, df)) > 1e-12 {
				t.Errorf("%s: %+v", e.Term, e)
			}
		}
	}
}
