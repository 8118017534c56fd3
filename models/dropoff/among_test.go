package dropoff_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/readings"
)

// halves draws the wear of a book of one level, or that falls after the middle of the
// hours, whose first half was measured on one day by one observer and whose second by
// others; offsets of each have the standard deviation sd.
func halves(book *codex.Book, sd, fall float64, seed uint64) ([]readings.Wear, []readings.Source) {
	rng := rand.New(rand.NewPCG(seed, 29))
	var flat []office
	for _, o := range day {
		flat = append(flat, office{o.name, o.pages, 0.2})
	}
	wear := makeWear(book, 0, flat, seed)
	var offset [2][2]float64 // by source and half
	for s := range offset {
		for half := range offset[s] {
			offset[s][half] = sd * rng.NormFloat64()
		}
	}
	for i := range wear {
		half := 2 * i / len(wear)
		for s := range offset {
			wear[i].Density += offset[s][half]
			wear[i].Shared = append(wear[i].Shared, readings.Loading{Source: s, Level: half, Weight: 1})
		}
		wear[i].Sat = []readings.Sitting{{Day: []string{"Mon", "Tue"}[half], Observer: []string{"A", "B"}[half], Weight: 1}}
		if i >= 2*len(wear)/3 {
			wear[i].Density -= fall
		}
	}
	sources := []readings.Source{
		{By: readings.ByDay, Known: true, SD: sd, SpreadDF: math.Inf(1), DF: math.Inf(1), From: readings.Stated, Levels: []string{"Mon", "Tue"}},
		{By: readings.ByObserver, Known: true, SD: sd, SpreadDF: math.Inf(1), DF: math.Inf(1), From: readings.Stated, Levels: []string{"A", "B"}},
	}
	return wear, sources
}

// TestDaysAndObserversAreNoHabits measures the halves of books without any change on
// different days by different observers, 0.015 density apart: with the errors that
// pages share taken in, at most 5 in 100 have a change of habit or a stop claimed (of
// 60, 7 at most with a chance of 0.97), and a fall that is there and lies where the
// measuring did not change hands is found none the less.
func TestDaysAndObserversAreNoHabits(t *testing.T) {
	book := bookOf(t, t.TempDir(), day)
	const books = 60
	var habits, stops, without, found int
	for seed := range uint64(books) {
		wear, shared := halves(book, 0.015, 0, seed)
		habits += claims(t, book, wear, dropoff.Among{Shared: shared})
		stops += stopsClaimed(t, book, wear, dropoff.Among{Shared: shared})
		if seed < 20 {
			without += claims(t, book, wear, dropoff.Among{})
			fallen, shared := halves(book, 0.015, 0.1, seed)
			found += claims(t, book, fallen, dropoff.Among{Shared: shared})
		}
	}
	t.Logf("false changes of habit in %d of %d books (in %d of 20 without the shared errors), false stops in %d; true falls found in %d of 20", habits, books, without, stops, found)
	if habits > 7 || stops > 7 {
		t.Errorf("%d changes of habit and %d stops are claimed in %d books that have none", habits, stops, books)
	}
	if found < 19 {
		t.Errorf("a fall of 0.1 is found in %d of 20 books", found)
	}
}

// claims is 1 where a change of habit, abrupt or gradual, is claimed.
func claims(t *testing.T, book *codex.Book, wear []readings.Wear, among dropoff.Among) int {
	t.Helper()
	h, err := dropoff.HabitsOf([]*codex.Book{book}, 0, wear, among)
	if err != nil || h.Refused != "" {
		t.Fatal(err, h)
	}
	return claimed(h.Changes)
}

func stopsClaimed(t *testing.T, book *codex.Book, wear []readings.Wear, among dropoff.Among) int {
	t.Helper()
	c, err := dropoff.DeclineOf([]*codex.Book{book}, 0, "of the Virgin", wear, among)
	if err != nil || c.Changes == nil {
		t.Fatal(err, c)
	}
	return claimed(c.Changes)
}

func claimed(c *dropoff.Changes) int {
	if len(c.Changes) > 0 || c.Compared.Best == dropoff.Steady || c.Compared.Best == dropoff.BrokenLine {
		return 1
	}
	return 0
}
