package folder

import (
	"errors"

	"golang.org/x/sys/unix"
)

// swap lets two folders change places in one step.
func swap(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOSYS) {
		return errors.ErrUnsupported
	}
	return err
}
