package codex

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// A SharedPage is a page on which one text ends and the next begins, as
// catalogues often have it: ff. 13r–25r and ff. 25r–30v.
//
// It counts in the section that begins there, since that is where a reader
// opens the book for it. A section that has no other page keeps it. What is
// counted along the extents as written, [Section].Length and
// [Page].SectionPlace, counts it in each of them, and the page is the first
// page of a text wherever one begins there.
type SharedPage struct {
	Page    int   // index into Book.Pages
	Section int   // index into Book.Sections: the one in which it counts
	Others  []int // indices into Book.Sections
}

// Shared lists in physical order the pages on which texts meet.
func (b *Book) Shared() []SharedPage { return b.shared }

// SharedNote says in a sentence which pages texts share and in which section
// each counts; empty where there are none.
func (b *Book) SharedNote() string {
	var parts []string
	for _, s := range b.shared {
		if b.Pages[s.Page].Lost {
			continue // nothing can be measured on it
		}
		others := make([]string, len(s.Others))
		for k, other := range s.Others {
			others[k] = "“" + b.Sections[other].Name + "”"
		}
		parts = append(parts, fmt.Sprintf("%s counts in “%s” and not in %s", b.Pages[s.Page].Label, b.Sections[s.Section].Name, strings.Join(others, ", ")))
	}
	if parts == nil {
		return ""
	}
	return "A page on which one text ends and the next begins counts in the one that begins there, or in the one that has no other page: " + strings.Join(parts, "; ") + "."
}

// A claim is what a section's extent says of one page: it lies in a run of its
// pages, at a place of the whole extent.
type claim struct {
	section  int
	from, to int // the run, as indices into Book.Pages
	place    int // from 1
}

// claim gives each page to the first section that claims it, and returns all
// claims to the pages that more than one does.
func (b *Book) claim(placed []placedSection) map[int][]claim {
	first := make([]claim, len(b.Pages))
	contested := map[int][]claim{}
	for k := range placed {
		b.Sections = append(b.Sections, placed[k].Section)
		place := 0
		for _, run := range placed[k].runs {
			for page := run[0]; page <= run[1]; page++ {
				place++
				c := claim{k, run[0], run[1], place}
				if b.Pages[page].Section < 0 {
					b.give(page, c)
					first[page] = c
					continue
				}
				if contested[page] == nil {
					contested[page] = []claim{first[page]}
				}
				contested[page] = append(contested[page], c)
			}
		}
	}
	return contested
}

func (b *Book) give(page int, c claim) {
	p := &b.Pages[page]
	p.Section, p.SectionPlace = c.section, c.place
	p.Incipit = p.Incipit || c.place == 1
}

// share settles the pages that several sections claim. Where one ends and
// another begins the page is shared; all else is a problem, told once for two
// sections.
func (b *Book) share(r *rows, contested map[int][]claim) {
	told := map[[2]int]bool{}
	tell := func(page int, claims []claim, remedy string) {
		for _, c := range claims[1:] {
			pair := [2]int{claims[0].section, c.section}
			if !told[pair] {
				told[pair] = true
				b.overlap(r, pair, page, remedy)
			}
		}
	}
	for _, page := range slices.Sorted(maps.Keys(contested)) {
		claims := contested[page]
		if !meet(page, claims) {
			tell(page, claims, "correct one of the two extents; only a page on which one ends and the other begins may stand in both")
			continue
		}
		var alone []claim // of sections that have no other page
		for _, c := range claims {
			if b.Sections[c.section].Length == 1 {
				alone = append(alone, c)
			}
		}
		if len(alone) > 1 {
			tell(page, alone, "a page counts in one section only: join the two, or leave the page to one of them")
			continue
		}
		owner := slices.MaxFunc(claims, func(a, c claim) int { return b.right(page, a) - b.right(page, c) })
		b.settle(page, owner, claims)
	}
	b.checkOwned(r, told)
}

// meet tells whether texts meet on a page: at most one comes from before it, at
// most one goes beyond it, none does both, and none claims it twice.
func meet(page int, claims []claim) bool {
	before, beyond := 0, 0
	seen := map[int]bool{}
	for _, c := range claims {
		if c.from < page && page < c.to || seen[c.section] {
			return false
		}
		seen[c.section] = true
		if c.from < page {
			before++
		}
		if c.to > page {
			beyond++
		}
	}
	return before <= 1 && beyond <= 1
}

// right ranks claims to a shared page: that of a section with no other page,
// then that of a text that begins there and goes on, then that of one that
// begins there.
func (b *Book) right(page int, c claim) int {
	switch {
	case b.Sections[c.section].Length == 1:
		return 3
	case c.to > page:
		return 2
	case c.from == page:
		return 1
	}
	return 0
}

func (b *Book) settle(page int, owner claim, claims []claim) {
	shared := SharedPage{Page: page, Section: owner.section}
	for _, c := range claims {
		b.Pages[page].Incipit = b.Pages[page].Incipit || c.place == 1
		if c.section != owner.section {
			shared.Others = append(shared.Others, c.section)
		}
	}
	b.give(page, owner)
	b.shared = append(b.shared, shared)
}

// checkOwned reports a section all of whose pages count in others.
func (b *Book) checkOwned(r *rows, told map[[2]int]bool) {
	if len(b.shared) == 0 || len(told) > 0 {
		return
	}
	owned := make([]bool, len(b.Sections))
	for i := range b.Pages {
		if s := b.Pages[i].Section; s >= 0 {
			owned[s] = true
		}
	}
	for k, s := range b.Sections {
		if !owned[k] {
			r.fault(s.Row, ColumnExtent, s.Extent.Written, "a page that counts in this section; others claim all of them",
				"join it with one of them, or give it a page of its own")
		}
	}
}

// overlap reports two sections that claim one page, or one that claims it
// twice.
func (b *Book) overlap(r *rows, pair [2]int, page int, remedy string) {
	other, s, label := &b.Sections[pair[0]], &b.Sections[pair[1]], b.Pages[page].Label
	if other == s {
		r.fault(s.Row, ColumnExtent, s.Extent.Written, fmt.Sprintf("each page once; %s stands in two ranges", label), "correct the ranges")
		return
	}
	r.fault(s.Row, ColumnExtent, s.Extent.Written,
		fmt.Sprintf("pages of no other section; %s stands in “%s” too (%s)", label, other.Name, r.place(other.Row)), remedy)
}
