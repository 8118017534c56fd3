package hypotheses_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/table"
)

// runningBooks draws books whose wear runs on from page to page (first-order
// autoregression 0.9) and whose pictures stand in runs; pictures add so much.
func runningBooks(seed uint64, books, pages int, effect float64) *table.Table {
	r := rand.New(rand.NewPCG(seed, 61))
	var book, picture []string
	var position, wear []float64
	for b := range books {
		run, with := 0.0, false
		for i := range pages {
			run = 0.9*run + r.NormFloat64()
			if r.Float64() < 0.15 {
				with = !with
			}
			w, p := run, "no"
			if with {
				w, p = w+effect, "yes"
			}
			book, picture = append(book, "B"+strconv.Itoa(b)), append(picture, p)
			position, wear = append(position, float64(i+1)), append(wear, w)
		}
	}
	t, err := table.New(table.Labels("book", book), table.Numbers("position", position), table.Labels("picture", picture), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

var (
	pictures = mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}, {"book"}}, Levels: map[string][]string{"picture": {"no", "yes"}}}
	drawing  = hypotheses.Question{Words: "Do pictures attract handling?", Model: "pictures", Contrast: map[string]float64{"picture=yes": 1}, Direction: "more"}
)

func shift(t *testing.T, q hypotheses.Question, m mixed.Model, data *table.Table, s hypotheses.CircularShifts) *hypotheses.CircularShiftTest {
	t.Helper()
	out, err := hypotheses.CircularShift(context.Background(), q, m, data, s)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// All arrangements of a short book, counted here by hand: the t of a two-sample
// comparison depends on the arrangement only through the mean over pages with
// pictures, since the total sum of squares stays. Wear 1 … 6, pictures on the
// last two: of six arrangements this has the greatest mean, so p = 1/6; for less
// it is the least extreme, p = 1; for either, pictures on the first two pages
// reach as far, p = 2/6.
func TestShiftCountsAllArrangements(t *testing.T) {
	data, err := table.New(
		table.Numbers("position", []float64{6, 5, 4, 3, 2, 1}),
		table.Labels("picture", []string{"yes", "yes", "no", "no", "no", "no"}),
		table.Numbers("wear", []float64{6, 5, 4, 3, 2, 1}),
	)
	if err != nil {
		t.Fatal(err)
	}
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}}}
	for direction, want := range map[string]float64{"more": 1.0 / 6, "less": 1, "either": 2.0 / 6} {
		q := drawing
		q.Direction = direction
		got := shift(t, q, m, data, hypotheses.CircularShifts{Along: "position"})
		if !got.Exact || got.Arrangements != 6 || math.Abs(got.P-want) > 1e-12 {
			t.Errorf("%s: %+v, want p = %g", direction, got, want)
		}
		if !strings.Contains(got.Sentence, "No p below 1/6") {
			t.Errorf("sentence: %s", got.Sentence)
		}
	}
}

// Two books of 4 and 5 pages have 20 arrangements; the draw is by chance where
// that is too many, and does not depend on the rows' order or on the cores.
func TestShiftIsTheSameOnAnyOrderAndCores(t *testing.T) {
	whole := runningBooks(5, 2, 30, 1)
	small := whole.Select([]int{0, 1, 2, 3, 4, 5, 6, 7, 30, 31, 32, 33, 34, 35, 36})
	if got := shift(t, drawing, pictures, small, hypotheses.CircularShifts{Along: "position", Within: "book"}); !got.Exact || got.Arrangements != 56 {
		t.Errorf("books of 8 and 7 pages: %+v", got)
	}
	s := hypotheses.CircularShifts{Along: "position", Within: "book", Draws: 200, Seed: 9}
	want := shift(t, drawing, pictures, whole, s)
	if want.Exact || want.Arrangements != 201 {
		t.Errorf("%+v", want)
	}
	order := rand.New(rand.NewPCG(1, 1)).Perm(whole.Rows())
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	got := shift(t, drawing, pictures, whole.Select(order), s)
	if got.P != want.P || math.Abs(got.Statistic-want.Statistic) > 1e-9 {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// Where wear and pictures both run on, the model without autocorrelation rejects
// a true null far too often and the shift keeps its level; and it finds what is
// there. The rate is known to three of its standard errors.
func TestShiftKeepsItsLevelWhereWearRunsOn(t *testing.T) {
	books := 60.0
	if os.Getenv("THUMBED_SLOW") != "" {
		books = 600
	}
	rate := func(effect float64) (byModel, byShift float64) {
		for seed := range uint64(books) {
			data := runningBooks(seed, 2, 60, effect)
			fit, err := pictures.Fit(data)
			if err != nil {
				t.Fatal(err)
			}
			a, err := hypotheses.Ask(drawing, fit)
			if err != nil {
				t.Fatal(err)
			}
			if a.P <= 0.05 {
				byModel += 1 / books
			}
			if shift(t, drawing, pictures, data, hypotheses.CircularShifts{Along: "position", Within: "book", Draws: 99, Seed: seed}).P <= 0.05 {
				byShift += 1 / books
			}
		}
		return byModel, byShift
	}
	byModel, byShift := rate(0)
	t.Logf("no effect: model %.3f, shift %.3f", byModel, byShift)
	if byModel < 0.1 {
		t.Errorf("the model rejects %.2f of true nulls: the test shows nothing", byModel)
	}
	if byShift > 0.05+3*math.Sqrt(0.05*0.95/books) {
		t.Errorf("the shift rejects %.3f of true nulls at 0.05", byShift)
	}
	if _, power := rate(3); power < 0.8 {
		t.Errorf("the shift finds a plain effect in %.2f of the books", power)
	}
}

func TestShiftRefusesInWords(t *testing.T) {
	data := runningBooks(1, 2, 12, 0)
	whose := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"book"}}}
	text := slices.Repeat([]string{"x"}, data.Rows())
	if err := data.Add(table.Labels("note", text)); err != nil {
		t.Fatal(err)
	}
	of := func(term string) hypotheses.Question {
		return hypotheses.Question{Words: "?", Contrast: map[string]float64{term: 1}}
	}
	for _, c := range []struct {
		q    hypotheses.Question
		m    mixed.Model
		s    hypotheses.CircularShifts
		says string
	}{
		{of("picture=yes"), pictures, hypotheses.CircularShifts{Along: "place"}, `no column "place"`},
		{of("picture=yes"), pictures, hypotheses.CircularShifts{Along: "note"}, "must be a column of numbers"},
		{of("picture=yes"), pictures, hypotheses.CircularShifts{}, "must be a column of numbers"},
		{of("gold=yes"), pictures, hypotheses.CircularShifts{Along: "position"}, `"gold=yes" is on no column`},
		{of("intercept"), pictures, hypotheses.CircularShifts{Along: "position"}, "intercept only"},
		{of("book=B1"), whose, hypotheses.CircularShifts{Along: "position", Within: "book"}, "pushing it round changes nothing"},
		{of("picture=maybe"), pictures, hypotheses.CircularShifts{Along: "position"}, "cannot be fitted to the pages as they stand"},
		{hypotheses.Question{}, pictures, hypotheses.CircularShifts{Along: "position"}, "words is missing"},
	} {
		if _, err := hypotheses.CircularShift(context.Background(), c.q, c.m, data, c.s); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q is not in: %v", c.says, err)
		}
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := hypotheses.CircularShift(stopped, drawing, pictures, data, hypotheses.CircularShifts{Along: "position", Within: "book"}); err != context.Canceled {
		t.Errorf("stopped: %v", err)
	}
}

func BenchmarkShift(b *testing.B) {
	data := runningBooks(1, 4, 150, 1)
	m := pictures
	m.Fixed = []mixed.Term{{"picture"}}
	m.Random = []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept", "picture"}}}
	for b.Loop() {
		if _, err := hypotheses.CircularShift(context.Background(), drawing, m, data, hypotheses.CircularShifts{Along: "position", Within: "book", Draws: 99}); err != nil {
			b.Fatal(err)
		}
	}
}
