package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// A terminal is a real one, in which the program runs on a demonstration.
type terminal struct {
	*testing.T
	dir, bin, socket string
}

func newTerminal(t *testing.T) terminal {
	t.Helper()
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs tmux: make real")
	}
	dir := t.TempDir()
	x := terminal{t, dir, built(t).path, filepath.Join(dir, "terminal")}
	if out, err := exec.Command(x.bin, "demo", filepath.Join(dir, "demo")).CombinedOutput(); err != nil {
		t.Fatal(string(out))
	}
	x.tmux("new-session", "-d", "-s", "desk", "-x", "100", "-y", "50")
	t.Cleanup(func() { _ = exec.Command("tmux", "-S", x.socket, "kill-server").Run() }) // its only session is ours
	return x
}

func (x terminal) tmux(args ...string) string {
	x.Helper()
	out, err := exec.Command("tmux", append([]string{"-S", x.socket}, args...)...).CombinedOutput()
	if err != nil {
		x.Fatalf("tmux %v: %v\n%s", args, err, out)
	}
	return string(out)
}

func (x terminal) screen() string { return x.tmux("capture-pane", "-p", "-J", "-t", "desk") }

// begin starts the program on an empty screen, so that nothing is waited for that an
// earlier session said.
func (x terminal) begin(command string) {
	x.Helper()
	x.send("clear")
	x.await(func(screen string) bool { return !strings.Contains(screen, ">") })
	x.send(x.bin + " " + command)
	x.waitFor("q ends the day >")
}

func (x terminal) send(line string) { x.tmux("send-keys", "-t", "desk", line, "Enter") }

func (x terminal) waitFor(words string) {
	x.Helper()
	if !x.await(func(screen string) bool { return strings.Contains(screen, words) }) {
		x.Fatalf("%q is not on the screen:\n%s", words, x.screen())
	}
}

// await waits up to ten seconds for the screen to be as wanted.
func (x terminal) await(wanted func(screen string) bool) bool {
	for range 200 {
		if wanted(x.screen()) {
			return true
		}
		time.Sleep(50 * time.Millisecond)
	}
	return false
}

// pullThePlug kills the program.
func (x terminal) pullThePlug() {
	x.Helper()
	if out, err := exec.Command("pkill", "-KILL", "-f", x.bin+" log").CombinedOutput(); err != nil {
		x.Fatalf("%v %s", err, out)
	}
	x.waitFor("Killed")
}

// column reads the cells at a place of the rows of a table.
func (x terminal) column(path string, places ...int) (out []string) {
	text, err := os.ReadFile(path)
	must(x.T, err)
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		cells, row := strings.Split(line, ","), ""
		for _, k := range places {
			row += cells[k]
		}
		out = append(out, row)
	}
	return out
}

// A step is a line that is typed, the words on the screen behind it, and what the table
// then holds.
type step struct{ line, next, cell string }

// A sitting is a page that is named, the question behind it, and the steps from there.
type sitting struct {
	page, question string
	steps          []step
}

// sit runs a command of the desk for each sitting: at every other one the plug is pulled
// at a random moment after so many steps, the others are ended as a day is. It gives what
// the table must hold.
func (x terminal) sit(command, ended string, most int, r *rand.Rand, sittings []sitting) (want []string) {
	x.Helper()
	for k, s := range sittings {
		x.begin(command)
		x.send("p " + s.page)
		x.waitFor(s.question)
		steps := s.steps
		if k%2 == 0 {
			steps = steps[:most]
		}
		for _, step := range steps {
			x.send(step.line)
			x.waitFor(step.next)
			want = append(want, step.cell)
		}
		if k%2 == 0 {
			time.Sleep(time.Duration(r.IntN(30)) * time.Millisecond)
			x.pullThePlug()
			continue
		}
		x.send("q")
		x.waitFor(ended)
	}
	return want
}

// TestLogInATerminal types readings into thumbed log in a real terminal, kills it
// at random moments, and begins again: every reading that was followed by a new
// question is in the table once, in order.
func TestLogInATerminal(t *testing.T) {
	x := newTerminal(t)
	log := filepath.Join(x.dir, "readings.csv")
	var sittings []sitting
	for k := range 4 {
		s := sitting{page: fmt.Sprintf("%dr", 12+k), question: "untouched spot, 1 of 2 >"}
		for i, next := range []string{"untouched spot, 2 of 2 >", "thumbed corner, 1 of 3 >", "thumbed corner, 2 of 3 >", "thumbed corner, 3 of 3 >", "All placings are done."} {
			density := fmt.Sprintf("0.%02d", 10+5*k+i)
			s.steps = append(s.steps, step{density, next, density})
		}
		sittings = append(sittings, s)
	}
	want := x.sit("log "+filepath.Join(x.dir, "demo")+" --instrument bench --observer HB --to "+log, "Measure again on another day", 4, rand.New(rand.NewPCG(3, 4)), sittings)
	if got := x.column(log, 9); strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("in the table: %v\nconfirmed:    %v", got, want)
	}
}

// TestLooksInATerminal does the same with looks at traces: pictures are coded part by
// part, and the program is killed between looks.
func TestLooksInATerminal(t *testing.T) {
	x := newTerminal(t)
	log := filepath.Join(x.dir, "looks.csv")
	var sittings []sitting
	grades := []string{"intact", "dulled", "abraded", "bare"}
	for k, page := range []string{"7r", "8r", "9r", "10r"} {
		s := sitting{page: page, question: "rubbing, face: 0 intact"}
		for i, next := range []string{"rubbing, hands: 0", "rubbing, feet: 0", "rubbing, frame: 0", "wax: count >", "All looks are taken."} {
			grade := grades[(k+i)%4]
			line := []string{grade, fmt.Sprint((k + i) % 4)}[i%2]
			if i == 4 {
				grade, line = fmt.Sprint(k), fmt.Sprint(k)
			}
			s.steps = append(s.steps, step{line, next, grade})
		}
		sittings = append(sittings, s)
	}
	want := x.sit("log "+filepath.Join(x.dir, "demo")+" --traces --observer HB --to "+log, "Look at these again on another day", 3, rand.New(rand.NewPCG(5, 6)), sittings)
	if got := x.column(log, 4, 5); strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("in the table: %v\nconfirmed:    %v", got, want)
	}
}
