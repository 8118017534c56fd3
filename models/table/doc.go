// Package table answers: what does a table on disk say, and where exactly does
// it go wrong?
//
// A table is a CSV file (RFC 4180, UTF-8) that a Frictionless Table Schema
// describes, so that it opens in any spreadsheet. Reading one never stops at
// the first mistake: every [Problem] of a file is found in one pass, each with
// its line, its column, the value seen, what was expected and how to mend it.
//
// Of numbers it takes plain decimal ones only, with a point and perhaps an
// exponent: NaN, Inf, 0x10 and 1_000 are slips of the pen in a table, and a
// missing value is an empty cell. Lines may end in a line feed, a carriage
// return, or both. Rows that cannot be read are reported and passed over, so
// that what follows them is checked too.
//
// It is the lowest room of the project; every other package may import it and
// it imports none of them.
package table
