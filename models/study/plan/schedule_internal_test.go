package plan

import (
	"math/rand/v2"
	"testing"
)

// TestTheScheduleIsTheSheets: every page of a campaign has all its placings, those
// measured again on a second day besides; every day has pages of several parts of a
// book, and days and observers go as the sheet has them.
func TestTheScheduleIsTheSheets(t *testing.T) {
	p, err := Open("../../../testdata/plan/pictures.toml")
	if err != nil {
		t.Fatal(err)
	}
	pages := p.Setting.Books[0]
	const placings = 3
	sittings, err := p.schedule(pages, placings, rand.New(rand.NewPCG(1, 2)))
	if err != nil {
		t.Fatal(err)
	}
	placed := make([]int, pages.Rows())
	days := map[string]bool{}
	of := map[string]map[string]bool{}
	tiles, hour, on := map[string]int{}, 0.0, ""
	for _, s := range sittings {
		if s.Day == on && s.Hour < hour {
			t.Errorf("%s: %.2f comes after %.2f", s.Day, s.Hour, hour)
		}
		if on, hour = s.Day, s.Hour; s.Row < 0 {
			tiles[s.Day]++
			continue
		}
		placed[s.Row] += s.Placings
		days[s.Day] = true
		if of[s.Day] == nil {
			of[s.Day] = map[string]bool{}
		}
		of[s.Day][s.Observer] = true
	}
	for day := range days {
		if tiles[day] < 3 {
			t.Errorf("the tile is read %d times on %s", tiles[day], day)
		}
	}
	again := 0
	for row, n := range placed {
		switch n {
		case placings:
		case 2 * placings:
			again++
		default:
			t.Errorf("page %d has %d placings", row+1, n)
		}
	}
	if share := float64(again) / float64(len(placed)); share < 0.05 || share > 0.15 {
		t.Errorf("%d of %d pages are measured again; a tenth was asked for", again, len(placed))
	}
	if len(days) < 2 {
		t.Errorf("%d days", len(days))
	}
	for day, observers := range of {
		if len(observers) != 1 {
			t.Errorf("%d observers on %s", len(observers), day)
		}
	}
}
