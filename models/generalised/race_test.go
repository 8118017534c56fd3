package generalised

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

// A heat is one piece of work of the race.
type heat struct {
	name, words     string
	data, reference string  // the table; the name of the reference's work, where it runs
	model           string  // of the references, or the model itself
	ours, theirs    int     // repeats
	atLeast, best   float64 // times as fast as the reference; without one, seconds
}

var heats = []heat{
	{"cbpp", "cbpp, 9 points", "cbpp.csv", "cbpp", "cbpp, 9 points", 101, 11, 50, 200},
	{"verbagg", "VerbAgg yes–no, two crossed terms (glmmTMB)", "VerbAgg.csv.gz", "verbagg.glmmTMB", "VerbAgg, yes or no, two crossed terms", 15, 3, 15, 50},
	{"verbagg.lme4", "VerbAgg yes–no, two crossed terms (lme4)", "VerbAgg.csv.gz", "verbagg.lme4", "VerbAgg, yes or no, two crossed terms", 15, 3, 15, 50},
	{"grades", "VerbAgg three grades, two crossed terms", "VerbAgg.csv.gz", "verbagg.grades", "VerbAgg, three grades, two crossed terms", 9, 1, 50, 200},
	{"soup", "soup, two nested terms", "soup.csv.gz", "soup", "soup, two nested terms", 31, 1, 50, 200},
	{"grouseticks", "grouseticks, three terms", "grouseticks.csv", "grouseticks", "grouseticks, three terms", 51, 3, 20, 60},
	{"million", "1,000,000 yes–no rows, 5,000 books × 6 parts", "million", "million", yesMillion, 1, 1, 2, 6},
	{"millionGrades", "1,000,000 rows of five grades, observers crossed", "million", "", gradesMillion, 1, 0, 60, 15},
}

const (
	yesMillion    = "outcome = \"touched\"\nkind = \"yes or no\"\nfixed = [\"part\"]\n[levels]\ntouched = [\"no\", \"yes\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n"
	gradesMillion = "outcome = \"paint\"\nkind = \"grades\"\nfixed = [\"part\"]\n[levels]\npaint = [\"g1\", \"g2\", \"g3\", \"g4\", \"g5\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n[[random]]\nby = \"observer\"\nterms = [\"intercept\"]\n"
)

// million draws rows of 5,000 books crossed with 6 parts and 20 observers.
func million(n int) *table.Table {
	random := rand.New(rand.NewPCG(5, 5))
	books, observers := make([]float64, 5000), make([]float64, 20)
	for i := range books {
		books[i] = random.NormFloat64()
	}
	for i := range observers {
		observers[i] = 0.4 * random.NormFloat64()
	}
	columns := map[string][]string{}
	for range n {
		b, o, p := random.IntN(len(books)), random.IntN(len(observers)), random.IntN(6)
		eta := books[b] + observers[o] + 0.3*float64(p) - 1 + logistic1(random)
		touched := "no"
		if eta > 0 {
			touched = "yes"
		}
		columns["touched"] = append(columns["touched"], touched)
		columns["paint"] = append(columns["paint"], "g"+strconv.Itoa(min(max(int(eta+3), 1), 5)))
		columns["part"] = append(columns["part"], "part"+strconv.Itoa(p))
		columns["book"] = append(columns["book"], "b"+strconv.Itoa(b))
		columns["observer"] = append(columns["observer"], "o"+strconv.Itoa(o))
	}
	var b bytes.Buffer
	names := []string{"touched", "paint", "part", "book", "observer"}
	b.WriteString(strings.Join(names, ",") + "\n")
	for i := range n {
		for k, name := range names {
			if k > 0 {
				b.WriteByte(',')
			}
			b.WriteString(columns[name][i])
		}
		b.WriteByte('\n')
	}
	var ps table.Problems
	return table.Read("million.csv", b.Bytes(), &ps)
}

type lap struct {
	Seconds float64 `json:"seconds"`
	memory  float64 // MB, the process's peak
}

// TestRace runs the reference libraries in R and ours in turn, each piece of work in a
// process of its own, and prints medians, ratios and peak memory.
//
//	THUMBED_RACE=1 go test -run 'TestRace$' -v -timeout 1h ./models/generalised
func TestRace(t *testing.T) {
	if os.Getenv("THUMBED_RACE") == "" {
		t.Skip("set THUMBED_RACE to race the reference libraries in R")
	}
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
	for _, name := range []string{"cbpp.csv", "VerbAgg.csv.gz", "soup.csv.gz", "grouseticks.csv"} {
		write(strings.TrimSuffix(name, ".gz"), readTable(t, name))
	}
	only := os.Getenv("THUMBED_RACE_ONLY")
	write("million.csv", million(1_000_000))
	fmt.Printf("%-60s %12s %12s %8s %9s %9s %9s\n", "work", "reference s", "ours s", "ratio", "asked", "ref. MB", "ours MB")
	for _, h := range heats {
		if only != "" && !strings.Contains(only, h.name) {
			continue
		}
		var theirs lap
		if h.theirs > 0 {
			theirs = runLap(t, exec.Command("Rscript", filepath.Join(references, "live", "race.R"), h.reference, folder, strconv.Itoa(h.theirs)))
		}
		child := exec.Command(os.Args[0], "-test.run", "^TestRaceChild$", "-test.v=false")
		child.Env = append(os.Environ(), "THUMBED_RACE_WORK="+h.name, "THUMBED_RACE_FOLDER="+folder)
		ours := runLap(t, child)
		ratio, asked, before, beforeMB := "", fmt.Sprintf("%g–%g s", h.atLeast, h.best), "", ""
		if h.theirs > 0 {
			ratio, asked = fmt.Sprintf("%.3g", theirs.Seconds/ours.Seconds), fmt.Sprintf("%g–%g", h.atLeast, h.best)
			before, beforeMB = fmt.Sprintf("%.4g", theirs.Seconds), fmt.Sprintf("%.0f", theirs.memory)
		}
		fmt.Printf("%-60s %12s %12.4g %8s %9s %9s %9.0f\n", h.words, before, ours.Seconds, ratio, asked, beforeMB, ours.memory)
	}
}

// runLap runs one runner and reads its lap from what it prints.
func runLap(t *testing.T, command *exec.Cmd) lap {
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
	var m mixed.Model
	if h.data == "million" {
		var ps table.Problems
		data, m = table.ReadFile(filepath.Join(os.Getenv("THUMBED_RACE_FOLDER"), "million.csv"), &ps), parsed(t, h.model)
	} else {
		data = readTable(t, h.data)
		for _, r := range readReferences(t) {
			if r.Name == h.model {
				m = parsed(t, r.Model)
			}
		}
	}
	seconds := make([]float64, h.ours)
	for k := range seconds {
		begun := time.Now()
		f, err := New(m, data)
		if err != nil {
			t.Fatal(err)
		}
		if !f.Converged {
			t.Error("did not converge")
		}
		seconds[k] = time.Since(begun).Seconds()
	}
	slices.Sort(seconds)
	fmt.Printf("{\"seconds\": %g}\n", seconds[len(seconds)/2])
}
