package main

import (
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// A style gives words their weight and colour on a terminal, and leaves them
// plain everywhere else.
type style struct{ colour bool }

// styleOf is the style for w: coloured on a terminal unless NO_COLOR
// (https://no-color.org) is set or the terminal is a dumb one.
func styleOf(w io.Writer) style {
	file, ok := w.(*os.File)
	return style{ok && isTerminal(w) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" && colours(file)}
}

// isTerminal tells whether a stream, read or written, is a terminal.
func isTerminal(stream any) bool {
	file, ok := stream.(*os.File)
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

// Widths of text in characters: where nothing is known of the terminal, and the
// widest that is still read with ease.
const (
	usualWidth  = 80
	widestWidth = 100
)

// widthOf is the width to wrap text to.
func widthOf(w io.Writer) int {
	if file, ok := w.(*os.File); ok {
		if width, _, err := term.GetSize(int(file.Fd())); err == nil && width > 0 {
			return min(width, widestWidth)
		}
	}
	return usualWidth
}

// plainSpaces puts plain spaces, which people search for, in the place of those
// at which no line may break.
var plainSpaces = strings.NewReplacer("\u00a0", " ", "\u202f", " ")

// wrap breaks text into lines of at most width characters, each after indent.
// It breaks at plain spaces only; then all spaces become plain.
func wrap(text, indent string, width int) string {
	var b strings.Builder
	column := 0
	for _, word := range strings.Split(text, " ") {
		length := utf8.RuneCountInString(word)
		switch {
		case column == 0:
			b.WriteString(indent)
			column = len(indent)
		case column+1+length > width:
			b.WriteString("\n" + indent)
			column = len(indent)
		default:
			b.WriteString(" ")
			column++
		}
		b.WriteString(word)
		column += length
	}
	return plainSpaces.Replace(b.String())
}

// plain are the characters that a shell takes as they are.
const plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/._-+,:@%"

// shellWord writes a path so that a shell reads it as one word.
func shellWord(path string) string {
	if path != "" && strings.Trim(path, plain) == "" {
		return path
	}
	return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
}
