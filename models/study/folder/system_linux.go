package folder

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// exchange lets two folders change places in one step. Its error is
// [errors.ErrUnsupported] where the file system cannot.
func exchange(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOSYS) {
		return errors.ErrUnsupported
	}
	if err != nil {
		return &os.LinkError{Op: "exchange", Old: a, New: b, Err: err}
	}
	return nil
}

// hold marks a folder as being worked on by this process until release is
// called or the process ends, however it ends. It fails where another holds it.
func hold(dir string) (release func(), err error) {
	opened, err := os.Open(dir)
	if err != nil {
		return nil, err
	}
	err = unix.Flock(int(opened.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.ENOLCK) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EOPNOTSUPP) {
		err = nil // a file system without locks
	}
	if err != nil {
		return nil, errors.Join(&os.PathError{Op: "hold", Path: dir, Err: err}, opened.Close())
	}
	return func() { _ = opened.Close() }, nil // a folder opened to read has nothing to lose
}
