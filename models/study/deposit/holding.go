package deposit

import (
	"archive/zip"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Sizes in bytes beyond which metadata, or a record, are surely something else.
const (
	largestText   = 64 << 20
	largestRecord = 1 << 30
)

// A holding is a bundle being read, a folder or a .zip. Nothing is unpacked.
type holding struct {
	names []string // of all files, in order
	sizes map[string]int64
	open  func(name string) (io.ReadCloser, error)
	close func() error
}

// open opens a bundle. It refuses one whose files could lead elsewhere.
func open(at string) (*holding, error) {
	info, err := os.Stat(at)
	if err != nil {
		return nil, fmt.Errorf("the bundle cannot be looked at: %w", err)
	}
	if info.IsDir() {
		return openFolder(at)
	}
	return openZip(at)
}

func openFolder(at string) (*holding, error) {
	h := &holding{sizes: map[string]int64{}, close: func() error { return nil }}
	err := filepath.WalkDir(at, func(p string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		if !entry.Type().IsRegular() {
			return fmt.Errorf("%s is neither a file nor a folder, which no bundle holds: remove it", p)
		}
		info, err := entry.Info()
		if err != nil {
			return err
		}
		name, err := filepath.Rel(at, p)
		if err != nil {
			return err
		}
		return h.add(filepath.ToSlash(name), info.Size())
	})
	if err != nil {
		return nil, fmt.Errorf("the bundle cannot be read: %w", err)
	}
	h.open = func(name string) (io.ReadCloser, error) {
		if _, there := h.sizes[name]; !there {
			return nil, fs.ErrNotExist
		}
		return os.Open(filepath.Join(at, filepath.FromSlash(name)))
	}
	slices.Sort(h.names)
	return h, nil
}

func openZip(at string) (*holding, error) {
	archive, err := zip.OpenReader(at)
	if err != nil {
		return nil, fmt.Errorf("%s is neither a folder nor a .zip that can be read (%w): give the bundle as it was received", at, err)
	}
	h := &holding{sizes: map[string]int64{}, close: archive.Close}
	entries := map[string]*zip.File{}
	for _, f := range archive.File {
		if strings.HasSuffix(f.Name, "/") {
			continue // a folder by itself
		}
		err := h.add(f.Name, int64(min(f.UncompressedSize64, 1<<62)))
		if err == nil && !f.Mode().IsRegular() {
			err = fmt.Errorf("%s in it is neither a file nor a folder", f.Name)
		}
		if err != nil {
			return nil, errors.Join(fmt.Errorf("%s was not made by thumbed bundle: %w; do not unpack it", at, err), archive.Close())
		}
		entries[f.Name] = f
	}
	h.open = func(name string) (io.ReadCloser, error) {
		if f := entries[name]; f != nil {
			return f.Open()
		}
		return nil, fs.ErrNotExist
	}
	slices.Sort(h.names)
	return h, nil
}

// add enters a file by its path inside.
func (h *holding) add(name string, size int64) error {
	if why := badName(name); why != "" {
		return fmt.Errorf("a file in it cannot be: %q, %s", name, why)
	}
	if _, again := h.sizes[name]; again {
		return fmt.Errorf("the file %s is in it twice", name)
	}
	h.names = append(h.names, name)
	h.sizes[name] = size
	return nil
}

// read gives a whole file that is no larger than most bytes.
func (h *holding) read(name string, most int64) ([]byte, error) {
	in, err := h.open(name)
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(in, most+1))
	if err = errors.Join(err, in.Close()); err == nil && int64(len(text)) > most {
		err = errors.New("it is far too large")
	}
	return text, err
}

// A sum reads on and sums what it has read.
type sum struct {
	in   io.Reader
	hash hash.Hash
	size int64
}

func newSum(in io.Reader) *sum { return &sum{in: in, hash: sha256.New()} }

func (s *sum) Read(into []byte) (int, error) {
	n, err := s.in.Read(into)
	s.hash.Write(into[:n])
	s.size += int64(n)
	return n, err
}

// finish reads what is left, and gives the SHA-256 in hexadecimal and the size.
func (s *sum) finish() (string, int64, error) {
	_, err := io.Copy(io.Discard, s)
	return hex.EncodeToString(s.hash.Sum(nil)), s.size, err
}
