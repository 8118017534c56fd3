package install

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// sourceDirs are the folders of the module that a cell can import from.
var sourceDirs = []string{"kernel", "models"}

// copyAll copies the module's source, and the modules it needs from Go's cache,
// into the kernel's folder: other users may not read ours.
func (b builder) copyAll(cache string) error {
	source := filepath.Join(b.dir, "source")
	if err := os.MkdirAll(source, 0o755); err != nil {
		return err
	}
	for _, name := range []string{"go.mod", "go.sum"} {
		if err := copyFile(filepath.Join(b.source, name), filepath.Join(source, name), 0o644); err != nil {
			return err
		}
	}
	for _, name := range sourceDirs {
		if err := copySource(filepath.Join(b.source, name), filepath.Join(source, name)); err != nil {
			return err
		}
	}
	// Go fetches what it looks at into an empty cache; the full one serves as the
	// place to fetch from.
	copied := b
	copied.source = source
	return copied.runWith([]string{
		"GOMODCACHE=" + filepath.Join(b.dir, "modules"),
		"GOPROXY=file://" + filepath.ToSlash(filepath.Join(cache, "cache", "download")),
		"GOSUMDB=off",
	}, append([]string{"list", "-deps"}, importable()...)...)
}

// copySource copies a folder of Go source without its tests and their data.
func copySource(from, to string) error {
	return filepath.WalkDir(from, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		inside, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		target := filepath.Join(to, inside)
		switch {
		case entry.IsDir() && entry.Name() == "testdata":
			return fs.SkipDir
		case entry.IsDir():
			return os.MkdirAll(target, 0o755)
		case !entry.Type().IsRegular() || strings.HasSuffix(path, "_test.go"):
			return nil
		}
		return copyFile(path, target, 0o644)
	})
}
