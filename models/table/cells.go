package table

import (
	"math"
	"slices"
	"strings"
)

// cells are the labels of one column, one a row, in the form in which they take
// least room: plain where a program gave them, coded where they recur, apart
// where nearly every one is another.
type cells interface {
	at(row int) string
	len() int
	pick(rows []int) cells
}

// plain are cells that a program gave, as they were given.
type plain []string

func (p plain) at(row int) string     { return p[row] }
func (p plain) len() int              { return len(p) }
func (p plain) pick(rows []int) cells { return plain(pick(p, rows)) }

// coded are cells of which each distinct one is kept once.
type coded struct {
	levels []string // distinct, the empty one perhaps among them
	codes  codes    // for each row, which of the levels
}

func (c *coded) at(row int) string { return c.levels[c.codes.at(row)] }
func (c *coded) len() int          { return c.codes.len() }
func (c *coded) pick(rows []int) cells {
	return &coded{levels: c.levels, codes: c.codes.pick(rows)}
}

// inOrder gives the levels that have a row, but for the empty one, in order of
// first appearance, and for each row the index of its level, −1 where empty.
func (c *coded) inOrder() (levels []string, index []int32) {
	const unseen = -2
	place := make([]int32, len(c.levels))
	for k, level := range c.levels {
		place[k] = unseen
		if level == "" {
			place[k] = -1
		}
	}
	index = make([]int32, c.len())
	for i := range index {
		code := c.codes.at(i)
		if place[code] == unseen {
			place[code] = int32(len(levels))
			levels = append(levels, c.levels[code])
		}
		index[i] = place[code]
	}
	return levels, index
}

// codes are small whole numbers, one a row, in as few bytes each as the
// greatest of them needs: one of the slices is used, the others are nil.
type codes struct {
	one  []uint8
	two  []uint16
	four []uint32
}

func (c *codes) at(row int) uint32 {
	switch {
	case c.one != nil:
		return uint32(c.one[row])
	case c.two != nil:
		return uint32(c.two[row])
	}
	return c.four[row]
}

func (c *codes) len() int { return len(c.one) + len(c.two) + len(c.four) }

// add appends a code, and first widens all where it needs more bytes.
func (c *codes) add(code uint32) {
	switch {
	case c.two == nil && c.four == nil:
		if code <= math.MaxUint8 {
			c.one = append(c.one, uint8(code))
			return
		}
		c.two, c.one = widened[uint16](c.one), nil
		fallthrough
	case c.four == nil:
		if code <= math.MaxUint16 {
			c.two = append(c.two, uint16(code))
			return
		}
		c.four, c.two = widened[uint32](c.two), nil
		fallthrough
	default:
		c.four = append(c.four, code)
	}
}

func widened[To, From uint8 | uint16 | uint32](from []From) []To {
	to := make([]To, len(from), cap(from)+1)
	for i, v := range from {
		to[i] = To(v)
	}
	return to
}

// grow makes room for rows in all.
func (c *codes) grow(rows int) {
	switch {
	case c.four != nil:
		c.four = withRoom(c.four, rows)
	case c.two != nil:
		c.two = withRoom(c.two, rows)
	default:
		c.one = withRoom(c.one, rows)
	}
}

// withRoom gives values in a slice with room for so many, and no more.
func withRoom[T any](values []T, room int) []T {
	return append(make([]T, 0, room), values...)
}

func (c *codes) pick(rows []int) codes {
	switch {
	case c.four != nil:
		return codes{four: pick(c.four, rows)}
	case c.two != nil:
		return codes{two: pick(c.two, rows)}
	}
	return codes{one: pick(c.one, rows)}
}

// apart are cells of which few recur: their letters end to end, in blocks, and
// where in its block each ends.
type apart struct {
	blocks []block
	rows   int
}

// blockRows is how many cells a block holds. A longest cell, of mostRunes,
// has at most 128 KiB, so that the ends of a block fit into 32 bits.
const blockRows = 1 << 12

type block struct {
	text string
	ends []uint32
}

func (a *apart) at(row int) string {
	b, k := &a.blocks[row/blockRows], row%blockRows
	start := uint32(0)
	if k > 0 {
		start = b.ends[k-1]
	}
	return b.text[start:b.ends[k]]
}

func (a *apart) len() int { return a.rows }

func (a *apart) pick(rows []int) cells {
	var w apartWriter
	for _, row := range rows {
		w.add(a.at(row))
	}
	return w.finish()
}

// An apartWriter puts cells apart.
type apartWriter struct {
	done apart
	text []byte // of the block that is being filled
	ends []uint32
}

func (w *apartWriter) add(cell string) {
	if len(w.ends) == blockRows {
		w.close()
	}
	w.text = append(w.text, cell...)
	w.ends = append(w.ends, uint32(len(w.text)))
	w.done.rows++
}

// close ends a block; the next one is filled in the same room.
func (w *apartWriter) close() {
	w.done.blocks = append(w.done.blocks, block{text: string(w.text), ends: slices.Clone(w.ends)})
	w.text, w.ends = w.text[:0], w.ends[:0]
}

func (w *apartWriter) finish() *apart {
	if len(w.ends) > 0 {
		w.close()
	}
	return &w.done
}

const (
	// fewLevels is how many distinct cells a column may have and be coded in
	// any case.
	fewLevels = 1 << 16
	// rowsPerLevel is how many rows each level must stand for, on the average,
	// where there are more: below it a level's own room, and that of its place
	// in the index while the table is read, is more than coding saves.
	rowsPerLevel = 8
)

// A cellWriter takes the cells of a column one by one. The zero value is ready
// for use.
type cellWriter struct {
	coded coded
	index map[string]uint32 // of each level
	last  uint32            // code of the last cell
	store strings.Builder   // in which many levels share one piece of memory
	apart *apartWriter      // nil as long as the column is coded
}

// add appends a cell; what it is given may be overwritten afterwards.
func (w *cellWriter) add(cell string) {
	if w.apart != nil {
		w.apart.add(cell)
		return
	}
	if len(w.coded.levels) == 0 || w.coded.levels[w.last] != cell {
		code, known := w.index[cell]
		if !known {
			if w.tooMany() {
				w.part()
				w.apart.add(cell)
				return
			}
			code = w.level(cell)
		}
		w.last = code
	}
	w.coded.codes.add(w.last)
}

// tooMany tells whether the column has so many levels that it is better not
// coded.
func (w *cellWriter) tooMany() bool {
	n := len(w.coded.levels)
	return n >= fewLevels && n*rowsPerLevel > w.coded.codes.len()
}

// part goes over from coded cells to cells apart.
func (w *cellWriter) part() {
	w.apart = &apartWriter{}
	for row := range w.coded.len() {
		w.apart.add(w.coded.at(row))
	}
	w.coded, w.index, w.store = coded{}, nil, strings.Builder{}
}

// level gives a cell not seen before its code.
func (w *cellWriter) level(cell string) uint32 {
	if w.store.Cap()-w.store.Len() < len(cell) {
		w.store = strings.Builder{}
		w.store.Grow(max(len(cell), min(chunk, 16*len(cell)*(1+len(w.index)))))
	}
	start := w.store.Len()
	w.store.WriteString(cell)
	kept := w.store.String()[start:]
	if w.index == nil {
		w.index = map[string]uint32{}
	}
	code := uint32(len(w.coded.levels))
	w.index[kept] = code
	w.coded.levels = append(w.coded.levels, kept)
	return code
}

// grow makes room for so many rows in all.
func (w *cellWriter) grow(rows int) {
	if w.apart == nil {
		w.coded.codes.grow(rows)
	}
}

// finish gives the cells, and lets go of all else.
func (w *cellWriter) finish() cells {
	done := *w
	*w = cellWriter{}
	if done.apart != nil {
		return done.apart.finish()
	}
	return &coded{levels: done.coded.levels, codes: done.coded.codes}
}
