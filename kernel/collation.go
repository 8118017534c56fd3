package kernel

import (
	"thumbed/models/codex"
	"thumbed/models/report/collation"
)

// collationFigure is the diagram of how a book's leaves hang together.
func collationFigure(b *codex.Book) (Output, error) {
	d, err := collation.Draw(b)
	return Output{Plain: d.Title + ". " + d.Words, SVG: d.SVG, PNG: d.PNG}, err
}
