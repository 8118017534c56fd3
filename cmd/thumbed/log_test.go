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
	for range 200 {
		if !strings.Contains(x.screen(), ">") {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	x.send(x.bin + " " + command)
	x.waitFor("q ends the day >")
}

func (x terminal) send(line string) { x.tmux("send-keys", "-t", "desk", line, "Enter") }

func (x terminal) waitFor(words string) {
	x.Helper()
	for range 200 {
		if strings.Contains(x.screen(), words) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	x.Fatalf("%q is not on the screen:\n%s", words, x.screen())
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

// TestLogInATerminal types readings into thumbed log in a real terminal, kills it
// at random moments, and begins again: every reading that was followed by a new
// question is in the table once, in order.
func TestLogInATerminal(t *testing.T) {
	x := newTerminal(t)
	log := filepath.Join(x.dir, "readings.csv")
	r := rand.New(rand.NewPCG(3, 4))
	var want []string
	for k := range 4 {
		x.begin("log " + filepath.Join(x.dir, "demo") + " --instrument bench --observer HB --to " + log)
		x.send(fmt.Sprintf("p %dr", 12+k))
		x.waitFor("untouched spot, 1 of 2 >")
		for i := range 5 {
			density := fmt.Sprintf("0.%02d", 10+5*k+i)
			x.send(density)
			next := []string{"untouched spot, 2 of 2 >", "thumbed corner, 1 of 3 >", "thumbed corner, 2 of 3 >", "thumbed corner, 3 of 3 >", "All placings are done."}[i]
			x.waitFor(next)
			want = append(want, density)
			if i == 3 && k%2 == 0 { // the plug is pulled
				time.Sleep(time.Duration(r.IntN(30)) * time.Millisecond)
				x.pullThePlug()
				break
			}
		}
		if k%2 == 1 {
			x.send("q")
			x.waitFor("Measure again on another day")
		}
	}
	if got := x.column(log, 9); strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("in the table: %v\nconfirmed:    %v", got, want)
	}
}

// TestLooksInATerminal does the same with looks at traces: pictures are coded part by
// part, and the program is killed between looks.
func TestLooksInATerminal(t *testing.T) {
	x := newTerminal(t)
	log := filepath.Join(x.dir, "looks.csv")
	r := rand.New(rand.NewPCG(5, 6))
	var want []string
	grades := []string{"intact", "dulled", "abraded", "bare"}
	for k, page := range []string{"7r", "8r", "9r", "10r"} {
		x.begin("log " + filepath.Join(x.dir, "demo") + " --traces --observer HB --to " + log)
		x.send("p " + page)
		x.waitFor("rubbing, face: 0 intact")
		for i, next := range []string{"rubbing, hands: 0", "rubbing, feet: 0", "rubbing, frame: 0", "wax: count >", "All looks are taken."} {
			grade, line := grades[(k+i)%4], []string{grades[(k+i)%4], fmt.Sprint((k + i) % 4)}[i%2]
			if i == 4 {
				grade, line = fmt.Sprint(k), fmt.Sprint(k)
			}
			x.send(line)
			x.waitFor(next)
			want = append(want, grade)
			if i == 2 && k%2 == 0 { // the plug is pulled
				time.Sleep(time.Duration(r.IntN(30)) * time.Millisecond)
				x.pullThePlug()
				break
			}
		}
		if k%2 == 1 {
			x.send("q")
			x.waitFor("Look at these again on another day")
		}
	}
	if got := x.column(log, 4, 5); strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("in the table: %v\nconfirmed:    %v", got, want)
	}
}
