//go:build !windows

package main

import "os"

// colours tells whether the terminal understands the sequences for colour.
func colours(*os.File) bool { return true }
