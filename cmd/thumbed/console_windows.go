package main

import (
	"os"

	"golang.org/x/sys/windows"
)

// colours tells whether the console understands the sequences for colour; those of
// Windows 10 and later do once they are told to.
func colours(file *os.File) bool {
	console := windows.Handle(file.Fd())
	var mode uint32
	if windows.GetConsoleMode(console, &mode) != nil {
		return false
	}
	return windows.SetConsoleMode(console, mode|windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING) == nil
}
