// Package intake answers: how does what others wrote of a book, in a library's
// catalogue record, a manifest of images or a spreadsheet, come into a study?
//
// Each kind of file is read by a package of its own (codex/tei, codex/iiif,
// table/sheet). Here the tables that it makes are checked as a study would check
// them, and written into a new folder, whole or not at all, each with its schema
// beside it and with an account of what was used and what was left. A record that is
// imported again is merged with the study that it began ([Again]).
package intake
