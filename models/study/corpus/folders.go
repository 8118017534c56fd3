package corpus

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/study"
	"thumbed/models/study/portion"
	"thumbed/models/table"
)

// badPath says what is wrong with a path or pattern that is to stay below a
// folder; empty where nothing is.
func badPath(path string) string {
	_, err := filepath.Match(path, "")
	switch {
	case path == "":
		return "name it"
	case err != nil:
		return "close each [ with a ], or write * for any part of a name"
	case !filepath.IsLocal(filepath.FromSlash(path)):
		return "write a path that begins inside the folder and has no .. in it"
	}
	return ""
}

// findFolders lists the folders that the patterns name, as paths with forward
// slashes from base, in their order and each once. Folders of earlier results, and
// of parts of them, are passed over. Patterns that name none are problems.
func (c *fileCheck) findFolders(base string) []string {
	var out []string
	for _, pattern := range c.file.Folders {
		if badPath(pattern) != "" {
			continue // reported
		}
		paths, err := filepath.Glob(filepath.Join(literal(base), filepath.FromSlash(pattern)))
		found := 0
		for _, path := range paths {
			if isFolder(path) && !ofResults(path) {
				name, _ := filepath.Rel(base, path) // below base, as the pattern is
				out = append(out, filepath.ToSlash(name))
				found++
			}
		}
		if err != nil || found == 0 {
			c.problem(pattern, "a pattern that names folders with books", "correct it, or put the folders there; the path begins at the folder of "+FileName, "folders")
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// ofResults tells whether a folder holds what a run wrote, and not books.
func ofResults(path string) bool {
	_, noParts := portion.Files(path)
	return noParts == nil || isFile(filepath.Join(path, study.RecordName))
}

// literal is a path as a pattern that names it alone.
func literal(path string) string {
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(path)
}

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// tablesIn are the tables of one folder, paths from there: pages and sections
// only where they are, readings as their patterns find them.
func (c *Corpus) tablesIn(folder string, ps *table.Problems) (study.Tables, error) {
	t := c.Tables
	dir := c.path(folder)
	for _, name := range []*string{&t.Pages, &t.Sections} {
		if _, err := os.Lstat(filepath.Join(dir, *name)); errors.Is(err, fs.ErrNotExist) {
			*name = ""
		}
	}
	var err error
	if t.Readings, err = namedIn(dir, c.Tables.Readings); err != nil {
		return t, err
	}
	if t.Traces, err = namedIn(dir, c.Tables.Traces); err != nil {
		return t, err
	}
	switch {
	case t.Readings == nil && t.Traces != nil: // traces alone: nothing is measured
		t.Instruments = ""
		return t, nil
	case t.Readings == nil:
		ps.Add(table.Problem{File: dir, Value: "no " + strings.Join(append(slices.Clone(c.Tables.Readings), c.Tables.Traces...), ", "), Expected: "a table of readings in the folder",
			Remedy: "put it there, or take the folder out of the corpus"})
	}
	if c.Instruments != "" {
		name, err := filepath.Rel(dir, c.path(c.Instruments))
		if err != nil {
			return t, err
		}
		t.Instruments = filepath.ToSlash(name)
	}
	return t, nil
}

// namedIn are the tables of a folder that patterns name, each once and in order.
func namedIn(dir string, patterns []string) (names []string, err error) {
	for _, pattern := range patterns {
		paths, err := filepath.Glob(filepath.Join(literal(dir), filepath.FromSlash(pattern)))
		if err != nil {
			return nil, err
		}
		for _, path := range paths {
			name, err := filepath.Rel(dir, path)
			if err != nil {
				return nil, err
			}
			if name = filepath.ToSlash(name); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	slices.Sort(names)
	return names, nil
}

// path is a path of corpus.toml, or of a folder, from here.
func (c *Corpus) path(name string) string {
	return filepath.Join(filepath.Dir(c.Path), filepath.FromSlash(name))
}

// checkColumns reports the columns that models and questions name and that no
// folder can have: before the pass, since that is long.
func (c *Corpus) checkColumns(ps *table.Problems) error {
	names := codex.FeatureNames()
	for _, folder := range c.Folders {
		for _, name := range ownColumns(filepath.Join(c.path(folder), c.Tables.Pages)) {
			if !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if err := c.inquiry.CheckColumns(names, ps); err != nil {
		return fmt.Errorf("the columns of the pages: %w", err)
	}
	return nil
}

// ownColumns are the names at the head of a table of pages that are the
// scholar's own; none where it cannot be read, which is told when the folder is.
func ownColumns(path string) []string {
	file, err := table.Open(path)
	if err != nil {
		return nil
	}
	defer file.Close()
	head, err := csv.NewReader(file).Read()
	if err != nil {
		return nil
	}
	schema := codex.PagesSchema()
	var own []string
	for _, name := range head {
		name = strings.TrimSpace(strings.TrimPrefix(name, "\ufeff"))
		if name != "" && !slices.ContainsFunc(schema.Fields, func(f table.Field) bool { return f.Name == name }) {
			own = append(own, name)
		}
	}
	return own
}
