package main

import (
	"io"
	"os"

	"golang.org/x/term"
)

// A style gives words their weight and colour on a terminal, and leaves them
// plain everywhere else.
type style struct{ colour bool }

// styleOf is the style for w: coloured on a terminal unless NO_COLOR
// (https://no-color.org) is set or the terminal is a dumb one.
func styleOf(w io.Writer) style {
	return style{isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"}
}

func isTerminal(w io.Writer) bool {
	file, ok := w.(*os.File)
	return ok && term.IsTerminal(int(file.Fd()))
}

// Select Graphic Rendition codes of ECMA-48.
const (
	sgrBold = "\x1b[1m"
	sgrRed  = "\x1b[1;31m"
	sgrOff  = "\x1b[0m"
)

func (s style) strong(words string) string { return s.in(sgrBold, words) }
func (s style) alarm(words string) string  { return s.in(sgrRed, words) }

func (s style) in(code, words string) string {
	if !s.colour {
		return words
	}
	return code + words + sgrOff
}
