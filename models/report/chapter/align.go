package chapter

import (
	"strings"
	"unicode/utf8"

	"thumbed/models/report/grid"
)

// A figured part is a number as it is shown, parted at its point.
type figured struct {
	lead string // sign and whole digits
	tail string // point and decimals
}

// figures parts a number as it is shown; ok is false where it holds more than a
// number, and is set as words.
func figures(text string) (f figured, ok bool) {
	lead, tail, pointed := strings.Cut(text, ".")
	bare := strings.NewReplacer("−", "", "\u202f", "", "\u00a0", "", "<", "", ">", "").Replace(lead)
	if strings.Trim(bare, "0123456789") != "" || bare == "" || strings.Trim(tail, "0123456789") != "" {
		return figured{}, false
	}
	if pointed {
		tail = "." + tail
	}
	return figured{lead, tail}, true
}

// numbersOf are the parts of a cell that are numbers and nothing else; none where
// another part of it speaks.
func numbersOf(c grid.Cell) []figured {
	var out []figured
	for _, p := range c.Parts {
		if !p.IsNumber() {
			continue
		}
		f, ok := figures(p.Text)
		if !ok {
			return nil
		}
		out = append(out, f)
	}
	return out
}

// A plumb is what the numbers of one column need so that their points stand below
// each other: the longest tail and, for the second number of an interval, the
// longest lead.
type plumb struct {
	leads, tails []int // decimals and digits, counted
	minus        []bool
}

// plumbOf measures the cells that hold so many numbers.
func plumbOf(cells []grid.Cell, numbers int) plumb {
	p := plumb{make([]int, numbers), make([]int, numbers), make([]bool, numbers)}
	for _, c := range cells {
		found := numbersOf(c)
		if len(found) != numbers {
			continue
		}
		for i, f := range found {
			p.leads[i] = max(p.leads[i], digits(f.lead))
			p.tails[i] = max(p.tails[i], utf8.RuneCountInString(f.tail))
			p.minus[i] = p.minus[i] || strings.Contains(f.lead, "−")
		}
	}
	return p
}

func digits(lead string) int {
	n := 0
	for _, c := range lead {
		if c >= '0' && c <= '9' {
			n++
		}
	}
	return n
}

// cell sets a cell of a column of numbers. Blanks as wide as the digits that
// others have more stand before and behind.
func (p plumb) cell(c grid.Cell, s *setter) string {
	var b strings.Builder
	at := 0
	for _, part := range c.Parts {
		f, ok := figures(part.Text)
		if !part.IsNumber() || !ok {
			b.WriteString(s.text(part.Text))
			continue
		}
		if lacking := p.lacking(f, at); at > 0 && lacking != "" {
			b.WriteString(`\phantom{` + s.text(lacking) + `}`)
		}
		b.WriteString(s.text(part.Text))
		b.WriteString(blank(p.tails[at]-utf8.RuneCountInString(f.tail), f.tail == ""))
		at++
	}
	return b.String()
}

// width estimates the width of a cell with its blanks, in em.
func (p plumb) width(c grid.Cell) float64 {
	w := widthOf(c.Text())
	for at, f := range numbersOf(c) {
		if at > 0 {
			w += widthOf(p.lacking(f, at))
		}
		w += widthOf(strings.Repeat("0", max(p.tails[at]-utf8.RuneCountInString(f.tail), 0)))
	}
	return w
}

// lacking is what others have before the point and this number has not.
func (p plumb) lacking(f figured, at int) string {
	out := strings.Repeat("0", p.leads[at]-digits(f.lead))
	if p.minus[at] && !strings.Contains(f.lead, "−") {
		return "−" + out
	}
	return out
}

// blank is as wide as so many characters of decimals, with the point where it is
// among them.
func blank(n int, point bool) string {
	switch {
	case n <= 0:
		return ""
	case point:
		return `\phantom{.` + strings.Repeat("0", n-1) + `}`
	}
	return `\phantom{` + strings.Repeat("0", n) + `}`
}
