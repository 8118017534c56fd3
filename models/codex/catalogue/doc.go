// Package catalogue answers: how does a book that others described become the
// tables of a study, and what was made of their description?
//
// A [Record] is what a description says, whatever it was written in: how many
// leaves there are and how they are gathered, a tree of texts with the places
// where they stand, the pictures, and who made and owned the book. [Build]
// makes the tables of books, leaves, pages and sections of it, and keeps an
// [Account] of all that was used and all that was left, with the reason.
//
// What the description does not state is inferred only where that is the plain
// reading, as a cataloguer would have it, and is marked and listed as inferred: a
// text of which only the beginning is told runs until the next of its level
// begins, or to the end of the whole that it is part of. What can be read in more
// than one way is listed with each reading. A text whose place is not told or
// cannot be read, a picture that is said to stand on several pages, and a
// collation that does not add up to the leaves counted are left and listed, for
// the scholar to enter.
package catalogue
