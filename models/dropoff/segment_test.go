package dropoff_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"thumbed/models/dropoff"
)

// steps makes rows of normal noise about levels that change after the rows
// given.
func steps(seed uint64, n int, sd float64, levels []float64, after ...int) []float64 {
	rng := rand.New(rand.NewPCG(seed, 2))
	out := make([]float64, n)
	k := 0
	for i := range out {
		for k < len(after) && i >= after[k] {
			k++
		}
		out[i] = levels[k] + sd*rng.NormFloat64()
	}
	return out
}

// failing is what tests of both kinds can do.
type failing interface {
	Helper()
	Fatal(args ...any)
}

func segment(t failing, s dropoff.Series, o dropoff.Options) *dropoff.Changes {
	t.Helper()
	found, err := dropoff.Segment(s, o)
	if err != nil {
		t.Fatal(err)
	}
	return found
}

func afters(c *dropoff.Changes) []int {
	out := []int{}
	for _, change := range c.Found() {
		out = append(out, change.After)
	}
	return out
}

func equal(a, b []int) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// TestBadInput: what cannot be segmented is refused in a sentence that names
// the fault and what to do.
func TestBadInput(t *testing.T) {
	good := steps(1, 12, 0.1, []float64{1, 0}, 6)
	with := func(i int, v float64) []float64 {
		out := append([]float64(nil), good...)
		out[i] = v
		return out
	}
	se := func(i int, v float64) []float64 {
		out := make([]float64, len(good))
		for j := range out {
			out[j] = 0.1
		}
		out[i] = v
		return out
	}
	position := func(i int, v float64) []float64 {
		out := make([]float64, len(good))
		for j := range out {
			out[j] = float64(j)
		}
		out[i] = v
		return out
	}
	thirteen, minus, one := 13, -1, 1.0
	for name, c := range map[string]struct {
		s     dropoff.Series
		o     dropoff.Options
		words string
	}{
		"no rows":               {s: dropoff.Series{}, words: "has no rows: give at least three"},
		"one row":               {s: dropoff.Series{Values: good[:1]}, words: "has 1 row: a change of level needs at least three"},
		"two rows":              {s: dropoff.Series{Values: good[:2]}, words: "has 2 rows: a change of level needs at least three"},
		"shorter than a level":  {s: dropoff.Series{Values: good}, o: dropoff.Options{MinLength: 13}, words: "fewer than the 13 that one level must have"},
		"constant":              {s: dropoff.Series{Values: []float64{0.02, 0.02, 0.02, 0.02}}, words: "all 4 values are 0.02"},
		"missing":               {s: dropoff.Series{Values: with(3, math.NaN())}, words: "row 4 has no value"},
		"infinite":              {s: dropoff.Series{Values: with(3, math.Inf(1))}, words: "row 4 has no value"},
		"huge":                  {s: dropoff.Series{Values: with(3, 1e200)}, words: "row 4 is 1e+200, too large"},
		"named row":             {s: dropoff.Series{Values: with(0, math.NaN()), Labels: []string{"12r", "", "", "", "", "", "", "", "", "", "", ""}}, words: "row 12r has no value"},
		"zero error":            {s: dropoff.Series{Values: good, SE: se(2, 0)}, words: "row 3 has a standard error of 0; expected a number above zero"},
		"negative error":        {s: dropoff.Series{Values: good, SE: se(2, -0.1)}, words: "row 3 has a standard error of -0.1"},
		"missing error":         {s: dropoff.Series{Values: good, SE: se(2, math.NaN())}, words: "row 3 has a standard error of NaN"},
		"errors short":          {s: dropoff.Series{Values: good, SE: se(0, 1)[:5]}, words: "12 values but 5 standard errors"},
		"labels short":          {s: dropoff.Series{Values: good, Labels: []string{"a"}}, words: "12 values but 1 labels"},
		"positions short":       {s: dropoff.Series{Values: good, Position: []float64{1}}, words: "12 values but 1 positions"},
		"unsorted":              {s: dropoff.Series{Values: good, Position: position(5, 1.5)}, words: "row 6 stands at position 1.5, before the row above it at 4: sort"},
		"repeated position":     {s: dropoff.Series{Values: good, Position: position(5, 4)}, words: "rows 5 and 6 stand both at position 4"},
		"missing position":      {s: dropoff.Series{Values: good, Position: position(5, math.NaN())}, words: "row 6 has no position"},
		"negative length":       {s: dropoff.Series{Values: good}, o: dropoff.Options{MinLength: -1}, words: "minimum length is -1"},
		"negative most":         {s: dropoff.Series{Values: good}, o: dropoff.Options{MostChanges: -1}, words: "at most -1 changes"},
		"too many changes":      {s: dropoff.Series{Values: good}, o: dropoff.Options{Number: &thirteen}, words: "13 changes cannot be placed in 12 rows"},
		"fewer than no changes": {s: dropoff.Series{Values: good}, o: dropoff.Options{Number: &minus}, words: "number of changes is -1"},
		"expected negative":     {s: dropoff.Series{Values: good}, o: dropoff.Options{Expected: -1}, words: "-1 changes expected beforehand"},
		"expected too many":     {s: dropoff.Series{Values: good}, o: dropoff.Options{Expected: 7}, words: "7 changes expected beforehand in 12 rows"},
		"correlation of one":    {s: dropoff.Series{Values: good}, o: dropoff.Options{Correlation: &one}, words: "given as 1: give a number from 0 to 0.9"},
		"break outside":         {s: dropoff.Series{Values: good}, o: dropoff.Options{Breaks: []int{12}}, words: "known break after row 12 lies outside"},
		"break at nought":       {s: dropoff.Series{Values: good}, o: dropoff.Options{Breaks: []int{0}}, words: "known break after row 0 lies outside"},
		"break in a zone":       {s: dropoff.Series{Values: good}, o: dropoff.Options{Breaks: []int{5}, Quiet: [][2]int{{4, 8}}}, words: "known break after row 5 lies in the no-change zone from row 4 to row 8"},
		"zone outside":          {s: dropoff.Series{Values: good}, o: dropoff.Options{Quiet: [][2]int{{3, 20}}}, words: "zone from row 3 to row 20 does not lie inside"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := dropoff.Segment(c.s, c.o)
			if err == nil {
				t.Fatal("it was segmented")
			}
			if !strings.Contains(err.Error(), c.words) {
				t.Errorf("the message is %q, without %q", err, c.words)
			}
			if !reflect.DeepEqual(c.o, dropoff.Options{}) {
				return
			}
			if _, err := dropoff.Compare(c.s, c.o); err == nil || !strings.Contains(err.Error(), c.words) {
				t.Errorf("compared: %v", err)
			}
			for _, shape := range []dropoff.Shape{dropoff.LevelAndSlope, dropoff.JoinedLines, dropoff.LevelAndScatter} {
				if _, err := dropoff.SegmentBy(shape, c.s, c.o); err == nil || !strings.Contains(err.Error(), c.words) {
					t.Errorf("%s: %v", shape, err)
				}
			}
		})
	}
}

// TestShortSeries: three rows are allowed, and said to be few.
func TestShortSeries(t *testing.T) {
	found := segment(t, dropoff.Series{Values: []float64{1, 2, 1.5}}, dropoff.Options{})
	if len(found.Changes) != 0 || !strings.Contains(strings.Join(found.Notes, " "), "only 3 rows") {
		t.Errorf("changes %v, notes %q", found.Changes, found.Notes)
	}
}

// TestExactLevels: levels without any noise are found, and the result says that
// there was no noise to judge by.
func TestExactLevels(t *testing.T) {
	found := segment(t, dropoff.Series{Values: []float64{1, 1, 1, 1, 1, 3, 3, 3, 3, 3, 3}}, dropoff.Options{})
	if !equal(afters(found), []int{5}) || found.Changes[0].Low != 5 || found.Changes[0].High != 5 {
		t.Errorf("changes %+v", found.Changes)
	}
	if !strings.Contains(found.Notes[0], "no noise to judge by") {
		t.Errorf("notes %q", found.Notes)
	}
}

// TestStandardErrorsCount: rows with small standard errors decide where a
// change is against noisier ones, and a step well inside the standard errors is
// not a change.
func TestStandardErrorsCount(t *testing.T) {
	values := steps(3, 40, 0.1, []float64{0, 0.3}, 20)
	small, large := make([]float64, 40), make([]float64, 40)
	for i := range small {
		small[i], large[i] = 0.1, 2
	}
	if found := segment(t, dropoff.Series{Values: values, SE: small}, dropoff.Options{}); len(found.Found()) != 1 {
		t.Errorf("with small standard errors: %+v", found.Changes)
	}
	if found := segment(t, dropoff.Series{Values: values, SE: large}, dropoff.Options{}); len(found.Changes) != 0 {
		t.Errorf("with large standard errors: %+v", found.Changes)
	}
}

// TestBreaksAndZones: a known break is kept and not counted; a zone without
// change holds none.
func TestBreaksAndZones(t *testing.T) {
	values := steps(4, 60, 0.1, []float64{0, 1, 0}, 20, 40)
	if found := segment(t, dropoff.Series{Values: values}, dropoff.Options{Breaks: []int{20}}); !equal(afters(found), []int{40}) || len(found.Levels) != 3 {
		t.Errorf("with a break: %+v", found)
	}
	found := segment(t, dropoff.Series{Values: values}, dropoff.Options{Quiet: [][2]int{{15, 25}}})
	for _, after := range afters(found) {
		if after >= 15 && after < 25 {
			t.Errorf("a change after row %d, in the quiet zone", after)
		}
	}
	for row := 15; row < 25; row++ {
		if found.ChangeProbability[row-1] != 0 {
			t.Errorf("row %d of the quiet zone has a probability of change of %v", row, found.ChangeProbability[row-1])
		}
	}
}

// drawn draws a series of whole numbers of hundredths, so that ties and exact
// sums occur as in readings, with at least one step.
func drawn(t *rapid.T) []float64 {
	n := rapid.IntRange(4, 40).Draw(t, "rows")
	values := make([]float64, n)
	for i := range values {
		values[i] = float64(rapid.IntRange(0, 40).Draw(t, "value")) / 100
	}
	values[0], values[n-1] = 0, 0.9
	return values
}

// TestShiftAndScale: adding a constant and changing the unit move levels along
// and leave places, intervals and probabilities as they are. Tolerance 1e-6:
// the noise is a root found by halving.
func TestShiftAndScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := drawn(t)
		unit := math.Pow(2, float64(rapid.IntRange(-8, 8).Draw(t, "unit")))
		shift := float64(rapid.IntRange(-50, 50).Draw(t, "shift"))
		moved := make([]float64, len(values))
		for i, v := range values {
			moved[i] = (v + shift) * unit
		}
		a, b := segment(t, dropoff.Series{Values: values}, dropoff.Options{}), segment(t, dropoff.Series{Values: moved}, dropoff.Options{})
		if math.Abs(best(a)-best(b)) > 1e-6*(1+math.Abs(best(a))) {
			t.Fatalf("the best criterion goes from %v to %v", best(a), best(b))
		}
		if !equal(afters(a), afters(b)) {
			return // two segmentations that fit equally well
		}
		for k, change := range a.Found() {
			if math.Abs(change.Probability-b.Found()[k].Probability) > 1e-6 {
				t.Fatalf("the probability goes from %v to %v", change.Probability, b.Found()[k].Probability)
			}
		}
		for k, level := range a.Levels {
			if want := (level.Mean + shift) * unit; math.Abs(want-b.Levels[k].Mean) > 1e-9*unit*(1+math.Abs(shift)) {
				t.Fatalf("the level goes from %v to %v, not %v", level.Mean, b.Levels[k].Mean, want)
			}
		}
	})
}

// best is the criterion of the step chosen.
func best(c *dropoff.Changes) float64 {
	out := math.Inf(-1)
	for _, step := range c.Path {
		out = max(out, step.Criterion)
	}
	return out
}

// TestReversal: read backwards, a series has the same misfit for each number of
// changes and the same probability of a change between the same rows. Tolerance
// 1e-9 of the misfit and 1e-6 of probabilities.
func TestReversal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := drawn(t)
		n := len(values)
		back := make([]float64, n)
		for i, v := range values {
			back[n-1-i] = v
		}
		rho := rapid.SampledFrom([]float64{0, 0.3, 0.6}).Draw(t, "correlation")
		o := dropoff.Options{Correlation: &rho}
		a, b := segment(t, dropoff.Series{Values: values}, o), segment(t, dropoff.Series{Values: back}, o)
		for k := range a.Path {
			if math.Abs(a.Path[k].RSS-b.Path[k].RSS) > 1e-9*(a.Path[0].RSS) {
				t.Fatalf("%d changes: the misfit goes from %v to %v", k, a.Path[k].RSS, b.Path[k].RSS)
			}
		}
		one, other := a.Found(), b.Found()
		if len(one) != len(other) || (len(one) > 0 && one[0].After != n-other[len(other)-1].After) {
			return // two segmentations that fit equally well
		}
		for s := 1; s < n; s++ {
			if math.Abs(a.ChangeProbability[s-1]-b.ChangeProbability[n-s-1]) > 1e-6 {
				t.Fatalf("after row %d: the probability goes from %v to %v", s, a.ChangeProbability[s-1], b.ChangeProbability[n-s-1])
			}
		}
	})
}

// TestResultHoldsTogether: levels cover the rows without gap, intervals hold
// their places, probabilities are such and those of the numbers of changes sum
// to one.
func TestResultHoldsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		found := segment(t, dropoff.Series{Values: drawn(t)}, dropoff.Options{})
		next := 1
		for _, level := range found.Levels {
			if level.From != next || level.To < level.From || math.IsNaN(level.Mean) || !(level.SE >= 0) {
				t.Fatalf("level %+v where row %d comes next", level, next)
			}
			next = level.To + 1
		}
		if next != found.N+1 || len(found.Levels) != len(found.Found())+1 {
			t.Fatalf("%d rows, %d changes, levels %+v", found.N, len(found.Changes), found.Levels)
		}
		for _, change := range found.Found() {
			if change.Low > change.After || change.After > change.High || change.Low < 1 || change.High >= found.N ||
				!(change.Probability >= 0 && change.Probability <= 1) {
				t.Fatalf("change %+v", change)
			}
		}
		sum := 0.0
		for _, p := range found.CountProbability {
			sum += p
		}
		if math.Abs(sum-1) > 1e-5 {
			t.Fatalf("the probabilities of the numbers of changes sum to %v", sum)
		}
	})
}

// TestKeys: the JSON keys are a promise.
func TestKeys(t *testing.T) {
	found := segment(t, dropoff.Series{Values: steps(5, 30, 0.1, []float64{0, 1}, 12)}, dropoff.Options{})
	data, err := json.Marshal(found)
	if err != nil {
		t.Fatal(err)
	}
	var out struct {
		N         *int
		Criterion *string
		Changes   []map[string]any
		Levels    []map[string]any
		Notes     []string
	}
	reader := json.NewDecoder(bytes.NewReader(data))
	reader.DisallowUnknownFields()
	if err := reader.Decode(&out); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"after", "at", "low", "high", "probability", "size", "size_low", "size_high"} {
		if _, ok := out.Changes[0][name]; !ok {
			t.Errorf("a change has no %s", name)
		}
	}
	for _, name := range []string{"from", "to", "mean", "se"} {
		if _, ok := out.Levels[0][name]; !ok {
			t.Errorf("a level has no %s", name)
		}
	}
	if out.Changes[0]["after"] != 12.0 || out.Changes[0]["at"] != "12" || *out.N != 30 {
		t.Errorf("%s", data)
	}
}

// TestText: the words carry the same numbers as the result.
func TestText(t *testing.T) {
	labels := make([]string, 80)
	for i := range labels {
		labels[i] = fmt.Sprintf("%dr", i+10)
	}
	found := segment(t, dropoff.Series{Values: steps(6, 80, 0.1, []float64{0, 1}, 12), Labels: labels}, dropoff.Options{})
	var b bytes.Buffer
	if err := found.Text(&b); err != nil {
		t.Fatal(err)
	}
	change, before := found.Changes[0], found.Levels[0]
	for _, words := range []string{
		"1 change of level in 80 rows.", "After 21r (row 12): from",
		fmt.Sprintf("from %.4g to %.4g, a step of %+.4g", before.Mean, found.Levels[1].Mean, change.Size),
		"Probability of a change there: ", "standard error", "Zhang and Siegmund",
	} {
		if !strings.Contains(b.String(), words) {
			t.Errorf("%q is not in\n%s", words, &b)
		}
	}
	b.Reset()
	if err := segment(t, dropoff.Series{Values: steps(7, 80, 0.1, []float64{0})}, dropoff.Options{}).Text(&b); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(b.String(), "No change of level in 80 rows.") {
		t.Errorf("%s", &b)
	}
}
