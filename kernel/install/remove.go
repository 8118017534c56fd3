package install

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Remove takes the kernel away. It tells whether there was one. Folders that
// installing had to make stay only where others use them too.
func Remove(p Place) (bool, error) {
	dir := p.kernelDir()
	if _, err := os.Lstat(dir); errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err := mayReplace(dir); err != nil {
		return false, err
	}
	if err := removeAll(dir); err != nil {
		return false, fmt.Errorf("cannot remove %s (%w); ask whoever installed it", dir, err)
	}
	os.Remove(p.Dir) // goes only where it is empty now
	return true, nil
}

// removeAll removes a folder even where Go's module cache made files in it
// read-only.
func removeAll(dir string) error {
	filepath.WalkDir(dir, func(path string, entry fs.DirEntry, err error) error {
		if err == nil && entry.IsDir() {
			os.Chmod(path, 0o755) // where this fails, so does the removal, which tells
		}
		return nil
	})
	return os.RemoveAll(dir)
}
