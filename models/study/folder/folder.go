// Package folder answers: how does a folder of results appear whole or not at
// all, and what was there before stay until then?
//
// A new folder is filled under another name beside the place where it belongs,
// and moved there when it is complete.
package folder

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// CheckFree tells whether a new folder can be made at dir: nothing stands there
// yet, not even a broken link, and the folder around it is there.
func CheckFree(dir string) error {
	dir, err := placed(dir)
	if err != nil {
		return err
	}
	switch _, err := os.Lstat(dir); {
	case err == nil:
		return fmt.Errorf("%s is there already; nothing was changed: give the name of a new folder", dir)
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("the place for the folder cannot be looked at: %w", err)
	}
	return checkParent(filepath.Dir(dir))
}

// Create makes dir with what fill puts into the folder that it is given. dir
// must not be there yet.
func Create(dir string, fill func(fresh string) error) error {
	if err := CheckFree(dir); err != nil {
		return err
	}
	return build(dir, fill, func(fresh, dir string) error { return os.Rename(fresh, dir) })
}

// CreateOrReplace makes dir with what fill puts into the folder that it is given, in
// the place of the folder that is there, if one is: there tells whether one is, which
// must be a real folder and not a link, and its error that it must stay. Of two at once,
// the one that ends last takes the other's place.
//
// The old folder is kept until the new one is complete, and stays where that fails.
// Where the system can (Linux, macOS), the two change places in one step, so that there
// is no moment without the one or the other. Elsewhere the old one is put aside first:
// whoever looks in that moment finds none, and where the program is killed in it,
// [Recover] brings the old one back.
func CreateOrReplace(dir string, there func() (bool, error), fill func(fresh string) error) error {
	return build(dir, fill, func(fresh, dir string) error {
		for again := false; ; again = true {
			is, err := there()
			if err != nil {
				return err
			}
			if is {
				return replace(fresh, dir)
			}
			if err = os.Rename(fresh, dir); err == nil || again {
				return err
			} // it came between the look and the renaming
		}
	})
}

// replace puts the folder fresh in the place of dir.
func replace(fresh, dir string) error {
	if err := exchange(fresh, dir); !errors.Is(err, errors.ErrUnsupported) {
		return err // what was there now bears the fresh folder's name, and goes with it
	}
	aside := fresh + asideMark
	if err := os.Rename(dir, aside); err != nil {
		return fmt.Errorf("%w (is a file of it open in another program?)", err)
	}
	if err := os.Rename(fresh, dir); err != nil {
		return errors.Join(err, os.Rename(aside, dir))
	}
	return os.RemoveAll(aside)
}

// build fills a new folder beside dir and lets put move it to its place.
func build(dir string, fill func(string) error, put func(fresh, dir string) error) (err error) {
	dir, err = placed(dir)
	if err != nil {
		return err
	}
	if err := Recover(dir); err != nil {
		return err
	}
	fresh, err := os.MkdirTemp(filepath.Dir(dir), freshName(dir))
	if err != nil {
		return closed(filepath.Dir(dir), err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(fresh)) }()
	release, err := hold(fresh)
	if err != nil {
		return fmt.Errorf("the folder %s cannot be held while it is filled: %w", fresh, err)
	}
	defer release()
	if err := fill(fresh); err != nil {
		return fmt.Errorf("%s was not written; all is as it was: %w", dir, err)
	}
	if err := os.Chmod(fresh, 0o755); err != nil {
		return err
	}
	if err := put(fresh, dir); err != nil {
		return fmt.Errorf("%s is made but could not be put in its place: %w", dir, err)
	}
	return nil
}

// placed gives a path whose last part is the folder's own name.
func placed(dir string) (string, error) {
	dir = filepath.Clean(dir)
	switch filepath.Base(dir) {
	case ".", "..":
		return filepath.Abs(dir)
	}
	return dir, nil
}

// CheckOpen tells whether something can be made in the folder around dir: a
// folder that is closed, or on a disk that cannot be written to, is better known
// before long work than after it. It makes a folder there and takes it away.
func CheckOpen(dir string) error {
	dir, err := placed(dir)
	if err != nil {
		return err
	}
	parent := filepath.Dir(dir)
	tried, err := os.MkdirTemp(parent, freshName(dir))
	if err != nil {
		return closed(parent, err)
	}
	return os.Remove(tried)
}

// closed is the error of a folder in which nothing can be made.
func closed(parent string, err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		err = at.Err
	}
	return fmt.Errorf("nothing can be written into the folder %s (the system says: %w): give another place", parent, err)
}

func checkParent(parent string) error {
	info, err := os.Stat(parent)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("there is no folder %s to put a new one in: make it first, or give another place", parent)
	case err != nil:
		return fmt.Errorf("the folder %s cannot be looked at: %w", parent, err)
	case !info.IsDir():
		return fmt.Errorf("%s is a file, so no folder can be made in it: give another place", parent)
	}
	return nil
}
