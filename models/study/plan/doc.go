// Package plan answers: how many books, pages and placings does a question
// need, and in which order are the placings taken?
//
// A plan is one TOML file: the question, where the numbers come from (a study
// that was measured, or assumed spreads with the layout of a book), the designs
// to try and the aim. [Open] reads it, [Plan.Try] draws campaigns of every design
// (see [power.Setting]) and [Plan.Write] writes what came of it as a folder.
//
// [Plan.Order] makes the measuring sheet of a design: an order of placings that
// keeps the drift of instrument and observer apart from the book's own order, at
// few turns of its leaves.
//
// # How well a promise is kept
//
// What a pilot of four books allows for a spread holds the true one as often as it says:
// its 90 % limit in 90 % of 400 drawn pilots, where the end of a profile likelihood
// interval does in 81 %. A true power of 64 % is promised as 62 % on average (68 % by
// profile ends), and the band of eight in ten holds it for 79 % of pilots (75 %). A single
// promise by four books still lies anywhere in its band, which is wide
// (TestAllowancesHoldTheTruth).
//
// Eight books, each measured on two days by two observers as a sheet has it, with days
// and observers that differ and an instrument that drifts over each day: twelve pilots of
// eight books promise 22 to 93 %, 61 % on average, by 100 campaigns each; 94 of 152 whole
// studies drawn and measured so, 62 % (54 to 69), reach it (TestSheetsKeepTheirWord in
// claims).
//
// # Map
//
//	file.go, check.go  the plan file, all its problems at once
//	pilot.go           spreads, books and measuring of a study that was measured
//	allowed.go         what a pilot of few books allows for its spreads
//	separation.go      how the order of placings goes with time, day and observer
//	schedule.go        the order of the sheet in a drawn campaign
//	layout.go          a book made of numbers
//	plan.go, try.go    the plan and its trial, whole or in portions
//	several.go         the plans of all questions of a study
//	looks.go           campaigns of looks at traces, drawn like those of a pilot
//	write.go           the folder
//	order.go           the order of placings; sheet.go: as a table and as a page
//	described.go       … of a study that is described, without a plan
//	traces.go          the sheet to code traces by
package plan
