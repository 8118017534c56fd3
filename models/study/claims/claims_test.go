package claims

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"thumbed/models/study/portion"
)

// TestClaims draws whole studies and holds what they say against the truth. With
// THUMBED_SLOW=1 as many as CLAIMS_MAIN and CLAIMS_OTHERS say, whose table is then
// written to CLAIMS.md, or as many of them as begin within CLAIMS_MINUTES; CLAIMS_CELL keeps to some cells, CLAIMS_PART=3/8 does a part
// of the work and writes it into the folder CLAIMS_PARTS, from which CLAIMS_GATHER=1
// puts the parts together.
func TestClaims(t *testing.T) {
	if os.Getenv("THUMBED_SLOW") == "" {
		t.Skip("make claims draws the studies")
	}
	plan := Plan{Main: number("CLAIMS_MAIN", 2000), Others: number("CLAIMS_OTHERS", 400), Only: os.Getenv("CLAIMS_CELL")}
	if minutes := number("CLAIMS_MINUTES", 0); minutes > 0 {
		if os.Getenv("CLAIMS_PARTS") != "" {
			t.Fatal("a part holds all of its studies: give CLAIMS_MINUTES or CLAIMS_PARTS, not both")
		}
		plan.Until = time.Now().Add(time.Duration(minutes) * time.Minute)
	}
	begun := time.Now()
	outcomes := inParts(t, plan.work("this program"), os.Getenv("CLAIMS_PARTS"), func(share portion.Portion) []*Outcome {
		return plan.Run(share, func(done, of int) {
			if done%100 == 0 {
				fmt.Fprintf(os.Stderr, "%d of %d studies, %.0f s\n", done, of, time.Since(begun).Seconds())
			}
		})
	})
	if outcomes == nil {
		return
	}
	tallies := tallies(outcomes)
	page := certificatePage(tallies)
	t.Logf("\n%s", page)
	if os.Getenv("CLAIMS_VERBOSE") != "" {
		for _, o := range outcomes {
			for _, f := range o.False {
				t.Logf("%s, study %d, false: %s", o.Cell, o.Seed, f)
			}
		}
	}
	for _, o := range outcomes {
		if o.Failed != "" {
			t.Errorf("%s, study %d: %s", o.Cell, o.Seed, o.Failed)
		}
	}
	for _, s := range shortfalls(tallies) {
		t.Error(s)
	}
	if os.Getenv("CLAIMS_CELL") == "" {
		if err := os.WriteFile("CLAIMS.md", []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// inParts gives what draw makes of all of the work, drawn now or gathered from the parts
// in dir. They are nil where a part of it was drawn, the one that CLAIMS_PART names, and
// written there.
func inParts[O any](t *testing.T, work portion.Work, dir string, draw func(portion.Portion) []O) []O {
	t.Helper()
	if os.Getenv("CLAIMS_GATHER") != "" {
		paths, err := portion.Files(dir)
		must(t, err)
		whole, err := portion.Gather(paths)
		must(t, err)
		outcomes, err := portion.Decode[O](whole)
		must(t, err)
		return outcomes
	}
	var share portion.Portion
	if text := os.Getenv("CLAIMS_PART"); text != "" {
		var err error
		share, err = portion.Parse(text)
		must(t, err)
	}
	outcomes := draw(share)
	if os.Getenv("CLAIMS_PARTS") == "" {
		return outcomes
	}
	must(t, os.MkdirAll(dir, 0o755))
	file, err := portion.New(work, share, "", outcomes)
	must(t, err)
	must(t, file.Write(filepath.Join(dir, share.Name())))
	return nil
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func number(variable string, usual int) int {
	if n, err := strconv.Atoi(os.Getenv(variable)); err == nil {
		return n
	}
	return usual
}
