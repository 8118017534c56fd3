// Package demo answers: what does a whole study look like, and does the
// program find in it what was put there?
//
// It makes the demonstration study: four invented books of hours of invented
// owners in an invented town, with leaves lost, inserted and misbound, and a
// log of densitometer readings with drift, floors, ceilings and mishaps. The
// written truth, truth.toml, holds the habits of the owners as effects on the
// wear of pages; everything else is drawn from a fixed seed, so that every run
// makes the same files and tests can ask whether a study recovers the truth.
package demo
