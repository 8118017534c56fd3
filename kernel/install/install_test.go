//go:build unix

package install_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"thumbed/kernel/headless"
	"thumbed/kernel/install"
	"thumbed/kernel/relay"
)

// The installer copies the running program, which Jupyter then calls to serve a
// notebook: here that is this test.
func TestMain(m *testing.M) {
	if len(os.Args) == 4 && os.Args[1] == "kernel" && os.Args[2] == "serve" {
		if err := relay.ServeInstalled(os.Args[3]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	code := m.Run()
	if installedOnce != "" {
		os.RemoveAll(installedOnce)
	}
	os.Exit(code)
}

// jupyter finds Jupyter, or skips the test where there is none and none is
// demanded.
func jupyter(t *testing.T) string {
	t.Helper()
	python, err := headless.Python()
	if err != nil {
		if os.Getenv("THUMBED_JUPYTER") != "" {
			t.Fatal(err)
		}
		t.Skip("Jupyter is not on this machine; make test installs it and runs this test")
	}
	return python
}

// installedOnce is where the one kernel is that all tests share.
var installedOnce string

var once = sync.OnceValue(func() error {
	var err error
	if installedOnce, err = os.MkdirTemp("", "install-test-"); err != nil {
		return err
	}
	return install.Install(install.Options{Place: install.Place{Dir: filepath.Join(installedOnce, "kernels")}})
})

// installed gives Jupyter, for the rest of the test, the kernel that all tests share, in a
// folder of the test's own: what is changed there, no other test sees.
func installed(t *testing.T) (install.Place, string) {
	t.Helper()
	python := jupyter(t)
	if err := once(); err != nil {
		t.Fatal(err)
	}
	t.Setenv("JUPYTER_DATA_DIR", t.TempDir())
	t.Setenv("PYTHONNOUSERSITE", "1") // or a kernel that this machine's user has would be found too
	place, err := install.UserPlace()
	if err != nil {
		t.Fatal(err)
	}
	own := filepath.Join(place.Dir, install.Name)
	if err := os.MkdirAll(own, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"kernel.json", relay.SettingsFile} {
		data, err := os.ReadFile(filepath.Join(installedOnce, "kernels", install.Name, name))
		if err == nil {
			// The programs stay where they are; the settings are read beside the one that serves.
			err = os.WriteFile(filepath.Join(own, name), data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return place, python
}

// notebook is a notebook of these code cells, as an .ipynb file.
func notebook(t *testing.T, cells ...string) []byte {
	t.Helper()
	var list []any
	for i, source := range cells {
		list = append(list, map[string]any{"cell_type": "code", "id": fmt.Sprintf("c%d", i), "source": source,
			"metadata": struct{}{}, "outputs": []any{}, "execution_count": nil})
	}
	data, err := json.Marshal(map[string]any{"cells": list, "metadata": struct{}{}, "nbformat": 4, "nbformat_minor": 5})
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func options(python string) headless.Options {
	return headless.Options{Python: python, Kernel: install.Name, Folder: ".", Timeout: 2 * time.Minute}
}

func TestInstallProveRemove(t *testing.T) {
	jupyter(t)
	t.Setenv("JUPYTER_DATA_DIR", t.TempDir())
	t.Setenv("PYTHONNOUSERSITE", "1") // or a kernel that this machine's user has would be found too
	place, err := install.UserPlace()
	if err != nil {
		t.Fatal(err)
	}
	if err := install.Install(install.Options{Place: place}); err != nil {
		t.Fatal(err)
	}
	for _, f := range install.Status(context.Background()) {
		if !f.OK {
			t.Errorf("status: %s", f.Words)
		}
	}
	// Installing again replaces, and leaves nothing of the first beside it.
	if err := install.Install(install.Options{Place: place}); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(place.Dir)
	if err != nil || len(entries) != 1 {
		t.Errorf("the place holds %v, %v", entries, err)
	}
	if was, err := install.Remove(place); !was || err != nil {
		t.Errorf("remove: %v, %v", was, err)
	}
	left, err := os.ReadDir(filepath.Dir(place.Dir))
	if err != nil || len(left) > 0 {
		t.Errorf("left: %v, %v", left, err)
	}
	if was, err := install.Remove(place); was || err != nil {
		t.Errorf("remove again: %v, %v", was, err)
	}
}

func TestStatusTellsWhatIsWrong(t *testing.T) {
	wrong := func() string {
		var words []string
		for _, f := range install.Status(context.Background()) {
			if !f.OK {
				words = append(words, f.Words)
			}
		}
		return strings.Join(words, "\n")
	}
	place, _ := installed(t)
	settings := filepath.Join(place.Dir, install.Name, relay.SettingsFile)
	data, err := os.ReadFile(settings)
	if err != nil {
		t.Fatal(err)
	}
	change := func(old, new string) {
		t.Helper()
		if !strings.Contains(string(data), old) {
			t.Fatalf("%s has no %q", data, old)
		}
		if err := os.WriteFile(settings, []byte(strings.Replace(string(data), old, new, 1)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	change(`"version": "thumbed `, `"version": "thumbed 9.`)
	if got := wrong(); !strings.Contains(got, "was installed by thumbed 9.") || !strings.Contains(got, "run: thumbed kernel install") {
		t.Errorf("another version: %q", got)
	}
	change(`"go": "`, `"go": "/nonexistent`)
	if got := wrong(); !strings.Contains(got, "No Go is at /nonexistent") {
		t.Errorf("no Go: %q", got)
	}
	if err := os.WriteFile(settings, []byte("{"), 0o644); err != nil {
		t.Fatal(err)
	}
	if got := wrong(); !strings.Contains(got, "run again: thumbed kernel install") {
		t.Errorf("broken settings: %q", got)
	}
	if _, err := install.Remove(place); err != nil {
		t.Fatal(err)
	}
	if got := wrong(); !strings.Contains(got, "No kernel that Jupyter finds is named thumbed; run: thumbed kernel install") {
		t.Errorf("no kernel: %q", got)
	}
}

// An environment's Jupyter looks for kernels in share/jupyter, and this one is told to:
// what is there runs.
func TestVirtualEnvironment(t *testing.T) {
	user, python := installed(t)
	prefix := t.TempDir()
	place, err := install.PrefixPlace(prefix)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(place.Dir), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(user.Dir, place.Dir); err != nil {
		t.Fatal(err)
	}
	t.Setenv("JUPYTER_PATH", filepath.Join(prefix, "share", "jupyter"))
	executed, err := headless.Run(context.Background(), notebook(t, "%%\nfmt.Println(codex.Recto)"), options(python))
	if err != nil {
		t.Fatal(err)
	}
	if said, err := headless.Said(executed); said != "recto" || err != nil {
		t.Errorf("the cell said %q, %v", said, err)
	}
	if _, err := install.PrefixPlace(filepath.Join(prefix, "none")); err == nil || !strings.Contains(err.Error(), "python3 -m venv") {
		t.Errorf("no environment: %v", err)
	}
}

func TestRunTellsTheCellThatFails(t *testing.T) {
	_, python := installed(t)
	for _, c := range []struct {
		name  string
		cells []string
		time  time.Duration
		want  string
	}{
		{"an error", []string{"%%\nfmt.Println(1)", "%%\nkernel.Check(fmt.Errorf(\"no zero for 12r\"))", "%%\nfmt.Println(2)"}, time.Minute,
			`code cell 2, which begins "kernel.Check(fmt.Errorf(\"no zero for 12r\"))": no zero for 12r`},
		{"a panic", []string{"%%\nvar x []int\nfmt.Println(x[2])"}, time.Minute, "index out of range [2] with length 0"},
		{"no Go", []string{"%%\nfmt.Printl(1)"}, time.Minute, "cell 1, line 2: undefined: fmt.Printl"},
		// One cell alone, so that a slow machine, which does not compile it in that time
		// even, says the same.
		{"for ever", []string{"%%\nfor {\n}"}, 3 * time.Second, `code cell 1, which begins "for {": it did not end within 3s`},
	} {
		o := options(python)
		o.Timeout = c.time
		executed, err := headless.Run(context.Background(), notebook(t, c.cells...), o)
		if err == nil || !strings.Contains(err.Error(), c.want) || executed != nil {
			t.Errorf("%s: got %v, want %q", c.name, err, c.want)
		}
	}
}

func TestRunsAgreeWithThemselves(t *testing.T) {
	_, python := installed(t)
	var told []string
	o := options(python)
	o.Begun = func(cell, cells int) { told = append(told, fmt.Sprint(cell, "/", cells)) }
	first, err := headless.Run(context.Background(), notebook(t, "const x = 2", "%%\nfmt.Println(math.Sqrt(x))"), o)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Join(told, " ") != "1/2 2/2" {
		t.Errorf("told of %q", told)
	}
	second, err := headless.Run(context.Background(), first, o)
	if err != nil {
		t.Fatal(err)
	}
	if found, err := headless.Compare(first, second); err != nil || len(found) > 0 {
		t.Errorf("they differ: %v, %v", found, err)
	}
	if said, _ := headless.Said(second); said != "1.4142135623730951" {
		t.Errorf("it said %q", said)
	}
}

func TestNoSuchKernel(t *testing.T) {
	o := options(jupyter(t))
	t.Setenv("JUPYTER_DATA_DIR", t.TempDir())
	t.Setenv("PYTHONNOUSERSITE", "1") // or a kernel that this machine's user has would be found too
	o.Kernel = "no-such"
	if _, err := headless.Run(context.Background(), notebook(t, "1"), o); err == nil || !strings.Contains(err.Error(), `no kernel named "no-such"; run: thumbed kernel install`) {
		t.Errorf("got %v", err)
	}
}

func TestEverythingMissingIsToldAtOnce(t *testing.T) {
	defer install.WithoutUsualGo()()
	t.Setenv("PATH", t.TempDir())
	t.Setenv("VIRTUAL_ENV", "")
	t.Setenv("PYTHONHOME", "/nonexistent") // no Python starts
	place := install.Place{Dir: filepath.Join(t.TempDir(), "kernels")}
	err := install.Install(install.Options{Place: place})
	if err == nil {
		t.Fatal("it was installed with nothing there")
	}
	for _, want := range []string{"no Go is on this machine", "get Go 1.26.8 or newer from https://go.dev/dl/", "no Jupyter is on this machine", "apt-get install jupyter-client"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
	if _, err := os.Stat(place.Dir); err == nil {
		t.Error("something was written")
	}
}

func TestWhereCellsRun(t *testing.T) {
	for _, goos := range []string{"linux", "darwin"} {
		if err := install.CellsRun(goos); err != nil {
			t.Errorf("%s: %v", goos, err)
		}
	}
	if err := install.CellsRun("windows"); err == nil || !strings.Contains(err.Error(), "wsl --install") {
		t.Errorf("windows: %v", err)
	}
}

func TestOldGoIsRefused(t *testing.T) {
	bin := t.TempDir()
	if err := os.WriteFile(filepath.Join(bin, "go"), []byte("#!/bin/sh\necho go1.19.3\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", bin)
	err := install.Install(install.Options{Place: install.Place{Dir: t.TempDir()}, AnyJupyter: true})
	if err == nil || !strings.Contains(err.Error(), "is go1.19.3, which is too old") {
		t.Errorf("got %v", err)
	}
}

func TestStrangersAreLeftAlone(t *testing.T) {
	place := install.Place{Dir: t.TempDir()}
	theirs := filepath.Join(place.Dir, install.Name, "kernel.json")
	if err := os.MkdirAll(filepath.Dir(theirs), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(theirs, []byte("{}"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := install.Install(install.Options{Place: place, AnyJupyter: true}); err == nil || !strings.Contains(err.Error(), "is not ours, so it stays") {
		t.Errorf("install: %v", err)
	}
	if _, err := install.Remove(place); err == nil || !strings.Contains(err.Error(), "is not ours, so it stays") {
		t.Errorf("remove: %v", err)
	}
	if _, err := os.Stat(theirs); err != nil {
		t.Error(err)
	}
}

func TestPlaceThatCannotBeWritten(t *testing.T) {
	t.Setenv("JUPYTER_DATA_DIR", "/dev/null/jupyter") // not even an administrator can
	place, err := install.UserPlace()
	if err != nil {
		t.Fatal(err)
	}
	err = install.Install(install.Options{Place: place, AnyJupyter: true})
	if err == nil || !strings.Contains(err.Error(), "cannot write into /dev/null/jupyter/kernels") || !strings.Contains(err.Error(), "--prefix DIR") {
		t.Errorf("got %v", err)
	}
}

func TestSourceMustBeOurs(t *testing.T) {
	err := install.Install(install.Options{Place: install.Place{Dir: t.TempDir()}, Source: t.TempDir(), AnyJupyter: true})
	if err == nil || !strings.Contains(err.Error(), "is not the source of thumbed") {
		t.Errorf("got %v", err)
	}
}

// A kernel for every user holds all that it needs: it works where neither the
// source nor Go's module cache of the installer can be read.
func TestForEveryUser(t *testing.T) {
	python := jupyter(t)
	data := t.TempDir()
	place := install.Place{Dir: filepath.Join(data, "kernels"), Words: "every user", Alone: true}
	if err := install.Install(install.Options{Place: place}); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(place.Dir, install.Name)
	s, err := relay.ReadSettings(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{s.Source, s.Modules, s.Engine, s.Tools} {
		if !strings.HasPrefix(path, dir) {
			t.Errorf("%s is not in the kernel's folder", path)
		}
		if _, err := os.Stat(path); err != nil {
			t.Error(err)
		}
	}
	t.Setenv("JUPYTER_DATA_DIR", data)
	t.Setenv("PYTHONNOUSERSITE", "1") // or a kernel that this machine's user has would be found too
	executed, err := headless.Run(context.Background(), notebook(t, "import \"gonum.org/v1/gonum/floats\"\nfmt.Println(codex.Recto, floats.Sum([]float64{1, 0.5}))"), options(python))
	if err != nil {
		t.Fatal(err)
	}
	if said, _ := headless.Said(executed); said != "recto 1.5" {
		t.Errorf("the cell said %q", said)
	}
	if _, err := install.Remove(place); err != nil {
		t.Errorf("remove: %v", err)
	}
	if _, err := os.Stat(place.Dir); err == nil {
		t.Error("something is left")
	}
}

// A kernel whose Jupyter was killed ends by itself, with all that it started.
func TestKernelEndsWithJupyter(t *testing.T) {
	_, python := installed(t)
	const jupyterThatDies = `import json, os, sys, time
from jupyter_client import KernelManager
manager = KernelManager(kernel_name="thumbed")
manager.start_kernel()
client = manager.client()
client.start_channels()
client.wait_for_ready(timeout=60)
client.execute("%%\nfmt.Println(os.Getpid(), os.Getppid())\nfor {\n}")
while True:
    message = client.get_iopub_msg(timeout=60)
    if message["msg_type"] == "stream":
        print(manager.provisioner.process.pid, message["content"]["text"], flush=True)
        os.kill(os.getpid(), 9)`
	out, _ := exec.Command(python, "-Xfrozen_modules=off", "-c", jupyterThatDies).Output()
	var relayID, cellID, gonbID int
	if _, err := fmt.Sscan(string(out), &relayID, &cellID, &gonbID); err != nil {
		t.Fatalf("%q: %v", out, err)
	}
	for _, id := range []int{relayID, gonbID, cellID} {
		for deadline := time.Now().Add(20 * time.Second); syscall.Kill(id, 0) == nil; time.Sleep(50 * time.Millisecond) {
			if time.Now().After(deadline) {
				syscall.Kill(id, syscall.SIGKILL)
				t.Fatalf("process %d of %v still runs", id, []int{relayID, gonbID, cellID})
			}
		}
	}
}
