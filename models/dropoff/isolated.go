package dropoff

import (
	"fmt"
	"slices"

	"thumbed/models/profile"
)

// joined gives the series with each single row that stands apart from both its
// neighbours ([profile.Outliers]) put in the middle between them. A stain, a drop of
// wax or a page that was kissed is no level of its own, which takes two rows; but
// as noise it would seem to go on into the rows after it, as much as these are
// alike, and so to make the likes of levels. apart lists such rows, from 1.
func (s Series) joined() (out Series, apart []int) {
	v := robustNoise(s, 0)
	if out = s; v.scatter == 0 {
		return out, nil
	}
	variances := make([]float64, len(s.Values))
	for i := range variances {
		variances[i] = v.variance(i + 1)
	}
	for _, i := range profile.Outliers(s.Values, variances) {
		if apart == nil {
			out.Values = slices.Clone(s.Values)
		}
		a, b := profile.Beside(i, len(s.Values))
		out.Values[i] = (s.Values[a] + s.Values[b]) / 2
		apart = append(apart, i+1)
	}
	return out, apart
}

// joined is [Series.joined] about the levels between known breaks, where a level
// takes two rows or more; apart is how far each such row stood from that middle.
func (o Options) joined(s Series) (out Series, apart []float64) {
	if o.MinLength < 2 {
		return s, nil
	}
	flat := s.levelled(o.breaks())
	smooth, rows := flat.joined()
	if len(rows) == 0 {
		return s, nil
	}
	out = s
	out.Values = slices.Clone(s.Values)
	for _, i := range rows {
		by := flat.Values[i-1] - smooth.Values[i-1]
		out.Values[i-1] -= by
		apart = append(apart, by)
	}
	return out, apart
}

// apartNote names the single rows that stand apart from their neighbours.
func (o Options) apartNote(s Series) string {
	if o.MinLength < 2 {
		return ""
	}
	_, rows := s.levelled(o.breaks()).joined()
	var named []string
	for _, i := range rows {
		named = append(named, s.Label(i))
	}
	switch n := len(named); {
	case n == 0:
		return ""
	case n == 1:
		return fmt.Sprintf("Row %s stands far apart from the rows on either side: it bears on the level that it lies in, and on changes beside it. If a stain or a picture explains it, leave it out.", named[0])
	case n > mostNamed:
		return fmt.Sprintf("%d rows stand far apart from the rows on either side, the first %s: they bear on the levels that they lie in, and on changes beside them. What a stain or a picture explains, leave out.", n, list(named[:mostNamed], "and"))
	}
	return fmt.Sprintf("Rows %s stand far apart from the rows on either side: they bear on the levels that they lie in, and on changes beside them. What a stain or a picture explains, leave out.", list(named, "and"))
}

// leaveApart leaves the single rows out of a book's series that stand far apart
// from their neighbours, which apart lists.
func leaveApart(s Series, rows []int) (out Series, kept, apart []int) {
	_, single := s.joined()
	if len(single) == 0 {
		return s, rows, nil
	}
	out = Series{Notes: s.Notes}
	for i := range s.Values {
		if slices.Contains(single, i+1) {
			apart = append(apart, rows[i])
			continue
		}
		out.Values = append(out.Values, s.Values[i])
		out.SE = append(out.SE, s.SE[i])
		out.Labels = append(out.Labels, s.Labels[i])
		out.Position = append(out.Position, s.Position[i])
		kept = append(kept, rows[i])
	}
	return out, kept, apart
}

// apartNotes name the pages that a series leaves out since they stand far apart.
func (h *hours) apartNotes(pages []int) []string {
	var named []string
	for _, page := range pages {
		named = append(named, h.book.Pages[page].Label.String())
	}
	switch len(named) {
	case 0:
		return nil
	case 1:
		return []string{"f. " + named[0] + " stands far apart from the measured pages on either side, and the series along the pages leaves it out: a single page is no stretch. What else is said of its text holds it; if it is a stain, exclude its readings and say why."}
	}
	return []string{"ff. " + list(named, "and") + " stand far apart from the measured pages on either side, and the series along the pages leaves them out: a single page is no stretch. What else is said of their texts holds them; if they are stains, exclude their readings and say why."}
}

// pagesOf are the pages of some rows.
func (h *hours) pagesOf(rows []int) []int {
	var out []int
	for _, i := range rows {
		out = append(out, h.rows[i].page)
	}
	return out
}
