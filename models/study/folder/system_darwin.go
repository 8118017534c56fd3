package folder

import (
	"errors"

	"golang.org/x/sys/unix"
)

// swap lets two folders change places in one step.
func swap(a, b string) error {
	err := unix.RenamexNp(a, b, unix.RENAME_SWAP)
	if errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.EINVAL) {
		return errors.ErrUnsupported
	}
	return err
}
