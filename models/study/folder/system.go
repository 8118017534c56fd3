package folder

import (
	"errors"
	"os"
)

// Systems differ in how two folders change places in one step ([swap]) and in how
// something is held while it is filled ([lock]); each has a small file for either.

// exchange lets two folders change places in one step. Its error is
// [errors.ErrUnsupported] where the system or the file system cannot.
func exchange(a, b string) error {
	err := swapping(a, b)
	if err != nil && !errors.Is(err, errors.ErrUnsupported) {
		err = &os.LinkError{Op: "exchange", Old: a, New: b, Err: err}
	}
	return err
}

// swapping is swap, or in a test what another system has.
var swapping = swap

// hold marks what this process works on; see [lock].
func hold(path string) (release func(), err error) {
	release, err = lock(path)
	if err != nil {
		err = &os.PathError{Op: "hold", Path: path, Err: err}
	}
	return release, err
}
