package folder_test

import (
	"errors"
	"io"
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
	t.Run("in one step, where this system can", replaceKeepsTheOld)
	t.Run("in two steps", func(t *testing.T) {
		defer folder.WithoutExchange()()
		replaceKeepsTheOld(t)
	})
}

func replaceKeepsTheOld(t *testing.T) {
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

// leftovers puts beside it what killed runs leave: a folder half filled, and an
// old one put aside.
func leftovers(t *testing.T, parent string) (half, aside string) {
	t.Helper()
	half = filepath.Join(parent, ".it.thumbed-unfinished-123")
	aside = filepath.Join(parent, ".it.thumbed-unfinished-456-before")
	for dir, text := range map[string]string{half: "half", aside: "before"} {
		if err := os.Mkdir(dir, 0o700); err != nil {
			t.Fatal(err)
		}
		if err := one(text)(dir); err != nil {
			t.Fatal(err)
		}
	}
	return half, aside
}

func TestWhatAKilledRunLeftIsClearedAway(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "it")
	if err := folder.Create(dir, one("old")); err != nil {
		t.Fatal(err)
	}
	leftovers(t, parent)
	strangers := []string{".it.thumbed-unfinished-mine", ".that.thumbed-unfinished-123", ".it.new-123"}
	for _, name := range strangers {
		if err := os.Mkdir(filepath.Join(parent, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := folder.Replace(dir, one("new")); err != nil {
		t.Fatal(err)
	}
	if got := read(t, filepath.Join(dir, "one.txt")); got != "new" {
		t.Errorf("it holds %q", got)
	}
	only(t, parent, ".it.new-123", ".it.thumbed-unfinished-mine", ".that.thumbed-unfinished-123", "it")
}

// TestAGoodFolderPutAsideComesBack lets a run be killed between putting the old
// folder aside and putting the new one in its place: the next run, though it
// fails, brings the old one back.
func TestAGoodFolderPutAsideComesBack(t *testing.T) {
	parent := t.TempDir()
	leftovers(t, parent)
	dir := filepath.Join(parent, "it")
	if err := folder.Recover(dir); err != nil {
		t.Fatal(err)
	}
	if got := read(t, filepath.Join(dir, "one.txt")); got != "before" {
		t.Errorf("it holds %q", got)
	}
	only(t, parent, "it")
}

// TestTwoRunsAtOnceLeaveEachOtherAlone begins a second filling inside a first.
func TestTwoRunsAtOnceLeaveEachOtherAlone(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "it")
	if err := folder.Create(dir, one("old")); err != nil {
		t.Fatal(err)
	}
	err := folder.Replace(dir, func(fresh string) error {
		if err := one("first")(fresh); err != nil {
			return err
		}
		return folder.Replace(dir, one("second"))
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := read(t, filepath.Join(dir, "one.txt")); got != "first" {
		t.Errorf("it holds %q; want that of the filling that ended last", got)
	}
	only(t, parent, "it")
}

func TestWriteFileMakesAWholeFileOrNone(t *testing.T) {
	parent := t.TempDir()
	path := filepath.Join(parent, "it.zip")
	full := errors.New("no space left")
	err := folder.WriteFile(path, func(w io.Writer) error {
		only(t, parent, unfinished(t, parent))
		if _, err := w.Write([]byte("half")); err != nil {
			return err
		}
		return full
	})
	if !errors.Is(err, full) {
		t.Errorf("the error is %v; want that of the filling", err)
	}
	only(t, parent)
	whole := func(text string) func(io.Writer) error {
		return func(w io.Writer) error { _, err := w.Write([]byte(text)); return err }
	}
	if err := folder.WriteFile(path, whole("first")); err != nil {
		t.Fatal(err)
	}
	if err := folder.WriteFile(path, whole("second")); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("writing over a file gives %v", err)
	}
	if got := read(t, path); got != "first" {
		t.Errorf("the file holds %q", got)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o644 {
		t.Errorf("the file's mode is %v, error %v; want 0644", info.Mode(), err)
	}
	if err := folder.WriteFile(filepath.Join(parent, "none", "it.zip"), whole("")); err == nil || !strings.Contains(err.Error(), "make it first") {
		t.Errorf("a missing parent gives %v", err)
	}
	only(t, parent, "it.zip")
}

// unfinished is the name of the one thing in parent.
func unfinished(t *testing.T, parent string) string {
	t.Helper()
	entries, err := os.ReadDir(parent)
	if err != nil || len(entries) != 1 {
		t.Fatalf("the folder holds %v, error %v; want the file being filled", entries, err)
	}
	return entries[0].Name()
}

// TestAFileTakenMeanwhileStays puts a file at the place while ours is filled.
func TestAFileTakenMeanwhileStays(t *testing.T) {
	path := filepath.Join(t.TempDir(), "it.zip")
	err := folder.WriteFile(path, func(w io.Writer) error { return os.WriteFile(path, []byte("theirs"), 0o644) })
	if err == nil || read(t, path) != "theirs" {
		t.Errorf("error %v, and the file holds %q", err, read(t, path))
	}
	only(t, filepath.Dir(path), "it.zip")
}

func TestAFileThatAKilledRunLeftIsClearedAway(t *testing.T) {
	parent := t.TempDir()
	for _, name := range []string{".it.zip.thumbed-unfinished-123", ".it.zip.thumbed-unfinished-mine", ".it.zip.thumbed-unfinished-45-before"} {
		if err := os.WriteFile(filepath.Join(parent, name), []byte("half"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	err := folder.WriteFile(filepath.Join(parent, "it.zip"), func(w io.Writer) error {
		// A second run leaves alone what this one is filling.
		return folder.Recover(filepath.Join(parent, "it.zip"))
	})
	if err != nil {
		t.Fatal(err)
	}
	only(t, parent, ".it.zip.thumbed-unfinished-45-before", ".it.zip.thumbed-unfinished-mine", "it.zip")
}

// Two that begin where nothing stands yet: the one that ends last takes the other's place.
func TestTwoFirstRunsAtOnce(t *testing.T) {
	parent := t.TempDir()
	dir := filepath.Join(parent, "it")
	there := func() (bool, error) {
		_, err := os.Lstat(dir)
		return err == nil, nil
	}
	err := folder.CreateOrReplace(dir, there, func(fresh string) error {
		if err := one("first")(fresh); err != nil {
			return err
		}
		return folder.CreateOrReplace(dir, there, one("second"))
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := read(t, filepath.Join(dir, "one.txt")); got != "first" {
		t.Errorf("it holds %q; want that of the filling that ended last", got)
	}
	only(t, parent, "it")
	mine := errors.New("mine")
	if err := folder.CreateOrReplace(dir, func() (bool, error) { return false, mine }, one("third")); !errors.Is(err, mine) || read(t, filepath.Join(dir, "one.txt")) != "first" {
		t.Errorf("what must stay gives %v", err)
	}
	only(t, parent, "it")
}
