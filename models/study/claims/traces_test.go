package claims

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/hypotheses"
	"thumbed/models/hypotheses/power"
	"thumbed/models/study/demo"
	"thumbed/models/study/demo/demotest"
	"thumbed/models/study/portion"
)

// tracesStudy asks of looks alone: nothing is measured in these cells.
const tracesStudy = "title = \"Traces\"\n" + demotest.Tables + demotest.Coding + `[[model]]
name = "rubbing"
outcome = "rubbing"
kind = "grades"
fixed = ["part", "addressed"]
[model.levels]
part = ["frame", "face", "hands", "feet"]
addressed = ["no", "yes"]
[[model]]
name = "wax"
outcome = "wax"
kind = "counts"
spread = "negative binomial"
fixed = ["kind"]
[model.levels]
kind = ["hours", "office of the dead"]
[[question]]
words = "faces"
model = "rubbing"
contrast = { "part=face" = 1 }
[[question]]
words = "hands"
model = "rubbing"
contrast = { "part=hands" = 1 }
[[question]]
words = "addressed"
model = "rubbing"
contrast = { "addressed=yes" = 1 }
[[question]]
words = "dead"
model = "wax"
contrast = { "kind=office of the dead" = 1 }
`

// A tracesCell is one kind of study of traces.
type tracesCell struct {
	name, about string
	make        func(*demo.Scenario)
}

var tracesCells = []tracesCell{
	{"nothing to find, severe and mild", "No part, figure or text is touched more than another; one observer gives grades higher by 1.6 log odds.", func(s *demo.Scenario) {
		nothing(s)
		s.Traces.Severity = []float64{-0.8, 0.8}
	}},
	{"nothing to find, drifting apart", "As before, with the same severity at the first picture of each book; the second observer’s grows by 2 log odds to the last.", func(s *demo.Scenario) {
		nothing(s)
		s.Traces.Severity, s.Traces.Drift = []float64{0, 0}, 2
	}},
	{"separation", "Frames are never touched; faces, hands and feet are, and figures whom a prayer addresses no more than others.", func(s *demo.Scenario) {
		nothing(s)
		s.Traces.Part = map[string]float64{"face": 1, "hands": 1, "feet": 1, "frame": -30}
	}},
	{"effects as in the demonstration", "Faces, hands and feet are rubbed more than frames; figures whom a prayer addresses by 1.2 log odds in all books; wax on the office of the dead.", func(s *demo.Scenario) {
		for i := range s.Books {
			s.Books[i].Touch = 1.2
		}
	}},
}

func nothing(s *demo.Scenario) {
	s.Traces.Part = map[string]float64{"face": 0, "hands": 0, "feet": 0, "frame": 0}
	s.Traces.Wear, s.Traces.WaxDead = 0, 0
	for i := range s.Books {
		s.Books[i].Touch = 0
	}
}

// A tracesOutcome is what one study of traces claimed, held against the truth.
type tracesOutcome struct {
	Cell, Seed                              int
	False                                   bool // any yes to what is not so
	Truths, Found, Intervals, Held, Refused int
}

func (o *tracesOutcome) add(p tracesOutcome) {
	o.Truths += p.Truths
	o.Found += p.Found
	o.Intervals += p.Intervals
	o.Held += p.Held
	o.Refused += p.Refused
}

// tracesTruth of a question, on the scale of the link.
func tracesTruth(s *demo.Scenario, question string) float64 {
	switch question {
	case "addressed":
		return s.Books[0].Touch
	case "dead":
		return s.Traces.WaxDead
	}
	return s.Traces.Part[map[string]string{"faces": "face", "hands": "hands"}[question]] - s.Traces.Part["frame"]
}

// drawTraces draws a study of a cell and judges it.
func drawTraces(t *testing.T, cell, seed int) tracesOutcome {
	t.Helper()
	scenario, err := demo.Written()
	if err != nil {
		t.Fatal(err)
	}
	tracesCells[cell].make(scenario)
	scenario.Study = []byte(tracesStudy)
	made, err := scenario.Make(uint64(seed))
	for again := 1; err != nil && again < 10; again++ { // a day of measuring, which is not asked about here, was too short
		made, err = scenario.Make(uint64(seed + 100_000*again))
	}
	if err != nil {
		t.Fatal(err)
	}
	_, results, err := run(made)
	if err != nil {
		t.Fatal(err)
	}
	out := tracesOutcome{Cell: cell, Seed: seed, Refused: 4 - len(results.Answers)}
	for _, a := range results.Answers {
		truth := tracesTruth(scenario, a.Question.Words)
		yes := a.Verdict == hypotheses.Yes
		out.False = out.False || yes && (truth == 0 || (truth > 0) != (a.Effect.Estimate > 0))
		if truth != 0 {
			out.Truths++
			if yes {
				out.Found++
			}
		}
		if truth > -20 && truth < 20 { // else there is no finite truth to hold
			alone := a.At(0.05)
			out.Intervals++
			if alone.Effect.Low <= truth && truth <= alone.Effect.High {
				out.Held++
			}
		}
	}
	return out
}

// tracesOutcomes draws so many studies a cell, or the part of them that CLAIMS_PART
// names; see [inParts].
func tracesOutcomes(t *testing.T, studies int) []tracesOutcome {
	t.Helper()
	total := studies * len(tracesCells)
	work := portion.Work{Verb: "claims", Of: fmt.Sprintf("%d studies of traces a cell", studies), Source: "models/study/claims", Program: "this program", Total: total}
	return inParts(t, work, filepath.Join(os.Getenv("CLAIMS_PARTS"), "traces"), func(share portion.Portion) (out []tracesOutcome) {
		from, to := share.Pieces(total)
		for k := from; k < to; k++ {
			out = append(out, drawTraces(t, k%len(tracesCells), 1000+k/len(tracesCells)))
		}
		return out
	})
}

// TestClaimsOnTraces draws whole studies of traces from a written truth and holds their
// claims against it: a false yes in more than 5 % of studies of a cell, or intervals
// that hold too seldom, fail where chance does not explain it (1 in 1,000). THUMBED_SLOW
// draws CLAIMS_TRACES a cell (200 where not given) and writes TRACES.md.
func TestClaimsOnTraces(t *testing.T) {
	studies, slow := 1, os.Getenv("THUMBED_SLOW") != ""
	if slow {
		studies = number("CLAIMS_TRACES", 200)
	}
	outcomes := tracesOutcomes(t, studies)
	if outcomes == nil {
		return
	}
	var page strings.Builder
	page.WriteString("# How often what a study says of traces is true\n\nWritten by `make claims`. Whole studies of looks (four books, 89 pictures by four parts, wax on\n320 pages, a fifth and a tenth coded twice) are drawn, written as tables, read and run as any\nstudy is; four questions each. Aims: at most 5 % of studies with any false yes, 95 % of\nintervals that hold (each alone). In brackets 95 % intervals (Wilson 1927).\n\n| cell | what is true in it | studies | any false yes | intervals that hold | effects found | refused |\n| --- | --- | --- | --- | --- | --- | --- |\n")
	share := func(k, n int) string {
		s := power.Wilson(k, n)
		return fmt.Sprintf("%.1f %% (%.1f to %.1f)", 100*s.Value, 100*s.Low, 100*s.High)
	}
	for i, cell := range tracesCells {
		var sum tracesOutcome
		n, wrong := 0, 0
		for _, o := range outcomes {
			if o.Cell == i {
				sum.add(o)
				n++
				if o.False {
					wrong++
				}
			}
		}
		found := "none to find"
		if sum.Truths > 0 {
			found = share(sum.Found, sum.Truths)
		}
		fmt.Fprintf(&page, "| %s | %s | %d | %s | %s | %s | %d of %d |\n", cell.name, cell.about, n, share(wrong, n), share(sum.Held, sum.Intervals), found, sum.Refused, 4*n)
		if p := 1 - (distuv.Binomial{N: float64(n), P: 0.05}).CDF(float64(wrong-1)); wrong > 0 && p < 1e-3 {
			t.Errorf("%s: %d of %d studies with a false yes", cell.name, wrong, n)
		}
		if p := (distuv.Binomial{N: float64(sum.Intervals), P: 0.95}).CDF(float64(sum.Held)); p < 1e-3 {
			t.Errorf("%s: %d of %d intervals hold", cell.name, sum.Held, sum.Intervals)
		}
	}
	t.Log(page.String())
	if slow {
		if err := os.WriteFile("TRACES.md", []byte(page.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
