package table

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Open opens a file to be read, and refuses what is none: a pipe would be waited
// on for ever, and a device such as /dev/zero never ends. Links are followed.
func Open(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &fs.PathError{Op: "open", Path: path, Err: ErrNoFile}
	}
	return os.Open(path)
}

// What is not read: that is no file, or holds more than it may.
var (
	ErrNoFile   = errors.New("not a regular file")
	ErrTooLarge = errors.New("too large")
)

// Content is what the file at path holds; an error where that is more than most
// bytes ([ErrTooLarge]), or where path is no file ([ErrNoFile]). See [Open].
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
	var text []byte
	if info.Size() <= most {
		if text, err = io.ReadAll(io.LimitReader(file, most+1)); err != nil {
			return nil, err
		}
	}
	if max(info.Size(), int64(len(text))) > most { // it may grow while it is read
		return nil, &fs.PathError{Op: "read", Path: path, Err: fmt.Errorf("%w: more than the %d bytes that are expected at most", ErrTooLarge, most)}
	}
	return text, nil
}

// Unreadable is the problem of a file that [Open] or [Content] could not read.
func Unreadable(path string, err error) Problem {
	reason := err
	var at *fs.PathError
	if errors.As(err, &at) {
		reason = at.Err // the problem names the file itself
	}
	return Problem{File: path, Value: filepath.Base(path), Expected: "a file that can be read",
		Remedy: fmt.Sprintf("check its name and permissions (the system says: %v)", reason)}
}
