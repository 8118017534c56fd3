package profile

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

// Adding the same density to every page with a picture adds it to what a picture
// adds, and leaves level, intervals, sizes and degrees of freedom where they are:
// the trend that is subtracted first holds it. What the last digits do to the
// searches is far below a standard error.
func TestPicturesAddToPictureAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		book := books{pages: 60, lengths: []int{1, 3, 8, 15}, wave: 0.1, adds: 0.1,
			between:  rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "between"),
			pictures: rapid.SampledFrom([]float64{0.05, 0.5, 0.9}).Draw(t, "pictures"),
		}
		points, groups, _ := book.draw(rapid.Uint64().Draw(t, "seed"))
		added := rapid.Float64Range(-2, 2).Draw(t, "added")
		other := make([]point, len(points))
		for i, p := range points {
			other[i] = p
			other[i].value += added * p.pictures()
		}
		if !tellPictures(points) {
			t.Skip("a book that does not tell pictures")
		}
		s, o := smoothOf(t, points, groups), smoothOf(t, other, groups)
		se := math.Sqrt(s.ofPicture)
		if math.Abs(o.picture-added-s.picture) > 1e-3*se || math.Abs(math.Sqrt(o.ofPicture)-se) > 1e-3*se {
			t.Fatalf("a picture adds %g ± %g, want %g ± %g", o.picture-added, math.Sqrt(o.ofPicture), s.picture, se)
		}
		if math.Abs(o.edf-s.edf) > 1e-2 || math.Abs(o.logLik-s.logLik) > 1e-5 {
			t.Fatalf("edf %g, log likelihood %g, want %g and %g", o.edf, o.logLik, s.edf, s.logLik)
		}
		for i := range s.level {
			if se := math.Sqrt(s.variance[i]); math.Abs(o.level[i]-s.level[i]) > 1e-3*se || math.Abs(math.Sqrt(o.variance[i])-se) > 5e-3*se {
				t.Fatalf("place %d: level %g ± %g, want %g ± %g", i, o.level[i], math.Sqrt(o.variance[i]), s.level[i], se)
			}
		}
	})
}

func smoothOf(t interface{ Fatal(...any) }, points []point, groups []int) *smoothed {
	s, err := smooth(points, groups)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Where the measured pages do not tell a picture from none, all are taken alike,
// to the last bit: no pages with pictures, no others, or pages with pictures only
// as bounds.
func TestPicturesNotToldApart(t *testing.T) {
	points, groups, _ := books{pages: 80, lengths: mixedLengths, between: 0.05, wave: 0.1}.draw(4)
	for i := range points {
		if i%9 == 4 {
			points[i].limit = readings.Above
		}
	}
	plain := smoothOf(t, points, groups)
	if plain.picture != 0 || plain.ofPicture != 0 {
		t.Errorf("without pictures one adds %g with variance %g", plain.picture, plain.ofPicture)
	}
	for name, picture := range map[string]func(p point) bool{
		"every page":          func(point) bool { return true },
		"bounds alone":        func(p point) bool { return p.limit == readings.Above },
		"all but bounds":      func(p point) bool { return p.limit == readings.Measured },
		"every page measured": func(p point) bool { return p.limit == readings.Measured || p.at%2 == 0 },
	} {
		with := make([]point, len(points))
		for i, p := range points {
			with[i] = p
			with[i].picture = picture(p)
		}
		if got := smoothOf(t, with, groups); !reflect.DeepEqual(got, plain) {
			t.Errorf("pictures on %s: another curve", name)
		}
	}
}

// One page with a picture tells what it adds and nothing of the curve: that is
// the curve of the other pages (the fixed effect takes the page out of the
// restricted likelihood too), which is known with the same interval.
func TestOnePictureLeavesTheCurveToTheOthers(t *testing.T) {
	points, groups, _ := books{pages: 100, lengths: mixedLengths, between: 0.05, wave: 0.1}.draw(9)
	const one = 40
	without := append(append([]point(nil), points[:one]...), points[one+1:]...)
	points[one].picture = true
	points[one].value += 0.3
	s, o := smoothOf(t, points, groups), smoothOf(t, without, groups)
	near(t, "log likelihood", s.logLik, o.logLik, 1e-5)
	near(t, "degrees of freedom", s.edf, o.edf+1, 1e-3)
	near(t, "the page", s.page[one], points[one].value, 1e-6)
	near(t, "what the picture adds", s.picture, points[one].value-s.level[points[one].at], 1e-6)
	for i := range s.level {
		near(t, "level", s.level[i], o.level[i], 1e-4)
		near(t, "variance", s.variance[i], o.variance[i], 1e-2)
	}
}

// With bounds too the fixed effects are those of greatest likelihood: the slopes
// of the pages' log likelihoods add to nothing over all pages, over the pages with
// pictures, and with the position as weight. Newton's method stops within 1e-9 of
// a page's standard deviation, where a slope is within 1e-9 of 1/τ.
func TestPicturesWithBoundsSolveTheirEquations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		book := books{pages: 60, lengths: []int{1, 3, 8, 15}, between: 0.1, wave: 0.1, pictures: 0.5, adds: 0.2}
		points, groups, _ := book.draw(rapid.Uint64().Draw(t, "seed"))
		for i := range points {
			switch p := &points[i]; {
			case p.value < 0.25:
				p.value, p.limit = 0.25, readings.Below
			case p.value > 0.55:
				p.value, p.limit = 0.55, readings.Above
			}
		}
		if !tellPictures(points) {
			t.Skip("a book that does not tell pictures")
		}
		sys := newSystem(points, groups)
		at := sizes{tau: 0.04, sigma: 0.002, omega: rapid.SampledFrom([]float64{0, 0.1}).Draw(t, "omega")}
		if !sys.solve(at) {
			t.Fatal("no solution")
		}
		all, pictures, positions := 0.0, 0.0, 0.0
		for i, p := range points {
			all += sys.slope[i]
			pictures += sys.slope[i] * p.pictures()
			positions += sys.slope[i] * float64(p.at) / 60
		}
		if most := 1e-7 * float64(len(points)) / at.tau; math.Abs(all) > most || math.Abs(pictures) > most || math.Abs(positions) > most {
			t.Fatalf("slopes add to %g, %g over pictures, %g with positions", all, pictures, positions)
		}
	})
}

// A book opened for looking: on half of the pages a picture that adds 0.16, some
// of them above the ceiling. The curve runs through the pages of text, and the
// pages with a picture at the ceiling are expected above it, at their own level.
func TestCurveOfBookOpenedForLooking(t *testing.T) {
	const ceiling, level, adds = 0.4, 0.2, 0.16
	b := &codex.Book{ID: "MW7", Sections: []codex.Section{{Name: "Prayers", Kind: "prayer"}}}
	r := rand.New(rand.NewPCG(3, 3))
	var pages []measured
	above := 0
	for i := range 160 {
		page := codex.Page{Label: codex.PageLabel{Folio: codex.Folio{Number: i/2 + 1}, Side: codex.Side(i % 2)}, Leaf: i / 2, Position: i + 1, Picture: r.Float64() < 0.5}
		b.Pages = append(b.Pages, page)
		b.Sections[0].Pages = append(b.Sections[0].Pages, i)
		m := measured{page: i, value: level + 0.03*r.NormFloat64(), variance: 1e-4, df: 50}
		if page.Picture {
			m.value += adds
		}
		if m.value > ceiling {
			m.value, m.limit = ceiling, readings.Above
			above++
		}
		pages = append(pages, m)
	}
	c, expected, _, err := curveOf(b, pages)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.Picture-adds) > 4*c.PictureSE || !(c.PictureSE > 0.003 && c.PictureSE < 0.01) || c.Smooth < 3 {
		t.Errorf("a picture adds %.3f ± %.3f, want %.2f, with %.2f degrees of freedom", c.Picture, c.PictureSE, adds, c.Smooth)
	}
	for i, z := range c.Estimate {
		if math.Abs(z-level) > 0.03 {
			t.Errorf("page %d: the curve is at %.3f, want %.2f", i, z, level)
		}
	}
	// The ceiling lies 1.26 standard deviations (of scatter and error together,
	// 0.0316) above the level of pages with a picture: beyond it the mean is 0.36 +
	// 0.0316 × hazard(−1.26) = 0.415 (Johnson, Kotz and Balakrishnan 1994, section
	// 13.10.1). From the level of a page without a picture it would be 0.405.
	mean := 0.0
	for i, m := range pages {
		if m.limit == readings.Above {
			mean += expected[i].value / float64(above)
		}
	}
	near(t, "expectation beyond the ceiling", mean, 0.415, 0.008)
	if above < 4 {
		t.Errorf("%d pages are above the ceiling: the test shows little", above)
	}
}
