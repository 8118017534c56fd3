package table

import (
	"cmp"
	"hash/maphash"
	"slices"
)

// A repeat is a row whose labels stand in a row before.
type repeat struct{ row, first int }

// repeats are the rows of which another, before them, has the same labels in
// all of the columns. Rows are put in the order of a hash, so that only those
// that share one need be compared: 16 bytes a row, where an index of all labels
// would need many times as much.
func repeats(columns ...*Column) (found []repeat) {
	type hashed struct {
		hash uint64
		row  int32
	}
	var h maphash.Hash
	rows := make([]hashed, columns[0].Len())
	for i := range rows {
		h.Reset()
		for _, c := range columns {
			h.WriteString(c.Label(i))
			h.WriteByte(0)
		}
		rows[i] = hashed{h.Sum64(), int32(i)}
	}
	slices.SortFunc(rows, func(a, b hashed) int {
		return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.row, b.row))
	})
	same := func(a, b int) bool {
		return !slices.ContainsFunc(columns, func(c *Column) bool { return c.Label(a) != c.Label(b) })
	}
	var firsts []int // rows of one hash that differ: nearly always one
	for k, r := range rows {
		if k == 0 || r.hash != rows[k-1].hash {
			firsts = firsts[:0]
		}
		row := int(r.row)
		if at := slices.IndexFunc(firsts, func(first int) bool { return same(row, first) }); at >= 0 {
			found = append(found, repeat{row: row, first: firsts[at]})
		} else {
			firsts = append(firsts, row)
		}
	}
	slices.SortFunc(found, func(a, b repeat) int { return cmp.Compare(a.row, b.row) })
	return found
}
