package folder

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile writes a new file at path with what fill writes, whole or not at all.
// Nothing may stand at path yet, and the folder around it must be there.
func WriteFile(path string, fill func(w io.Writer) error) error {
	path = filepath.Clean(path)
	switch _, err := os.Lstat(path); {
	case err == nil:
		return fmt.Errorf("%s is there already; nothing was changed: give another name, or remove it first", path)
	case !errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("the place for the file cannot be looked at: %w", err)
	}
	parent := filepath.Dir(path)
	if err := checkParent(parent); err != nil {
		return err
	}
	if err := Recover(path); err != nil {
		return err
	}
	fresh, err := os.CreateTemp(parent, freshName(path))
	if err != nil {
		return fmt.Errorf("no file can be made in %s: %w", parent, err)
	}
	defer os.Remove(fresh.Name()) // its second name, once it is linked to its place
	release, err := hold(fresh.Name())
	if err != nil {
		return errors.Join(fmt.Errorf("the file %s cannot be held while it is filled: %w", fresh.Name(), err), fresh.Close())
	}
	defer release()
	err = fill(fresh)
	if err = errors.Join(err, fresh.Chmod(0o644), fresh.Sync(), fresh.Close()); err != nil {
		return fmt.Errorf("%s was not written; all is as it was: %w", path, err)
	}
	return place(fresh.Name(), path)
}

// place gives a whole file its name. A link fails where the name was taken in the
// meantime; a file system without links has only renaming, which does not.
func place(fresh, path string) error {
	err := os.Link(fresh, path)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		err = os.Rename(fresh, path)
	}
	if err != nil {
		return fmt.Errorf("%s is made but could not be put in its place: %w", path, err)
	}
	return nil
}
