//go:build !linux

package main

// availableMemory is not known on this system.
func availableMemory() uint64 { return 0 }
