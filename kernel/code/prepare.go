package code

import (
	"go/ast"
	"go/types"
	"slices"
	"strings"
)

// Prepared is a cell as gonb is given it.
type Prepared struct {
	Code  string
	Lines []int  // of each line of Code, the line of the cell that it stands for; from 0
	Asks  string // why the cell cannot run: it would wait for somebody to type; empty where it can
}

// Line is the line of the cell, from 1, that stands at a line of the prepared code,
// from 1.
func (p Prepared) Line(line int) int {
	if line < 1 || line > len(p.Lines) {
		return line
	}
	return p.Lines[line-1] + 1
}

// Prepare puts the mark %% before a cell's statements where the cell has none, and
// shows the value at its end.
func (n *Notebook) Prepare(cell string) Prepared {
	as := Prepared{Code: cell}
	for i := range strings.Count(cell, "\n") + 1 {
		as.Lines = append(as.Lines, i)
	}
	parts, ok := split(cell)
	if !ok || strings.TrimSpace(cell) == "" {
		return as
	}
	above, below, marked := halves(parts)
	n.mu.Lock()
	defer n.mu.Unlock()
	c := n.parse(n.imports, above, below, -1)
	if !slices.ContainsFunc(parts, func(p part) bool { return p.kind == command && strings.HasPrefix(p.text, "%with_") }) {
		as.Asks = c.asks() // else gonb was told to ask the scholar
	}
	if !slices.ContainsFunc(below, func(p part) bool { return p.kind == statement }) {
		return as
	}
	if last := c.last(); last != nil && !shows(last) {
		below = n.check(above, below, -1).shown(below)
	}
	between := part{kind: marker, text: "%%\n", line: below[0].line}
	if marked {
		between = parts[len(above)]
	}
	var b strings.Builder
	as.Lines = nil
	for _, p := range slices.Concat(above, []part{between}, below) {
		text := p.text
		if !strings.HasSuffix(text, "\n") {
			text += "\n"
		}
		b.WriteString(text)
		for i := range strings.Count(text, "\n") {
			as.Lines = append(as.Lines, p.line+i)
		}
	}
	as.Code = strings.TrimSuffix(b.String(), "\n")
	return as
}

// last is the expression at the end of the cell's statements; nil where there is none.
func (c *checked) last() ast.Expr {
	body := c.body()
	if c.broken || len(body) == 0 {
		return nil
	}
	if statement, ok := body[len(body)-1].(*ast.ExprStmt); ok {
		return statement.X
	}
	return nil
}

// shows tells whether an expression is known to show something itself.
func shows(x ast.Expr) bool {
	call, ok := ast.Unparen(x).(*ast.CallExpr)
	if !ok {
		return false
	}
	name := types.ExprString(call.Fun)
	return strings.HasPrefix(name, "kernel.S") || strings.HasPrefix(name, "fmt.Print") || strings.HasPrefix(name, "fmt.Fprint")
}

// shown makes of the value at the end of the statements the showing of it: of a
// value and an error only where there is no error, and an error alone ends the cell.
// A count and an error, as what writes gives, is no value that is meant.
func (c *checked) shown(below []part) []part {
	last := c.last()
	before, after := "kernel.Show(", ")"
	switch v := c.info.Types[last]; t := v.Type.(type) {
	case nil:
		if _, call := ast.Unparen(last).(*ast.CallExpr); call {
			return below
		}
	case *types.Tuple:
		if t.Len() != 2 || !isError(t.At(1).Type()) || types.Identical(t.At(0).Type(), types.Typ[types.Int]) {
			return below
		}
		before, after = "kernel.Show(kernel.Must(", "))"
	default:
		switch {
		case !v.IsValue() || v.IsNil() || isReceive(last):
			return below
		case isError(t):
			before = "kernel.Check("
		}
	}
	from, to := c.inCell(last.Pos()), c.inCell(last.End())
	for i, p := range below {
		if from >= p.from && to <= p.from+len(p.text) && p.kind == statement {
			below = slices.Clone(below)
			at, end := from-p.from, to-p.from
			below[i].text = p.text[:at] + before + p.text[at:end] + after + p.text[end:]
		}
	}
	return below
}

func isError(t types.Type) bool { return types.Identical(t, types.Universe.Lookup("error").Type()) }

func isReceive(x ast.Expr) bool {
	u, ok := ast.Unparen(x).(*ast.UnaryExpr)
	return ok && u.Op.String() == "<-"
}

// asking are what reads what somebody types.
var asking = []string{"fmt.Scan", "fmt.Scanf", "fmt.Scanln", "os.Stdin"}

// asks says where the cell would wait for somebody to type; empty where it nowhere does.
func (c *checked) asks() string {
	var words string
	ast.Inspect(c.file, func(node ast.Node) bool {
		if sel, ok := node.(*ast.SelectorExpr); ok && slices.Contains(asking, types.ExprString(sel)) {
			words = types.ExprString(sel) + " reads what somebody types, and a cell has nobody who does: write the value into the cell, or read a file, as by os.ReadFile."
		}
		return words == ""
	})
	return words
}
