//go:build !linux && !darwin

package folder

import "errors"

// swap is not known on this system.
func swap(_, _ string) error { return errors.ErrUnsupported }
