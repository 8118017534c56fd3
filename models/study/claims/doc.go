// Package claims answers: how often is what a whole study says true?
//
// Studies are drawn from a written truth, table by table as a scholar would keep
// them, and go through the program as it is used: the study file and its tables
// are read, the study is run, and every claim of its results is held against the
// truth. A [Cell] is one kind of study; [Draw] makes one of its studies from a
// seed, [World.judge] runs it and gives its [Outcome]; [Tally] adds up the
// outcomes of a cell, and [certificatePage] writes them as CLAIMS.md.
//
// What is a false claim: a yes where there is no effect in the asked direction;
// a no where the effect is as large as would matter; a change whose interval
// holds no true step, and a gradual one where wear is level; a page that stands
// out without a cause (picture, facing picture, incipit, stain); a text set below
// the first that is worn as much; two readers told apart who show the same decline; a
// drop that fewer than two books have said to be shared.
package claims
