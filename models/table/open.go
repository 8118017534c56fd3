package table

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// Open opens a file to be read, and refuses what is none: a pipe would be waited
// on for ever, and a device such as /dev/zero never ends. Links are followed.
func Open(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &fs.PathError{Op: "open", Path: path, Err: errNoFile}
	}
	return os.Open(path)
}

var errNoFile = errors.New("not a regular file")

// Content is what the file at path holds; an error where that is more than most
// bytes, or where path is no file. See [Open].
func Content(path string, most int64) ([]byte, error) {
	file, err := Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close() // only read from
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() > most {
		return nil, &fs.PathError{Op: "read", Path: path, Err: fmt.Errorf("%d bytes, where at most %d are expected", info.Size(), most)}
	}
	return io.ReadAll(io.LimitReader(file, most))
}
