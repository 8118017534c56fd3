package codex

import (
	"fmt"

	"thumbed/models/table"
)

// OfFormula makes the leaves that a collation formula states, as a book by the
// name given; outer is the side of the skin on the outside of each quire, hair or
// flesh, empty where it is not known. The error is a [*LabelError] where
// the formula cannot be read.
func OfFormula(name, formula, outer string) (*Book, error) {
	read, err := ParseFormula(formula)
	if err != nil {
		return nil, err
	}
	leaves, err := read.Leaves()
	if err != nil {
		return nil, err
	}
	books, err := table.New(table.Labels(ColumnBook, []string{name}), table.Labels(ColumnOuter, []string{outer}))
	if err != nil {
		return nil, err
	}
	var ps table.Problems
	loaded := FromTables(Tables{Books: books, Leaves: LeavesTable(name, leaves)}, &ps)
	if err := ps.Err(); err != nil {
		return nil, fmt.Errorf("the collation %s makes no book: %w", formula, err)
	}
	return loaded[0], nil
}
