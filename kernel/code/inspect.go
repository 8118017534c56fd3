package code

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Inspect tells what a name in a cell stands for: how it is declared, and the
// comment that its source has for it. Meant is the name at the place, a byte, or the
// function in whose brackets the place is.
func (n *Notebook) Inspect(cell string, cursor int) (text string, found bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	c := n.look(cell, cursor)
	if c == nil {
		return "", false
	}
	name := c.meant()
	if name == nil {
		return "", false
	}
	o := c.info.Uses[name]
	if o == nil {
		o = c.info.Defs[name]
	}
	if o == nil {
		return "", false
	}
	return n.describe(c, o), true
}

// meant is the name that the cursor asks about; nil where there is none.
func (c *checked) meant() *ast.Ident {
	path := c.pathTo(c.cursor)
	for i := len(path) - 1; i >= 0; i-- {
		switch node := path[i].(type) {
		case *ast.Ident:
			return node
		case *ast.CallExpr:
			if c.cursor > node.Lparen {
				return nameOf(node.Fun)
			}
		case *ast.SelectorExpr:
			return node.Sel
		}
	}
	return nil
}

// nameOf is the name of what is called.
func nameOf(x ast.Expr) *ast.Ident {
	switch x := ast.Unparen(x).(type) {
	case *ast.Ident:
		return x
	case *ast.SelectorExpr:
		return x.Sel
	case *ast.IndexExpr:
		return nameOf(x.X)
	}
	return nil
}

// describe is an object's declaration and its comment; a variable's type follows it.
func (n *Notebook) describe(c *checked, o types.Object) string {
	if p, ok := o.(*types.PkgName); ok {
		return n.describePackage(p.Imported())
	}
	words := n.declaration(c, o)
	if words == "" {
		words = types.ObjectString(o, func(p *types.Package) string { return p.Name() })
	}
	if v, ok := o.(*types.Var); ok {
		if named := namedOf(v.Type()); named != nil && named.Obj().Pkg() != nil {
			words += "\n\n" + n.declaration(c, named.Obj())
		}
	}
	return strings.TrimSpace(words)
}

// namedOf is the named type of a value, behind pointers and in lists; nil where it has none.
func namedOf(t types.Type) *types.Named {
	switch t := types.Unalias(t).(type) {
	case *types.Named:
		return t
	case *types.Pointer:
		return namedOf(t.Elem())
	case *types.Slice:
		return namedOf(t.Elem())
	}
	return nil
}

// describePackage is a package's comment, and what it offers.
func (n *Notebook) describePackage(p *types.Package) string {
	words := fmt.Sprintf("package %s // import %q\n", p.Name(), p.Path())
	files, _ := filepath.Glob(filepath.Join(n.packages[p.Path()].Dir, "*.go")) // the pattern is a good one
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.PackageClauseOnly|parser.ParseComments)
		if err == nil && parsed.Doc != nil {
			words += "\n" + parsed.Doc.Text()
		}
	}
	return words + "\nIt has " + strings.Join(exported(p.Scope()), ", ") + "."
}

// declaration is an object's declaration as its source has it, with the comment
// after it; empty where the source cannot be found.
func (n *Notebook) declaration(c *checked, o types.Object) string {
	at := n.fset.Position(o.Pos())
	source, known := c.source[at.Filename]
	if !known && o.Pkg() != nil {
		data, err := os.ReadFile(filepath.Join(n.packages[o.Pkg().Path()].Dir, filepath.Base(at.Filename)))
		if err != nil {
			return ""
		}
		source = string(data)
	}
	fset := token.NewFileSet()
	file, _ := parser.ParseFile(fset, "", source, parser.ParseComments)
	if file == nil {
		return ""
	}
	var words string
	tell := func(name *ast.Ident, before string, node ast.Node, end token.Pos, comments ...*ast.CommentGroup) {
		if words != "" || name.Name != o.Name() || fset.Position(name.Pos()).Line != at.Line {
			return
		}
		end = min(end, file.FileEnd) // a declaration still being written may end beyond its file
		words = before + strings.TrimSpace(source[fset.Position(node.Pos()).Offset:fset.Position(end).Offset])
		if i := slices.IndexFunc(comments, func(g *ast.CommentGroup) bool { return g != nil }); i >= 0 {
			words += "\n\n" + strings.TrimSpace(comments[i].Text())
		}
	}
	var group *ast.GenDecl // that holds what is looked at
	ast.Inspect(file, func(node ast.Node) bool {
		switch d := node.(type) {
		case *ast.GenDecl:
			group = d
		case *ast.FuncDecl:
			// From the word func on, so that a method is told with its receiver.
			tell(d.Name, "", d.Type, d.Type.End(), d.Doc)
		case *ast.TypeSpec:
			tell(d.Name, "type ", d, d.End(), d.Doc, group.Doc)
		case *ast.ValueSpec:
			for _, name := range d.Names {
				tell(name, group.Tok.String()+" ", d, d.End(), d.Doc, d.Comment, group.Doc)
			}
		case *ast.Field:
			for _, name := range d.Names {
				tell(name, "", d, d.End(), d.Doc, d.Comment)
			}
		}
		return words == ""
	})
	return words
}
