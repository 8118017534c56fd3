package dropoff_test

import (
	"encoding/json"
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/dropoff"
)

// TestOneStory: over series without change, with a step, small or large, and with
// a slope, what is said of steps and what is said in comparison with gradual
// changes agree: nothing is listed as a change and told not to be claimed without
// a word of what to make of it, and nothing is said not to change that is said to
// fall. Each kind of story comes up.
func TestOneStory(t *testing.T) {
	const n = 40
	kinds := map[string]int{}
	for seed := range uint64(120) {
		rng := rand.New(rand.NewPCG(seed, 12))
		values := make([]float64, n)
		for i := range values {
			values[i] = 0.2 + 0.02*rng.NormFloat64()
			switch at := float64(i) / n; seed % 6 {
			case 1, 2:
				if i >= 26 {
					values[i] -= 0.006 * float64(1+seed%5)
				}
			case 3:
				if i >= 26 {
					values[i] -= 0.05
				}
			case 4:
				values[i] -= 0.035 * at
			case 5:
				values[i] -= 0.07 * at
			}
		}
		c, err := dropoff.Segment(dropoff.Series{Values: values}, dropoff.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		if err := c.Text(&b); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		head, notes := strings.SplitN(text, "\n", 2)[0], strings.Join(c.Notes, "\n")
		claimed := c.Compared.Best
		says := func(want bool, words string) {
			t.Helper()
			if strings.Contains(text, words) != want {
				t.Errorf("seed %d: %q is in the text: %v, wanted %v\n%s", seed, words, !want, want, text)
			}
		}
		kind := ""
		switch {
		case len(c.Changes) > 0 && claimed == dropoff.Steps:
			kind = "abrupt"
			says(false, "claimed")
			says(false, "Treat")
			says(true, "the level changes abruptly")
		case len(c.Doubtful) > 0:
			kind = "tentative, " + claimed
			if !strings.HasSuffix(head, ", not settled.") || !strings.Contains(head, "possible change") {
				t.Errorf("seed %d: %s is said of changes that are not claimed: %s", seed, head, notes)
			}
			says(true, "Treat the change")
			says(false, "so none is claimed")
			says(false, "no proof")
		case claimed == dropoff.Steady || claimed == dropoff.BrokenLine:
			kind = "gradual"
			if !strings.HasPrefix(head, "No abrupt change of level in 40 rows, but a gradual one") {
				t.Errorf("seed %d: %s is said of a gradual change: %s", seed, head, notes)
			}
			says(true, "No abrupt change is claimed, but a gradual one: the level")
		default:
			kind = "none"
			says(true, "No change of level in 40 rows.")
			says(false, "steadily along the series, from")
		}
		if c.Tentative != (len(c.Doubtful) > 0 && claimed != dropoff.Steps) || c.Tentative && len(c.Changes) > 0 {
			t.Errorf("seed %d: tentative %v", seed, c.Tentative)
		}
		kinds[kind]++
		raw, err := json.Marshal(c)
		if err != nil {
			t.Fatal(err)
		}
		var keys map[string]any
		if err := json.Unmarshal(raw, &keys); err != nil || len(keys) != 5+len(c.Doubtful[:min(1, len(c.Doubtful))]) {
			t.Errorf("keys of the JSON: %s (%v)", raw, err)
		}
	}
	t.Log(kinds)
	for _, kind := range []string{"abrupt", "tentative, " + dropoff.NoChange, "tentative, " + dropoff.Steady, "gradual", "none"} {
		if kinds[kind] == 0 {
			t.Errorf("no series tells the story %q: %v", kind, kinds)
		}
	}
}

// TestBendNeedsRows: a row out of line at either end of a series is not told as a
// bend of its course.
func TestBendNeedsRows(t *testing.T) {
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 6))
		values := make([]float64, 50)
		for i := range values {
			values[i] = 0.2 + 0.02*rng.NormFloat64()
		}
		values[map[bool]int{true: 0, false: 49}[seed%2 == 0]] -= 0.06
		c, err := dropoff.Compare(dropoff.Series{Values: values}, dropoff.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if c.Best == dropoff.BrokenLine {
			t.Errorf("seed %d: %s", seed, c.Sentence)
		}
		for _, a := range c.Candidates {
			if a.Name == dropoff.BrokenLine && (a.Places[0] < 6 || a.Places[0] > 45) {
				t.Errorf("seed %d: a bend after row %d of 50", seed, a.Places[0])
			}
		}
	}
}
