package report

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// Measures of the collation diagram. A figure has as many rows of quires as a
// printed page holds at its full width; a thicker book has several figures.
const (
	quiresInRow    = 5
	mostQuiresHigh = vg.Length(560)
	leafPitch      = vg.Length(9.6)
	leafLength     = vg.Length(22)
	foldDepth      = vg.Length(2.4) // of the innermost sheet's fold, and more for each one around it
	deepestFold    = vg.Length(18)
	quireHead      = vg.Length(13)
	quireGap       = vg.Length(9)
	hairShift      = vg.Length(1.8) // of the dotted line from the leaf
	longestBar     = vg.Length(26)
	shortestBar    = vg.Length(8) // of the most worn page, beside the longest labels
	barHeight      = vg.Length(2.9)
	labelGap       = vg.Length(3)
	drawingMargin  = vg.Length(6)
)

// The lines of the diagram. What they mean is told by shape, for print in grey.
var (
	leafLine = stroke(text, 0.8)
	goneLine = stroke(lost, 0.7, 2, 1.6)
	hairLine = stroke(text, 0.8, 0.8, 1.5)
)

// A quireLeaf is one line of the diagram: a leaf, or one that was cut out when
// the book was made.
type quireLeaf struct {
	leaf int // index into Book.Leaves; −1 where it was cancelled
	mate int // line of the other half of its sheet in the same run; −1 where there is none
	stub bool
}

// A gathered is a run of leaves drawn together: a quire, or leaves in none.
type gathered struct {
	label string // as it is written above
	quire string // the quire's own label; empty for leaves in none
	lines []quireLeaf
}

// A quireDrawing draws the quire structure of a book: each leaf a line,
// the first uppermost, the halves of a sheet joined at the fold, the wear of its
// two sides beside it.
type quireDrawing struct {
	book *codex.Book
	runs []gathered
	wear map[int]readings.Wear // by page
	top  float64               // the wear of the longest bar: the greatest that is no bound; 0 where none is known
	bars vg.Length             // from the end of a leaf's line to the axis of its bars
}

func newQuireDrawing(b *codex.Book, wear []readings.Wear) quireDrawing {
	d := quireDrawing{book: b, wear: map[int]readings.Wear{}}
	for _, leaf := range b.Leaves {
		d.bars = max(d.bars, 2*labelGap+lettering(smallSize, text).Width(leaf.Label.String()))
	}
	bound := 0.0
	for _, w := range wear {
		switch {
		case math.IsNaN(w.Density):
			continue
		case w.Limit == "":
			d.top = max(d.top, w.Density)
		default:
			bound = max(bound, w.Density)
		}
		d.wear[w.Page] = w
	}
	if d.top == 0 {
		d.top = bound
	}
	for i := 0; i < len(b.Leaves); {
		end := i + 1
		for end < len(b.Leaves) && b.Leaves[end].Quire == b.Leaves[i].Quire {
			end++
		}
		if q := b.Leaves[i].Quire; q >= 0 {
			d.runs = append(d.runs, gathered{"quire " + b.Quires[q].Label, b.Quires[q].Label, quireLines(b, b.Quires[q])})
		} else {
			run := gathered{label: "in no quire"}
			for leaf := i; leaf < end; leaf++ {
				run.lines = append(run.lines, quireLeaf{leaf: leaf, mate: -1})
			}
			d.runs = append(d.runs, run)
		}
		i = end
	}
	return d
}

// quireLines are the leaves of a quire, those that were cancelled in their places.
func quireLines(b *codex.Book, q codex.Quire) []quireLeaf {
	var lines []quireLeaf
	line := map[int]int{} // of each leaf
	type pair struct{ line, leaf int }
	var cut []pair
	rest := q.Cancelled
	for i := 0; i <= len(q.Leaves); i++ {
		for ; len(rest) > 0 && rest[0].Before == i; rest = rest[1:] {
			cut = append(cut, pair{len(lines), rest[0].Conjugate})
			lines = append(lines, quireLeaf{leaf: -1, mate: -1})
		}
		if i < len(q.Leaves) {
			line[q.Leaves[i]] = len(lines)
			lines = append(lines, quireLeaf{leaf: q.Leaves[i], mate: -1})
		}
	}
	for k := range lines {
		if leaf := lines[k].leaf; leaf >= 0 && b.Leaves[leaf].Conjugate >= 0 {
			lines[k].mate = line[b.Leaves[leaf].Conjugate]
		}
	}
	for _, c := range cut {
		if mate, ok := line[c.leaf]; ok {
			lines[c.line].mate, lines[mate].mate = mate, c.line
		}
	}
	for k := range lines {
		lines[k].stub = lines[k].mate < 0 && (lines[k].leaf < 0 || b.Leaves[lines[k].leaf].Singleton)
	}
	return lines
}

// quireCharts draw the collation of a book, in as many figures as it needs.
// Results of one aspect of a book alone, as a notebook shows them, have no table
// of pages, and no collation among their figures.
func (r *Results) quireCharts(i int) []sketch {
	b := r.Books[i]
	if len(b.Book.Quires) == 0 || r.Pages == nil {
		return nil
	}
	return newQuireDrawing(b.Book, r.wearOf(i)).sketches(r.quotedName(b.Book), r.bookFile(b.Book))
}

// Collation draws the quire structure of a book, in one figure or, for a
// thick book, several; none where no quire is known.
func Collation(b *codex.Book) ([]Figure, error) {
	if len(b.Quires) == 0 {
		return nil, nil
	}
	return renderAll(newQuireDrawing(b, nil).sketches(b.ID, distinct([]string{b.ID})))
}

func (d quireDrawing) sketches(name, file string) []sketch {
	parts := d.parts()
	out := make([]sketch, len(parts))
	for k, part := range parts {
		legend := legendRows(part.legend(), figureWidth-16)
		f := Figure{Name: "quires-" + file, part: "quires-" + file, Title: "Quire structure of " + name, Caption: part.caption(name), Alt: part.alt(),
			Width: figureWidth, Height: part.height() + vg.Length(len(legend))*legendLine + 8}
		if len(parts) > 1 {
			f.Title += fmt.Sprintf(", part %d of %d", k+1, len(parts))
			if k > 0 {
				f.Name = fmt.Sprintf("quires%d-%s", k+1, file)
			}
		}
		out[k] = sketch{Figure: f, paint: func(c draw.Canvas) { part.paint(c, legend) }}
	}
	return out
}

// parts are the drawing in pieces that each fit a page.
func (d quireDrawing) parts() []quireDrawing {
	var parts []quireDrawing
	height := mostQuiresHigh + 1
	for from := 0; from < len(d.runs); from += quiresInRow {
		row := d.runs[from:min(from+quiresInRow, len(d.runs))]
		if height+rowHeight(row) > mostQuiresHigh {
			part := d
			part.runs = nil
			parts, height = append(parts, part), 0
		}
		height += rowHeight(row)
		last := &parts[len(parts)-1]
		last.runs = append(last.runs, row...)
	}
	return parts
}

func rowHeight(row []gathered) vg.Length {
	most := 0
	for _, run := range row {
		most = max(most, len(run.lines))
	}
	return quireHead + vg.Length(most)*leafPitch + quireGap
}

func (d quireDrawing) rows() [][]gathered {
	var rows [][]gathered
	for from := 0; from < len(d.runs); from += quiresInRow {
		rows = append(rows, d.runs[from:min(from+quiresInRow, len(d.runs))])
	}
	return rows
}

func (d quireDrawing) height() vg.Length {
	total := vg.Length(0)
	for _, row := range d.rows() {
		total += rowHeight(row)
	}
	return total
}

func (d quireDrawing) paint(c draw.Canvas, legend [][]legendEntry) {
	inner := draw.Crop(c, drawingMargin, -drawingMargin, 0, -4)
	width := (inner.Max.X - inner.Min.X) / quiresInRow
	y := inner.Max.Y
	for _, row := range d.rows() {
		for k, run := range row {
			d.paintRun(c, run, vg.Point{X: inner.Min.X + vg.Length(k)*width, Y: y})
		}
		y -= rowHeight(row)
	}
	drawLegend(draw.Crop(c, 8, 0, 0, -(c.Max.Y-c.Min.Y-vg.Length(len(legend))*legendLine-4)), legend)
}

// paintRun draws one quire with its upper left corner at a place.
func (d quireDrawing) paintRun(c draw.Canvas, run gathered, at vg.Point) {
	fold := at.X + deepestFold
	y := func(line int) vg.Length { return at.Y - quireHead - (vg.Length(line)+0.5)*leafPitch }
	write(c, bold(lettering(smallSize, text)), vg.Point{X: fold, Y: at.Y - quireHead/2}, run.label)
	reach := vg.Length(0) // of the widest sheet
	for i, line := range run.lines {
		if line.mate > i {
			reach = max(reach, vg.Length(line.mate-i))
		}
	}
	for i, line := range run.lines {
		d.paintLeaf(c, line, vg.Point{X: fold, Y: y(i)})
		switch {
		case line.mate > i:
			depth := foldDepth + (deepestFold-foldDepth-2)*vg.Length(line.mate-i-1)/max(reach-1, 11)
			paintFold(c, fold, depth, y(i), y(line.mate), d.lineOf(line, run.lines[line.mate]))
		case line.stub:
			c.StrokeLine2(d.lineOf(line), fold-3.4, y(i)-2.4, fold, y(i)) // it hangs by itself
		}
	}
}

// lineOf is how leaves are drawn: dashed where one of them is gone.
func (d quireDrawing) lineOf(lines ...quireLeaf) draw.LineStyle {
	for _, l := range lines {
		if l.leaf < 0 || d.book.Leaves[l.leaf].State == codex.Lost {
			return goneLine
		}
	}
	return leafLine
}

func (d quireDrawing) paintLeaf(c draw.Canvas, line quireLeaf, at vg.Point) {
	if line.leaf < 0 {
		end := at.X + leafLength/4
		c.StrokeLine2(goneLine, at.X, at.Y, end, at.Y)
		write(c, lettering(smallSize-0.5, quiet), vg.Point{X: end + labelGap, Y: at.Y}, "cut out")
		return
	}
	l, end := d.book.Leaves[line.leaf], at.X+leafLength
	c.StrokeLine2(d.lineOf(line), at.X, at.Y, end, at.Y)
	switch l.RectoSide {
	case codex.Hair:
		c.StrokeLine2(hairLine, at.X+1, at.Y+hairShift, end, at.Y+hairShift)
	case codex.Flesh:
		c.StrokeLine2(hairLine, at.X+1, at.Y-hairShift, end, at.Y-hairShift)
	}
	label := lettering(smallSize, text)
	written := l.Label.String()
	if l.State == codex.Lost {
		label, written = lettering(smallSize, quiet), strings.TrimSpace(written+" lost")
	}
	write(c, label, vg.Point{X: end + labelGap, Y: at.Y}, written)
	for side, up := range []vg.Length{1, -1} {
		page := 2*line.leaf + side
		if d.book.Pages[page].Picture {
			var path vg.Path
			pictureMark.outline(&path, vg.Point{X: at.X + leafLength*0.6, Y: at.Y + up*2.4}, 1.9)
			pictureMark.draw(c, path)
		}
		if w, measured := d.wear[page]; measured {
			d.paintBar(c, w, vg.Point{X: end + d.bars, Y: at.Y + up*(barHeight/2+0.3)})
		}
	}
}

// paintBar draws the wear of a page from a point on the bar's axis: filled, and as
// an outline where it is only a bound, open at its end where that lies beyond the
// longest bar.
func (d quireDrawing) paintBar(c draw.Canvas, w readings.Wear, from vg.Point) {
	if d.top <= 0 {
		return
	}
	room := (figureWidth-2*drawingMargin)/quiresInRow - deepestFold - leafLength - d.bars - labelGap
	length := max(min(max(room, shortestBar), longestBar)*vg.Length(min(max(w.Density/d.top, 0), 1)), 0.5)
	if w.Limit == "" {
		fillRectangle(c, from.X, from.Y-barHeight/2, from.X+length, from.Y+barHeight/2, blue.light)
		return
	}
	outlineBar(c, from, max(length, 2), w.Density > d.top)
}

// outlineBar draws an outline from the middle of its left side.
func outlineBar(c draw.Canvas, from vg.Point, length vg.Length, open bool) {
	right, upper, lower := from.X+length, from.Y+barHeight/2, from.Y-barHeight/2
	var p vg.Path
	p.Move(vg.Point{X: right, Y: upper})
	p.Line(vg.Point{X: from.X, Y: upper})
	p.Line(vg.Point{X: from.X, Y: lower})
	p.Line(vg.Point{X: right, Y: lower})
	if !open {
		p.Close()
	}
	strokePath(c, p, stroke(text, 0.5))
}

// paintFold joins the two halves of a sheet by an angular fold of a depth: slanted in
// from either half, upright between.
func paintFold(c draw.Canvas, x, depth, upper, lower vg.Length, style draw.LineStyle) {
	slant := min(depth, (upper-lower)/2)
	var p vg.Path
	p.Move(vg.Point{X: x, Y: upper})
	p.Line(vg.Point{X: x - depth, Y: upper - slant})
	p.Line(vg.Point{X: x - depth, Y: lower + slant})
	p.Line(vg.Point{X: x, Y: lower})
	strokePath(c, p, style)
}

// has tells whether any line of the drawing is of a kind.
func (d quireDrawing) has(kind func(quireLeaf) bool) bool {
	for _, run := range d.runs {
		for _, line := range run.lines {
			if kind(line) {
				return true
			}
		}
	}
	return false
}

func (d quireDrawing) legend() []legendEntry {
	var out []legendEntry
	add := func(when bool, sample func(draw.Canvas, vg.Point, vg.Point), words string) {
		if when {
			out = append(out, legendEntry{sample, words})
		}
	}
	leaf := func(of func(codex.Leaf) bool) func(quireLeaf) bool {
		return func(l quireLeaf) bool { return l.leaf >= 0 && of(d.book.Leaves[l.leaf]) }
	}
	add(d.has(leaf(func(l codex.Leaf) bool { return l.State == codex.Lost })), lineSample(goneLine, nil), "lost leaf")
	add(d.has(func(l quireLeaf) bool { return l.leaf < 0 }), func(c draw.Canvas, from, _ vg.Point) {
		c.StrokeLine2(goneLine, from.X+4, from.Y, from.X+10, from.Y)
	}, "leaf cut out when the book was made")
	add(d.has(func(l quireLeaf) bool { return l.stub }), func(c draw.Canvas, from, to vg.Point) {
		c.StrokeLine2(leafLine, from.X+3.4, from.Y, to.X, to.Y)
		c.StrokeLine2(leafLine, from.X, from.Y-2.4, from.X+3.4, from.Y)
	}, "single leaf")
	add(d.has(leaf(func(l codex.Leaf) bool { return l.RectoSide != "" })), lineSample(hairLine, nil), "hair side: above the line where the recto is hair")
	picture := func(l quireLeaf) bool {
		return l.leaf >= 0 && (d.book.Pages[2*l.leaf].Picture || d.book.Pages[2*l.leaf+1].Picture)
	}
	add(d.has(picture), markSample(pictureMark), "picture: above on the recto, below on the verso")
	add(d.top > 0, func(c draw.Canvas, from, _ vg.Point) {
		fillRectangle(c, from.X, from.Y+0.3, from.X+14, from.Y+0.3+barHeight, blue.light)
		fillRectangle(c, from.X, from.Y-0.3-barHeight, from.X+8, from.Y-0.3, blue.light)
	}, "wear of recto and verso, the longest bar "+wording.Density(d.top)+" density")
	add(d.bounds(false), outlineSample(false), "only a bound is known")
	add(d.bounds(true), outlineSample(true), "a bound beyond the longest bar")
	return out
}

func outlineSample(open bool) func(c draw.Canvas, from, _ vg.Point) {
	return func(c draw.Canvas, from, _ vg.Point) {
		outlineBar(c, vg.Point{X: from.X + 2, Y: from.Y}, 10, open)
	}
}

// bounds tells whether the wear of any page drawn is only a bound, beyond the
// longest bar or within it.
func (d quireDrawing) bounds(beyond bool) bool {
	return d.has(func(l quireLeaf) bool {
		for side := range 2 {
			if w := d.wear[2*l.leaf+side]; l.leaf >= 0 && w.Limit != "" && (w.Density > d.top) == beyond {
				return true
			}
		}
		return false
	})
}

func (d quireDrawing) caption(name string) string {
	words := "The quire structure of " + name + ", quire by quire. Each line is a leaf, the first uppermost; an angle joins the halves of a sheet at the fold."
	if d.top > 0 {
		words += " Bars show the wear of its recto (above) and verso (below)."
	}
	return words
}

// alt tells the diagram to a reader who cannot see it: like quires that follow on
// one another together.
func (d quireDrawing) alt() string {
	var told []string
	for i := 0; i < len(d.runs); {
		words, regular := d.words(d.runs[i])
		end := i + 1
		for regular && d.runs[i].quire != "" && end < len(d.runs) && d.runs[end].quire != "" {
			if next, _ := d.words(d.runs[end]); next != words {
				break
			}
			end++
		}
		label := d.runs[i].label
		if end-i > 1 {
			label = "quires " + d.runs[i].quire + " to " + d.runs[end-1].quire
			words += " each"
		}
		told = append(told, label+", "+words)
		i = end
	}
	return "Quire by quire: " + strings.Join(told, "; ") + "." + d.mostWorn()
}

// words are the leaves of one quire, and whether nothing is odd about them.
func (d quireDrawing) words(run gathered) (words string, regular bool) {
	var odd []string
	leaves := 0
	for place, line := range run.lines {
		if line.leaf >= 0 {
			leaves++
		}
		switch {
		case line.leaf < 0:
			odd = append(odd, fmt.Sprintf("%d cut out when the book was made", place+1))
		case d.book.Leaves[line.leaf].State == codex.Lost:
			odd = append(odd, fmt.Sprintf("%d lost", place+1))
		case line.stub:
			odd = append(odd, fmt.Sprintf("%d a single leaf", place+1))
		}
	}
	words = wording.Count(leaves, "leaf", "leaves")
	if len(odd) > 0 {
		words += " (" + strings.Join(odd, "; ") + ")"
	}
	return words, len(odd) == 0
}

// mostWorn names the most worn page of those drawn.
func (d quireDrawing) mostWorn() string {
	most, page := 0.0, -1
	d.has(func(l quireLeaf) bool {
		for side := range 2 {
			if w, ok := d.wear[2*l.leaf+side]; ok && l.leaf >= 0 && w.Density > most {
				most, page = w.Density, 2*l.leaf+side
			}
		}
		return false
	})
	if page < 0 {
		return ""
	}
	return fmt.Sprintf(" The most worn page is %s, %s%s density.", pageLabel(d.book, page), boundWords(d.wear[page].Limit), wording.Density(most))
}
