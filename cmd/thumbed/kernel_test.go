package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"thumbed/kernel/headless"
)

// command is a thumbed built for the test, where others call it (Jupyter the copy
// that is installed, a batch engine the one that its scripts name), so that this
// test's own program will not do.
type command struct {
	t    *testing.T
	path string
}

func built(t *testing.T) command {
	t.Helper()
	c := command{t, filepath.Join(t.TempDir(), "thumbed")}
	if out, err := exec.Command("go", "build", "-o", c.path, ".").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return c
}

// jupyterCommand builds thumbed and gives Jupyter a place of its own, or skips
// the test where there is no Jupyter and none is demanded.
func jupyterCommand(t *testing.T) command {
	t.Helper()
	if _, err := headless.Python(); err != nil {
		if os.Getenv("THUMBED_JUPYTER") != "" {
			t.Fatal(err)
		}
		t.Skip("Jupyter is not on this machine; make test installs it and runs this test")
	}
	c := built(t)
	t.Setenv("JUPYTER_DATA_DIR", t.TempDir())
	t.Setenv("PYTHONNOUSERSITE", "1") // or a kernel that this machine's user has would be found too
	return c
}

// run runs thumbed and checks its exit code.
func (c command) run(code int, args ...string) (stdout, stderr string) {
	c.t.Helper()
	cmd := exec.Command(c.path, args...)
	var out, complaints bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &complaints
	err := cmd.Run()
	if got := cmd.ProcessState.ExitCode(); got != code {
		c.t.Fatalf("thumbed %s: exit code %d (%v), want %d\n%s%s", strings.Join(args, " "), got, err, code, &out, &complaints)
	}
	return out.String(), complaints.String()
}

func writeNotebook(t *testing.T, path string, cells ...string) {
	t.Helper()
	var list []any
	for _, source := range cells {
		list = append(list, map[string]any{"cell_type": "code", "source": source, "metadata": struct{}{}, "outputs": []any{}, "execution_count": nil})
	}
	data, err := json.Marshal(map[string]any{"cells": list, "metadata": struct{}{}, "nbformat": 4, "nbformat_minor": 4})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// The same study by notebook and by thumbed run gives the same digits.
func TestNotebookAndCommandAgree(t *testing.T) {
	c := jupyterCommand(t)
	demo, err := filepath.Abs("../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	if _, told := c.run(exitDone, "kernel", "install"); !strings.Contains(told, "where this command was built") {
		t.Errorf("install told %q", told)
	}
	if out, _ := c.run(exitDone, "kernel", "status"); !strings.Contains(out, "A cell ran") {
		t.Errorf("status: %s", out)
	}

	dir := t.TempDir()
	of := func(study, name string) string {
		book := filepath.Join(dir, name+".ipynb")
		writeNotebook(t, book,
			"var s = kernel.Must(study.Open(`"+study+"`))",
			"%%\nresults := kernel.Must(s.Run(nil))\nkernel.Show(results.Answers)\nos.WriteFile(\"by-notebook.json\", kernel.Must(results.JSON()), 0o644)")
		return book
	}
	book := of(demo, "study")
	if out, _ := c.run(exitDone, "notebook", "run", book); !strings.Contains(out, "nothing to compare") {
		t.Errorf("the first run told %q", out)
	}
	c.run(exitDone, "run", demo, "--out", filepath.Join(dir, "results"))
	byCommand, err := os.ReadFile(filepath.Join(dir, "results", "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	byNotebook, err := os.ReadFile(filepath.Join(dir, "by-notebook.json"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(byCommand, byNotebook) {
		t.Errorf("the numbers of thumbed run (%d bytes) and of the notebook (%d bytes) are not the same", len(byCommand), len(byNotebook))
	}

	// What is kept is compared: first as it was, then with one digit changed.
	book = of(small().write(t), "small")
	c.run(exitDone, "notebook", "run", "--keep", book)
	c.run(exitDone, "notebook", "run", book)
	kept, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	shown := regexp.MustCompile(`95 % interval 0\.0\d+`).Find(kept)
	if shown == nil {
		t.Fatalf("the notebook shows no interval: %s", kept)
	}
	changed := bytes.Replace(kept, shown, []byte("95 % interval 0.999"), 1)
	if err := os.WriteFile(book, changed, 0o644); err != nil {
		t.Fatal(err)
	}
	out, told := c.run(exitNo, "notebook", "run", book)
	if !strings.Contains(out, "code cell 2") || !strings.Contains(out, "was 0.999, is now "+string(shown[bytes.LastIndexByte(shown, ' ')+1:])) || !strings.Contains(told, "1 of 1 notebooks did not agree") {
		t.Errorf("a changed number: %s%s", out, told)
	}

	writesWholeOrNothing(t, c)

	c.run(exitDone, "kernel", "remove")
	if left, err := os.ReadDir(os.Getenv("JUPYTER_DATA_DIR")); err != nil || len(left) > 0 {
		t.Errorf("left: %v, %v", left, err)
	}
	if _, told := c.run(exitNo, "notebook", "run", book); !strings.Contains(told, "run: thumbed kernel install") {
		t.Errorf("without a kernel: %s", told)
	}
	c.run(exitNo, "kernel", "status")
}

// A notebook whose cell fails is not written, and the others still run; what is
// wrong with each is told.
func writesWholeOrNothing(t *testing.T, c command) {
	dir := t.TempDir()
	bad, good, out := filepath.Join(dir, "bad.ipynb"), filepath.Join(dir, "good.ipynb"), filepath.Join(dir, "out")
	writeNotebook(t, bad, "%%\nfmt.Println(1)", "%%\nkernel.Check(fmt.Errorf(\"the zero of 12r is missing\"))")
	writeNotebook(t, good, "%%\nfmt.Println(2)")
	_, told := c.run(exitNo, "notebook", "run", "--out", out, bad, good, filepath.Join(dir, "none.ipynb"), filepath.Join(dir, "old.executed.ipynb"))
	if !strings.Contains(told, "the zero of 12r is missing") || !strings.Contains(told, "old.executed.ipynb: passed over") ||
		!strings.Contains(told, "1 of 3 notebooks did not run to the end, 1 of 3 notebooks could not be read") {
		t.Errorf("told %q", told)
	}
	written, err := os.ReadDir(out)
	if err != nil || len(written) != 1 || written[0].Name() != "good.ipynb" {
		t.Errorf("written: %v, %v", written, err)
	}
}

func TestNotebookBadInput(t *testing.T) {
	if _, err := headless.Python(); err != nil {
		t.Skip("Jupyter is not on this machine; make test installs it and runs this test")
	}
	dir := t.TempDir()
	text := filepath.Join(dir, "text.ipynb")
	if err := os.WriteFile(text, []byte("hello"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"notebook", "run"}, exitUsage, "notebook"},
		{[]string{"notebook", "run", filepath.Join(dir, "none.ipynb")}, exitNo, "none.ipynb"},
		{[]string{"notebook", "run", filepath.Join(dir, "none.ipynb")}, exitNo, "1 of 1 notebooks could not be read"},
		{[]string{"notebook", "run", filepath.Join(dir, "x.executed.ipynb")}, exitUsage, "name the notebooks themselves"},
		{[]string{"notebook", "run", text}, exitNo, "this is not a notebook"},
		{[]string{"notebook", "run", "--timeout", "1ms", text}, exitUsage, "--timeout 1ms is too short"},
		{[]string{"kernel", "install", "--system", "--prefix", dir}, exitUsage, "are two places"},
		{[]string{"kernel", "install", "--source", dir}, exitNo, "is not the source of thumbed"},
		{[]string{"kernel", "install", "--prefix", filepath.Join(dir, "none")}, exitNo, "python3 -m venv"},
		{[]string{"kernel", "remove", "--prefix", dir}, exitDone, ""},
		{[]string{"kernel"}, exitUsage, "install"},
		{[]string{"kernel", "serve", filepath.Join(dir, "none.json")}, exitNo, "settings.json"},
	} {
		var out, told bytes.Buffer
		if got := execute(c.args, &out, &told); got != c.code || !strings.Contains(told.String(), c.want) {
			t.Errorf("%q: exit code %d, want %d; told %q, want %q", c.args, got, c.code, told.String(), c.want)
		}
	}
}
