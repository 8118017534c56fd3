package notebooks_test

import (
	"bytes"
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// openJupyter starts Jupyter on loopback over a copy of the notebooks and the
// demo, and gives the address of a notebook in it.
func openJupyter(t *testing.T, notebook string) string {
	t.Helper()
	cache, err := exec.Command("go", "env", "GOCACHE").Output()
	if err != nil {
		t.Fatal(err)
	}
	t.Setenv("GOCACHE", strings.TrimSpace(string(cache))) // what is compiled stays so in another home
	t.Setenv("HOME", t.TempDir())
	root := t.TempDir()
	for from, to := range map[string]string{".": "notebooks", "../testdata/demo": "testdata/demo"} {
		if err := os.CopyFS(filepath.Join(root, to), os.DirFS(from)); err != nil {
			t.Fatal(err)
		}
	}
	port := freePort(t)
	const token = "for-this-test-alone"
	server := exec.Command("jupyter-notebook", "--no-browser", "--ip=127.0.0.1", "--allow-root",
		fmt.Sprintf("--port=%d", port), "--NotebookApp.token="+token, "--notebook-dir="+root)
	var log bytes.Buffer
	server.Stdout, server.Stderr = &log, &log
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		server.Process.Signal(syscall.SIGTERM) // Jupyter ends its kernels first
		ended := make(chan error, 1)
		go func() { ended <- server.Wait() }()
		select {
		case <-ended:
		case <-time.After(20 * time.Second):
			server.Process.Kill()
			t.Error("Jupyter does not end")
		}
		if t.Failed() {
			t.Logf("Jupyter said:\n%s", &log)
		}
	})
	return fmt.Sprintf("http://127.0.0.1:%d/notebooks/notebooks/%s?token=%s", port, notebook, token)
}

const (
	ready = `return !!(window.Jupyter && Jupyter.notebook && Jupyter.notebook._fully_loaded && Jupyter.notebook.kernel &&
		Jupyter.notebook.kernel.is_connected() && !Jupyter.notebook.kernel_busy)`
	cleared = `Jupyter.notebook.clear_all_output(); return document.querySelectorAll('div.output_area').length == 0`
	runAll  = `document.querySelector('#run_all_cells a').click(); return true`
	// A cell that runs or waits has a star for its number.
	allRun = `return Jupyter.notebook.get_cells().every(c => c.cell_type != 'code' || /^\d+$/.test(String(c.input_prompt_number)))`
	errors = `return [...document.querySelectorAll('div.output_error')].map(e => e.innerText).join('\n')`
	cellAt = `const cell = Jupyter.notebook.get_cells().find(c => c.get_text().includes('ShowAlong'));`
	// What a figure says to those who cannot see it, once it is drawn.
	figure = cellAt + `const img = cell.element[0].querySelector('div.output_html img');
		const words = img && img.complete && img.naturalWidth > 300 ? img.alt : '';`
	change = cellAt + `cell.set_text(cell.get_text().replace('"Corvaes"', '"Tremele"'));
		Jupyter.notebook.select(Jupyter.notebook.find_cell_index(cell));
		document.querySelector('#run_cell, button[title="Run"], #run_int button').click(); return true`
	// A cell of the scholar's own at the end, with the cursor at the end of its text.
	write = `Jupyter.notebook.select(Jupyter.notebook.ncells() - 1); Jupyter.notebook.insert_cell_below('code');
		Jupyter.notebook.select_next(); const cell = Jupyter.notebook.get_selected_cell(); cell.set_text(arguments[0]);
		Jupyter.notebook.edit_mode(); cell.focus_editor(); cell.code_mirror.setCursor(0, arguments[0].length); return true`
	offered = `return [...document.querySelectorAll('#complete select option, .completions select option')].map(o => o.text.trim()).join(' ')`
	told    = `const t = document.querySelector('#tooltip'); return t && t.offsetHeight > 0 ? t.innerText : ''`
	boxed   = `return document.querySelectorAll('div.output_scroll').length`
	scroll  = cellAt + `cell.element[0].scrollIntoView(); return true`
)

// A scholar opens a notebook in a browser, runs all of it, changes the name of
// the book in one cell, and sees the figure change.
func TestNotebookInABrowser(t *testing.T) {
	for _, program := range []string{"chromedriver", "jupyter-notebook"} {
		if _, err := exec.LookPath(program); err != nil {
			if os.Getenv("THUMBED_JUPYTER") != "" {
				t.Fatal(err)
			}
			t.Skip(program + " is not on this machine; make test installs it and runs this test")
		}
	}
	jupyter(t)
	address := openJupyter(t, "01-one-book.ipynb")
	b := openBrowser(t)
	eventually(t, "Jupyter listens", func() bool { return answers(address) })
	b.open(address)
	b.until("the notebook is ready", ready)
	b.until("the outputs are cleared", cleared)
	var clicked bool
	b.ask(runAll, &clicked)
	t.Cleanup(func() {
		if t.Failed() {
			keep(t, "thumbed-notebook.png", b.screenshot())
		}
	})
	b.until("all cells have run", allRun)
	var wrong, before string
	if b.ask(errors, &wrong); wrong != "" {
		t.Fatalf("cells failed: %s", wrong)
	}
	b.until("the wear chart is drawn", figure+`return words != ''`)
	if b.ask(figure+`return words`, &before); !strings.Contains(before, "Aleit Corvaes") {
		t.Fatalf("the wear chart is not that of Corvaes: %.200s", before)
	}
	var boxes int
	if b.ask(boxed, &boxes); boxes > 0 {
		t.Errorf("%d outputs stand in a box that scrolls", boxes)
	}
	// Tab lists what a name begins, Shift and Tab tell what it is.
	b.ask(write, &clicked, "s.Bo")
	b.press(tabKey)
	b.until("what the study has is offered", `return (() => {`+offered+`})().includes('Books')`)
	keep(t, "thumbed-completion.png", b.screenshot())
	b.press(escapeKey)
	b.ask(write, &clicked, "kernel.Readings")
	b.press(shiftKey, tabKey)
	b.until("the function is explained", `return (() => {`+told+`})().includes('all that the log says of one page')`)
	keep(t, "thumbed-inspection.png", b.screenshot())
	b.press(escapeKey)
	b.ask(change, &clicked)
	b.until("the figure shows the other book", figure+`return words.includes('Joris van Tremele')`)
	b.ask(scroll, &clicked)
	keep(t, "thumbed-notebook.png", b.screenshot())
}

// keep writes the screenshot to where it can be looked at.
func keep(t *testing.T, name string, picture []byte) {
	t.Helper()
	if _, err := png.Decode(bytes.NewReader(picture)); err != nil {
		t.Fatal(err)
	}
	dir := os.Getenv("THUMBED_SHOTS")
	if dir == "" {
		dir = os.TempDir()
	}
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, picture, 0o644); err != nil {
		t.Fatal(err)
	}
	t.Logf("look at %s", path)
}
