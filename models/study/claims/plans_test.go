package claims

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/study/plan"
)

// The truth that plans are held to: pictures add 0.05, by 0.03 more or less from book
// to book; a pilot has four books, the campaign eight.
func planned(seed uint64, books int) *World {
	cell := Cell{Name: "planned", make: func(w *World) {
		w.books(books)
		w.picture, w.slope, w.section = 0.05, 0.03, 0.01
	}}
	return cell.Draw(seed)
}

const plannedFile = `[pilot]
study = "."
model = "pictures"
[question]
words  = "Do pictures draw the hand?"
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
	pilots, studies := setting("PLANS", 20), setting("REACHED", 200)
	said := 0
	for seed := range studies {
		made, err := planned(uint64(1000+seed), 8).made()
		if err != nil {
			t.Fatal(err)
		}
		_, results, err := run(made)
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(results.Answers, func(a hypotheses.Answer) bool { return a.Question.Words == "Do pictures draw the hand?" })
		if at >= 0 && results.Answers[at].Verdict == hypotheses.Yes {
			said++
		}
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

// plannedBy is what the plan by one pilot comes to.
func plannedBy(t *testing.T, seed uint64) power.Tried {
	t.Helper()
	made, err := planned(seed, 4).made()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	made.Files["plan.toml"] = fmt.Appendf(nil, plannedFile, setting("CAMPAIGNS", 100))
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

func setting(variable string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(variable)); err == nil {
		return n
	}
	return usual
}
