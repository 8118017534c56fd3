// Package code answers: what does the Go in a cell say, and what could stand next?
//
// A cell is not yet a program. Its statements are told from its declarations, so
// that a cell needs no mark between them, and a value at its end is shown.
// Names are completed and told with the comment that stands beside them in the
// source, by Go's own type checker (go/types) on what Go compiled for the
// packages; no cell has to run for it, and none is stopped.
package code
