// Package traces answers: what did hands, lips, candles and neighbours do to a page,
// as far as an eye can grade it, count it or see that it is there?
//
// A [Trace] is an entry of the coding book: what is looked for, its grades in rising
// order or what counts as one, on which pages and parts of a picture. A [Look] is one
// look of one observer at one thing, a page or a part of its picture. Three things
// stay three wherever looks are counted: not looked at (no row), looked at and
// nothing there (the lowest grade, no, 0), and cannot be told (unclear, with a
// reason). None of them ever stands for another.
//
//	trace.go      the coding book
//	load.go       looks read from tables, all problems at once; schema.go: their columns
//	states.go     things in their three states, and shares of grades
//	agreement.go  how far observers agree: kappa, alpha, who and which grade differ
//	offset.go     whether a trace is the print of the facing page
//	join.go       looks with the features of their pages, for models of traces; and
//	              traces as features of pages, for models of wear
//	allow.go      features measured with error: regression calibration
//
// Nobody touches a surface to learn what is on it. Looks are taken by eye, with the
// light and the magnification that the library's conservators allow.
package traces
