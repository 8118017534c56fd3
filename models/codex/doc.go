// Package codex answers: what is this book made of, and where in it does each
// page stand?
//
// It knows leaves and pages, quires with their collation, openings, sections
// and the offices of the day; it reads folio labels, extents and collation
// formulas as catalogues write them, and derives for every page the features
// that a model of wear needs.
//
// Four conventions hold throughout. Order is that of the physical book, which
// need not be that of the numbers. Lost leaves keep their place: positions,
// places in the quire and places in the section count them. Square brackets
// say who wrote a number and not which leaf is meant, so 13 and [13] are one
// label. A page counts in one section; where a text ends and the next begins on
// a page, it counts in the one that begins there ([SharedPage]).
//
// [Load] reads a study's books from their tables and reports every problem of
// every table in one go; [Features] makes the table that models read.
package codex
