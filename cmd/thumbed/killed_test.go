//go:build unix

package main

import (
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"thumbed/models/study/portion"
)

// group starts a command in a group of processes of its own, and gives what kills
// all of it without warning.
func group(t *testing.T, cmd *exec.Cmd) (kill func()) {
	t.Helper()
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	must(t, cmd.Start())
	return func() {
		_ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) // it may have ended by itself
		_ = cmd.Wait()
	}
}

// TestKilledPartsAreGoneOnWith kills the computing of parts at random moments,
// again and again: what was done stays as it is, no half part is left in the way,
// and in the end the results are those of one run.
func TestKilledPartsAreGoneOnWith(t *testing.T) {
	const parts = 10
	_, dir, jobs, want := divided(t, 7999, parts)
	finished := func() map[string]string {
		all := tree(t, filepath.Join(jobs, "parts"))
		maps.DeleteFunc(all, func(name, _ string) bool { return !strings.HasPrefix(name, "part-") })
		return all
	}
	must(t, os.Mkdir(filepath.Join(jobs, "parts"), 0o755))
	before := finished()
	counts := []int{}
	r := rand.New(rand.NewPCG(1, uint64(time.Now().UnixNano())))
	for range 5 {
		cmd := exec.Command("sh", "all.sh")
		cmd.Dir = jobs
		kill := group(t, cmd)
		time.Sleep(time.Duration(100+r.IntN(400)) * time.Millisecond)
		kill()
		now := finished()
		for name, text := range before {
			if now[name] != text {
				t.Errorf("%s was changed or lost", name)
			}
		}
		for name := range now {
			if _, err := portion.Read(filepath.Join(jobs, "parts", name)); err != nil {
				t.Error(err)
			}
		}
		before = now
		counts = append(counts, len(now))
	}
	t.Logf("parts finished after each kill: %v", counts)
	if counts[0] == parts {
		t.Error("the first run came to its end before it was killed: the test tries nothing")
	}
	stamps := map[string]time.Time{}
	for name := range before {
		info, err := os.Stat(filepath.Join(jobs, "parts", name))
		must(t, err)
		stamps[name] = info.ModTime()
	}
	if said, err := shell(t, jobs, nil, "all.sh"); err != nil {
		t.Fatal(said)
	}
	for name, stamp := range stamps {
		if info, err := os.Stat(filepath.Join(jobs, "parts", name)); err != nil || info.ModTime() != stamp {
			t.Errorf("%s was computed again (%v)", name, err)
		}
	}
	if !maps.Equal(tree(t, filepath.Join(dir, "results")), want) {
		t.Error("parts that were killed on the way differ from one run")
	}
}

// TestAKilledRunStartsAgain kills a run that draws for long at random moments: the
// results of the run before stay whole, and a new run comes to the same digits.
func TestAKilledRunStartsAgain(t *testing.T) {
	c := built(t)
	dir := drawn(t, 5999).write(t)
	results := filepath.Join(dir, "results")
	c.run(exitDone, "run", dir, "--out", filepath.Join(dir, "other"))
	fresh := tree(t, filepath.Join(dir, "other"))
	f := drawn(t, 59)
	old := f.write(t)
	c.run(exitDone, "run", old)
	must(t, os.CopyFS(results, os.DirFS(filepath.Join(old, "results"))))
	earlier := tree(t, results)
	r := rand.New(rand.NewPCG(2, uint64(time.Now().UnixNano())))
	killed := 0
	for range 5 {
		kill := group(t, exec.Command(c.path, "run", dir))
		time.Sleep(time.Duration(20+r.IntN(700)) * time.Millisecond)
		kill()
		now := tree(t, results)
		if maps.Equal(now, earlier) {
			killed++
		} else if !maps.Equal(now, fresh) {
			t.Fatal("the results are neither those of the run before nor the new ones")
		}
	}
	t.Logf("%d of 5 runs were killed before their end", killed)
	c.run(exitDone, "run", dir)
	if !maps.Equal(tree(t, results), fresh) {
		t.Error("a run after killed ones comes to other results")
	}
	entries, err := os.ReadDir(dir)
	must(t, err)
	if i := slices.IndexFunc(entries, func(e os.DirEntry) bool { return strings.HasPrefix(e.Name(), ".") }); i >= 0 {
		t.Errorf("%s was left over", entries[i].Name())
	}
}
