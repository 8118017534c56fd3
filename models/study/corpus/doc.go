// Package corpus answers: what do hundreds or thousands of books say together,
// when each lies with its tables in a folder of its own?
//
// corpus.toml names the folders ([Open]). One pass reads, checks and measures each
// by itself, on all processors, and keeps of it no more than the columns that the
// models need, a line about each book, and its curve along the offices; so the
// memory needed is that of the pages' rows, not of the tables. A folder that
// fails is told of, and the rest goes on. Then the models are fitted to all pages,
// the questions answered, and the readers compared ([Corpus.Run]).
//
// Each folder is a campaign of measuring of its own: its repeatability and its
// drift are those of its own log. So a corpus of one folder has the wear, the
// models and the answers of a study of the same tables.
//
// # Speed
//
// A book of 300 pages and 1,200 readings takes about 35 milliseconds of a processor of
// 2026, its share of the models and readers included: 5,000 took 175 s of processor and
// 445 MB, 2,000 took 68 s and 255 MB, most of it while the model of all pages was fitted.
// 20,000 books in one run have not been measured; by these figures they ask for 12 minutes
// of processor and 1.4 GB.
//
// # Map
//
//	file.go     corpus.toml
//	folders.go  the folders that it names, and their tables
//	pass.go     one folder: from tables to a piece
//	piece.go    what is kept of a folder
//	gather.go   pieces put together: the pages of all books
//	readers.go  readers compared on the same offices
//	run.go      the whole of it
//	contents.go what a deposit tells of them
//	check.go    the folders looked through, and nothing fitted
//	write.go    the folder of results, its record, and the run made again
package corpus
