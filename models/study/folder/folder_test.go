package folder_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/folder"
)

func one(text string) func(string) error {
	return func(fresh string) error {
		return os.WriteFile(filepath.Join(fresh, "one.txt"), []byte(text), 0o644)
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// only fails where parent holds anything but the names given.
func only(t *testing.T, parent string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(parent)
	if err != nil {
		t.Fatal(err)
	}
	var found []string
	for _, e := range entries {
		found = append(found, e.Name())
	}
	if strings.Join(found, " ") != strings.Join(names, " ") {
		t.Errorf("the folder holds %q; want %q", found, names)
	}
}

func TestCreateMakesAWholeFolder(t *testing.T) {
	parent := t.TempDir()
	if err := folder.Create(filepath.Join(parent, "new"), one("new")); err != nil {
		t.Fatal(err)
	}
	if got := read(t, filepath.Join(parent, "new", "one.txt")); got != "new" {
		t.Errorf("one.txt holds %q", got)
	}
	info, err := os.Stat(filepath.Join(parent, "new"))
	if err != nil || info.Mode().Perm() != 0o755 {
		t.Errorf("the folder's mode is %v, error %v; want 0755", info.Mode(), err)
	}
	only(t, parent, "new")
}

func TestCreateRefusesWhatIsThere(t *testing.T) {
	for name, place := range map[string]func(path string) error{
		"a file":         func(path string) error { return os.WriteFile(path, []byte("mine"), 0o644) },
		"a folder":       func(path string) error { return os.Mkdir(path, 0o755) },
		"a link":         func(path string) error { return os.Symlink(os.TempDir(), path) },
		"a broken link":  func(path string) error { return os.Symlink("/nowhere/at/all", path) },
		"a link to self": func(path string) error { return os.Symlink(filepath.Base(path), path) },
	} {
		t.Run(name, func(t *testing.T) {
			parent := t.TempDir()
			dir := filepath.Join(parent, "there")
			if err := place(dir); err != nil {
				t.Fatal(err)
			}
			called := false
			err := folder.Create(dir, func(string) error { called = true; return nil })
			if err == nil || called {
				t.Errorf("error %v, filled %v; want an error before anything is made", err, called)
			}
			only(t, parent, "there")
		})
	}
}

func TestCreateWantsTheFolderAround(t *testing.T) {
	parent := t.TempDir()
	if err := folder.Create(filepath.Join(parent, "none", "new"), one("")); err == nil || !strings.Contains(err.Error(), "make it first") {
		t.Errorf("a missing parent gives %v", err)
	}
	if err := os.WriteFile(filepath.Join(parent, "file"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := folder.Create(filepath.Join(parent, "file", "new"), one("")); err == nil {
		t.Error("a file as parent gives no error")
	}
	only(t, parent, "file")
}

func TestAFailureLeavesNothingNew(t *testing.T) {
	parent := t.TempDir()
	full := errors.New("no space left")
	err := folder.Create(filepath.Join(parent, "new"), func(fresh string) error {
		if err := one("half")(fresh); err != nil {
			return err
		}
		return full
	})
	if !errors.Is(err, full) {
		t.Errorf("the error is %v; want that of the filling", err)
	}
	only(t, parent)
}

func TestReplaceKeepsTheOldUntilTheNewIsWhole(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "it")
	if err := folder.Create(dir, one("old")); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken")
	err := folder.Replace(dir, func(fresh string) error {
		if got := read(t, filepath.Join(dir, "one.txt")); got != "old" {
			t.Errorf("while the new is made the old holds %q", got)
		}
		return broken
	})
	if !errors.Is(err, broken) {
		t.Errorf("the error is %v; want that of the filling", err)
	}
	if got := read(t, filepath.Join(dir, "one.txt")); got != "old" {
		t.Errorf("after a failure it holds %q", got)
	}
	if err := folder.Replace(dir, one("new")); err != nil {
		t.Fatal(err)
	}
	if got := read(t, filepath.Join(dir, "one.txt")); got != "new" {
		t.Errorf("after success it holds %q", got)
	}
	only(t, parent, "it")
}
