package codex

// An opening is a verso and the recto that faces it: what a reader sees, and
// touches, at once.
//
// Across a lost leaf there is none. The two pages that face there today did
// not face when the book was whole, and the wear that one of them shows was
// shared with a page that is gone. Nor has the first recto or the last verso
// an opening, since a board or pastedown faces it.

// Opening gives the page that faces a page (both indices into Pages); not ok
// at the ends of the book, beside a lost leaf and on one.
func (b *Book) Opening(page int) (other int, ok bool) {
	other = page + 1
	if b.Pages[page].Label.Side == Recto {
		other = page - 1
	}
	if other < 0 || other >= len(b.Pages) || b.Pages[page].Lost || b.Pages[other].Lost {
		return 0, false
	}
	return other, true
}

// facing tells, as a feature, whether a picture is on the facing page: yes or
// no, and "" beside a lost leaf, where it cannot be known.
func (b *Book) facing(page int) string {
	if other, ok := b.Opening(page); ok {
		return yesNo(b.Pages[other].Picture)
	}
	if page == 0 || page == len(b.Pages)-1 {
		return "no"
	}
	return ""
}
