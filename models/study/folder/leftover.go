package folder

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
)

// asideMark ends the name of a folder that waits for its successor, on systems
// where two folders cannot change places in one step.
const asideMark = "-before"

// freshName is the name of a folder being filled, without the digits at its
// end. It names the program, so that what a killed run leaves is known as ours.
func freshName(dir string) string { return "." + filepath.Base(dir) + ".thumbed-unfinished-" }

// Recover clears away what killed runs left beside dir: folders and files half
// filled go, and a good folder that was put aside and has no successor returns to
// its place. What another process is filling is held by it and stays. [Create],
// [Replace] and [WriteFile] do this too; it is for callers that first look at what
// is there.
func Recover(dir string) error {
	dir, err := placed(dir)
	if err != nil {
		return err
	}
	parent := filepath.Dir(dir)
	entries, err := os.ReadDir(parent)
	if err != nil {
		return nil // making the folder tells what is wrong, in its own words
	}
	left := regexp.MustCompile("^" + regexp.QuoteMeta(freshName(dir)) + "[0-9]+(" + asideMark + ")?$")
	for _, e := range entries {
		name := left.FindStringSubmatch(e.Name())
		if name == nil || !e.IsDir() && (!e.Type().IsRegular() || name[1] == asideMark) {
			continue
		}
		path := filepath.Join(parent, e.Name())
		release, err := hold(path)
		if err != nil {
			continue // somebody fills it now
		}
		err = clear(path, dir, name[1] == asideMark)
		release()
		if err != nil {
			return err
		}
	}
	return nil
}

// clear removes one folder or file that a killed run left. One that was put aside holds
// the last good results: where nothing has come in their place they return.
func clear(path, dir string, aside bool) error {
	if _, err := os.Lstat(dir); aside && errors.Is(err, os.ErrNotExist) {
		return os.Rename(path, dir)
	}
	return os.RemoveAll(path)
}
