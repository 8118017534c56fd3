// Package codex answers: what is this book made of, and where in it does each
// page stand?
//
// It knows leaves and pages, quires with their collation, openings, sections
// and the offices of the day; it reads folio labels as catalogues write them,
// and derives for every page the features that a model of wear needs. Order is
// always that of the physical book, which need not be that of the numbers.
package codex
