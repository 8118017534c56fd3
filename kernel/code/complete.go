package code

import (
	"go/ast"
	"go/token"
	"go/types"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Complete lists what could stand for the word that ends at a place of a cell, in
// alphabetical order, and where that word begins; places are bytes. Names that begin
// as the word does come alone where there are any, then those that do so but for
// capitals.
func (n *Notebook) Complete(cell string, cursor int) (matches []string, start int) {
	start = wordBefore(cell, cursor)
	word := cell[start:cursor]
	n.mu.Lock()
	defer n.mu.Unlock()
	var all []string
	if quoted, from := inImport(cell, cursor); quoted {
		n.load()
		start, word = from, cell[from:cursor]
		all = slices.DeleteFunc(slices.Collect(maps.Keys(n.packages)), func(path string) bool {
			return strings.Contains(path, "internal") || strings.HasPrefix(path, "vendor/")
		})
	} else {
		all = n.names(cell, start, word)
	}
	slices.Sort(all)
	for _, starts := range []func(string) bool{
		func(name string) bool { return strings.HasPrefix(name, word) },
		func(name string) bool { return strings.HasPrefix(strings.ToLower(name), strings.ToLower(word)) },
	} {
		for _, name := range slices.Compact(all) {
			if starts(name) && name != "_" && name != blank {
				matches = append(matches, name)
			}
		}
		if len(matches) > 0 {
			break
		}
	}
	return matches, start
}

// blank stands for the word that is not yet there.
const blank = "thisword"

// names are all names that may stand at a place of a cell.
func (n *Notebook) names(cell string, start int, word string) []string {
	if word == "" {
		cell = cell[:start] + blank + cell[start:]
	}
	c := n.look(cell, start)
	if c == nil {
		return nil
	}
	path := c.pathTo(c.cursor)
	if len(path) == 0 {
		return nil
	}
	if _, isName := path[len(path)-1].(*ast.Ident); !isName {
		return nil // within a string, a comment, a number
	}
	if len(path) > 1 {
		switch parent := path[len(path)-2].(type) {
		case *ast.SelectorExpr:
			if parent.Sel.Pos() == c.cursor {
				return c.members(parent.X)
			}
		case *ast.KeyValueExpr:
			if literal, ok := path[max(0, len(path)-3)].(*ast.CompositeLit); ok && parent.Key.Pos() == c.cursor {
				if fields := c.fieldsOf(literal); fields != nil {
					return fields
				}
			}
		case *ast.CompositeLit:
			return append(c.fieldsOf(parent), c.inScope()...)
		}
	}
	return c.inScope()
}

// wordBefore is where the word begins that ends at the cursor.
func wordBefore(cell string, cursor int) int {
	for cursor > 0 {
		r, size := utf8.DecodeLastRuneInString(cell[:cursor])
		if r != '_' && !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			break
		}
		cursor -= size
	}
	return cursor
}

// inImport tells whether the cursor stands in the path of an import, and where that begins.
func inImport(cell string, cursor int) (is bool, from int) {
	parts, _ := split(cell)
	for _, p := range parts {
		if p.kind == imports && cursor >= p.from && cursor <= p.from+len(p.text) {
			line := cell[strings.LastIndexByte(cell[:cursor], '\n')+1 : cursor]
			if strings.Count(line, `"`) == 1 {
				return true, cursor - (len(line) - strings.IndexByte(line, '"') - 1)
			}
		}
	}
	return false, 0
}

// pathTo are the nodes of the cell that hold a place, the innermost last.
func (c *checked) pathTo(at token.Pos) []ast.Node {
	var path []ast.Node
	ast.Inspect(c.file, func(node ast.Node) bool {
		if node == nil || at < node.Pos() || at > node.End() {
			return false
		}
		// Of two nodes that touch at the place, the later one is meant, which begins there.
		for len(path) > 0 && path[len(path)-1].End() < node.End() {
			path = path[:len(path)-1]
		}
		for len(path) > 0 && node.Pos() >= path[len(path)-1].End() && node.End() > path[len(path)-1].End() {
			path = path[:len(path)-1]
		}
		path = append(path, node)
		return true
	})
	return path
}

// members are the names that may follow an expression and a dot.
func (c *checked) members(x ast.Expr) []string {
	if id, ok := x.(*ast.Ident); ok {
		if p, ok := c.info.Uses[id].(*types.PkgName); ok {
			return exported(p.Imported().Scope())
		}
	}
	t := c.info.Types[x].Type
	if t == nil {
		return nil
	}
	var names []string
	collect(t, 0, map[types.Type]bool{}, func(o types.Object) {
		if o.Exported() || o.Pkg() == c.pkg {
			names = append(names, o.Name())
		}
	})
	return names
}

func exported(scope *types.Scope) []string {
	return slices.DeleteFunc(scope.Names(), func(name string) bool { return !token.IsExported(name) })
}

// deepest is how far embedded fields are followed.
const deepest = 5

// collect tells the fields and methods of a type, embedded ones too.
func collect(t types.Type, depth int, seen map[types.Type]bool, tell func(types.Object)) {
	if seen[t] || depth > deepest {
		return
	}
	seen[t] = true
	inner := t
	if p, ok := t.Underlying().(*types.Pointer); ok {
		inner = p.Elem()
	}
	methods := types.NewMethodSet(inner)
	if !types.IsInterface(inner) {
		methods = types.NewMethodSet(types.NewPointer(inner))
	}
	for m := range methods.Methods() {
		tell(m.Obj())
	}
	if s, ok := inner.Underlying().(*types.Struct); ok {
		for f := range s.Fields() {
			tell(f)
			if f.Embedded() {
				collect(f.Type(), depth+1, seen, tell)
			}
		}
	}
}

// fieldsOf are the fields that a literal of a struct may name.
func (c *checked) fieldsOf(literal *ast.CompositeLit) []string {
	t := c.info.Types[literal].Type
	if t == nil {
		return nil
	}
	s, ok := t.Underlying().(*types.Struct)
	if !ok {
		return nil
	}
	var names []string
	for f := range s.Fields() {
		if f.Exported() || f.Pkg() == c.pkg {
			names = append(names, f.Name())
		}
	}
	return names
}

// inScope are the names that are known at the cursor, and Go's own words.
func (c *checked) inScope() []string {
	var names []string
	scope := c.pkg.Scope().Innermost(c.cursor)
	if scope == nil {
		scope = c.pkg.Scope()
	}
	for s := scope; s != nil; s = s.Parent() {
		local := s != types.Universe && s != c.pkg.Scope() && s.Parent() != c.pkg.Scope()
		for _, name := range s.Names() {
			if name != mainName && (!local || s.Lookup(name).Pos() < c.cursor) {
				names = append(names, name)
			}
		}
	}
	for tok := token.BREAK; tok <= token.VAR; tok++ {
		names = append(names, tok.String())
	}
	return names
}
