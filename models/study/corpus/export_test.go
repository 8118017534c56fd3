package corpus

import (
	"thumbed/models/dropoff"
	"thumbed/models/report"
)

// Spoils are ways in which what is kept of a book may not hold together.
var Spoils = map[string]func(*bookPiece){
	"nothing":    func(*bookPiece) {},
	"rows":       func(b *bookPiece) { b.Rows = 3 },
	"a code":     func(b *bookPiece) { b.Columns[0].Codes[1] = 1 },
	"two kinds":  func(b *bookPiece) { b.Columns[0].Numbers = []float64{1, 2} },
	"covariance": func(b *bookPiece) { b.Readers[0].Covariance = b.Readers[0].Covariance[:3] },
}

// Spoilt is a piece of one book that was spoilt.
func Spoilt(spoil func(*bookPiece)) Piece {
	b := bookPiece{Rows: 2, Columns: []column{{Name: "kind", Labels: []string{"hours"}, Codes: []int32{0, -1}}},
		Readers: []report.CorpusReader{{Offices: make([]dropoff.OfficeShare, 2), Covariance: make([]float64, 4)}}}
	spoil(&b)
	return Piece{Folder: "a", Books: []bookPiece{b}}
}

// BreakFor makes every folder of a corpus meet a fault of the program.
func BreakFor(c *Corpus) { c.inquiry = nil }
