//go:build linux || darwin

package folder

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lock marks a folder or file as being worked on by this process until release is
// called or the process ends, however it ends. It fails where another has it.
func lock(path string) (release func(), err error) {
	opened, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	err = unix.Flock(int(opened.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.ENOLCK) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EOPNOTSUPP) {
		err = nil // a file system without locks
	}
	if err != nil {
		return nil, errors.Join(err, opened.Close())
	}
	return func() { _ = opened.Close() }, nil // opened to read, it has nothing to lose
}
