package claims

import (
	"math"
	"os"
	"strings"
	"testing"

	"thumbed/models/study/portion"
)

// TestFewStudies is make claims in small: where a few studies of two cells fall short,
// which takes most of them to go wrong, CLAIMS.md must say so.
func TestFewStudies(t *testing.T) {
	page, err := os.ReadFile("CLAIMS.md")
	if err != nil {
		t.Fatal(err)
	}
	var outcomes []*Outcome
	for _, name := range []string{"nothing to find", "effects"} {
		for seed := uint64(1); seed <= 5; seed++ {
			o := cellNamed(t, name).draw(seed).judge(name)
			if o.Failed != "" {
				t.Errorf("%s, study %d: %s", name, seed, o.Failed)
			}
			outcomes = append(outcomes, o)
		}
	}
	for _, s := range shortfalls(tallies(outcomes)) {
		if !strings.Contains(string(page), "- "+s.Cell+": "+s.What+" ") {
			t.Error(s)
		}
	}
}

// TestFalseClaimsAreSeen denies the truth after the study is drawn: what was true
// must count as false.
func TestFalseClaimsAreSeen(t *testing.T) {
	cell := cellNamed(t, "effects")
	world := cell.draw(1)
	if o := world.judge(cell.Name); o.Answers["yes"] == nil || o.Answers["yes"].Made == o.Answers["yes"].False || o.Power["yes"].Oracle == 0 {
		t.Fatalf("no true yes in a study with effects: %+v", o)
	}
	world = cell.draw(1)
	world.picture, world.dead, world.evening = 0, nil, nil
	o := world.judge(cell.Name)
	if o.Answers["yes"] == nil || o.Answers["yes"].False != o.Answers["yes"].Made || o.Answers["yes"].Made < 2 {
		t.Errorf("claims of effects that the truth denies: %+v", o.Answers["yes"])
	}
	if held := o.Intervals["answers"]; held.Held == held.All {
		t.Errorf("all intervals hold a truth that is denied: %+v", held)
	}
}

func cellNamed(t *testing.T, name string) Cell {
	t.Helper()
	for _, c := range allCells() {
		if c.Name == name {
			return c
		}
	}
	t.Fatalf("no cell %q", name)
	return Cell{}
}

// TestPartsAreTheWhole: the outcomes of two parts are those of the whole.
func TestPartsAreTheWhole(t *testing.T) {
	p := Plan{Main: 3, Others: 2}
	whole := p.jobs()
	var parts []job
	for k := 1; k <= 4; k++ {
		from, to := (portion.Portion{Part: k, Parts: 4}).Pieces(len(whole))
		parts = append(parts, whole[from:to]...)
	}
	if len(parts) != len(whole) || len(whole) != 3*mains()+2*(len(allCells())-mains()) {
		t.Fatalf("%d studies in parts, %d in all", len(parts), len(whole))
	}
	for i := range whole {
		if parts[i].cell.Name != whole[i].cell.Name || parts[i].seed != whole[i].seed {
			t.Errorf("study %d is another in its part", i)
		}
	}
}

func mains() int {
	n := 0
	for _, c := range allCells() {
		if c.Main {
			n++
		}
	}
	return n
}

// TestIntervalsOfRates: without any hit of n the exact interval ends at
// 1 − (α/2)^(1/n) (Clopper and Pearson 1934); of clusters that are all alike only
// their number counts.
func TestIntervalsOfRates(t *testing.T) {
	if r, want := clopperPearson(0, 20), 1-math.Pow(0.005, 1.0/20); r.Low != 0 || math.Abs(r.High-want) > 1e-12 {
		t.Errorf("none of 20: %g to %g; want 0 to %g", r.Low, r.High, want)
	}
	hits, trials := []float64{10, 0, 10, 10, 0, 10}, []float64{10, 10, 10, 10, 10, 10}
	alike, single := clustered(hits, trials), clopperPearson(4.0/6, 6)
	if alike.Share != 4.0/6 || alike.N > 6 || alike.Low > single.Low || alike.High < single.High {
		t.Errorf("six clusters of ten that are alike: %+v; six single ones: %+v", alike, single)
	}
}
