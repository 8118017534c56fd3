// Package windows uses a package that it does not import.
package windows

func id() int { return os.Getpid() }
