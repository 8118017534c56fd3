package main

import (
	"go/ast"
	"go/build"
	"go/parser"
	"go/token"
	"go/types"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"testing"
)

// TestOtherSystemsLackNothing: on no system does a file name what none of its package's
// files for that system declare or import. It knows nothing of the packages imported, and
// takes seconds; make systems builds the program for each.
func TestOtherSystemsLackNothing(t *testing.T) {
	for _, room := range []string{"cmd", "kernel", "models"} {
		must(t, filepath.WalkDir(filepath.Join("../..", room), func(dir string, e fs.DirEntry, err error) error {
			switch {
			case err != nil || !e.IsDir():
				return err
			case e.Name() == "testdata":
				return fs.SkipDir
			}
			here := map[string]bool{} // what cannot be told without the packages imported
			for _, said := range undefined(dir, "linux") {
				here[said] = true
			}
			for _, system := range []string{"windows", "darwin"} {
				for _, said := range undefined(dir, system) {
					if !here[said] {
						t.Errorf("%s: %s", system, said)
					}
				}
			}
			return nil
		}))
	}
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, "id_windows.go"), []byte("package id\n\nfunc id() int { return os.Getpid() }\n"), 0o644))
	if len(undefined(dir, "windows")) != 1 {
		t.Error("a file for Windows that uses a package without an import passes")
	}
}

// undefined are the names that the files of a package for one system use and do not have.
func undefined(dir, system string) (said []string) {
	context := build.Default
	context.GOOS, context.CgoEnabled = system, false
	listed, err := context.ImportDir(dir, 0)
	if err != nil {
		return nil // no package, or none there
	}
	set := token.NewFileSet()
	var files []*ast.File
	for _, name := range listed.GoFiles {
		file, err := parser.ParseFile(set, filepath.Join(dir, name), nil, parser.SkipObjectResolution)
		if err != nil {
			return []string{err.Error()}
		}
		files = append(files, file)
	}
	config := types.Config{Importer: unknown{}, Error: func(err error) {
		if e, ok := err.(types.Error); ok && strings.HasPrefix(e.Msg, "undefined: ") && !strings.Contains(e.Msg, ".") {
			said = append(said, set.Position(e.Pos).Filename+": "+e.Msg)
		}
	}}
	_, _ = config.Check(dir, set, files, nil)
	return said
}

// unknown imports packages of which nothing is known but the name.
type unknown struct{}

func (unknown) Import(name string) (*types.Package, error) {
	p := types.NewPackage(name, path.Base(name))
	p.MarkComplete()
	return p, nil
}
