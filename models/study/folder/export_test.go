package folder

import "errors"

// Replace makes a folder anew that is known to be there; see [CreateOrReplace].
func Replace(dir string, fill func(fresh string) error) error { return build(dir, fill, replace) }

// WithoutExchange is a system on which two folders cannot change places in one step,
// until the function that it returns is called.
func WithoutExchange() (back func()) {
	was := swapping
	swapping = func(_, _ string) error { return errors.ErrUnsupported }
	return func() { swapping = was }
}
