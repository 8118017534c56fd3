// Package sheet answers: what tables are in a spreadsheet that a scholar kept,
// and what in it is no part of a table?
//
// It reads workbooks (.xlsx, Office Open XML, ISO/IEC 29500; .ods, OpenDocument,
// ISO/IEC 26300) and text with separators (.csv), told apart by what is in them
// and not by their names. A [Mapping] says once, in a small file, how the
// scholar's words for columns, sheets and cells are written here.
//
// Dates and times are kept as dates and times. What a table cannot hold is
// reported and never guessed: cells merged sideways (those merged downwards hold in
// each of their rows), cells whose colour may mean
// something, formulas without a saved value, comments, hidden rows. Formulas are
// not computed; their values as last saved are taken.
package sheet
