// Package power answers: how often would a measuring campaign answer the
// question, and how wide would its interval be?
//
// It draws campaigns of a design (so many books, pages of each and placings on
// each page) from assumed or fitted parameters, sends each through the engine
// that the real one will go through ([mixed.Model.Fit], [hypotheses.Ask]), and
// counts. A campaign is drawn with all that matters to the answer: what varies
// between books, quires, texts and pages, slopes and autoregression as the model
// has them, and the measuring with its repeatability, rounding, floor, days and
// observers.
//
// Each campaign is drawn twice from the same random numbers: with the effect
// that the plan is for, which gives the power, and with none, which gives the
// rate of false claims, a check of the test itself, and how often an effect that
// would matter could be ruled out.
//
// Every campaign has random numbers of its own, which depend on the seed, the
// design and its number alone: neither the other designs nor the number of
// processors change a digit.
//
// # Map
//
//	setting.go    what is tried: model, question, truth, books, designs
//	books.go      the pages that a drawn campaign measures
//	measuring.go  from the true wear of a page to what the log says of it
//	campaign.go   one campaign drawn, fitted and asked
//	run.go        many campaigns on all processors
//	result.go     what they come to; sentence.go: in words
package power
