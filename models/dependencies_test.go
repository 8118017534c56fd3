package models_test

import (
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/mod/modfile"
)

// anyRoom stands beside a module that every room may import.
const anyRoom = "any"

// tests are where a module is used that the program itself is not made of.
const tests = "tests"

// TestDependenciesAreListed holds the table of DEVELOPERS.md true: it lists
// every module that the project imports, or that go.mod names as a tool, with a
// reason, and with exactly the rooms that import it.
func TestDependenciesAreListed(t *testing.T) {
	text, err := os.ReadFile("../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	mod, err := modfile.Parse("go.mod", text, nil)
	if err != nil {
		t.Fatal(err)
	}
	used := map[string][]string{}
	for _, r := range mod.Require {
		used[r.Mod.Path] = nil
	}
	for _, tool := range mod.Tool {
		for _, r := range mod.Require {
			if tool.Path == r.Mod.Path || strings.HasPrefix(tool.Path, r.Mod.Path+"/") {
				used[r.Mod.Path] = append(used[r.Mod.Path], "tool")
			}
		}
	}
	for _, pkg := range packages(t) {
		name := roomName(pkg.ImportPath)
		if strings.HasSuffix(pkg.ImportPath, "test") {
			name = tests
		}
		note(used, pkg.Imports, name)
		note(used, slices.Concat(pkg.TestImports, pkg.XTestImports), tests)
	}
	listed := listedDependencies(t)
	for path, by := range used {
		if len(by) > 1 { // whoever needs it may test with it
			by = slices.DeleteFunc(by, func(name string) bool { return name == tests })
		}
		if slices.Equal(listed[path], []string{anyRoom}) {
			by = listed[path]
		}
		slices.Sort(by)
		used[path] = by
	}
	maps.DeleteFunc(used, func(_ string, by []string) bool { return by == nil }) // what others need
	if diff := cmp.Diff(used, listed); diff != "" {
		t.Errorf("DEVELOPERS.md, “Dependencies”, does not say what go.mod and the imports say (+ is what stands there):\n%s", diff)
	}
}

// note enters a room beside each module that it imports.
func note(used map[string][]string, imports []string, name string) {
	for _, imported := range imports {
		module := ""
		for path := range used {
			if (imported == path || strings.HasPrefix(imported, path+"/")) && len(path) > len(module) {
				module = path
			}
		}
		if module != "" && !slices.Contains(used[module], name) {
			used[module] = append(used[module], name)
		}
	}
}

// roomName is how DEVELOPERS.md calls the room of a package.
func roomName(path string) string {
	if at := room(path); at >= 0 {
		return strings.TrimPrefix(strings.TrimPrefix(rooms[at], "thumbed/"), "models/")
	}
	return tests
}

var reDependency = regexp.MustCompile("^\\| `([^`]+)` \\| ([^|]+) \\| ([^|]+) \\|$")

// listedDependencies are the rooms beside each module in DEVELOPERS.md.
func listedDependencies(t *testing.T) map[string][]string {
	t.Helper()
	text, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, found := strings.Cut(string(text), "\n## Dependencies\n")
	if !found {
		t.Fatal("DEVELOPERS.md has no section “Dependencies”")
	}
	section, _, _ = strings.Cut(section, "\n## ")
	out := map[string][]string{}
	for line := range strings.Lines(section) {
		row := reDependency.FindStringSubmatch(strings.TrimSpace(line))
		if row == nil {
			continue
		}
		if len(strings.Fields(row[3])) < 4 {
			t.Errorf("why %s is there is not said", row[1])
		}
		rooms := strings.Split(row[2], ", ")
		slices.Sort(rooms)
		out[row[1]] = rooms
	}
	return out
}
