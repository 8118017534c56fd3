package report

import (
	"gonum.org/v1/plot/vg"
)

// spread moves places, given in order, as little as it can (in the sum of
// squares) so that neighbours stand at least gap apart and all within low and
// high. The solution is isotonic regression of the places less their own
// multiple of the gap, by pooling adjacent violators (R. E. Barlow and others,
// Statistical Inference under Order Restrictions, 1972, section 1.2). The places
// must fit: (len−1)·gap at most high − low.
func spread(places []vg.Length, gap, low, high vg.Length) []vg.Length {
	type block struct {
		sum   vg.Length
		count int
	}
	mean := func(b block) vg.Length { return b.sum / vg.Length(b.count) }
	var blocks []block
	for i, place := range places {
		blocks = append(blocks, block{place - vg.Length(i)*gap, 1})
		for len(blocks) > 1 && mean(blocks[len(blocks)-2]) >= mean(blocks[len(blocks)-1]) {
			last := len(blocks) - 1
			blocks[last-1] = block{blocks[last-1].sum + blocks[last].sum, blocks[last-1].count + blocks[last].count}
			blocks = blocks[:last]
		}
	}
	out := make([]vg.Length, 0, len(places))
	top := high - vg.Length(len(places)-1)*gap
	for _, b := range blocks {
		at := min(max(mean(b), low), top)
		for range b.count {
			out = append(out, at+vg.Length(len(out))*gap)
		}
	}
	return out
}

// A textBox is the room that a label takes.
type textBox struct{ x0, y0, x1, y1 vg.Length }

func (b textBox) meets(other textBox) bool {
	return b.x0 < other.x1 && other.x0 < b.x1 && b.y0 < other.y1 && other.y0 < b.y1
}

// free tells whether the box meets none of the others.
func (b textBox) free(others []textBox) bool {
	for _, other := range others {
		if b.meets(other) {
			return false
		}
	}
	return true
}
