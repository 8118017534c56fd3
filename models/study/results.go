package study

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"thumbed/models/report"
	"thumbed/models/report/chapter"
	"thumbed/models/study/folder"
)

// ChapterName is the folder of a results folder with the chapter in LaTeX.
const ChapterName = "chapter"

// Write writes the results of this study as the folder dir: the page, figures/,
// tables/, chapter/, results.json and record.json. The folder appears whole or
// not at all. One that is there already is replaced only where it is empty or an
// earlier run made it and nobody has changed or added a file since; on any
// error it stays as it was.
func (s *Study) Write(results *report.Results, dir string) error {
	return WriteFolder(dir, func(fresh string) (*Record, error) {
		if err := results.Write(fresh); err != nil {
			return nil, err
		}
		if err := chapter.Write(results, filepath.Join(fresh, ChapterName)); err != nil {
			return nil, fmt.Errorf("the chapter: %w", err)
		}
		return s.record(dir, len(results.Answers))
	})
}

// WriteFolder writes a folder of results as [Study.Write] does: fill fills it,
// results.json among its files, and gives the record to be put there.
func WriteFolder(dir string, fill func(fresh string) (*Record, error)) error {
	if err := folder.Recover(dir); err != nil {
		return fmt.Errorf("what an earlier run left beside %s cannot be cleared away: %w", dir, err)
	}
	if _, err := replaceable(dir); err != nil {
		return err
	}
	return folder.CreateOrReplace(dir, func() (bool, error) { return replaceable(dir) }, func(fresh string) error {
		record, err := fill(fresh)
		if err != nil {
			return err
		}
		return record.write(fresh)
	})
}

// CheckFolder tells whether [Study.Write] could write dir, so that a long run
// need not end in disappointment.
func CheckFolder(dir string) error {
	if _, err := replaceable(dir); err != nil {
		return err
	}
	if err := folder.CheckOpen(dir); err != nil {
		return fmt.Errorf("%w, with --out", err)
	}
	return nil
}

// replaceable tells whether dir may be written: nothing is there yet, or (there)
// a folder is that may be replaced.
func replaceable(dir string) (there bool, err error) {
	info, err := os.Lstat(filepath.Clean(dir))
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, folder.CheckFree(dir)
	case err != nil:
		return false, fmt.Errorf("the folder for the results cannot be looked at: %w", err)
	case info.Mode()&fs.ModeSymlink != 0:
		return false, fmt.Errorf("%s is a link to another place; nothing is written through links: give the folder itself with --out", dir)
	case !info.IsDir():
		return false, fmt.Errorf("%s is a file; the results need a folder of their own: give another with --out", dir)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return false, fmt.Errorf("the folder for the results cannot be looked at: %w", err)
	}
	if len(entries) == 0 {
		return true, nil
	}
	record, err := ReadRecord(dir)
	if err != nil {
		return false, fmt.Errorf("%s holds files that no run of thumbed made; nothing was changed: give another folder with --out", dir)
	}
	return true, record.checkUntouched(dir)
}
