package notebooks_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"thumbed/kernel/headless"
	"thumbed/kernel/install"
	"thumbed/kernel/relay"
)

// Jupyter calls the program that installed the kernel to serve a notebook: here
// that is this test.
func TestMain(m *testing.M) {
	if len(os.Args) == 4 && os.Args[1] == "kernel" && os.Args[2] == "serve" {
		if err := relay.ServeInstalled(os.Args[3]); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	code := m.Run()
	if kernelDir != "" {
		os.RemoveAll(kernelDir)
	}
	os.Exit(code)
}

var (
	kernelDir string
	kernelIn  = sync.OnceValue(func() error {
		var err error
		if kernelDir, err = os.MkdirTemp("", "notebooks-"); err != nil {
			return err
		}
		return install.Install(install.Options{Place: install.Place{Dir: filepath.Join(kernelDir, "kernels")}})
	})
)

// jupyter finds Jupyter and puts the kernel in place for it, or skips the test
// where there is no Jupyter and none is demanded.
func jupyter(t *testing.T) (python string) {
	t.Helper()
	python, err := headless.Python()
	if err != nil {
		if os.Getenv("THUMBED_JUPYTER") != "" {
			t.Fatal(err)
		}
		t.Skip("Jupyter is not on this machine; make test installs it and runs this test")
	}
	if err := kernelIn(); err != nil {
		t.Fatal(err)
	}
	t.Setenv("JUPYTER_DATA_DIR", kernelDir)
	t.Setenv("PYTHONNOUSERSITE", "1") // or a kernel that this machine's user has would be found too
	return python
}

func all(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("[0-9]*.ipynb")
	if err != nil || len(files) < 4 {
		t.Fatalf("found the notebooks %v, %v", files, err)
	}
	return files
}

// Every notebook runs, and shows the numbers that are committed with it.
func TestNotebooksShowWhatTheyShowed(t *testing.T) {
	python := jupyter(t)
	for _, file := range all(t) {
		kept, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		executed, err := headless.Run(context.Background(), kept, headless.Options{Python: python, Kernel: install.Name, Folder: ".", Timeout: 5 * time.Minute})
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		differences, err := headless.Compare(kept, executed)
		if err != nil {
			t.Errorf("%s: %v", file, err)
		}
		for _, d := range differences {
			t.Errorf("%s, %v; where the change is meant: make notebooks-keep", file, d)
		}
	}
}

// screen is how many lines of code one step may have.
const screen = 24

// outside finds what a notebook must not hold: paths of one machine, fetching,
// and shell commands.
var outside = regexp.MustCompile(`(?m)/home/|/root/|/tmp/|go get|^!|%autoget|https?://`)

// A notebook reads on any machine, says that its data are invented, and keeps
// each step to a screen.
func TestNotebooksAreFitToRead(t *testing.T) {
	for _, file := range all(t) {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		n, err := headless.Parse(data)
		if err != nil {
			t.Fatalf("%s: %v", file, err)
		}
		if !n.Shown() {
			t.Errorf("%s is committed without what it shows", file)
		}
		if !strings.Contains(string(n.Cells[0].Source), "invented") {
			t.Errorf("%s does not begin by saying that its data are invented", file)
		}
		if n.Metadata.Kernel.Name != install.Name {
			t.Errorf("%s asks for the kernel %q", file, n.Metadata.Kernel.Name)
		}
		said := true // whether words came before this code
		for i, c := range n.Cells {
			if found := outside.FindString(string(c.Source)); found != "" {
				t.Errorf("%s, cell %d has %q", file, i+1, found)
			}
			if c.Type == "code" {
				if lines := strings.Count(string(c.Source), "\n") + 1; lines > screen {
					t.Errorf("%s, cell %d has %d lines of code; a step has at most %d", file, i+1, lines, screen)
				}
				if !said {
					t.Errorf("%s, cell %d comes without words", file, i+1)
				}
				for _, o := range c.Outputs {
					if text := string(o.Data["text/plain"]); o.Type == "display_data" && (text == "[]" || text == `""`) {
						t.Errorf("%s, cell %d keeps an output of which nothing is left", file, i+1)
					}
				}
			}
			said = c.Type == "markdown"
		}
	}
}

// What a notebook shows outlives it: an export holds every figure, and every
// figure is there as a bitmap for exports that draw nothing else.
func TestNotebooksExport(t *testing.T) {
	jupyter(t)
	out := t.TempDir()
	for _, file := range all(t) {
		convert := exec.Command("jupyter-nbconvert", "--to", "html", "--output-dir", out, file)
		if said, err := convert.CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", file, err, said)
			continue
		}
		page, err := os.ReadFile(filepath.Join(out, strings.TrimSuffix(file, ".ipynb")+".html"))
		if err != nil {
			t.Fatal(err)
		}
		kept, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		n, err := headless.Parse(kept)
		if err != nil {
			t.Fatal(err)
		}
		figures := 0
		for _, c := range n.Cells {
			for _, o := range c.Outputs {
				if !bytes.Contains(o.Data["text/html"], []byte("data:image/svg+xml")) {
					continue
				}
				figures++
				if _, bitmap := o.Data["image/png"]; !bitmap {
					t.Errorf("%s has a figure without a bitmap", file)
				}
			}
		}
		if shown := strings.Count(string(page), `src="data:image/svg+xml;base64,`); shown != figures {
			t.Errorf("%s: %d of %d figures are in the export", file, shown, figures)
		}
	}
}
