package power_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/hypotheses/power"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// pictures is a small setting: books with a picture on every second page.
func pictures(t testing.TB) power.Setting {
	return power.Setting{
		Model: mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}},
			Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept"}}}},
		Question: picture(), Effect: 0.05, Level: 0.05,
		Truth: mixed.Parameters{Fixed: map[string]float64{"intercept": 0.15}, Residual: mixed.ResidualFit{SD: 0.05},
			Random: []mixed.RandomFit{{Terms: []string{"intercept"}, SD: []float64{0.05}}}},
		Measuring: power.Measuring{Instrument: readings.Instrument{Floor: 0, Ceiling: 2, Resolution: 0.01}, OnPage: 0.011, OnZero: 0.011, Zeros: 2, Ground: 0.12, GroundSpread: 0.01, Observers: 1},
		Books:     []*table.Table{book(t, 30), book(t, 24)},
		Designs:   []power.Design{{Books: 2, Pages: 20, Placings: 1}, {Books: 3, Pages: 20, Placings: 1}},
		Cost:      power.Cost{Placing: 30, Turn: 60, Tiles: 9, Day: 6}, Replicates: 12, Seed: 3,
	}
}

func run(t *testing.T, s power.Setting, from, to int) []power.Campaign {
	t.Helper()
	c, err := s.Run(context.Background(), from, to, nil)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// TestCampaignsDependOnNothingElse: not on the number of processors, the share
// of the work that is done at once, or the other designs.
func TestCampaignsDependOnNothingElse(t *testing.T) {
	s := pictures(t)
	want := run(t, s, 0, s.Pieces())
	before := runtime.GOMAXPROCS(1)
	alone := run(t, s, 0, s.Pieces())
	runtime.GOMAXPROCS(before)
	if !reflect.DeepEqual(want, alone) {
		t.Error("one processor gives other campaigns")
	}
	var parts []power.Campaign
	for _, cut := range [][2]int{{0, 5}, {5, 6}, {6, 24}} {
		parts = append(parts, run(t, s, cut[0], cut[1])...)
	}
	if !reflect.DeepEqual(want, parts) {
		t.Error("shares of the work give other campaigns")
	}
	s.Designs = s.Designs[1:]
	if !reflect.DeepEqual(want[12:], run(t, s, 0, 12)) {
		t.Error("a design gives other campaigns without its neighbours")
	}
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	var read []power.Campaign
	if err := json.Unmarshal(text, &read); err != nil || !reflect.DeepEqual(want, read) {
		t.Errorf("campaigns do not come back from JSON: %v", err)
	}
}

// TestWilson holds the interval to the worked example of Newcombe (1998,
// Statistics in Medicine 17, 857–872, table I: 81 of 263 is 0.2553 to 0.3662, 15
// of 148 is 0.0624 to 0.1605, 0 of 20 is 0 to 0.1611, 1 of 29 is 0.0061 to
// 0.1718; from memory).
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		count, n  int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		if s := power.Wilson(c.count, c.n); math.Abs(s.Low-c.low) > 6e-5 || math.Abs(s.High-c.high) > 6e-5 {
			t.Errorf("%d of %d: %.4f to %.4f; published %.4f to %.4f", c.count, c.n, s.Low, s.High, c.low, c.high)
		}
	}
}

// TestTake: any number of pages of any book are taken, each once and in order,
// first those to keep; and over many draws each other page as often as any.
func TestTake(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "pages")
		wanted := rapid.IntRange(1, 70).Draw(t, "wanted")
		opening, picture := make([]string, n), make([]string, n)
		at := 0
		for i := range opening {
			if i == 0 || rapid.Bool().Draw(t, "turn") || i > 1 && opening[i-2] == opening[i-1] {
				at++
			}
			opening[i], picture[i] = fmt.Sprint(at), rapid.SampledFrom([]string{"yes", "no"}).Draw(t, "picture")
		}
		pages, err := table.New(table.Labels("opening", opening), table.Labels("picture", picture))
		if err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(1, rapid.Uint64().Draw(t, "seed")))
		rows := power.Take(pages, wanted, map[string][]string{"picture": {"yes"}}, r)
		if len(rows) != min(wanted, n) || !slices.IsSorted(rows) || len(slices.Compact(slices.Clone(rows))) != len(rows) {
			t.Fatalf("%d of %d pages were wanted, taken %v", wanted, n, rows)
		}
		kept, all := 0, 0
		for i := range picture {
			if picture[i] == "yes" {
				all++
				if slices.Contains(rows, i) {
					kept++
				}
			}
		}
		if kept < min(all, wanted) {
			t.Fatalf("%d of %d pages to keep are among %v", kept, all, rows)
		}
	})
	even := book(t, 30)
	counts := make([]int, 30)
	for seed := range 3000 {
		for _, row := range power.Take(even, 7, nil, rand.New(rand.NewPCG(1, uint64(seed)))) {
			counts[row]++
		}
	}
	for i, n := range counts { // 700 expected, standard deviation 23
		if n < 590 || n > 810 {
			t.Errorf("page %d was taken %d times in 3000; 700 expected", i, n)
		}
	}
}

// TestTheFloorBounds: on white parchment the instrument gives bounds, which a
// model with limits takes as such.
func TestTheFloorBounds(t *testing.T) {
	s := pictures(t)
	s.Instrument.Floor, s.Ground, s.Truth.Fixed["intercept"] = 0.12, 0.13, 0.02
	s.Model.Residual.Limits = "limit"
	r, err := s.Summarise(run(t, s, 0, s.Pieces()))
	if err != nil {
		t.Fatal(err)
	}
	if r.Designs[0].Bounds < 0.05 || r.Designs[0].Failed > 0 {
		t.Errorf("%.2f of the pages are bounds, %d campaigns failed: %s", r.Designs[0].Bounds, r.Designs[0].Failed, r.Designs[0].Why)
	}
}

// TestDaysAndObserversWiden: what days and observers differ by falls on whole
// stretches of pages, and books measured on days of their own differ by it.
func TestDaysAndObserversWiden(t *testing.T) {
	s := pictures(t)
	s.Model.Fixed, s.Model.Levels, s.Truth.Random[0].SD[0] = nil, nil, 0
	s.Question.Contrast, s.Truth.Fixed = map[string]float64{"intercept": 1}, nil
	s.Designs, s.Replicates, s.Cost.Day = []power.Design{{Books: 6, Pages: 20, Placings: 1}}, 60, 0.6
	spread := func(s power.Setting) float64 {
		sum := 0.0
		campaigns := run(t, s, 0, s.Pieces())
		for _, c := range campaigns {
			sum += (c.There.Estimate - s.Effect) * (c.There.Estimate - s.Effect)
		}
		return math.Sqrt(sum / float64(len(campaigns)))
	}
	still := spread(s)
	s.BetweenDays = 0.05
	days := spread(s)
	s.BetweenDays, s.Between, s.Observers = 0, 0.05, 2
	observers := spread(s)
	// A day has 10 pages and there are 12 days: 0.05/√12 = 0.014; two observers
	// leave 0.05/√2 = 0.035; without either 0.05/√120 and the measuring, 0.0048.
	if still > 0.008 || days < 0.010 || days > 0.022 || observers < 0.024 || observers > 0.050 {
		t.Errorf("the mean varies by %.4f, with days %.4f, with observers %.4f", still, days, observers)
	}
}

// TestSmallCampaignsLeaveOut: a label that no drawn page has is left out of the
// model, and a campaign that cannot answer says why and counts as claiming
// nothing.
func TestSmallCampaignsLeaveOut(t *testing.T) {
	s := pictures(t)
	rare := book(t, 30)
	first := make([]string, 30)
	for i := range first {
		first[i] = "no"
	}
	first[7] = "yes"
	if err := rare.Add(table.Labels("incipit", first)); err != nil {
		t.Fatal(err)
	}
	s.Books = []*table.Table{rare}
	s.Model.Fixed = append(s.Model.Fixed, mixed.Term{"incipit"})
	s.Designs = []power.Design{{Books: 2, Pages: 4, Placings: 1}, {Books: 1, Pages: 20, Placings: 1}}
	r, err := s.Summarise(run(t, s, 0, s.Pieces()))
	if err != nil {
		t.Fatal(err)
	}
	if small := r.Designs[0]; small.Failed == small.Campaigns {
		t.Errorf("all small campaigns failed: %s", small.Why)
	}
	if one := r.Designs[1]; one.Failed != one.Campaigns || !strings.Contains(one.Why, "two groups") || one.Power.Value != 0 {
		t.Errorf("a random term of one book: %+v", one)
	}
	if !slices.ContainsFunc(r.Notes, func(note string) bool { return strings.Contains(note, "two groups") }) {
		t.Errorf("no note says why: %q", r.Notes)
	}
}

// TestTheChoice: of the designs that surely reach the aim the one of least cost
// is chosen, and one that may is named.
func TestTheChoice(t *testing.T) {
	s := pictures(t)
	s.Aim = power.Aim{Power: 0.8}
	s.Designs = []power.Design{{Books: 2, Pages: 10, Placings: 1}, {Books: 6, Pages: 20, Placings: 3}, {Books: 6, Pages: 20, Placings: 1}}
	s.Replicates = 60
	r, err := s.Summarise(run(t, s, 0, s.Pieces()))
	if err != nil {
		t.Fatal(err)
	}
	if r.Best != 2 || r.Designs[0].Reaches != power.No || !strings.Contains(r.Sentences[0], "6 books of 20 pages with 1 placing") {
		t.Errorf("chosen %d: %q\n%+v", r.Best, r.Sentences[0], r.Designs)
	}
	if got, want := r.Designs[2].Placings, 6*20*3.0; got != want {
		t.Errorf("%g placings on the books; want %g", got, want)
	}
	s.Aim = power.Aim{Width: 0.0001}
	if r, err = s.Summarise(run(t, s, 0, s.Pieces())); err != nil || r.Best >= 0 || !strings.Contains(r.Sentences[0], "None of the designs") {
		t.Errorf("an aim out of reach: %v, %q", err, r.Sentences)
	}
	var text strings.Builder
	if err := r.Text(&text); err != nil || !strings.Contains(text.String(), "Monte") && !strings.Contains(text.String(), "Wilson") {
		t.Errorf("%v: %s", err, &text)
	}
}

// TestWhatCannotBeTried is told at once, and an ended context ends the work.
func TestWhatCannotBeTried(t *testing.T) {
	s := pictures(t)
	s.Effect, s.Level, s.Zeros, s.Truth.Residual.SD, s.OnPage = 0, 2, 0, 0, -1
	wrong := s.Check()
	if wrong == nil {
		t.Fatal("nothing is wrong")
	}
	for _, word := range []string{"effect", "error rate", "zero", "single pages", "placings on pages"} {
		if !strings.Contains(wrong.Error(), word) {
			t.Errorf("%q is not told: %v", word, wrong)
		}
	}
	s = pictures(t)
	bare, err := table.New(table.Labels("book", []string{"one", "one"}), table.Labels("picture", []string{"", ""}))
	if err != nil {
		t.Fatal(err)
	}
	s.Books = []*table.Table{bare}
	if _, err := s.Run(context.Background(), 0, 1, nil); err == nil || !strings.Contains(err.Error(), "no book") {
		t.Errorf("pages of which nothing is known: error %v", err)
	}
	if _, err := s.Terms(); err == nil {
		t.Error("pages of which nothing is known have terms")
	}
	s = pictures(t)
	s.Replicates = 100_000
	ctx, stop := context.WithCancel(context.Background())
	if _, err := s.Run(ctx, 0, s.Pieces(), func(done, _ int) {
		if done == 3 {
			stop()
		}
	}); err != context.Canceled {
		t.Errorf("error %v", err)
	}
}
