package profile

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/table/tabletest"
)

const reference = "../../testdata/reference/profile"

// columns reads a reference file.
func columns(t *testing.T, name string) *table.Table {
	t.Helper()
	return tabletest.Read(t, filepath.Join(reference, name))
}

// numbers reads the columns of numbers of a reference file; a missing one is
// NaN.
func numbers(t *testing.T, name string) map[string][]float64 {
	t.Helper()
	out := map[string][]float64{}
	for _, c := range columns(t, name).Columns() {
		out[c.Name] = c.Numbers
	}
	return out
}

func sizesOf(t *testing.T, which string) map[string]float64 {
	sizes := columns(t, "nile-sizes.csv")
	out := map[string]float64{}
	for i := range sizes.Rows() {
		if sizes.Column("case").Label(i) == which {
			out[sizes.Column("name").Label(i)] = sizes.Column("value").Number(i)
		}
	}
	return out
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g", what, got, want)
	}
}

// The annual flow of the Nile 1871–1970 (Cobb 1978, Biometrika 65, 243–251),
// against mgcv with the same penalty (testdata/reference/profile/make.R).
// Sizes come out of two searches of a flat likelihood, each stopped at its own
// rule, hence 1e-3 for σ and τ; the level moves far less with them.
func TestSmoothAgreesWithReferenceOnWholeSeries(t *testing.T) {
	ref := numbers(t, "nile-whole.csv")
	points, _ := pointsOf(ref)
	s, err := smooth(points, ungrouped(len(points)))
	if err != nil {
		t.Fatal(err)
	}
	want := sizesOf(t, "whole")
	near(t, "scatter", s.scatter, want["scatter"], 1e-3)
	near(t, "bend", s.bend, want["bend"], 3e-3)
	near(t, "effective degrees of freedom", s.edf, want["edf"], 1e-3)
	for i := range points {
		near(t, "level", s.level[i], ref["level"][i], 1e-4)
		near(t, "standard error", math.Sqrt(s.variance[i]), ref["se"][i], 2e-3)
	}
}

// The same as a natural cubic spline with a knot at every year: another
// penalty (the integrated squared second derivative), so the two curves need
// only agree to a small part of their standard error.
func TestSmoothIsCloseToCubicSpline(t *testing.T) {
	ref := numbers(t, "nile-spline.csv")
	points, _ := pointsOf(ref)
	s, err := smooth(points, ungrouped(len(points)))
	if err != nil {
		t.Fatal(err)
	}
	for i := range points {
		if away := math.Abs(s.level[i]-ref["level"][i]) / ref["se"][i]; away > 0.02 {
			t.Errorf("place %d: %.2f standard errors from the spline", i, away)
		}
		near(t, "standard error", math.Sqrt(s.variance[i]), ref["se"][i], 0.02)
	}
}

// Gaps and errors of measuring of their own, without sections and with them:
// these have bends, levels, a section broken off and taken up again, and one
// without a measured year. With sections mgcv was given the sixty leading
// eigenvectors of the bends, which moves σ by 1.2e-4 of itself. In the last case
// about half of the years have a picture that adds 160.
func TestSmoothAgreesWithReferenceOnGapsAndKnownErrors(t *testing.T) {
	for name, file := range map[string]string{"gaps": "nile-gaps.csv", "sections and gaps": "nile-sections-gaps.csv", "pictures": "nile-pictures.csv"} {
		ref := numbers(t, file)
		points, groups := pointsOf(ref)
		s, err := smooth(points, groups)
		if err != nil {
			t.Fatal(err)
		}
		want := sizesOf(t, name)
		near(t, name+": scatter", s.scatter, want["scatter"], 1e-3)
		near(t, name+": bend", s.bend, want["bend"], 3e-3)
		near(t, name+": between", s.between, want["between"], 1e-3)
		near(t, name+": picture", s.picture, want["picture"], 1e-4)
		near(t, name+": standard error of picture", math.Sqrt(s.ofPicture), want["picture_se"], 1e-3)
		near(t, name+": effective degrees of freedom", s.edf, want["edf"], 1e-3)
		near(t, name+": restricted log likelihood", s.logLik, want["loglik"], 1e-8)
		for i := range s.level {
			near(t, name+": level", s.level[i], ref["level"][i], 1e-4)
			near(t, name+": standard error", math.Sqrt(s.variance[i]), ref["se"][i], 2e-3)
		}
	}
}

// The same series divided into sections, one of them broken off and taken up
// again, with a random level for each: mgcv finds the bends at nothing, so that
// the curve is a straight line with levels. Ours stops at a bend worth a
// hundredth of a degree of freedom, hence the tolerances; the level is asked to
// lie within a hundredth of its standard error.
func TestLevelsAgreeWithReferenceOnWholeSeries(t *testing.T) {
	ref := numbers(t, "nile-sections.csv")
	points, groups := pointsOf(ref)
	s, err := smooth(points, groups)
	if err != nil {
		t.Fatal(err)
	}
	want := sizesOf(t, "sections")
	near(t, "scatter", s.scatter, want["scatter"], 1e-3)
	near(t, "between", s.between, want["between"], 2e-3)
	near(t, "effective degrees of freedom", s.edf, want["edf"], 3e-3)
	for i := range points {
		if away := math.Abs(s.level[i]-ref["level"][i]) / ref["se"][i]; away > 0.01 {
			t.Errorf("place %d: %.3f standard errors away", i, away)
		}
		near(t, "standard error", math.Sqrt(s.variance[i]), ref["se"][i], 3e-3)
	}
}

// pointsOf reads points and groups of a reference file.
func pointsOf(ref map[string][]float64) ([]point, []int) {
	var points []point
	groups := ungrouped(len(ref["place"]))
	for i, v := range ref["value"] {
		if sections := ref["section"]; sections != nil {
			groups[i] = int(sections[i])
		}
		if math.IsNaN(v) {
			continue
		}
		p := point{at: i, value: v}
		if errors := ref["error"]; errors != nil {
			p.variance = errors[i] * errors[i]
		}
		if pictures := ref["picture"]; pictures != nil {
			p.picture = pictures[i] == 1
		}
		points = append(points, p)
	}
	return points, groups
}

// The equations against dense algebra: expectation, variance and criterion of
// arbitrary points at arbitrary sizes, with sections of any length, some broken
// off and taken up again, some without points, and places of no section, with
// pictures on some of the points and without. The tolerances are what the dense
// side loses: its variances are differences of covariances of the size of σ²n³.
func TestSystemEqualsDense(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(5, 40).Draw(t, "places")
		at := sizes{
			tau:   rapid.Float64Range(0.05, 2).Draw(t, "tau"),
			sigma: rapid.Float64Range(0.01, 2).Draw(t, "sigma"),
			omega: rapid.SampledFrom([]float64{0, 0.01, 0.5, 3}).Draw(t, "omega"),
		}
		var points []point
		groups := make([]int, n)
		pictures := rapid.Bool().Draw(t, "pictures")
		for i := range n {
			if i < 3 || rapid.Bool().Draw(t, "measured") {
				points = append(points, point{at: i, value: rapid.Float64Range(-3, 3).Draw(t, "value"), variance: rapid.Float64Range(0, 1).Draw(t, "variance")})
				points[len(points)-1].picture = pictures && (i == 1 || i > 2 && rapid.Bool().Draw(t, "picture"))
			}
			groups[i] = -1
			if i > 0 {
				groups[i] = groups[i-1]
			}
			if i == 0 || rapid.IntRange(0, 3).Draw(t, "border") == 0 {
				groups[i] = rapid.IntRange(-1, 6).Draw(t, "group")
			}
		}
		sys := newSystem(points, groups)
		if !sys.solve(at) {
			t.Fatal("no solution")
		}
		level, page, picture, criterion := dense(points, groups, at)
		lost := 1e-13 * at.sigma * at.sigma * float64(n*n*n)
		same := func(what string, got, variance float64, want predicted) {
			if math.Abs(got-want.value) > 1e-6 || math.Abs(variance-want.variance) > 1e-7*want.variance+lost {
				t.Fatalf("%s: %g with variance %g, want %g with %g", what, got, variance, want.value, want.variance)
			}
		}
		got := sys.uncertainty()
		for i := range n {
			same(fmt.Sprintf("level at place %d", i), sys.mean(i), got.level[i], level[i])
		}
		for i := range points {
			same(fmt.Sprintf("page at place %d", points[i].at), sys.expected(&points[i]), got.page[i], page[i])
		}
		if pictures {
			same("picture", sys.unknown[sys.picture], got.picture, picture)
		}
		if c := sys.criterion(); math.Abs(c-criterion) > 1e-6*(1+math.Abs(criterion)) {
			t.Fatalf("criterion %.12g, want %.12g", c, criterion)
		}
	})
}

// A predicted is a prediction and the variance of its error.
type predicted struct{ value, variance float64 }

// dense gives the level of a page without a picture at every place, the
// expectation of every point, what a picture adds, and −2 log restricted
// likelihood, from their definitions with full matrices. The second differences ε
// and the levels v make the random part Lε + Gv, L = D'(DD')⁻¹, beside the fixed
// straight line and, where points have any, the fixed picture: y ~ N(Xβ, V) with
// V = σ²LL' + ω²GG' + errors. The predictions are the best linear unbiased ones,
// their variance that of the error of prediction (Robinson 1991, Statist. Sci. 6,
// 15–51).
func dense(points []point, groups []int, at sizes) (level, page []predicted, picture predicted, criterion float64) {
	n, m, fixed := len(groups), len(points), 2
	if firstPicture(points) >= 0 {
		fixed = 3
	}
	random := randomPart(groups, at)
	design := mat.NewDense(n+m+1, fixed, nil) // of what is wanted: levels, points, the picture
	for i := range n {
		design.SetRow(i, []float64{1, float64(i), 0}[:fixed])
	}
	for i, p := range points {
		design.SetRow(n+i, []float64{1, float64(p.at), p.pictures()}[:fixed])
	}
	if fixed == 3 {
		design.Set(n+m, 2, 1)
	}
	x := design.Slice(n, n+m, 0, fixed)
	v, cov, y := mat.NewDense(m, m, nil), mat.NewDense(n+m+1, m, nil), mat.NewVecDense(m, nil)
	for i, p := range points {
		y.SetVec(i, p.value)
		for k := range n {
			cov.Set(k, i, random.At(k, p.at))
		}
		for j, q := range points {
			v.Set(i, j, random.At(p.at, q.at))
			cov.Set(n+j, i, random.At(p.at, q.at))
		}
		v.Set(i, i, v.At(i, i)+at.tau*at.tau+p.variance)
	}
	var vInv, xv, xvx, xvxInv, b, xvy, fitted, r, vr, weights, ofRandom, ofFixed, left, of, spread, taken mat.Dense
	must(vInv.Inverse(v))
	xv.Mul(x.T(), &vInv)
	xvx.Mul(&xv, x)
	must(xvxInv.Inverse(&xvx))
	xvy.Mul(&xv, y)
	b.Mul(&xvxInv, &xvy)
	fitted.Mul(x, &b)
	r.Sub(y, &fitted)
	vr.Mul(&vInv, &r)
	weights.Mul(cov, &vInv)
	ofFixed.Mul(design, &b)
	ofRandom.Mul(&weights, &r)
	left.Mul(&weights, x)
	left.Sub(design, &left) // what the fixed effects' errors do to the prediction
	of.Mul(&left, &xvxInv)
	spread.Mul(&of, left.T())
	taken.Mul(&weights, cov.T())
	predict := func(i int, prior float64) predicted {
		return predicted{ofFixed.At(i, 0) + ofRandom.At(i, 0), prior - taken.At(i, i) + spread.At(i, i)}
	}
	for i := range n {
		level = append(level, predict(i, random.At(i, i)))
	}
	for i, p := range points {
		page = append(page, predict(n+i, random.At(p.at, p.at)))
	}
	logV, _ := mat.LogDet(v)
	logX, _ := mat.LogDet(&xvx)
	var quadratic mat.Dense
	quadratic.Mul(r.T(), &vr)
	return level, page, predict(n+m, 0), float64(m-fixed)*math.Log(2*math.Pi) + logV + logX + quadratic.At(0, 0)
}

// randomPart is the covariance of bends and levels over all places.
func randomPart(groups []int, at sizes) *mat.Dense {
	n := len(groups)
	d := mat.NewDense(n-2, n, nil)
	for i := range n - 2 {
		d.Set(i, i, 1)
		d.Set(i, i+1, -2)
		d.Set(i, i+2, 1)
	}
	var dd, ddInv, l mat.Dense
	dd.Mul(d, d.T())
	must(ddInv.Inverse(&dd))
	l.Mul(d.T(), &ddInv)
	random := mat.NewDense(n, n, nil)
	random.Mul(&l, l.T())
	random.Scale(at.sigma*at.sigma, random)
	for i, g := range groups {
		for j, h := range groups {
			if g >= 0 && g == h {
				random.Set(i, j, random.At(i, j)+at.omega*at.omega)
			}
		}
	}
	return random
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}

// Measuring in another unit or from another zero, or reading the book from its
// other end, changes the level accordingly and nothing else.
func TestSmoothFollowsScaleShiftAndReversal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		book := books{pages: 60, lengths: []int{1, 3, 8, 15}, between: rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "between"), wave: 0.1}
		points, groups, _ := book.draw(rapid.Uint64().Draw(t, "seed"))
		n := len(groups)
		scale := rapid.SampledFrom([]float64{0.1, 1, 40}).Draw(t, "scale")
		shift := rapid.Float64Range(-2, 2).Draw(t, "shift")
		back := rapid.Bool().Draw(t, "back")
		var other []point
		for _, p := range points {
			q := point{at: p.at, value: scale * (p.value + shift), variance: scale * scale * p.variance}
			if back {
				q.at = n - 1 - p.at
			}
			other = append(other, q)
		}
		otherGroups := slices.Clone(groups)
		if back {
			slices.Reverse(otherGroups)
		}
		s, err := smooth(points, groups)
		if err != nil {
			t.Fatal(err)
		}
		o, err := smooth(other, otherGroups)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			k := i
			if back {
				k = n - 1 - i
			}
			// the two searches stop at their own places on a flat likelihood
			if math.Abs(o.level[k]/scale-shift-s.level[i]) > 0.05*math.Sqrt(s.variance[i]) {
				t.Fatalf("place %d: %g, want %g", i, o.level[k]/scale-shift, s.level[i])
			}
		}
	})
}

// wavy draws a book's wear: a wave with scatter 0.05 and errors of measuring
// 0.01 to 0.03; a share of the pages is not measured.
func wavy(seed uint64, n int, missing float64) ([]point, int) {
	points, _ := wavyTruth(seed, n, missing)
	return points, n
}

func wavyTruth(seed uint64, n int, missing float64) ([]point, []float64) {
	r := rand.New(rand.NewPCG(seed, 11))
	level := make([]float64, n)
	var points []point
	for i := range n {
		level[i] = 0.3 + 0.15*math.Sin(5*float64(i)/float64(n)) + 0.1*float64(i)/float64(n)
		if i > 4 && r.Float64() < missing {
			continue
		}
		se := 0.01 + 0.02*r.Float64()
		y := level[i] + 0.05*r.NormFloat64() + se*r.NormFloat64()
		points = append(points, point{at: i, value: y, variance: se * se})
	}
	return points, level
}

// The 95 % interval holds the level of about 95 % of the pages (Nychka 1988).
// 120 books (more where THUMBED_SLOW asks for them) of 150 pages; the share in one book has a standard deviation of
// about 0.06, so its mean is known to 0.006 and is asked to lie within three of
// that below 95 %; the interval leaves the search for the smoothing out of
// account, hence a further hundredth.
func TestCurveIntervalHoldsTheLevel(t *testing.T) {
	for _, missing := range []float64{0, 0.4} {
		inside, all := 0.0, 0.0
		for seed := range uint64(runs(120, 1000)) {
			points, level := wavyTruth(seed, 150, missing)
			s, err := smooth(points, ungrouped(len(level)))
			if err != nil {
				t.Fatal(err)
			}
			q := quantile(float64(len(points)) - s.edf)
			for i, z := range level {
				all++
				if math.Abs(z-s.level[i]) <= q*math.Sqrt(s.variance[i]) {
					inside++
				}
			}
		}
		if share := inside / all; share < 0.95-0.028 || share > 0.98 {
			t.Errorf("with %.0f %% of the pages not measured the interval holds the level of %.1f %% of the pages", 100*missing, 100*share)
		} else {
			t.Logf("missing %.1f: coverage %.4f", missing, share)
		}
	}
}

// Values known only to lie below a bound: the fit must lean on them as little
// as they say. Cut at the floor, the level's mean stays right where taking the
// floor as a number makes it too high.
func TestLimitsAreNotTakenForNumbers(t *testing.T) {
	const n, floor = 200, 0.10
	naive, honest := 0.0, 0.0
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 3))
		var cut, whole []point
		for i := range n {
			y := 0.1 + 0.06*math.Sin(6*float64(i)/n) + 0.05*r.NormFloat64()
			p := point{at: i, value: y, variance: 1e-4}
			whole = append(whole, p)
			if y < floor {
				p.value, p.limit = floor, readings.Below
			}
			cut = append(cut, p)
		}
		var taken []point
		for _, p := range cut {
			p.limit = readings.Measured
			taken = append(taken, p)
		}
		true_, err := smooth(whole, ungrouped(n))
		if err != nil {
			t.Fatal(err)
		}
		a, err := smooth(cut, ungrouped(n))
		if err != nil {
			t.Fatal(err)
		}
		b, err := smooth(taken, ungrouped(n))
		if err != nil {
			t.Fatal(err)
		}
		honest += (stat.Mean(a.level, nil) - stat.Mean(true_.level, nil)) / 20
		naive += (stat.Mean(b.level, nil) - stat.Mean(true_.level, nil)) / 20
	}
	if math.Abs(honest) > 0.003 {
		t.Errorf("mean level is off by %.4f with limits", honest)
	}
	if naive < 0.01 {
		t.Errorf("taking limits for numbers moved the level by %.4f only: the test shows nothing", naive)
	}
}

// log Φ and its hazard against the standard library where that has digits, and
// against Mills's ratio in the tail: 1/h(−20) = 0.0498759… /1 (Abramowitz and
// Stegun 1964, table 26.2: −log10 Q(20) = 88.56010, from memory).
func TestNormalTail(t *testing.T) {
	near(t, "log10 Q(20)", logPhi(-20)/math.Ln10, -88.56010, 1e-7)
	near(t, "log10 Q(5)", logPhi(-5)/math.Ln10, -6.54265, 1e-5)
	near(t, "across the seam", logPhi(-12-1e-9), logPhi(-12+1e-9), 1e-8)
	for _, a := range []float64{-300, -30, -5, -1, 0, 1, 5, 30} {
		h := hazard(a)
		if !(h >= 0) || !(shrinkage(a, h) >= 0 && shrinkage(a, h) <= 1) {
			t.Errorf("a = %g: hazard %g, shrinkage %g", a, h, shrinkage(a, h))
		}
	}
	near(t, "half-normal mean", hazard(0), math.Sqrt(2/math.Pi), 1e-12)
	mean, variance := beyond(readings.Above, 0, 0, 1)
	near(t, "half-normal mean", mean, math.Sqrt(2/math.Pi), 1e-12)
	near(t, "half-normal variance", variance, 1-2/math.Pi, 1e-12)
}

// The slope and curvature of both kinds of bound are derivatives of its log
// likelihood.
func TestSupportDerivatives(t *testing.T) {
	for _, limit := range []readings.Limit{readings.Below, readings.Above} {
		for _, z := range []float64{-2, -0.3, 0.4, 3} {
			p := &point{value: 0.5, limit: limit}
			const v, h = 0.7, 1e-4
			up, slopeUp, _ := support(p, z+h, v)
			down, slopeDown, _ := support(p, z-h, v)
			_, slope, curvature := support(p, z, v)
			if d := (up - down) / (2 * h); math.Abs(d-slope) > 1e-6 {
				t.Errorf("%q at %g: slope %g, want %g", limit, z, slope, d)
			}
			if d := -(slopeUp - slopeDown) / (2 * h); math.Abs(d-curvature) > 1e-6 {
				t.Errorf("%q at %g: curvature %g, want %g", limit, z, curvature, d)
			}
		}
	}
}

func BenchmarkSmooth300Pages(b *testing.B) {
	points, n := wavy(1, 300, 0.1)
	for b.Loop() {
		if _, err := smooth(points, ungrouped(n)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSmooth3000Pages(b *testing.B) {
	points, n := wavy(1, 3000, 0.1)
	for b.Loop() {
		if _, err := smooth(points, ungrouped(n)); err != nil {
			b.Fatal(err)
		}
	}
}
