// Package workbook answers: how does a person edit the description of a book, which
// stands in four tables, as one table?
//
// [Of] makes a workbook of a book: one row a page in the order of the book, with
// its quire, the text that begins there and until where it runs, its picture, and
// whether the leaf is lost. A hidden sheet keeps the rows as they were written, so
// that [Take], which reads the workbook back, finds what the person changed,
// whatever was done to the tables in the meantime, and changes nothing else.
package workbook
