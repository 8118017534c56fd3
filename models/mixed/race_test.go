package mixed_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"testing"
	"time"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A heat is one piece of work of the race.
type heat struct {
	name, words   string
	data          string // a table of testdata/reference/mixed, or corpus.csv
	model         string
	repeats       int // of ours
	theirs        int // repeats of the reference's; 0 where it does not run
	atLeast, best float64
	bootstrap     bool
}

var heats = []heat{
	{"sleepstudy", "sleepstudy", "sleepstudy.csv", sleepstudyModel, 201, 25, 20, 50, false},
	{"penicillin", "Penicillin, crossed", "Penicillin.csv", "outcome = \"diameter\"\nfixed = []\n[[random]]\nby = \"plate\"\nterms = [\"intercept\"]\n[[random]]\nby = \"sample\"\nterms = [\"intercept\"]\n", 201, 25, 20, 50, false},
	{"insteval", "InstEval, three crossed terms", "InstEval.csv", "outcome = \"y\"\nfixed = [\"service\"]\n[levels]\nservice = [\"0\", \"1\"]\n[[random]]\nby = \"s\"\nterms = [\"intercept\"]\n[[random]]\nby = \"d\"\nterms = [\"intercept\"]\n[[random]]\nby = \"dept\"\nterms = [\"intercept\"]\n", 5, 1, 10, 25, false},
	{"corpus", "30,000 rows, 200 books, slope by book, quires nested", "corpus.csv", corpusModel, 15, 5, 10, 40, false},
	{"bootstrap", "1,000 bootstrap fits of sleepstudy", "sleepstudy.csv", sleepstudyModel, 7, 1, 100, 400, true},
	{"ovary", "Ovary with autoregression", "Ovary.csv", "outcome = \"follicles\"\nfixed = [\"sine\", \"cosine\"]\n[[random]]\nby = \"Mare\"\nterms = [\"intercept\"]\n[residual]\nalong = \"Time\"\nwithin = \"Mare\"\n", 101, 15, 10, 50, false},
	{"millions", "3,000,000 rows, 20,000 books, 380,000 quires, slope by book", "", corpusModel, 1, 0, 0, 0, false},
}

const sleepstudyModel = "outcome = \"Reaction\"\nfixed = [\"Days\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\", \"Days\"]\ncorrelated = true\n"

// A lap is what one runner needed.
type lap struct {
	Seconds float64 `json:"seconds"`
	memory  float64 // MB, the process's peak
}

// TestRace runs the reference library in R and ours in turn, each piece of work
// in a process of its own, and prints medians, ratios and peak memory. The reference
// makes no degrees of freedom, ours those after Satterthwaite; what it takes with the
// adjustment of Kenward and Roger, which models have by default, stands beside.
//
//	THUMBED_RACE=1 go test -run 'TestRace$' -v -timeout 1h ./models/mixed
func TestRace(t *testing.T) {
	if os.Getenv("THUMBED_RACE") == "" {
		t.Skip("set THUMBED_RACE to race the reference library in R")
	}
	folder := raceFolder(t)
	fmt.Printf("%-60s %12s %12s %8s %9s %9s %9s %12s\n", "work", "reference s", "ours s", "ratio", "asked", "ref. MB", "ours MB", "with K.–R. s")
	for _, h := range heats {
		var theirs lap
		if h.theirs > 0 {
			theirs = run(t, exec.Command("Rscript", filepath.Join(references, "live", "race.R"), h.name, folder, strconv.Itoa(h.theirs)))
		}
		var laps [2]lap
		for k, df := range []string{satterthwaiteText, ""} {
			child := exec.Command(os.Args[0], "-test.run", "^TestRaceChild$", "-test.v=false")
			child.Env = append(os.Environ(), "THUMBED_RACE_WORK="+h.name, "THUMBED_RACE_FOLDER="+folder, "THUMBED_RACE_DF="+df)
			laps[k] = run(t, child)
		}
		ours := laps[0]
		ratio, asked, before, beforeMB := "", "", "", ""
		if h.theirs > 0 {
			ratio = fmt.Sprintf("%.0f", theirs.Seconds/ours.Seconds)
			asked = fmt.Sprintf("%g–%g", h.atLeast, h.best)
			before, beforeMB = fmt.Sprintf("%.4g", theirs.Seconds), fmt.Sprintf("%.0f", theirs.memory)
		}
		fmt.Printf("%-60s %12s %12.4g %8s %9s %9s %9.0f %12.4g\n", h.words, before, ours.Seconds, ratio, asked, beforeMB, ours.memory, laps[1].Seconds)
	}
}

// raceFolder holds the tables of the race as CSV.
func raceFolder(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	write := func(name string, data *table.Table) {
		f, err := os.Create(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := data.Write(f); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"sleepstudy.csv", "Penicillin.csv", "InstEval.csv", "Ovary.csv"} {
		write(name, loadTable(t, name))
	}
	write("corpus.csv", corpus(30_000))
	return folder
}

// run runs one runner and reads its lap from the last line it prints.
func run(t *testing.T, command *exec.Cmd) lap {
	t.Helper()
	command.Stderr = os.Stderr
	out, err := command.Output()
	if err != nil {
		t.Fatalf("%v: %v", command.Args, err)
	}
	var l lap
	if err := json.NewDecoder(bytes.NewReader(out[max(bytes.IndexByte(out, '{'), 0):])).Decode(&l); err != nil {
		t.Fatalf("%v: %v in %q", command.Args, err, out)
	}
	if usage, ok := command.ProcessState.SysUsage().(*syscall.Rusage); ok {
		l.memory = float64(usage.Maxrss) / 1024
	}
	return l
}

// TestRaceChild is one of our runs, in a process of its own.
func TestRaceChild(t *testing.T) {
	work := os.Getenv("THUMBED_RACE_WORK")
	if work == "" {
		t.Skip("a part of TestRace")
	}
	h := heats[slices.IndexFunc(heats, func(h heat) bool { return h.name == work })]
	var data *table.Table
	if h.data == "" {
		data = corpus(3_000_000)
	} else {
		var ps table.Problems
		data = table.ReadFile(filepath.Join(os.Getenv("THUMBED_RACE_FOLDER"), h.data), &ps)
		if err := ps.Err(); err != nil {
			t.Fatal(err)
		}
	}
	m := parse(t, os.Getenv("THUMBED_RACE_DF")+h.model)
	job := func() { fitted(t, m, data) }
	if h.bootstrap {
		fit := fitted(t, m, data)
		job = func() {
			if _, err := fit.Bootstrap(context.Background(), mixed.Bootstrapping{Replicates: 1000, Seed: 1}); err != nil {
				t.Fatal(err)
			}
		}
	}
	if h.repeats > 1 {
		job() // warm
	}
	seconds := make([]float64, h.repeats)
	for k := range seconds {
		begun := time.Now()
		job()
		seconds[k] = time.Since(begun).Seconds()
	}
	slices.Sort(seconds)
	fmt.Printf("{\"seconds\": %g}\n", seconds[len(seconds)/2])
}
