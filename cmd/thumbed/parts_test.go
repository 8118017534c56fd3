package main

import (
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// drawn is the small study with so many outcomes to draw.
func drawn(t *testing.T, outcomes int) files {
	f := small()
	f.swap(t, "study.toml", `asked = "before"`, fmt.Sprintf("asked = \"before\"\nbootstrap = %d\nshift = 20\nseed = 3", outcomes))
	return f
}

// done runs a command line that must end well.
func done(t *testing.T, args ...string) string {
	t.Helper()
	code, stdout, stderr := run(args...)
	if code != exitDone {
		t.Fatalf("thumbed %s ends with %d: %s", strings.Join(args, " "), code, stderr)
	}
	return stdout
}

func TestPartsMakeTheResultsOfOneRun(t *testing.T) {
	dir := drawn(t, 59).write(t)
	parts, results := filepath.Join(dir, "parts"), filepath.Join(dir, "results")
	done(t, "run", dir)
	want := tree(t, results)
	must(t, os.RemoveAll(results))
	for _, k := range []string{"2/3", "3/3", "1/3"} {
		if said := done(t, "run", dir, "--part", k); !strings.Contains(said, "Part "+k) {
			t.Errorf("part %s says %q", k, said)
		}
	}
	first, err := os.Stat(filepath.Join(parts, "part-2-of-3.json"))
	must(t, err)
	done(t, "run", dir, "--part", "2/3")
	if again, err := os.Stat(filepath.Join(parts, "part-2-of-3.json")); err != nil || again.ModTime() != first.ModTime() {
		t.Errorf("a part that is there was computed again (%v)", err)
	}
	if said := done(t, "gather", parts); !strings.Contains(said, "Do pictures attract handling?") || !strings.Contains(said, "The page: ") {
		t.Errorf("gather says %q", said)
	}
	if numbers := tree(t, results)["results.json"]; !strings.Contains(numbers, "By a bootstrap (59 outcomes") {
		t.Error("the gathered results have no answer by bootstrap")
	}
	if !maps.Equal(tree(t, results), want) {
		t.Error("gathered parts differ from one run")
	}
	moved := drawn(t, 59).write(t) // the same files, on another machine
	done(t, "gather", parts, filepath.Join(parts, "part-1-of-3.json"), "--source", moved, "--out", filepath.Join(moved, "results"))
	if !maps.Equal(tree(t, filepath.Join(moved, "results")), want) {
		t.Error("gathered parts of a study that has moved differ from one run")
	}
}

func TestPartsThatDoNotBelongTogether(t *testing.T) {
	f := drawn(t, 59)
	dir := f.write(t)
	parts := filepath.Join(dir, "parts")
	done(t, "run", dir, "--part", "1/3")
	done(t, "run", dir, "--part", "3/3")
	empty := t.TempDir()
	for _, c := range []struct {
		args string
		code int
		err  string
	}{
		{"gather", exitUsage, "needs PART"},
		{"gather " + parts, exitNo, "these are missing: 2"},
		{"gather " + empty, exitNo, "holds no part of divided work"},
		{"gather " + filepath.Join(dir, "study.toml"), exitNo, "no part of divided work"},
		{"gather " + filepath.Join(dir, "none"), exitNo, "cannot be read"},
		{"run " + dir + " --part 4/3", exitUsage, "3/64"},
		{"run " + dir + " --part 1/3 --out " + filepath.Join(dir, "study.toml"), exitNo, "not a directory"},
		{"divide", exitUsage, "needs VERB"},
		{"divide run", exitUsage, "needs FILE"},
		{"divide check " + dir + " --into 3 --out x", exitUsage, "these can:"},
		{"divide run " + dir + " --out x", exitUsage, "--into"},
		{"divide run " + dir + " --into 3", exitUsage, "--out"},
		{"divide run " + dir + " --into 3 --out " + dir, exitNo, "there already"},
		{"divide run " + dir + " --into 5000 --out " + filepath.Join(dir, "x"), exitNo, "no more than 59 pieces"},
		{"divide run " + small().write(t) + " --into 3 --out x", exitNo, "draws nothing by chance"},
	} {
		code, stdout, stderr := run(strings.Fields(c.args)...)
		if code != c.code || stdout != "" || !strings.Contains(stderr, c.err) {
			t.Errorf("thumbed %s ends with %d: %q, %q; want %d and %q", c.args, code, stdout, stderr, c.code, c.err)
		}
	}
	f.swap(t, "study.toml", "seed = 3", "seed = 4")
	must(t, os.WriteFile(filepath.Join(dir, "study.toml"), []byte(f["study.toml"]), 0o644))
	if code, _, stderr := run("run", dir, "--part", "1/3"); code != exitNo || !strings.Contains(stderr, "of other work; nothing was changed") {
		t.Errorf("a part of the study as it was stands in the way: %d, %s", code, stderr)
	}
	must(t, os.Remove(filepath.Join(parts, "part-1-of-3.json")))
	done(t, "run", dir, "--part", "1/3")
	done(t, "run", dir, "--part", "2/3")
	if code, _, stderr := run("gather", parts); code != exitNo || !strings.Contains(stderr, "of other work") {
		t.Errorf("parts of two states of the study: %d, %s", code, stderr)
	}
}

// odd is a name that a shell and Slurm's own patterns trip over where it is not
// quoted.
const odd = `the scholar's "own" $HOME %j; 100% `

// divided is a study in a folder of an odd name, divided into parts by a command
// built for the test; want is what one run of it comes to.
func divided(t *testing.T, outcomes, parts int) (c command, dir, jobs string, want map[string]string) {
	t.Helper()
	c = built(t)
	dir = filepath.Join(t.TempDir(), odd)
	must(t, os.CopyFS(dir, os.DirFS(drawn(t, outcomes).write(t))))
	c.run(exitDone, "run", dir)
	results := filepath.Join(dir, "results")
	want = tree(t, results)
	must(t, os.RemoveAll(results))
	jobs = filepath.Join(dir, "jobs of "+odd)
	c.run(exitDone, "divide", "run", dir, "--into", fmt.Sprint(parts), "--out", jobs)
	return c, dir, jobs, want
}

// shell runs a shell in the folder of scripts.
func shell(t *testing.T, jobs string, environment []string, args ...string) (said string, err error) {
	t.Helper()
	cmd := exec.Command("sh", args...)
	cmd.Dir, cmd.Env = jobs, append(os.Environ(), environment...)
	out, err := cmd.CombinedOutput()
	return string(out), err
}

// TestJobFilesWithoutAnEngine runs what Slurm would run, task by task, and hands
// in to a stand-in for sbatch that tells how it was called.
func TestJobFilesWithoutAnEngine(t *testing.T) {
	_, dir, jobs, want := divided(t, 59, 4)
	scripts, err := filepath.Glob(filepath.Join(jobs, "*.s*"))
	must(t, err)
	if len(scripts) != 7 {
		t.Fatalf("the scripts are %q", scripts)
	}
	for _, script := range scripts {
		if said, err := shell(t, jobs, nil, "-n", script); err != nil {
			t.Errorf("%s is no shell script: %s", script, said)
		}
	}
	if said, err := shell(t, jobs, nil, "gather.slurm"); err == nil || !strings.Contains(said, "holds no part") && !strings.Contains(said, "cannot be read") {
		t.Errorf("gathering before there are parts: %v, %s", err, said)
	}
	for _, task := range []string{"3", "1", "4", "2"} {
		if said, err := shell(t, jobs, []string{"SLURM_ARRAY_TASK_ID=" + task}, "array.slurm"); err != nil {
			t.Fatalf("task %s: %v, %s", task, err, said)
		}
	}
	if said, err := shell(t, jobs, nil, "gather.slurm"); err != nil {
		t.Fatal(said)
	}
	if !maps.Equal(tree(t, filepath.Join(dir, "results")), want) {
		t.Error("the parts differ from one run")
	}
	if said, err := shell(t, jobs, nil, "part.sh"); err == nil || !strings.Contains(said, "give the number of a part") {
		t.Errorf("no part named: %v, %s", err, said)
	}

	bin := t.TempDir()
	must(t, os.WriteFile(filepath.Join(bin, "sbatch"), []byte("#!/bin/sh\necho \"$@\" >>calls\necho '41;cluster'\n"), 0o755))
	said, err := shell(t, "/", []string{"PATH=" + bin + ":" + os.Getenv("PATH")}, filepath.Join(jobs, "submit.sh"))
	if err != nil || !strings.Contains(said, "job 41.") {
		t.Errorf("handing in: %v, %s", err, said)
	}
	calls, err := os.ReadFile(filepath.Join(jobs, "calls"))
	must(t, err)
	logs := strings.ReplaceAll(filepath.Join(jobs, "logs"), "%", "%%")
	if got, want := string(calls), "--parsable --output="+logs+"/part-%a.txt array.slurm\n--parsable --output="+logs+"/gather.txt --dependency=afterok:41 --kill-on-invalid-dep=yes gather.slurm\n"; got != want {
		t.Errorf("sbatch was called so:\n%s\nwant\n%s", got, want)
	}
	if info, err := os.Stat(filepath.Join(jobs, "logs")); err != nil || !info.IsDir() {
		t.Errorf("no folder for logs: %v", err)
	}
	must(t, os.Rename(jobs, jobs+`\n`))
	if said, err := shell(t, "/", nil, filepath.Join(jobs+`\n`, "submit.sh")); err == nil || !strings.Contains(said, "backslash") {
		t.Errorf("handing in from below a backslash: %v, %s", err, said)
	}
	if said, err := shell(t, "/", nil, filepath.Join(jobs+`\n`, "part.sh"), "2"); err != nil {
		t.Errorf("a part below a backslash: %v, %s", err, said)
	}
}
