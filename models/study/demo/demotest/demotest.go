// Package demotest has what tests write into a study of the demonstration's invented books
// that asks of traces alone: nothing is measured in it.
package demotest

// Tables names the tables that such a study has.
const Tables = `invented = true
[tables]
books = "books.csv"
leaves = "leaves.csv"
pages = "pages.csv"
sections = "sections.csv"
traces = ["traces.csv"]
`

// Coding is a coding book for the looks: rubbing of parts of pictures, and drops of wax.
const Coding = `[[trace]]
name = "rubbing"
about = "paint rubbed away"
kind = "grades"
on = "pictures"
parts = ["face", "hands", "feet", "frame"]
grades = [ { name = "intact", about = "no loss" }, { name = "dulled", about = "matt" }, { name = "abraded", about = "paint lost" }, { name = "bare", about = "parchment" } ]
[[trace]]
name = "wax"
about = "drops of wax"
kind = "counts"
one = "a drop"
`

// Rubbing is the model of rubbing by the parts of pictures.
const Rubbing = `[[model]]
name = "rubbing"
outcome = "rubbing"
kind = "grades"
fixed = ["part"]
[model.levels]
part = ["frame", "face", "hands", "feet"]
`
