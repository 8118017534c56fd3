package headless

import (
	"encoding/json"
	"fmt"
	"strings"
)

// A Notebook is what is read of an .ipynb file (nbformat 4,
// https://nbformat.readthedocs.io/en/latest/format_description.html).
type Notebook struct {
	Cells    []Cell `json:"cells"`
	Format   int    `json:"nbformat"`
	Metadata struct {
		Kernel struct {
			Name string `json:"name"`
		} `json:"kernelspec"`
	} `json:"metadata"`
}

// A Cell is one cell of a notebook.
type Cell struct {
	Type    string   `json:"cell_type"`
	Source  Lines    `json:"source"`
	Outputs []Output `json:"outputs"`
}

// An Output is one thing that a cell shows.
type Output struct {
	Type string                     `json:"output_type"`
	Text Lines                      `json:"text"` // of a stream
	Data map[string]json.RawMessage `json:"data"` // of all else, by media type
}

// Lines is text that the format writes as one string or as a list of lines.
type Lines string

// UnmarshalJSON reads either form.
func (l *Lines) UnmarshalJSON(data []byte) error {
	var one string
	if json.Unmarshal(data, &one) == nil {
		*l = Lines(one)
		return nil
	}
	var many []string
	if err := json.Unmarshal(data, &many); err != nil {
		return err
	}
	*l = Lines(strings.Join(many, ""))
	return nil
}

// Parse reads an .ipynb file. Its error says what to do.
func Parse(data []byte) (*Notebook, error) {
	var n Notebook
	if err := json.Unmarshal(data, &n); err != nil {
		return nil, fmt.Errorf("this is not a notebook (%w): give an .ipynb file that Jupyter saved", err)
	}
	if n.Format != 4 {
		return nil, fmt.Errorf("this is not a notebook of format 4 but %d: open it in Jupyter and save it anew", n.Format)
	}
	return &n, nil
}

// codeCell is the number of a cell among the code cells, from 1.
func (n *Notebook) codeCell(index int) int {
	count := 0
	for _, c := range n.Cells[:index+1] {
		if c.Type == "code" {
			count++
		}
	}
	return count
}

func (n *Notebook) codeCells() int {
	if len(n.Cells) == 0 {
		return 0
	}
	return n.codeCell(len(n.Cells) - 1)
}

// Shown tells whether any cell of the notebook shows something: a notebook
// that was never run has nothing to be compared with.
func (n *Notebook) Shown() bool {
	for _, c := range n.Cells {
		if len(c.Outputs) > 0 {
			return true
		}
	}
	return false
}

// Said is all that the cells of a notebook print, without its last line end.
func Said(notebook []byte) (string, error) {
	n, err := Parse(notebook)
	if err != nil {
		return "", err
	}
	var said strings.Builder
	for _, c := range n.Cells {
		for _, o := range c.Outputs {
			said.WriteString(string(o.Text))
		}
	}
	return strings.TrimSuffix(said.String(), "\n"), nil
}
