// Package kernel answers: how is a value looked at in a notebook?
//
// It is what a cell imports besides the rooms: [Show] gives each value its
// face, [Table] shows a data frame, [Progress] a bar, and [Check] and [Must]
// tell an error as a sentence. Every face also has one in plain text, so that
// an export and a screen reader lose nothing. Outside a notebook the same calls
// write the plain text to standard output.
package kernel
