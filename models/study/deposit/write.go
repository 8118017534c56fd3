package deposit

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"
	"unicode"

	"thumbed/models/study"
	"thumbed/models/study/folder"
)

// describe adds the files that are made for the bundle, and checks the names of all.
func (b *Bundle) describe() error {
	b.make(ReadmeName, roleForUser, "what this bundle is and what can be done with it", []byte(b.readme()))
	cited, err := metadata(b.dataCite())
	if err != nil {
		return err
	}
	b.make(CitationName, roleForUser, "how the deposit is cited (Citation File Format 1.2.0)", []byte(b.citation()))
	b.make(DataCiteName, roleForUser, "the deposit as repositories register it (DataCite Metadata Schema 4.5)", cited)
	crate, err := metadata(b.crate())
	if err != nil {
		return err
	}
	b.make(CrateName, roleForUser, "people, books, instruments, software, and which files were made from which (RO-Crate 1.1)", crate)
	described, err := b.dataPackage()
	if err != nil {
		return err
	}
	text, err := metadata(described)
	if err != nil {
		return err
	}
	b.make(PackageName, roleForUser, "the files with their sums, and the tables with their schemas", text)
	b.make(SumsName, roleForUser, "the sums of all files, the data package's too: sha256sum -c "+SumsName, []byte(b.sums()))
	return b.checkNames()
}

// make adds a file that is made for the bundle.
func (b *Bundle) make(name string, r role, about string, text []byte) {
	b.files = append(b.files, &file{path: name, text: text, size: int64(len(text)), sha256: study.SumOf(name, text).SHA256, about: about, role: r})
}

// metadata writes a value as JSON for people too.
func metadata(value any) ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	err := encoder.Encode(value)
	return out.Bytes(), err
}

// checkNames tells whether all files can stand beside each other on every system.
func (b *Bundle) checkNames() error {
	taken := map[string]string{}
	for _, f := range b.files {
		if why := badName(f.path); why != "" {
			return fmt.Errorf("the file %s cannot be bundled: %s; give it another name, name it so in the study file, run again, and bundle", f.from, why)
		}
		folded := strings.ToLower(f.path)
		if before, again := taken[folded]; again {
			return fmt.Errorf("%s and %s would have the same name in the bundle on some systems: give one of them another name, run again, and bundle", before, f.path)
		}
		taken[folded] = f.path
	}
	return nil
}

// badName says why some systems could not have a file of this path; empty where
// all can.
func badName(name string) string {
	if !fs.ValidPath(name) || name == "." {
		return "its path leads out of the bundle"
	}
	for _, c := range name {
		if unicode.IsControl(c) || strings.ContainsRune(`\:*?"<>|`, c) {
			return fmt.Sprintf("its name has the character %q, which some systems do not allow", c)
		}
	}
	for _, part := range strings.Split(name, "/") {
		if strings.HasSuffix(part, ".") || strings.HasSuffix(part, " ") {
			return "its name ends in a full stop or a space, which some systems drop"
		}
	}
	return ""
}

// Write writes the bundle: as a .zip where the name ends so, else as a folder.
// Nothing may stand there yet. It appears whole or not at all.
func (b *Bundle) Write(at string) error {
	if err := b.checkPlace(at); err != nil {
		return err
	}
	if isZip(at) {
		return folder.WriteFile(at, b.writeZip)
	}
	return folder.Create(at, b.writeFolder)
}

// isZip tells whether a bundle of this name is one file.
func isZip(at string) bool { return strings.EqualFold(filepath.Ext(at), ".zip") }

// checkPlace refuses a place inside the results, which would no more be what the
// run wrote.
func (b *Bundle) checkPlace(at string) error {
	results, err := filepath.Abs(b.results)
	if err != nil {
		return err
	}
	place, err := filepath.Abs(at)
	if err != nil {
		return err
	}
	if rest, err := filepath.Rel(results, place); err == nil && rest != ".." && !strings.HasPrefix(rest, ".."+string(filepath.Separator)) {
		return fmt.Errorf("%s lies inside the folder of results, which must stay as the run left it: give another place", at)
	}
	return nil
}

func (b *Bundle) writeFolder(fresh string) error {
	for _, f := range b.files {
		at := filepath.Join(fresh, filepath.FromSlash(f.path))
		if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
			return err
		}
		out, err := os.OpenFile(at, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err != nil {
			return err
		}
		err = f.copy(out)
		if closed := out.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// writeZip writes the files in the order of the data package, all with the moment
// of the bundle, so that the same study gives the same bytes.
func (b *Bundle) writeZip(w io.Writer) error {
	out := zip.NewWriter(w)
	out.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
	for _, f := range b.files {
		header := &zip.FileHeader{Name: f.path, Method: zip.Deflate, Modified: b.moment()}
		switch path.Ext(f.path) {
		case ".png", ".pdf":
			header.Method = zip.Store // they are packed already
		}
		header.SetMode(0o644)
		entry, err := out.CreateHeader(header)
		if err != nil {
			return err
		}
		if err := f.copy(entry); err != nil {
			return err
		}
	}
	return out.Close()
}

// copy writes the file's content, and fails where that is no longer what was
// described.
func (f *file) copy(w io.Writer) error {
	if f.from == "" {
		_, err := w.Write(f.text)
		return err
	}
	in, err := os.Open(f.from)
	if err != nil {
		return err
	}
	defer in.Close() // only read from
	read := newSum(in)
	if _, err := io.Copy(w, read); err != nil {
		return err
	}
	if got, _, err := read.finish(); err != nil || got != f.sha256 {
		return fmt.Errorf("%s changed while it was bundled: bundle again when nobody else works on the files", f.from)
	}
	return nil
}

// Files counts the files of the bundle and their bytes.
func (b *Bundle) Files() (files int, bytes int64) {
	for _, f := range b.files {
		bytes += f.size
	}
	return len(b.files), bytes
}
