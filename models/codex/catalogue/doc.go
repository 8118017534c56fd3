// Package catalogue answers: how does a book that others described become the
// tables of a study, and what was made of their description?
//
// A [Record] is what a description says, whatever it was written in: how many
// leaves there are and how they are gathered, a tree of texts with the places
// where they stand, the pictures, and who made and owned the book. [Build]
// makes the tables of books, leaves, pages and sections of it, and keeps an
// [Account] of all that was used and all that was left, with the reason.
//
// Nothing is guessed. A text whose place is not told or cannot be read, a
// picture that is said to stand on several pages, and a collation that does not
// add up to the leaves counted are left and listed, for the scholar to enter.
package catalogue
