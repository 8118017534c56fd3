package claims

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/study/demo"
	"thumbed/models/study/plan"
)

// The truth that plans are held to: pictures add 0.05, by 0.03 more or less from book
// to book; a pilot has four books, the campaign eight.
func planned(seed uint64, books int) *World {
	cell := Cell{Name: "planned", make: func(w *World) {
		w.books(books)
		w.picture, w.slope, w.section = 0.05, 0.03, 0.01
	}}
	return cell.draw(seed)
}

const plannedFile = `[pilot]
study = "."
model = "pictures"
[question]
words  = "Do pictures attract handling?"
effect = 0.05
[designs]
books      = [8]
pages      = [64]
placings   = [3]
replicates = %d
`

// TestPlansKeepTheirWord holds what plans promise, each by another pilot of four
// books, against what whole studies of eight books reach. Read as the study reads its
// answers, the mean promise must lie within Monte Carlo error of what is reached and
// the bands of most pilots hold it. THUMBED_SLOW=1; PLANS=20 pilots and REACHED=200
// studies where these do not say otherwise.
func TestPlansKeepTheirWord(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("minutes of simulation")
	}
	pilots, studies := number("PLANS", 20), number("REACHED", 200)
	said := 0
	for seed := range studies {
		said += reaches(t, planned(uint64(1000+seed), 8))
	}
	reached := power.Wilson(said, studies)
	t.Logf("reached: %.0f %% (%.0f to %.0f) of %d studies", 100*reached.Value, 100*reached.Low, 100*reached.High, studies)
	var promised []float64
	held := 0
	for seed := range pilots {
		tried := plannedBy(t, uint64(1+seed))
		promised = append(promised, tried.Power.Value)
		if tried.Band.Low <= reached.High && reached.Low <= tried.Band.High {
			held++
		}
		t.Logf("pilot %d promises %.0f %%, band %.0f to %.0f %%; most hangs on the %s", seed+1, 100*tried.Power.Value, 100*tried.Band.Low, 100*tried.Band.High, tried.Matters)
	}
	mean, sd := stat.MeanStdDev(promised, nil)
	t.Logf("promised on average %.0f %%, from %.0f to %.0f %%; the band holds what is reached for %d of %d pilots", 100*mean, 100*slices.Min(promised), 100*slices.Max(promised), held, pilots)
	if margin := 3*sd/math.Sqrt(float64(pilots)) + reached.High - reached.Value; mean-reached.Value > margin {
		t.Errorf("plans promise %.0f %% and %.0f %% are reached", 100*mean, 100*reached.Value)
	}
	if float64(held) < 0.6*float64(pilots) {
		t.Errorf("the band of eight in ten holds what is reached for %d of %d pilots", held, pilots)
	}
}

// sheeted is the same truth measured as a sheet has it: each book on two days, one of
// each of two observers, who deal its openings out among neighbours and measure a tenth
// of each other's again; days and observers differ by 0.015 each, and the instrument
// drifts over each day.
func sheeted(seed uint64, books int) *World {
	cell := Cell{Name: "sheeted", make: func(w *World) {
		w.books(books)
		w.picture, w.slope, w.section = 0.05, 0.03, 0.01
		w.offsets()
		for _, id := range w.ids() {
			for part := range 2 {
				w.day(demo.Day{Books: []string{id}, Part: part + 1, Parts: 2, Again: 10})
				w.scenario.Days[len(w.scenario.Days)-1].Drift = [2]float64{0, 0.02 * w.rng.NormFloat64()}
			}
		}
	}}
	return cell.draw(seed)
}

const sheetedFile = plannedFile + `[measuring]
between_observers = 0.015
between_days      = 0.015
[sheet]
pages       = 64
placings    = 3
days_a_book = 2
instrument  = "bench"
observers   = ["HB", "SV"]
dates       = ["2027-03-01", "2027-03-02", "2027-03-03", "2027-03-04", "2027-03-05", "2027-03-08", "2027-03-09", "2027-03-10", "2027-03-11", "2027-03-12", "2027-03-15", "2027-03-16", "2027-03-17", "2027-03-18", "2027-03-19", "2027-03-22"]
`

// TestSheetsKeepTheirWord holds what plans with a sheet promise for two observers and
// sixteen days against what whole studies reach that are measured so: by FIRST and STEP
// it can be run in parts. Both figures are of eight books; so is the pilot, that its own
// error be small. THUMBED_SLOW=1.
func TestSheetsKeepTheirWord(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("minutes of simulation")
	}
	pilots, studies, first := number("PLANS", 12), number("REACHED", 150), number("FIRST", 0)
	said := 0
	for k := range studies {
		said += reaches(t, sheeted(uint64(5000+first+k), 8))
		t.Logf("reached by %d of %d", said, k+1)
	}
	var promised []float64
	for k := range pilots {
		tried := planBy(t, sheeted(uint64(4000+first+k), 8), sheetedFile)
		promised = append(promised, tried.Power.Value)
		t.Logf("pilot %d promises %.0f %%, false claims %.1f %%", first+k, 100*tried.Power.Value, 100*tried.False.Value)
	}
	t.Logf("reached by %d of %d studies; promised %.3f", said, studies, promised)
	if studies < 100 || pilots < 8 {
		return // a part
	}
	mean, sd := stat.MeanStdDev(promised, nil)
	reached := power.Wilson(said, studies)
	if margin := 3*sd/math.Sqrt(float64(pilots)) + 1.5*(reached.High-reached.Value); math.Abs(mean-reached.Value) > margin {
		t.Errorf("sheets promise %.0f %%, and %.0f %% are reached", 100*mean, 100*reached.Value)
	}
}

// reaches runs a whole study and gives 1 where it claims that pictures attract handling.
func reaches(t *testing.T, w *World) int {
	t.Helper()
	made, err := w.made()
	if err != nil {
		t.Fatal(err)
	}
	_, results, err := run(made)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(results.Answers, func(a hypotheses.Answer) bool { return a.Question.Words == "Do pictures attract handling?" })
	if at >= 0 && results.Answers[at].Verdict == hypotheses.Yes {
		return 1
	}
	return 0
}

// plannedBy is what the plan by one pilot of four books comes to.
func plannedBy(t *testing.T, seed uint64) power.Tried {
	t.Helper()
	return planBy(t, planned(seed, 4), plannedFile)
}

// planBy is what a plan by a pilot comes to.
func planBy(t *testing.T, w *World, file string) power.Tried {
	t.Helper()
	made, err := w.made()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	made.Files["plan.toml"] = fmt.Appendf(nil, file, number("CAMPAIGNS", 100))
	for name, text := range made.Files {
		if err := os.WriteFile(filepath.Join(dir, name), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	p, err := plan.Open(filepath.Join(dir, "plan.toml"))
	if err != nil {
		t.Fatal(err)
	}
	result, err := p.Try(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return result.Result.Designs[0]
}
