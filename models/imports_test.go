// Package models holds the rooms of the project and the test that imports
// between them run one way only: readings → wear → models → answers → chapter.
package models_test

import (
	"bytes"
	"encoding/json"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// rooms are the project's packages from the lowest to the highest. A package
// belongs to the room with the longest matching name, and may import its own
// room and lower ones only.
var rooms = []string{
	"thumbed/models/wording",
	"thumbed/models/student",
	"thumbed/models/table",
	"thumbed/models/codex",
	"thumbed/models/readings",
	"thumbed/models/sparse",
	"thumbed/models/mixed",
	"thumbed/models/generalised",
	"thumbed/models/traces",
	"thumbed/models/outcome",
	"thumbed/models/profile",
	"thumbed/models/dropoff",
	"thumbed/models/hypotheses",
	"thumbed/models/report",
	"thumbed/models/study",
	"thumbed/kernel",
	"thumbed/notebooks",
	"thumbed/cmd",
}

// edges are outside packages that only the rooms named may import, so that a
// choice of library stays where it was made.
var edges = map[string][]string{
	"github.com/pelletier/go-toml": {"thumbed/models/table"},
	"github.com/kniren/gota":       {"thumbed/models/table", "thumbed/kernel", "thumbed/notebooks"},
	"gonum.org/v1/plot":            {"thumbed/models/report", "thumbed/kernel"},
	"github.com/spf13/cobra":       {"thumbed/cmd"},
}

type listed struct {
	ImportPath                         string
	Imports, TestImports, XTestImports []string
}

func TestImportsRunDownward(t *testing.T) {
	all := packages(t)
	for _, pkg := range all {
		from := room(pkg.ImportPath)
		if from < 0 {
			if pkg.ImportPath != "thumbed/models" {
				t.Errorf("%s stands in no room", pkg.ImportPath)
			}
			continue
		}
		for _, imported := range slices.Concat(pkg.Imports, pkg.TestImports, pkg.XTestImports) {
			if to := room(imported); to > from {
				t.Errorf("%s imports %s, which stands above it", pkg.ImportPath, imported)
			}
			for outside, allowed := range edges {
				if strings.HasPrefix(imported, outside) && !slices.Contains(allowed, rooms[from]) {
					t.Errorf("%s imports %s; only %s may", pkg.ImportPath, imported, strings.Join(allowed, " and "))
				}
			}
		}
	}
	if len(all) < len(rooms)-2 {
		t.Errorf("only %d packages were listed; are the rooms named right?", len(all))
	}
}

// packages are all of the project's, with what they import.
func packages(t *testing.T) (all []listed) {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports,TestImports,XTestImports", "thumbed/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	decoder := json.NewDecoder(bytes.NewReader(out))
	for {
		var pkg listed
		if err := decoder.Decode(&pkg); err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, pkg)
	}
}

// room is the index in rooms of the room that holds a package; −1 where none.
func room(path string) int {
	return slices.IndexFunc(rooms, func(name string) bool {
		return path == name || strings.HasPrefix(path, name+"/")
	})
}
