//go:build unix

package main

import (
	"maps"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestTablesOfAnyPath names tables by all kinds of paths. To read a table from
// elsewhere is a scholar's right, since one table of instruments may serve many
// studies; what is no table is refused by its path, whatever it is, and soon.
func TestTablesOfAnyPath(t *testing.T) {
	around := t.TempDir()
	dir := filepath.Join(around, "study")
	must(t, os.Mkdir(dir, 0o755))
	for name, text := range small() {
		must(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
	}
	at := func(name string) string { return filepath.Join(dir, name) }
	must(t, os.WriteFile(filepath.Join(around, "shared.csv"), []byte(small()["leaves.csv"]), 0o644))
	must(t, syscall.Mkfifo(at("pipe"), 0o644))
	must(t, os.Symlink("circle", at("circle")))
	must(t, os.Symlink("/dev/zero", at("endless")))
	must(t, os.Symlink("../shared.csv", at("linked")))
	must(t, os.Mkdir(at("folder"), 0o755))
	for _, c := range []struct {
		path string
		code int
		want string // on standard error
	}{
		{"../shared.csv", exitDone, ""},
		{filepath.Join(around, "shared.csv"), exitDone, ""},
		{"linked", exitDone, ""},
		{"../../../../../../../../../../etc/passwd", exitNo, "/etc/passwd, line 1"},
		{"/etc/passwd", exitNo, "/etc/passwd, line 1"},
		{"/dev/zero", exitNo, "/dev/zero: found \"zero\"; expected a file that can be read; check its name and permissions (the system says: not a regular file)."},
		{"endless", exitNo, "not a regular file"},
		{"pipe", exitNo, "not a regular file"},
		{"circle", exitNo, "too many levels"},
		{"folder", exitNo, "not a regular file"},
		{".", exitNo, "not a regular file"},
		{"none.csv", exitNo, "no such file"},
		{"leaves.csv\\u0000x", exitNo, "study.toml, line 4: found \"U+0000\"; expected text without control characters"},
		{strings.Repeat("x", 5000), exitNo, "file name too long"},
	} {
		f := small()
		f.swap(t, "study.toml", `leaves = "leaves.csv"`, `leaves = "`+c.path+`"`)
		must(t, os.WriteFile(at("study.toml"), []byte(f["study.toml"]), 0o644))
		before := tree(t, around)
		for _, verb := range []string{"check", "run"} {
			args := []string{verb, dir}
			if verb == "run" && c.code == exitDone {
				args = append(args, "--out", filepath.Join(t.TempDir(), "results"))
			}
			code, _, stderr := bounded(t, args...)
			if code != c.code || !strings.Contains(stderr, c.want) {
				t.Errorf("%s with leaves in %.60s ends with %d: %.300s", verb, c.path, code, stderr)
			}
		}
		if !maps.Equal(tree(t, around), before) {
			t.Errorf("with leaves in %.60s something was touched", c.path)
		}
	}
}

// TestFilesThatNeverEnd gives every verb a pipe, a device and a folder where it
// expects a file.
func TestFilesThatNeverEnd(t *testing.T) {
	dir := small().write(t)
	at := func(name string) string { return filepath.Join(dir, name) }
	must(t, syscall.Mkfifo(at("pipe"), 0o644))
	must(t, os.WriteFile(at("model.toml"), []byte("outcome = \"wear\"\nfixed = []\n"), 0o644))
	out := at("out")
	for _, path := range []string{at("pipe"), "/dev/zero", "/dev/stdin", dir} {
		for _, args := range [][]string{
			{"check", path}, {"run", path, "--out", out}, {"rerun", path}, {"seal", path}, {"plan", path, "--out", out}, {"corpus", path, "--out", out},
			{"gather", path, "--out", out}, {"fit", path, "--data", at("readings.csv")}, {"fit", at("model.toml"), "--data", path}, {"changes", path, "--column", "wear"},
			{"import", "tei", path, "--out", out}, {"import", "iiif", path, "--out", out}, {"import", "sheet", path, "--out", out}, {"import", "sheet", at("books.csv"), "--words", path, "--out", out},
			{"notebook", "run", path},
		} {
			if path == dir && (args[0] == "check" || args[0] == "run" || args[0] == "seal") {
				continue // a folder is what these want
			}
			if code, stdout, _ := bounded(t, args...); code != exitNo || stdout != "" {
				t.Errorf("%v ends with %d: %s", args, code, stdout)
			}
		}
	}
	if _, err := os.Lstat(out); err == nil {
		t.Error("something was written")
	}
	for _, name := range []string{"seal.json", "results/record.json"} { // files that nobody names
		must(t, os.MkdirAll(filepath.Dir(at(name)), 0o755))
		must(t, syscall.Mkfifo(at(name), 0o644))
		if code, _, stderr := bounded(t, "run", dir); code != exitNo {
			t.Errorf("with a pipe for %s it ends with %d: %s", name, code, stderr)
		}
		must(t, os.Remove(at(name)))
	}
}

// TestNamesThatArePaths gives books, sections, sets of hours, models and
// questions names that are paths: everything that a run writes is in its folder.
func TestNamesThatArePaths(t *testing.T) {
	names := []string{"../../../up", "/tmp/root", "..", ".", "~", `..\\up`, "a/b", "con", "x.csv/../y", "${HOME}", "$(id)", "-rf",
		"<script>alert(1)</script>", strings.Repeat("long ", 200), "a\u200fb", "%2e%2e%2f"}
	for ; len(names) > 0; names = names[4:] {
		book, set, section, model := names[0], names[1], names[2], names[3]
		f := small()
		f["study.toml"] = strings.NewReplacer(`"pictures"`, `"`+model+`"`, "Two small books", book, "Do pictures attract handling?", section+"?").Replace(f["study.toml"])
		for _, file := range []string{"books.csv", "leaves.csv", "pages.csv", "sections.csv", "readings.csv"} {
			f[file] = strings.NewReplacer("Ant,", book+",", "of the Virgin", set, "Prayer", section).Replace(f[file])
		}
		around := t.TempDir()
		dir := filepath.Join(around, "study")
		must(t, os.Mkdir(dir, 0o755))
		for file, text := range f {
			must(t, os.WriteFile(filepath.Join(dir, file), []byte(text), 0o644))
		}
		before := tree(t, around)
		code, _, stderr := bounded(t, "run", dir)
		if code != exitDone {
			t.Errorf("%.40q …: ends with %d: %.500s", names, code, stderr)
			continue
		}
		after := tree(t, around)
		for path := range after {
			if strings.HasPrefix(path, filepath.Join("study", "results")) {
				delete(after, path)
			}
		}
		if !maps.Equal(after, before) {
			t.Errorf("%.40q …: something outside the results was touched", names)
		}
		page, err := os.ReadFile(filepath.Join(dir, "results", "index.html"))
		must(t, err)
		if strings.Contains(string(page), "<script>alert") {
			t.Error("a name stands on the page as it is")
		}
	}
}
