//go:build !linux && !darwin && !windows

package folder

// lock knows no lock on this system, where runs of one study must follow one another.
func lock(string) (release func(), err error) { return func() {}, nil }
