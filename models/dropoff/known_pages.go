package dropoff

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/codex"
)

// options are what is known of the book beforehand, for a series of some of the
// rows: a break lies between two rows that follow each other wherever these are on
// different sides of it, and a stretch holds no change between its rows that
// follow each other. What lies outside the series is passed over.
func (h *hours) options(rows []int) Options {
	o := Options{Level: h.among.Level}
	for k := 1; k < len(rows); k++ {
		if names := h.breaksBetween(h.rows[rows[k-1]].page, h.rows[rows[k]].page); len(names) > 0 {
			o.Breaks = append(o.Breaks, k)
			if o.Named == nil {
				o.Named = map[int]BreakName{}
			}
			o.Named[k] = joinedName(names)
		}
	}
	for _, w := range h.book.Known.Unbroken {
		for from := 0; from < len(rows); {
			to := from
			for to < len(rows) && w.From <= h.rows[rows[to]].page && h.rows[rows[to]].page <= w.To {
				to++
			}
			if to-from > 1 {
				o.Quiet = append(o.Quiet, [2]int{from + 1, to})
				o.Why = append(o.Why, w.Reason)
			}
			from = max(to, from+1)
		}
	}
	return o
}

// breaksBetween names the known breaks that part two pages.
func (h *hours) breaksBetween(one, other int) []BreakName {
	var out []BreakName
	for _, b := range h.book.Known.Breaks {
		if (one < b.Page) != (other < b.Page) {
			out = append(out, BreakName{h.book.Pages[b.Page].Label.String(), b.Reason})
		}
	}
	return out
}

// joinedName is one name for breaks between which no page was measured.
func joinedName(names []BreakName) BreakName {
	var before, reasons []string
	for _, n := range names {
		before = append(before, n.Before)
		if !slices.Contains(reasons, n.Reason) {
			reasons = append(reasons, n.Reason)
		}
	}
	return BreakName{strings.Join(before, " and "), strings.Join(reasons, "; ")}
}

// parts are the shares of each office's measured pages on each side of the known
// breaks, one row a part of the book and the parts in physical order; nil where no
// break lies among the pages.
func (h *hours) parts(offices []codex.Office) [][]float64 {
	pages := make([][]float64, len(h.book.Known.Breaks)+1)
	for part := range pages {
		pages[part] = make([]float64, len(offices))
	}
	for _, row := range h.rows {
		if at := slices.Index(offices, row.office); at >= 0 {
			pages[h.book.Known.Side(row.page)][at] += 1 / float64(h.pages(row.office))
		}
	}
	pages = slices.DeleteFunc(pages, func(part []float64) bool { return !slices.ContainsFunc(part, func(v float64) bool { return v > 0 }) })
	if len(pages) < 2 {
		return nil
	}
	return pages
}

// knownAmong names the known breaks that part the pages of these hours, with the
// offices between which, or in which, each lies.
func (h *hours) knownAmong() []string {
	var out []string
	for _, b := range h.book.Known.Breaks {
		var before, after []codex.Office
		for _, row := range h.rows {
			side := &after
			if row.page < b.Page {
				side = &before
			}
			if !slices.Contains(*side, row.office) {
				*side = append(*side, row.office)
			}
		}
		if len(before) == 0 || len(after) == 0 {
			continue
		}
		where := fmt.Sprintf("between %s and %s", before[len(before)-1], after[0])
		if slices.Contains(before, after[0]) {
			where = "within " + after[0].String()
		}
		out = append(out, fmt.Sprintf("before f. %s (%s), %s", h.book.Pages[b.Page].Label, b.Reason, where))
	}
	return out
}

// knownNotes warn of the known breaks among the pages of the hours, as
// [hours.knownAmong] names them.
func knownNotes(known []string) []string {
	if len(known) == 0 {
		return nil
	}
	word := "A known break lies"
	if len(known) > 1 {
		word = "Known breaks lie"
	}
	return []string{fmt.Sprintf("%s among these hours: %s. Shares compare offices on both sides of it as they are: what is missing behind a break may be its doing, not the reader’s.", word, list(known, "and"))}
}
