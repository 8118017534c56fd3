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

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

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

// partialT is the t of y on x beside a constant and a straight trend, by the normal
// equations of what is left of x and y after these (Frisch and Waugh 1933, Econometrica
// 1, 387–401).
func partialT(x, y []float64) float64 {
	place := make([]float64, len(x))
	for i := range place {
		place[i] = float64(i)
	}
	rest := func(v []float64) []float64 {
		a, b := stat.LinearRegression(place, v, nil, false)
		out := make([]float64, len(v))
		for i := range v {
			out[i] = v[i] - a - b*place[i]
		}
		return out
	}
	rx, ry := rest(x), rest(y)
	b := floats.Dot(rx, ry) / floats.Dot(rx, rx)
	left := floats.Dot(ry, ry) - b*b*floats.Dot(rx, rx)
	return b / math.Sqrt(left/float64(len(x)-3)/floats.Dot(rx, rx))
}

// All arrangements of one book, counted here by another way to the same t.
func TestShiftCountsAllArrangements(t *testing.T) {
	wear := []float64{3, 1, 4, 1, 5, 9, 2, 6}
	with := []float64{0, 0, 0, 1, 0, 1, 1, 0}
	label, place := make([]string, 8), make([]float64, 8)
	for i := range label {
		label[i], place[i] = map[float64]string{0: "no", 1: "yes"}[with[i]], float64(i)
	}
	data, err := table.New(table.Numbers("position", place), table.Labels("picture", label), table.Numbers("wear", wear))
	if err != nil {
		t.Fatal(err)
	}
	m := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}}, Levels: map[string][]string{"picture": {"no", "yes"}}}
	var ts []float64
	for k := range 8 {
		pushed := make([]float64, 8)
		for i := range pushed {
			pushed[i] = with[(i-k+8)%8]
		}
		ts = append(ts, partialT(pushed, wear))
	}
	for direction, reach := range map[string]func(float64) float64{"more": func(t float64) float64 { return t }, "less": func(t float64) float64 { return -t }, "either": math.Abs} {
		extreme := 0.0
		for _, v := range ts {
			if reach(v) >= reach(ts[0])-1e-9 {
				extreme++
			}
		}
		q := drawing
		q.Direction = direction
		got := shift(t, q, m, data, hypotheses.CircularShifts{Along: "position"})
		if !got.Exact || got.Arrangements != 8 || got.Books != 1 || math.Abs(got.P-extreme/8) > 1e-12 || math.Abs(got.Statistic-ts[0]) > 1e-9 {
			t.Errorf("%s: %+v, want p = %g, t = %g", direction, got, extreme/8, ts[0])
		}
		if !strings.Contains(got.Sentence, "No p below 1/8") || !strings.Contains(got.Sentence, "this book alone") {
			t.Errorf("sentence: %s", got.Sentence)
		}
	}
}

// Of few books p is that of the t test of their estimates, here made by another way.
func TestFewBooksAreTestedAcross(t *testing.T) {
	data := runningBooks(2, 4, 30, 1)
	var estimates []float64
	for b := range 4 {
		x, y := make([]float64, 30), make([]float64, 30)
		for i := range 30 {
			y[i] = data.Column("wear").Number(30*b + i)
			if data.Column("picture").Label(30*b+i) == "yes" {
				x[i] = 1
			}
		}
		m, err := mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"picture"}, {"position"}}, Levels: pictures.Levels}.Fit(data.Select(counting(30*b, 30)))
		if err != nil {
			t.Fatal(err)
		}
		c, err := m.Contrast("", drawing.Contrast)
		if err != nil || math.Abs(c.T-partialT(x, y)) > 1e-8 {
			t.Fatalf("book %d: t %v, by another way %v (%v)", b, c.T, partialT(x, y), err)
		}
		estimates = append(estimates, c.Estimate)
	}
	mean, sd := stat.MeanStdDev(estimates, nil)
	want := mean / sd * 2
	got := shift(t, drawing, pictures, data, hypotheses.CircularShifts{Along: "position", Within: "book", Draws: 19})
	if !got.AcrossBooks || got.Books != 4 || math.Abs(got.Statistic-want) > 1e-8 || math.Abs(got.P-(1-distuv.StudentsT{Sigma: 1, Nu: 3}.CDF(want))) > 1e-9 {
		t.Errorf("%+v, want t = %g", got, want)
	}
	if !strings.Contains(got.Sentence, "6 books or more") {
		t.Errorf("sentence: %s", got.Sentence)
	}
}

func counting(from, n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = from + i
	}
	return out
}

// The draw is by chance where there are too many arrangements, and does not depend on
// the rows' order or on the cores.
func TestShiftIsTheSameOnAnyOrderAndCores(t *testing.T) {
	whole := runningBooks(2, 6, 30, 1)
	s := hypotheses.CircularShifts{Along: "position", Within: "book", Draws: 100, Seed: 9}
	want := shift(t, drawing, pictures, whole, s)
	if want.Exact || want.Arrangements != 101 || want.Books != 6 {
		t.Errorf("%+v", want)
	}
	order := rand.New(rand.NewPCG(1, 1)).Perm(whole.Rows())
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	got := shift(t, drawing, pictures, whole.Select(order), s)
	if got.P != want.P || math.Abs(got.Statistic-want.Statistic) > 1e-9 {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// worlds are ways in which nothing is there on the whole and yet tests may claim it.
var worlds = []struct {
	name   string
	books  int
	varies float64 // standard deviation of what pictures add, between books
	trend  float64 // of wear, over the whole book
	front  bool    // pictures stand towards the front
}{
	{"nothing anywhere, 8 books", 8, 0, 0, false},
	{"an effect that varies about zero between 4 books", 4, 1, 0, false},
	{"an effect that varies about zero between 8 books", 8, 1, 0, false},
	{"a trend, and pictures towards the front, 4 books", 4, 0, -6, true},
	{"a trend, and pictures towards the front, 8 books", 8, 0, -6, true},
	{"a trend, and pictures towards the front, 1 book", 1, 0, -6, true},
}

// worldBooks draws books of one of these worlds, with an effect in all beside.
func worldBooks(seed uint64, which int, effect float64) *table.Table {
	w := worlds[which]
	r := rand.New(rand.NewPCG(seed, uint64(which)))
	const pages = 60
	var book, picture []string
	var position, wear []float64
	for b := range w.books {
		run, with, own := 0.0, false, effect+w.varies*r.NormFloat64()
		for i := range pages {
			run = 0.9*run + r.NormFloat64()
			turn := 0.15
			if w.front {
				turn = 0.25
				if with == (i > pages/2) { // to no pictures late, to pictures early
					turn = 0.5
				}
			}
			if r.Float64() < turn {
				with = !with
			}
			at, p := run+w.trend*float64(i)/pages, "no"
			if with {
				at, p = at+own, "yes"
			}
			book, picture = append(book, "B"+strconv.Itoa(b)), append(picture, p)
			position, wear = append(position, float64(i+1)), append(wear, at)
		}
	}
	t, err := table.New(table.Labels("book", book), table.Numbers("position", position), table.Labels("picture", picture), table.Numbers("wear", wear))
	if err != nil {
		panic(err)
	}
	return t
}

// Where nothing is there on the whole, shifting claims no more often than it should,
// and the model without autocorrelation does; what is there is found. The rates are
// known to three standard errors; SHIFTS.md holds those of many sets, by THUMBED_SLOW=1.
func TestShiftKeepsItsLevel(t *testing.T) {
	sets := 16
	if os.Getenv("THUMBED_SLOW") != "" {
		sets = 400
	}
	// at 5 % one-sided; 0: no set could be shifted
	rate := func(which, sets int, effect float64) (byModel, byShift float64) {
		var models, shifts, tried float64
		for seed := range uint64(sets) {
			data := worldBooks(seed, which, effect)
			m := pictures
			if worlds[which].books == 1 {
				m.Fixed = m.Fixed[:1]
			}
			fit, err := m.Fit(data)
			if err != nil {
				continue
			}
			a, err := hypotheses.Ask(drawing, fit)
			if err != nil {
				t.Fatal(err)
			}
			if a.P <= 0.05 {
				models++
			}
			got, err := hypotheses.CircularShift(context.Background(), drawing, m, data, hypotheses.CircularShifts{Along: "position", Within: "book", Draws: 39, Seed: seed})
			if err != nil {
				continue
			}
			tried++
			if got.P <= 0.05 {
				shifts++
			}
		}
		return models / tried, shifts / tried
	}
	for which, w := range worlds {
		byModel, byShift := rate(which, sets, 0)
		t.Logf("%s: model %.3f, shift %.3f", w.name, byModel, byShift)
		if w.front && byModel < 0.2 {
			t.Errorf("%s: the model rejects %.2f of true nulls: the test shows nothing", w.name, byModel)
		}
		if byShift > 0.05+3*math.Sqrt(0.05*0.95/float64(sets)) {
			t.Errorf("%s: shifting rejects %.3f of true nulls at 0.05", w.name, byShift)
		}
	}
	for which, effect := range map[int]float64{0: 2, 2: 2.5, 4: 2.5} {
		if _, power := rate(which, 8, effect); power < 0.7 {
			t.Errorf("%s: shifting finds a plain effect in %.2f", worlds[which].name, power)
		}
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
	if _, err := hypotheses.CircularShift(stopped, drawing, pictures, runningBooks(2, 6, 30, 1), hypotheses.CircularShifts{Along: "position", Within: "book"}); err != context.Canceled {
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
