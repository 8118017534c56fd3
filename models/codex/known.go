package codex

// Known is what a scholar knows of a book before its wear is looked at: where it
// changes, and where it cannot.
type Known struct {
	Breaks   []Break   // in physical order, one before a page
	Unbroken []Stretch // in physical order; none overlaps another or holds a break
}

// A Break is a known break: a change of scribe, a rebinding, a new quire set.
type Break struct {
	Page   int // index into Book.Pages of the first page after it
	Reason string
}

// A Stretch is pages that were made and read as one: a cycle of pictures, a
// single prayer. From and To, both in it, are indices into Book.Pages.
type Stretch struct {
	From, To int
	Reason   string
}

// Side is on how many known breaks' further side a page lies: pages with the
// same number have no break between them.
func (k Known) Side(page int) int {
	side := 0
	for _, b := range k.Breaks {
		if page >= b.Page {
			side++
		}
	}
	return side
}
