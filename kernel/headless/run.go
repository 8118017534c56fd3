package headless

import (
	"bufio"
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strconv"
	"strings"
	"time"
)

//go:embed driver.py
var driver string

// Options say how a notebook is run.
type Options struct {
	Python  string                // from [Python]
	Kernel  string                // name of the Jupyter kernel
	Folder  string                // folder that the cells see as theirs
	Timeout time.Duration         // what one cell may take
	Begun   func(cell, cells int) // told of each code cell, counted from 1; may be nil
}

// A CellError is the error of a notebook's cell.
type CellError struct {
	Cell   int    // code cells counted from 1; 0 where no cell is at fault
	Source string // what stands in the cell
	Words  string // what went wrong
}

// Error tells the cell, its first line and what went wrong.
func (e *CellError) Error() string {
	if e.Cell == 0 {
		return e.Words
	}
	return fmt.Sprintf("code cell %d, which begins %q: %s", e.Cell, firstLine(e.Source), e.Words)
}

// firstLine is the first line of a cell that is Go.
func firstLine(source string) string {
	for line := range strings.Lines(source) {
		line = strings.TrimSpace(line)
		if line != "" && !strings.HasPrefix(line, "%") && !strings.HasPrefix(line, "//") {
			return line
		}
	}
	return strings.TrimSpace(source)
}

// Run runs a notebook, given as the bytes of an .ipynb file, from its first
// cell, and returns it with what its cells showed. Where a cell fails, the
// error is a [*CellError] and nothing is returned.
func Run(ctx context.Context, notebook []byte, o Options) ([]byte, error) {
	parsed, err := Parse(notebook)
	if err != nil {
		return nil, err
	}
	cmd := exec.CommandContext(ctx, o.Python, "-Xfrozen_modules=off", "-c", driver,
		o.Kernel, o.Folder, strconv.Itoa(int(o.Timeout.Seconds())))
	cmd.Stdin = bytes.NewReader(notebook)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("cannot start %s: %w", o.Python, err)
	}
	executed, told := listen(out, parsed, o)
	if err := cmd.Wait(); err != nil && told == nil && executed == nil {
		return nil, fmt.Errorf("the client of Jupyter failed (%w): %s", err, strings.TrimSpace(complaints.String()))
	}
	if told == nil && executed == nil {
		told = fmt.Errorf("the client of Jupyter said nothing: %s", strings.TrimSpace(complaints.String()))
	}
	return executed, told
}

// A report is one line of the driver's.
type report struct {
	Begun  *int   `json:"begun"`
	Done   string `json:"done"`
	Failed *struct {
		Cell  int    `json:"cell"`
		Kind  string `json:"kind"`
		Words string `json:"words"`
	} `json:"failed"`
	Missing string `json:"missing"`
}

// listen follows the driver to its end.
func listen(out io.Reader, n *Notebook, o Options) (executed []byte, told error) {
	reader := bufio.NewReader(out)
	for {
		line, err := reader.ReadBytes('\n')
		if len(line) > 0 {
			var r report
			if err := json.Unmarshal(line, &r); err != nil {
				return nil, fmt.Errorf("the client of Jupyter said what cannot be read: %q", bytes.TrimSpace(line))
			}
			switch {
			case r.Begun != nil && o.Begun != nil:
				o.Begun(n.codeCell(*r.Begun), n.codeCells())
			case r.Done != "":
				executed = []byte(r.Done)
			case r.Missing != "":
				told = ErrNoJupyter
			case r.Failed != nil:
				told = n.failure(r.Failed.Cell, r.Failed.Kind, r.Failed.Words, o)
			}
		}
		if errors.Is(err, io.EOF) {
			return executed, told
		}
		if err != nil {
			return nil, err
		}
	}
}

func (n *Notebook) failure(cell int, kind, words string, o Options) error {
	e := &CellError{Words: words}
	if cell >= 0 && cell < len(n.Cells) {
		e.Cell, e.Source = n.codeCell(cell), string(n.Cells[cell].Source)
	}
	switch kind {
	case "slow":
		e.Words = fmt.Sprintf("it did not end within %v and was stopped; mend it, or allow it longer with --timeout", o.Timeout)
	case "dead":
		e.Words = "the kernel ended while it ran; see what is wrong with: thumbed kernel status"
	case "no kernel":
		e.Words = fmt.Sprintf("Jupyter knows no kernel named %q; run: thumbed kernel install", words)
	}
	return e
}
