package codex

import "strings"

// A Range runs from a page to a page, both included.
type Range struct {
	From, To PageLabel
}

// String is the range as catalogues print it: 13r–25v, 13r–v within a leaf,
// 13r for a single page.
func (r Range) String() string {
	switch {
	case r.From == r.To:
		return r.From.String()
	case r.From.Folio == r.To.Folio:
		return r.From.String() + "–" + r.To.Side.letter()
	}
	return r.From.String() + "–" + r.To.String()
}

// An Extent is a list of page ranges as catalogues write them, such as
// "ff. 13r–25v, 30r", that prints back as it was written.
type Extent struct {
	Written string // byte for byte; empty where the extent was made by program
	Ranges  []Range
}

// String is the extent as it was written, or as catalogues write it where it
// was made by program: "f. 13r" for a single page, else "ff. 13r–25v, 30r".
func (e Extent) String() string {
	if e.Written != "" || len(e.Ranges) == 0 {
		return e.Written
	}
	parts := make([]string, len(e.Ranges))
	for i, r := range e.Ranges {
		parts[i] = r.String()
	}
	if len(parts) == 1 && e.Ranges[0].From == e.Ranges[0].To {
		return "f. " + parts[0]
	}
	return "ff. " + strings.Join(parts, ", ")
}

const (
	extentExpected = "an extent, one page or more"
	extentRemedy   = "write it such as ff. 13r–25v, or ff. 13r–25v, 30r"
)

// separators part the ranges of an extent, dashes the ends of a range.
var (
	separators = strings.NewReplacer(";", ",", "&", ",", "+", ",", " and ", ",", " et ", ",", " und ", ",")
	dashes     = strings.NewReplacer("--", "-", "–", "-", "—", "-", "−", "-", "‐", "-", "‑", "-", "‒", "-")
)

// ParseExtent reads an extent. Ranges are parted by commas, semicolons, &, +
// or "and"; their ends by a hyphen or a dash. The second end may be a side
// alone, 13r–v; a folio without a side is the whole leaf, so that ff. 13–25
// is ff. 13r–25v. Roman ends are read as pages first: ff. iv–xv runs from the
// verso of i to the verso of x, ff. i–iv from the recto of i to the verso of
// iv. Numbers cut short at the second end (113–15) are not filled in. The
// error is a [*LabelError].
func ParseExtent(text string) (Extent, error) {
	fault := &LabelError{Value: text, Expected: extentExpected, Remedy: extentRemedy}
	e := Extent{Written: text}
	pieces := strings.Split(dashes.Replace(separators.Replace(normal(text))), ",")
	for _, piece := range pieces {
		s := scanner{rest: strings.TrimSpace(piece)}
		s.prefix()
		r, ok := parseRange(s.rest)
		if !ok {
			if len(pieces) > 1 && s.rest != "" {
				fault.Remedy = "the part “" + s.rest + "” cannot be read; " + extentRemedy
			}
			return Extent{}, fault
		}
		e.Ranges = append(e.Ranges, r)
	}
	return e, nil
}

func parseRange(text string) (Range, bool) {
	first, second, isRange := strings.Cut(text, "-")
	from, whole, ok := parseEnd(first, true)
	if !ok {
		return Range{}, false
	}
	if !isRange {
		return from, true
	}
	if from.From != from.To && !whole {
		return Range{}, false // 13rv–14r
	}
	second = strings.TrimSpace(second)
	if !whole {
		if side, ok := sideAlone(second, from.From.Folio.Roman); ok {
			return Range{From: from.From, To: PageLabel{Folio: from.From.Folio, Side: side}}, true
		}
	}
	to, _, ok := parseEnd(second, !whole)
	return Range{From: from.From, To: to.To}, ok
}

// sideAlone reads a second end that is a side, 13r–v, with a column perhaps,
// 13ra–vb. After a roman label vb is a leaf.
func sideAlone(text string, roman bool) (Side, bool) {
	switch text {
	case "r", "recto":
		return Recto, true
	case "v", "verso":
		return Verso, true
	}
	if roman || len(text) != 2 || text[1] < 'a' || text[1] > 'd' {
		return Recto, false
	}
	return sideAlone(text[:1], roman)
}

// parseEnd reads one end of a range as the pages it covers; whole where it is
// a leaf without a side. Roman letters are taken as a page first with sided,
// else as a leaf.
func parseEnd(text string, sided bool) (r Range, whole, ok bool) {
	for _, way := range []bool{sided, !sided} {
		s := scanner{rest: text}
		folio, side, read := s.label(way)
		if !read || s.rest != "" {
			continue
		}
		r = Range{From: PageLabel{folio, Recto}, To: PageLabel{folio, Verso}}
		switch side {
		case rectoSide:
			r.To.Side = Recto
		case versoSide:
			r.From.Side = Verso
		}
		return r, side == noSide, true
	}
	return Range{}, false, false
}
