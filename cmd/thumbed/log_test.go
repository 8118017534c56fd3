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

// TestLogInATerminal types readings into thumbed log in a real terminal, kills it
// at random moments, and begins again: every reading that was followed by a new
// question is in the table once, in order.
func TestLogInATerminal(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("needs tmux: make real")
	}
	dir := t.TempDir()
	bin := built(t).path
	if out, err := exec.Command(bin, "demo", filepath.Join(dir, "demo")).CombinedOutput(); err != nil {
		t.Fatal(string(out))
	}
	socket := filepath.Join(dir, "terminal")
	tmux := func(args ...string) string {
		t.Helper()
		out, err := exec.Command("tmux", append([]string{"-S", socket}, args...)...).CombinedOutput()
		if err != nil {
			t.Fatalf("tmux %v: %v\n%s", args, err, out)
		}
		return string(out)
	}
	screen := func() string { return tmux("capture-pane", "-p", "-J", "-t", "desk") }
	waitFor := func(words string) {
		t.Helper()
		for range 200 {
			if strings.Contains(screen(), words) {
				return
			}
			time.Sleep(50 * time.Millisecond)
		}
		t.Fatalf("%q is not on the screen:\n%s", words, screen())
	}
	log := filepath.Join(dir, "readings.csv")
	tmux("new-session", "-d", "-s", "desk", "-x", "100", "-y", "50")
	t.Cleanup(func() { _ = exec.Command("tmux", "-S", socket, "kill-server").Run() }) // its only session is ours
	begin := func() {
		tmux("send-keys", "-t", "desk", "clear; "+bin+" log "+filepath.Join(dir, "demo")+" --instrument bench --observer HB --to "+log, "Enter")
		waitFor("q ends the day >")
	}
	r := rand.New(rand.NewPCG(3, 4))
	var want []string
	for k := range 4 {
		begin()
		tmux("send-keys", "-t", "desk", fmt.Sprintf("p %dr", 12+k), "Enter")
		waitFor("untouched spot, 1 of 2 >")
		for i := range 5 {
			density := fmt.Sprintf("0.%02d", 10+5*k+i)
			tmux("send-keys", "-t", "desk", density, "Enter")
			next := []string{"untouched spot, 2 of 2 >", "thumbed corner, 1 of 3 >", "thumbed corner, 2 of 3 >", "thumbed corner, 3 of 3 >", "All placings are done."}[i]
			waitFor(next)
			want = append(want, density)
			if i == 3 && k%2 == 0 { // the plug is pulled
				time.Sleep(time.Duration(r.IntN(30)) * time.Millisecond)
				if out, err := exec.Command("pkill", "-KILL", "-f", bin+" log").CombinedOutput(); err != nil {
					t.Fatalf("%v %s", err, out)
				}
				waitFor("Killed")
				break
			}
		}
		if k%2 == 1 {
			tmux("send-keys", "-t", "desk", "q", "Enter")
			waitFor("Measure again on another day")
		}
	}
	text, err := os.ReadFile(log)
	must(t, err)
	var got []string
	for _, line := range strings.Split(strings.TrimSpace(string(text)), "\n")[1:] {
		got = append(got, strings.Split(line, ",")[9])
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("in the table: %v\nconfirmed:    %v", got, want)
	}
}
