package code

import (
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"maps"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// A Package is what Go made of a package: the file of what it exports, and the
// folder of its source.
type Package struct{ Path, Export, Dir string }

// A Notebook knows what the cells of one notebook declared so far.
type Notebook struct {
	// list finds packages with all that they import.
	list func(paths ...string) ([]Package, error)

	mu       sync.Mutex
	loaded   bool // whether the preamble's packages are there
	packages map[string]Package
	missing  map[string]bool
	imports  map[string]string // names of packages and their paths
	declared []declared        // by cells that ran
	fset     *token.FileSet
	gc       types.Importer
}

// A declared is a declaration with the names that it declares.
type declared struct {
	text  string
	names []string
}

// any tells whether it declares one of these names.
func (d declared) any(names []string) bool {
	return slices.ContainsFunc(d.names, func(name string) bool { return slices.Contains(names, name) })
}

// New is a notebook of which no cell has run: its cells know the packages of these
// import paths by name. list finds packages by their paths, with all that they import.
func New(paths []string, list func(paths ...string) ([]Package, error)) *Notebook {
	n := &Notebook{list: list, packages: map[string]Package{}, missing: map[string]bool{}, imports: map[string]string{}, fset: token.NewFileSet()}
	for _, p := range paths {
		n.imports[path.Base(p)] = p
	}
	n.gc = importer.ForCompiler(n.fset, "gc", n.open)
	return n
}

// load finds the packages that every cell knows, when they are first asked for: where
// they are not compiled yet, that takes its time.
func (n *Notebook) load() {
	if !n.loaded {
		n.loaded = true
		n.find(slices.Sorted(maps.Values(n.imports))...)
	}
}

// find finds packages; what it cannot find is not known then, and no more than that.
func (n *Notebook) find(paths ...string) {
	found, _ := n.list(paths...)
	for _, p := range found {
		n.packages[p.Path] = p
	}
	for _, p := range paths {
		if n.packages[p].Export == "" {
			n.missing[p] = true
		}
	}
}

// open opens the file of what a package exports.
func (n *Notebook) open(path string) (io.ReadCloser, error) {
	if n.packages[path].Export == "" {
		return nil, fmt.Errorf("no package %s", path)
	}
	return os.Open(n.packages[path].Export)
}

// Import is how the type checker asks for a package.
func (n *Notebook) Import(path string) (*types.Package, error) {
	if path == "unsafe" {
		return types.Unsafe, nil
	}
	if n.packages[path].Export == "" && !n.missing[path] {
		n.find(path)
	}
	if n.missing[path] {
		return nil, errors.New("no package " + path)
	}
	return n.gc.Import(path)
}

// Ran tells that a cell ran: what it declared, later cells know. A later
// declaration of a name takes the place of an earlier one.
func (n *Notebook) Ran(cell string) {
	parts, ok := split(cell)
	if !ok {
		return
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	above, _, _ := halves(parts)
	for _, p := range above {
		switch p.kind {
		case imports:
			maps.Copy(n.imports, importsOf(p.text))
		case function, declaration:
			names := namesOf(p.text)
			n.declared = slices.DeleteFunc(n.declared, func(old declared) bool { return old.any(names) })
			n.declared = append(n.declared, declared{p.text, names})
		}
	}
}

// Forget forgets what cells declared: gonb has begun anew.
func (n *Notebook) Forget() {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.declared = nil
}

// importsOf are the packages that some Go imports, by name.
func importsOf(text string) map[string]string {
	out := map[string]string{}
	file, _ := parser.ParseFile(token.NewFileSet(), "", "package main\n"+text, parser.ImportsOnly) // what can be read of it
	if file == nil {
		return out
	}
	for _, spec := range file.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			continue
		}
		name := path.Base(p)
		if spec.Name != nil {
			name = spec.Name.Name
		}
		out[name] = p
	}
	return out
}

// namesOf are the names that a declaration declares; a method's has its receiver's before it.
func namesOf(text string) []string {
	file, _ := parser.ParseFile(token.NewFileSet(), "", "package main\n"+text, parser.SkipObjectResolution)
	if file == nil {
		return nil
	}
	var names []string
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			name := d.Name.Name
			if d.Recv != nil && len(d.Recv.List) > 0 {
				name = types.ExprString(d.Recv.List[0].Type) + "." + name
			}
			names = append(names, name)
		case *ast.GenDecl:
			for _, spec := range d.Specs {
				switch spec := spec.(type) {
				case *ast.TypeSpec:
					names = append(names, spec.Name.Name)
				case *ast.ValueSpec:
					for _, name := range spec.Names {
						names = append(names, name.Name)
					}
				}
			}
		}
	}
	return names
}

// A checked cell is what the type checker made of it, with what earlier cells declared.
type checked struct {
	fset   *token.FileSet
	files  []*ast.File
	file   *ast.File // of the cell, the last of them
	pkg    *types.Package
	info   *types.Info
	pieces []piece
	source map[string]string // of the files checked
	cursor token.Pos         // where the cursor stands
	broken bool              // whether the cell is no Go
}

// A piece is where a part of the cell stands in the file that is checked.
type piece struct{ inFile, inCell, length int }

// The names of the files that are checked.
const cellFile, earlierFile = "cell.go", "earlier.go"

// inCell is the place in the cell, as a byte, that stands at a place in the file; -1 where none does.
func (c *checked) inCell(pos token.Pos) int {
	at := c.fset.Position(pos).Offset
	for _, p := range c.pieces {
		if at >= p.inFile && at <= p.inFile+p.length {
			return p.inCell + at - p.inFile
		}
	}
	return -1
}

// mainName is the function that holds a cell's statements.
const mainName = "main"

// body are the cell's statements.
func (c *checked) body() []ast.Stmt {
	for _, d := range c.file.Decls {
		if f, ok := d.(*ast.FuncDecl); ok && f.Name.Name == mainName && f.Recv == nil && f.Body != nil {
			return f.Body.List
		}
	}
	return nil
}

// look is check of a cell with the cursor in it; nil where the cursor stands in no Go.
func (n *Notebook) look(cell string, cursor int) *checked {
	parts, ok := split(cell)
	if !ok {
		return nil
	}
	above, below, _ := halves(parts)
	if c := n.check(above, below, cursor); c.cursor.IsValid() {
		return c
	}
	return nil
}

// check has Go's type checker look at a cell, whose mistakes do not matter here.
// The cursor is a byte of the cell, or -1.
func (n *Notebook) check(above, below []part, cursor int) *checked {
	n.load()
	known := maps.Clone(n.imports)
	for _, p := range above {
		if p.kind == imports {
			maps.Copy(known, importsOf(p.text))
		}
	}
	c := n.parse(known, above, below, cursor)
	n.typed(c)
	// A package that no cell imports is imported for it, where there is but one of its name.
	more := false
	ast.Inspect(c.file, func(node ast.Node) bool {
		if sel, ok := node.(*ast.SelectorExpr); ok {
			if id, ok := sel.X.(*ast.Ident); ok && c.info.Uses[id] == nil && known[id.Name] == "" {
				if p := n.likely(id.Name); p != "" {
					known[id.Name], more = p, true
				}
			}
		}
		return true
	})
	if more {
		c = n.parse(known, above, below, cursor)
		n.typed(c)
	}
	return c
}

// likely is the package of this name that a cell would mean: Go's own, or ours.
func (n *Notebook) likely(name string) string {
	var found []string
	for p := range n.packages {
		if path.Base(p) == name && !strings.Contains(p, "internal") && !strings.HasPrefix(p, "vendor/") {
			found = append(found, p)
		}
	}
	slices.SortFunc(found, func(a, b string) int {
		if d := strings.Count(a, ".") - strings.Count(b, "."); d != 0 {
			return d
		}
		return len(a) - len(b)
	})
	if len(found) == 0 {
		return ""
	}
	return found[0]
}

// parse makes of a cell, and of what earlier ones declared, the files that are checked.
func (n *Notebook) parse(known map[string]string, above, below []part, cursor int) *checked {
	var head strings.Builder
	head.WriteString("package main\n")
	for _, name := range slices.Sorted(maps.Keys(known)) {
		fmt.Fprintf(&head, "import %s %q\n", name, known[name])
	}
	c := &checked{fset: n.fset, source: map[string]string{}, pkg: types.NewPackage("main", "main"), info: &types.Info{
		Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{},
		Selections: map[*ast.SelectorExpr]*types.Selection{}, Scopes: map[ast.Node]*types.Scope{}}}

	var names []string
	for _, p := range above {
		names = append(names, namesOf(p.text)...)
	}
	var earlier, own strings.Builder
	earlier.WriteString(head.String())
	for _, d := range n.declared {
		if !d.any(names) {
			earlier.WriteString(d.text + "\n")
		}
	}
	own.WriteString(head.String())
	cursorAt := -1
	write := func(parts []part) {
		for _, p := range parts {
			if p.kind == command || p.kind == marker || p.kind == imports {
				continue
			}
			c.pieces = append(c.pieces, piece{own.Len(), p.from, len(p.text)})
			if cursor >= p.from && cursor <= p.from+len(p.text) {
				cursorAt = own.Len() + cursor - p.from
			}
			own.WriteString(p.text + "\n")
		}
	}
	write(above)
	own.WriteString("func " + mainName + "() {\n")
	write(below)
	own.WriteString("}\n")
	c.source[earlierFile], c.source[cellFile] = earlier.String(), own.String()

	for _, name := range []string{earlierFile, cellFile} {
		file, err := parser.ParseFile(n.fset, name, c.source[name], parser.ParseComments|parser.AllErrors)
		c.files, c.broken = append(c.files, file), err != nil
	}
	c.file = c.files[1]
	if cursorAt >= 0 {
		c.cursor = n.fset.File(c.file.FileStart).Pos(cursorAt)
	}
	return c
}

// typed has the type checker look at the files.
func (n *Notebook) typed(c *checked) {
	config := types.Config{Importer: n, Error: func(error) {}}
	types.NewChecker(&config, n.fset, c.pkg, c.info).Files(c.files) // what is wrong, the compiler will tell
}
