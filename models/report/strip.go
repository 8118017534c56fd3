package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/wording"
)

// A strip is what stands around a chart along the book: the bands of the
// sections behind it, their names above, slanted, and brackets below that
// gather the offices of one set of hours.
type strip struct {
	runs          []run
	names         []stripName
	sets          []bracket
	unnamed       int // sections too many to name
	labelHeight   vg.Length
	bracketHeight vg.Length
}

// A run is an unbroken piece of one section, in positions.
type run struct {
	section   int
	low, high float64
}

type stripName struct {
	at    float64 // position of the band's middle
	width float64 // of the band, in positions
	text  string
	kind  string // of the section; empty for a set of hours
}

type bracket struct {
	low, high float64
	text      string
	row       int
}

const (
	slant       = 50 * math.Pi / 180
	nameGap     = vg.Length(9.6) // between slanted names along the axis
	nameRise    = vg.Length(13)  // from the plot to the foot of the names
	bracketRow  = vg.Length(14)
	narrowBand  = 0.62 // bands narrower than this share of a name's room are gathered under their set's name
	longestName = 24
)

// newStrip lays out the sections of a book over a plot of about the width.
func newStrip(b *codex.Book, width vg.Length) strip {
	s := strip{runs: sectionRuns(b)}
	pages := float64(max(len(b.Pages), 1))
	perPage := width / vg.Length(pages)
	s.gather(b, perPage)
	s.drop(width)
	s.measure()
	s.layBrackets(perPage)
	return s
}

// sectionRuns are the pieces of all sections in the order of the book. Lost
// leaves inside a section do not break it.
func sectionRuns(b *codex.Book) []run {
	var out []run
	open := false
	for _, p := range b.Pages {
		if p.Lost {
			continue
		}
		x := float64(p.Position)
		if p.Section < 0 {
			open = false
			continue
		}
		if n := len(out); open && out[n-1].section == p.Section {
			out[n-1].high = x + 0.5
			continue
		}
		out = append(out, run{p.Section, x - 0.5, x + 0.5})
		open = true
	}
	return out
}

// gather names each section at its longest run; offices too narrow for names
// of their own share the name of their set, and wide ones get a bracket.
func (s *strip) gather(b *codex.Book, perPage vg.Length) {
	longest := map[int]run{}
	for _, r := range s.runs {
		if known, ok := longest[r.section]; !ok || r.high-r.low > known.high-known.low {
			longest[r.section] = r
		}
	}
	sets := setsOf(b, longest)
	gathered := map[string]bool{}
	for _, set := range sets {
		gathered[set.name] = set.offices > 1 && vg.Length(set.wide/float64(set.offices))*perPage < nameGap*narrowBand
		if set.offices > 1 && !gathered[set.name] {
			s.sets = append(s.sets, bracket{low: set.low, high: set.high, text: setName(set.name)})
		}
	}
	named := map[string]bool{}
	for _, r := range s.runs {
		if longest[r.section] != r {
			continue
		}
		section := b.Sections[r.section]
		if section.Office == codex.NoOffice || !gathered[section.Set] {
			s.names = append(s.names, stripName{(r.low + r.high) / 2, r.high - r.low, shortName(section), section.Kind})
			continue
		}
		if !named[section.Set] {
			named[section.Set] = true
			for _, set := range sets {
				if set.name == section.Set {
					s.names = append(s.names, stripName{(set.low + set.high) / 2, set.high - set.low, wording.Clipped(setName(set.name), longestName), ""})
				}
			}
		}
	}
	slices.SortStableFunc(s.names, func(a, b stripName) int { return cmp.Compare(a.at, b.at) })
	s.names = gatherKinds(s.names, perPage)
}

// gatherKinds gives neighbours of one kind whose bands are too narrow for names
// of their own one name together, with their number: "Suffrage (6)".
func gatherKinds(names []stripName, perPage vg.Length) []stripName {
	var out []stripName
	narrow := func(n stripName) bool { return n.kind != "" && vg.Length(n.width)*perPage < nameGap }
	for i := 0; i < len(names); {
		j := i + 1
		for narrow(names[i]) && j < len(names) && narrow(names[j]) && names[j].kind == names[i].kind {
			j++
		}
		if j-i < 3 {
			out = append(out, names[i])
			i++
			continue
		}
		first, last := names[i], names[j-1]
		low, high := first.at-first.width/2, last.at+last.width/2
		out = append(out, stripName{(low + high) / 2, high - low, fmt.Sprintf("%s (%d)", wording.Capital(first.kind), j-i), ""})
		i = j
	}
	return out
}

type hourSet struct {
	name      string
	offices   int
	wide      float64 // pages of its offices together
	low, high float64
}

// setsOf are the sets of hours in the order of the book.
func setsOf(b *codex.Book, longest map[int]run) []hourSet {
	var out []hourSet
	index := map[string]int{}
	for k, section := range b.Sections {
		r, ok := longest[k]
		if section.Office == codex.NoOffice || !ok {
			continue
		}
		i, known := index[section.Set]
		if !known {
			i = len(out)
			index[section.Set] = i
			out = append(out, hourSet{name: section.Set, low: r.low, high: r.high})
		}
		set := &out[i]
		set.offices++
		set.wide += r.high - r.low
		set.low, set.high = min(set.low, r.low), max(set.high, r.high)
	}
	return out
}

// drop leaves out the names of the narrowest bands where all do not fit beside
// each other and inside the figure.
func (s *strip) drop(width vg.Length) {
	overhang := vg.Length(0)
	for _, n := range s.names {
		overhang = max(overhang, nameReach(n))
	}
	for vg.Length(len(s.names)-1)*nameGap > width-overhang {
		narrowest := 0
		for i, n := range s.names {
			if n.width < s.names[narrowest].width {
				narrowest = i
			}
		}
		s.names = append(s.names[:narrowest], s.names[narrowest+1:]...)
		s.unnamed++
	}
}

func (s *strip) measure() {
	style := lettering(smallSize, text)
	longest := vg.Length(0)
	for _, n := range s.names {
		longest = max(longest, style.Width(n.text))
	}
	if len(s.names) > 0 {
		s.labelHeight = nameRise + longest*vg.Length(math.Sin(slant)) + smallSize
	} else {
		s.labelHeight = 6
	}
}

// layBrackets puts each bracket in the first row where its text meets no other.
func (s *strip) layBrackets(perPage vg.Length) {
	style := lettering(smallSize, text)
	var ends []vg.Length
	for i := range s.sets {
		set := &s.sets[i]
		middle := vg.Length(set.low+set.high) / 2 * perPage
		half := max(style.Width(set.text), vg.Length(set.high-set.low)*perPage) / 2
		row := 0
		for row < len(ends) && ends[row] > middle-half-4 {
			row++
		}
		if row == len(ends) {
			ends = append(ends, 0)
		}
		ends[row] = middle + half
		set.row = row
	}
	s.bracketHeight = vg.Length(len(ends)) * bracketRow
}

// bands shades every other section behind the chart.
func (s strip) bands(c draw.Canvas, x func(float64) vg.Length) {
	for i, r := range s.runs {
		if i%2 == 0 {
			fillRectangle(c, clampX(c, x(r.low)), c.Min.Y, clampX(c, x(r.high)), c.Max.Y, band.light)
		}
	}
}

// labels writes the sections' names above the plot, slanted, each with a thin
// line from its band.
func (s strip) labels(c draw.Canvas, x func(float64) vg.Length, foot, low, high vg.Length) {
	places := make([]vg.Length, len(s.names))
	for i, n := range s.names {
		places[i] = x(n.at)
	}
	style := aligned(lettering(smallSize, text), draw.XLeft, draw.YCenter)
	style.Rotation = slant
	for i, at := range s.inside(places, low+2, high-2, c.Max.X) {
		c.StrokeLines(stroke(lost, thinLine), []vg.Point{{X: places[i], Y: foot}, {X: places[i], Y: foot + 3}, {X: at, Y: foot + nameRise - 3}})
		write(c, style, vg.Point{X: at + 1.5, Y: foot + nameRise}, s.names[i].text)
	}
	for i, r := range s.runs {
		edge := stroke(lost, thinLine)
		if i == 0 || s.runs[i-1].high != r.low {
			c.StrokeLine2(edge, x(r.low), foot, x(r.low), foot+3)
		}
		c.StrokeLine2(edge, x(r.high), foot, x(r.high), foot+3)
	}
}

// nameReach is how far to the right of its foot a slanted name reaches.
func nameReach(n stripName) vg.Length {
	return 8 + lettering(smallSize, text).Width(n.text)*vg.Length(math.Cos(slant))
}

// inside spreads the names so that none reaches beyond the figure's edge.
func (s strip) inside(places []vg.Length, low, high, edge vg.Length) []vg.Length {
	for {
		spreadOut := spread(places, nameGap, low, high)
		over := vg.Length(0)
		for i, at := range spreadOut {
			over = max(over, at+nameReach(s.names[i])-edge)
		}
		if over <= 0 || high-over < low+vg.Length(len(places)-1)*nameGap {
			return spreadOut
		}
		high -= over
	}
}

// brackets draws below the axis the reach of each set of hours, with its name.
func (s strip) brackets(c draw.Canvas, x func(float64) vg.Length, top vg.Length) {
	style := aligned(lettering(smallSize, text), draw.XCenter, draw.YTop)
	for _, set := range s.sets {
		y := top - 2 - vg.Length(set.row)*bracketRow
		left, right := x(set.low), x(set.high)
		c.StrokeLines(stroke(quiet, 0.8), []vg.Point{{X: left, Y: y}, {X: left, Y: y - 2.5}, {X: right, Y: y - 2.5}, {X: right, Y: y}})
		half := style.Width(set.text) / 2
		middle := min(max((left+right)/2, c.Min.X+half+2), c.Max.X-half-2)
		write(c, style, vg.Point{X: middle, Y: y - 3.5}, set.text)
	}
}

// note says how many bands bear no name for want of room.
func (s strip) note() string {
	if s.unnamed == 0 {
		return ""
	}
	return fmt.Sprintf(" %s too narrow to be named here; the table of sections names them all.", wording.Count(s.unnamed, "section is", "sections are"))
}
