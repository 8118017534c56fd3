package deposit

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strings"
	"time"
)

// SourceName is the program's own source in a bundle.
const SourceName = "program.zip"

// sourceParts are what the program consists of, at the top of its source; whatever
// else lies there is the scholar's and stays out.
var sourceParts = []string{"LICENSE", "README.md", "DEVELOPERS.md", "Makefile", "go.mod", "go.sum", "cmd", "kernel", "models", "notebooks", "testdata"}

// addSource adds the program's source with all its modules to the bundle, so that it
// can be built in years to come with nothing but a Go toolchain: unpacked, by
// go build ./cmd/thumbed. dir is the folder of the source. Go is asked for the modules,
// which it may have to fetch now.
func (b *Bundle) addSource(dir string) error {
	module, err := os.ReadFile(filepath.Join(dir, "go.mod"))
	if err != nil || !strings.HasPrefix(string(module), "module thumbed\n") {
		return fmt.Errorf("%s is not the source of thumbed: it has no go.mod that says so; name the folder that the program was built in", dir)
	}
	vendored, err := os.MkdirTemp("", "thumbed-modules-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(vendored) // a folder of our own
	modules := filepath.Join(vendored, "vendor")
	vendor := exec.Command("go", "mod", "vendor", "-o", modules)
	vendor.Dir = dir
	if said, err := vendor.CombinedOutput(); err != nil {
		return fmt.Errorf("the modules of the program could not be gathered by Go: %w\n%s", err, bytes.TrimSpace(said))
	}
	var packed bytes.Buffer
	w := zip.NewWriter(&packed)
	for _, part := range sourceParts {
		if err := addTree(w, filepath.Join(dir, part), path.Join("thumbed", part), b.moment()); err != nil {
			return err
		}
	}
	if err := addTree(w, modules, "thumbed/vendor", b.moment()); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	b.make(SourceName, roleForUser, "the source of the program with all its modules: unpacked, go build ./cmd/thumbed builds it, without a network", packed.Bytes())
	return nil
}

// addTree adds a file, or all files of a folder, to an archive.
func addTree(w *zip.Writer, from, to string, moment time.Time) error {
	return filepath.WalkDir(from, func(p string, entry fs.DirEntry, err error) error {
		if err != nil || !entry.Type().IsRegular() {
			return err
		}
		rest, err := filepath.Rel(from, p)
		if err != nil {
			return err
		}
		header := &zip.FileHeader{Name: path.Join(to, filepath.ToSlash(rest)), Method: zip.Deflate, Modified: moment}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		header.SetMode(info.Mode().Perm() & 0o755)
		out, err := w.CreateHeader(header)
		if err != nil {
			return err
		}
		in, err := os.Open(p)
		if err != nil {
			return err
		}
		defer in.Close() // only read from
		_, err = io.Copy(out, in)
		return err
	})
}
