package report

import (
	"cmp"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"thumbed/models/codex"
	"thumbed/models/dropoff/readers"
	"thumbed/models/wording"
)

// mostPanels is how many readers have a panel each; more are told in strips, of
// which mostStrips stand below each other, each the mean of as many readers as
// that takes.
const (
	mostPanels = 60
	mostStrips = 300
)

// sketches are the figures of the corpus: its readers side by side, the groups
// tried, how many groups, and the effects of models fitted to all books.
func (c *Corpus) sketches() []sketch { return c.Meta.mark(c.plainSketches()) }

func (c *Corpus) plainSketches() []sketch {
	var out []sketch
	if shown := c.shown(); len(shown) > 0 {
		if len(shown) <= mostPanels {
			out = append(out, c.panelChart(shown))
		} else {
			out = append(out, c.stripChart(shown))
		}
		out = append(out, c.kindChart(shown))
	}
	if len(c.gaps()) > 0 {
		out = append(out, c.gapChart())
	}
	return append(out, c.once().effectCharts()...)
}

// shown are the readers compared, group by group and, inside one, by where along
// the offices the middle of their wear lies.
func (c *Corpus) shown() []*CorpusReader {
	var out []*CorpusReader
	for i := range c.Readers {
		if c.Readers[i].Shape != nil {
			out = append(out, &c.Readers[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *CorpusReader) int {
		return cmp.Or(strings.Compare(a.Letter, b.Letter), cmp.Compare(middle(a.Shape), middle(b.Shape)))
	})
	return out
}

// middle is where along the offices, counted from 0, the middle of a shape lies.
func middle(shape []float64) float64 {
	sum := 0.0
	for j, v := range shape {
		sum += float64(j) * v
	}
	return sum / float64(len(shape))
}

// byLetter parts the readers shown by their groups.
func byLetter(shown []*CorpusReader) [][]*CorpusReader {
	var out [][]*CorpusReader
	for i, r := range shown {
		if i == 0 || r.Letter != shown[i-1].Letter {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], r)
	}
	return out
}

// officeNames are the offices compared, by so short a name.
func (x *Compared) officeNames(short func(codex.Office) string) []string {
	var out []string
	for _, office := range x.Offices {
		out = append(out, short(office))
	}
	return out
}

// officeLetter is the first letter of an office.
func officeLetter(o codex.Office) string { return o.String()[:1] }

// of names the hours compared and how the sorting goes, for captions.
func (x *Compared) of() string { return "the " + setName(x.Set) }

// A shapePanel is one curve along the offices in a small frame, with a ribbon about
// it or others beside it.
type shapePanel struct {
	title     string
	lines     []string  // the title, as it fits
	low, high []float64 // ends of the ribbon; nil where there is none
	others    [][]float64
	line      []float64
}

// panelSheet lays panels of one size side by side, with one scale for all.
type panelSheet struct {
	columns int
	height  vg.Length // of a panel with its title
	offices []string
	top     float64
	panels  []shapePanel
	lines   int // of the longest title
}

const (
	shapeGap   = vg.Length(7)
	panelTitle = vg.Length(11) // of each line
	titleLines = 2             // of a panel's title, at most
	panelLeft  = vg.Length(16) // room for the numbers of the scale
	panelFoot  = vg.Length(12) // room for the offices
)

func (s *panelSheet) rows() int { return (len(s.panels) + s.columns - 1) / s.columns }

func (s *panelSheet) total() vg.Length {
	return vg.Length(s.rows())*(s.height+s.titled()+panelFoot) + 6
}

// titled is the room for titles.
func (s *panelSheet) titled() vg.Length { return vg.Length(max(1, s.lines)) * panelTitle }

// panelWidth is that of one panel on a sheet of a width.
func (s *panelSheet) panelWidth(whole vg.Length) vg.Length {
	return (whole - panelLeft - 6 - vg.Length(s.columns-1)*shapeGap) / vg.Length(s.columns)
}

// add puts a panel on the sheet, its title in lines.
func (s *panelSheet) add(p shapePanel) {
	p.lines = wrapped(p.title, lettering(smallSize, text), s.panelWidth(figureWidth), titleLines)
	s.lines = max(s.lines, len(p.lines))
	s.panels = append(s.panels, p)
}

func (s *panelSheet) paint(c draw.Canvas) {
	width := s.panelWidth(c.Max.X - c.Min.X)
	for i := range s.panels {
		x0 := c.Min.X + panelLeft + vg.Length(i%s.columns)*(width+shapeGap)
		y1 := c.Max.Y - 3 - vg.Length(i/s.columns)*(s.height+s.titled()+panelFoot)
		frame := vg.Rectangle{Min: vg.Point{X: x0, Y: y1 - s.titled() - s.height}, Max: vg.Point{X: x0 + width, Y: y1 - s.titled()}}
		s.panel(c, frame, &s.panels[i], i%s.columns == 0)
	}
}

func (s *panelSheet) panel(c draw.Canvas, frame vg.Rectangle, p *shapePanel, first bool) {
	k := len(s.offices)
	x := func(j int) vg.Length {
		return frame.Min.X + (frame.Max.X-frame.Min.X)*vg.Length((float64(j)+0.5)/float64(k))
	}
	y := func(v float64) vg.Length {
		return frame.Min.Y + (frame.Max.Y-frame.Min.Y)*vg.Length(math.Min(math.Max(v, 0), s.top)/s.top)
	}
	fillRectangle(c, frame.Min.X, frame.Min.Y, frame.Max.X, frame.Max.Y, band.light)
	if p.low != nil {
		var corners []vg.Point
		for j := range k {
			corners = append(corners, vg.Point{X: x(j), Y: y(p.high[j])})
		}
		for j := k - 1; j >= 0; j-- {
			corners = append(corners, vg.Point{X: x(j), Y: y(p.low[j])})
		}
		c.FillPolygon(envelope.light, corners)
	}
	c.StrokeLine2(stroke(quiet, thinLine, 2, 2), frame.Min.X, y(1), frame.Max.X, y(1))
	curve := func(values []float64, style draw.LineStyle) {
		var path vg.Path
		for j, v := range values {
			at := vg.Point{X: x(j), Y: y(v)}
			if j == 0 {
				path.Move(at)
			} else {
				path.Line(at)
			}
		}
		strokePath(c, path, style)
	}
	for _, values := range p.others {
		curve(values, stroke(quiet, thinLine))
	}
	curve(p.line, stroke(blue, curveLine))
	for k, line := range p.lines {
		write(c, aligned(lettering(smallSize, text), draw.XLeft, draw.YCenter), vg.Point{X: frame.Min.X, Y: frame.Max.Y + panelTitle*(vg.Length(len(p.lines)-1-k)+0.5)}, line)
	}
	for j, name := range s.offices {
		write(c, aligned(lettering(smallSize-1, quiet), draw.XCenter, draw.YCenter), vg.Point{X: x(j), Y: frame.Min.Y - 5}, name)
	}
	if !first {
		return
	}
	for v := 0.0; v <= s.top; v++ {
		write(c, aligned(lettering(smallSize-1, quiet), draw.XRight, draw.YCenter), vg.Point{X: frame.Min.X - 3, Y: y(v)}, wording.Fixed(v, 0))
	}
}

// panelChart gives every reader a panel.
func (c *Corpus) panelChart(shown []*CorpusReader) sketch {
	s := &panelSheet{columns: 6, height: 47, offices: c.Compared.officeNames(officeLetter)}
	if len(shown) < s.columns { // few readers have room
		s.columns, s.height, s.offices = max(len(shown), 2), 107, c.Compared.officeNames(officeAbbreviation)
	}
	highest, end := 0.0, 0.0 // of curves and of their bands
	for _, r := range shown {
		p := shapePanel{title: strings.TrimSpace(r.letter() + "  " + c.called(r.Book)), line: r.Shape}
		for j, v := range r.Shape {
			p.low, p.high = append(p.low, v-1.96*r.ShapeSE[j]), append(p.high, v+1.96*r.ShapeSE[j])
			highest, end = math.Max(highest, v), math.Max(end, p.high[j])
		}
		s.add(p)
	}
	s.top = math.Ceil(math.Min(end, 1.5*highest) + 0.1) // one wide band must not press all curves down
	f := Figure{Name: "readers", Title: "The readers side by side", Width: figureWidth, Height: s.total()}
	f.Caption = fmt.Sprintf("Wear of the offices of %s in %s, each relative to its own mean (dashed). Bands: 1.96 standard errors to either side. %s Offices: %s.",
		c.Compared.of(), wording.Count(len(shown), "book", "books"), sortedWords(shown), c.officeList(s.offices))
	if slices.ContainsFunc(shown, func(r *CorpusReader) bool { return r.doubtful() }) {
		f.Caption += fmt.Sprintf(" A letter in brackets: measured again within its errors, this curve came into its group in fewer than %s of 100 draws.", wording.Whole(int(100*readers.Stable)))
	}
	f.Alt = c.readersAlt(shown)
	return sketch{Figure: f, paint: s.paint}
}

// doubtful tells whether a reader often comes into another group when its curve is
// measured again.
func (r *CorpusReader) doubtful() bool { return r.Letter != "" && r.Kept < readers.Stable }

// letter is that of the reader's group, in brackets where it is doubtful.
func (r *CorpusReader) letter() string {
	if r.doubtful() {
		return "(" + r.Letter + ")"
	}
	return r.Letter
}

// officeList says which short names stand for which offices.
func (c *Corpus) officeList(short []string) string {
	var names []string
	for k, office := range c.Compared.Offices {
		names = append(names, short[k]+" "+office.String())
	}
	return strings.Join(names, ", ")
}

func sortedWords(shown []*CorpusReader) string {
	if shown[0].Letter == "" {
		return "Those worn early in the day come first."
	}
	return "They stand in their groups; inside one, those worn early in the day come first."
}

// readersAlt says what the figure shows to who cannot see it.
func (c *Corpus) readersAlt(shown []*CorpusReader) string {
	return fmt.Sprintf("Curves of %s along %s.", wording.Count(len(shown), "reader", "readers"), wording.Count(len(c.Compared.Offices), "office", "offices")) + " " + strings.Join(c.readerWords(), " ")
}

// A stripRow is one line of the chart of strips: the mean shape of neighbours, and
// the mean share of draws in which they stay in their group.
type stripRow struct {
	shape []float64
	kept  float64
}

// rowsOf takes neighbouring readers of one group together, so many a row.
func rowsOf(group []*CorpusReader, together int) []stripRow {
	var out []stripRow
	for from := 0; from < len(group); from += together {
		some := group[from:min(from+together, len(group))]
		row := stripRow{shape: make([]float64, len(some[0].Shape))}
		for _, r := range some {
			for j, v := range r.Shape {
				row.shape[j] += v / float64(len(some))
			}
			row.kept += r.Kept / float64(len(some))
		}
		out = append(out, row)
	}
	return out
}

// darkest is the relative wear from which strips are no darker: what one in
// twenty numbers goes beyond, to the next half, and at least twice the mean.
func darkest(shown []*CorpusReader) float64 {
	var values []float64
	for _, r := range shown {
		values = append(values, r.Shape...)
	}
	slices.Sort(values)
	return math.Max(2, math.Ceil(2*stat.Quantile(0.95, stat.LinInterp, values, nil))/2)
}

// shade is the colour of a relative wear: from paper at nothing to nearly black
// at the darkest, even in lightness, in so many steps that none is seen.
func shade(v, darkest float64) color.NRGBA {
	const steps = 60
	share := math.Round(steps*math.Min(math.Max(v/darkest, 0), 1)) / steps
	mix := func(from, to uint8) uint8 {
		return uint8(math.Round(float64(from) + share*(float64(to)-float64(from))))
	}
	return color.NRGBA{R: mix(0xF6, 0x10), G: mix(0xF3, 0x1C), B: mix(0xEC, 0x2C), A: 0xFF}
}

const (
	stripsHigh = vg.Length(430) // of all strips together
	groupGap   = vg.Length(5)
	stripTop   = vg.Length(16)
	stripLeft  = vg.Length(72)
	scaleRoom  = vg.Length(30)
	keptWide   = vg.Length(20) // of the strip that says who stays in the group
)

// stripChart draws each reader as a strip that is the darker the more an office
// is worn.
func (c *Corpus) stripChart(shown []*CorpusReader) sketch {
	groups := byLetter(shown)
	together := (len(shown) + mostStrips - 1) / mostStrips
	height := stripTop + stripsHigh + vg.Length(len(groups)-1)*groupGap + scaleRoom
	f := Figure{Name: "readers", Title: "The readers side by side", Width: figureWidth, Height: height}
	each := "Each line is one reader."
	if together > 1 {
		each = fmt.Sprintf("Each line is the mean of %s neighbouring readers.", wording.Whole(together))
	}
	f.Caption = fmt.Sprintf("The wear of the offices of %s in %s, relative to each reader’s own mean: the darker, the more. %s %s",
		c.Compared.of(), wording.Count(len(shown), "book", "books"), each, sortedWords(shown))
	right := vg.Length(8)
	if shown[0].Letter != "" {
		right += keptWide + 8
		f.Caption += " The strip at the right: in what share of the draws the readers stay in their group when the curves are measured again within their errors, from none (light) to all (dark)."
	}
	f.Alt = c.readersAlt(shown)
	return sketch{Figure: f, paint: func(canvas draw.Canvas) {
		rows, total := make([][]stripRow, len(groups)), 0
		for g, group := range groups {
			rows[g] = rowsOf(group, together)
			total += len(rows[g])
		}
		c.paintStrips(canvas, groups, rows, stripsHigh/vg.Length(total), right, darkest(shown))
		paintScale(canvas, canvas.Min.X+stripLeft, canvas.Max.X-8, canvas.Min.Y+scaleRoom-14, darkest(shown))
	}}
}

func (c *Corpus) paintStrips(canvas draw.Canvas, groups [][]*CorpusReader, rows [][]stripRow, high, right vg.Length, darkest float64) {
	k := len(c.Compared.Offices)
	left, edge := canvas.Min.X+stripLeft, canvas.Max.X-right
	wide := (edge - left) / vg.Length(k)
	for j, office := range c.Compared.Offices {
		write(canvas, aligned(lettering(smallSize, text), draw.XCenter, draw.YCenter), vg.Point{X: left + (vg.Length(j)+0.5)*wide, Y: canvas.Max.Y - stripTop/2}, office.String())
	}
	grouped := groups[0][0].Letter != ""
	if grouped {
		write(canvas, aligned(lettering(smallSize, text), draw.XCenter, draw.YCenter), vg.Point{X: canvas.Max.X - 8 - keptWide/2, Y: canvas.Max.Y - stripTop/2}, "stays")
	}
	y := canvas.Max.Y - stripTop
	for g, group := range groups {
		top := y
		end := y - vg.Length(len(rows[g]))*high
		for _, row := range rows[g] {
			for j, v := range row.shape { // over what is still to be painted, so that no seams are left
				fillRectangle(canvas, left+vg.Length(j)*wide, max(y-2*high, end), min(left+vg.Length(j+1)*wide+1, edge), y, shade(v, darkest))
			}
			if grouped {
				fillRectangle(canvas, canvas.Max.X-8-keptWide, max(y-2*high, end), canvas.Max.X-8, y, shade(row.kept, 1))
			}
			y -= high
		}
		y = end
		name := wording.Count(len(group), "reader", "readers")
		at := (top + y) / 2
		if letter := group[0].Letter; letter != "" {
			write(canvas, aligned(bold(lettering(textSize, text)), draw.XRight, draw.YCenter), vg.Point{X: left - 6, Y: at + 5}, "group "+letter)
			at -= 5
		}
		write(canvas, aligned(lettering(smallSize, quiet), draw.XRight, draw.YCenter), vg.Point{X: left - 6, Y: at}, name)
		canvas.StrokeLine2(stroke(quiet, thinLine), left-3, top, left-3, y)
		y -= groupGap
	}
}

// paintScale explains the shades.
func paintScale(c draw.Canvas, from, to, y vg.Length, darkest float64) {
	const cells = 60
	wide := (to - from) / 2 / cells
	for i := range cells {
		fillRectangle(c, from+vg.Length(i)*wide, y, from+cells*wide, y+7, shade(darkest*(float64(i)+0.5)/cells, darkest))
	}
	style := lettering(smallSize, text)
	for v := 0.0; v <= darkest; v += 0.5 {
		x := from + vg.Length(v/darkest*cells)*wide
		c.StrokeLine2(stroke(quiet, thinLine), x, y-2, x, y)
		name := wording.Fixed(v, 1)
		if v == darkest {
			name += " or more"
		}
		write(c, aligned(style, draw.XCenter, draw.YCenter), vg.Point{X: x, Y: y - 7}, name)
	}
	write(c, aligned(style, draw.XLeft, draw.YCenter), vg.Point{X: from + cells*wide + 26, Y: y + 3.5}, "times the reader’s own mean")
}

// fewestBanded is how many readers a group must have for a band of the middle four
// fifths, of which the ends are then readers of their own.
const fewestBanded = 10

// kindChart shows each group, or all readers where none is borne out: how its
// curves are spread.
func (c *Corpus) kindChart(shown []*CorpusReader) sketch {
	groups := byLetter(shown)
	s := &panelSheet{columns: min(len(groups), 3), height: 107, offices: c.Compared.officeNames(officeAbbreviation)}
	banded, drawn := false, false
	for _, group := range groups {
		p := shapePanel{title: "all readers compared, " + wording.Whole(len(group))}
		if letter := group[0].Letter; letter != "" {
			p.title = fmt.Sprintf("group %s, %s", letter, wording.Count(len(group), "reader", "readers"))
		}
		for j := range s.offices {
			at := make([]float64, len(group))
			for i, r := range group {
				at[i] = r.Shape[j]
			}
			slices.Sort(at)
			quantile := func(share float64) float64 { return stat.Quantile(share, stat.LinInterp, at, nil) }
			p.line = append(p.line, quantile(0.5))
			high := at[len(at)-1]
			if len(group) >= fewestBanded {
				high = quantile(0.9)
				p.low, p.high = append(p.low, quantile(0.1)), append(p.high, high)
			}
			s.top = math.Max(s.top, math.Ceil(high+0.1))
		}
		if p.low == nil {
			for _, r := range group {
				p.others = append(p.others, r.Shape)
			}
		}
		banded, drawn = banded || p.low != nil, drawn || p.low == nil
		s.add(p)
	}
	f := Figure{Name: "reader-groups", Title: "The groups of readers", Width: figureWidth, Height: s.total()}
	which := "each group"
	if groups[0][0].Letter == "" {
		f.Title, which = "All readers together", "all readers"
	}
	spread := "a band of the middle four fifths"
	switch {
	case drawn && banded:
		spread = fmt.Sprintf("a band of the middle four fifths or, of fewer than %s readers, each curve", wording.Whole(fewestBanded))
	case drawn:
		spread = "each curve"
	}
	f.Caption = fmt.Sprintf("The shapes of the curves of %s: the median, and %s, at each office; dashed, the reader’s own mean.", which, spread)
	f.Alt = strings.Join(c.readerWords(), " ")
	return sketch{Figure: f, paint: s.paint}
}

// gapChart shows how the number of groups was chosen.
func (c *Corpus) gapChart() sketch {
	gaps := c.gaps()
	f := Figure{Name: "groups-gap", Title: "How many groups", Width: figureWidth, Height: 120}
	f.Caption = "The gap statistic: how much closer the curves lie together in so many groups than curves without groups would, with one standard error to either side. The statistic chooses the least number whose gap is within one standard error of the next one’s (the filled square)."
	f.Alt = fmt.Sprintf("Gaps of 1 to %d groups; %d is chosen.", len(gaps), c.Compared.Grouping.Chosen)
	if n := len(c.kinds()); n > 0 && n < c.Compared.Grouping.Chosen {
		f.Caption += fmt.Sprintf(" Not all of those groups come out again; of %s all do, and these are taken.", wording.Whole(n))
	}
	return sketch{Figure: f, paint: func(canvas draw.Canvas) {
		p := newPlot("number of groups", "gap")
		var open, chosen []point
		var spans []span
		p.Y.Min, p.Y.Max = math.Inf(1), math.Inf(-1)
		var ticks plot.ConstantTicks
		for _, g := range gaps {
			at := point{float64(g.Groups), g.Gap}
			if g.Groups == c.Compared.Grouping.Chosen {
				chosen = append(chosen, at)
			} else {
				open = append(open, at)
			}
			spans = append(spans, span{at.x, g.Gap - g.SE, g.Gap + g.SE})
			p.Y.Min, p.Y.Max = math.Min(p.Y.Min, g.Gap-g.SE), math.Max(p.Y.Max, g.Gap+g.SE)
			ticks = append(ticks, plot.Tick{Value: at.x, Label: wording.Whole(g.Groups)})
		}
		margin := math.Max(0.06*(p.Y.Max-p.Y.Min), leastReach)
		p.Y.Min, p.Y.Max = p.Y.Min-margin, p.Y.Max+margin
		p.X.Min, p.X.Max, p.X.Tick.Marker = 0.6, float64(len(gaps))+0.4, ticks
		p.Add(levelLines(p), sticks(spans, stroke(quiet, stickLine)), marks(open, mark{square, markRadius, blue, true, 0}), marks(chosen, mark{square, markRadius, blue, false, 0}))
		p.Draw(draw.Crop(canvas, 4, -8, 4, -6))
	}}
}

// verdictWord is the verdict on the groups as a word.
func verdictWord(v readers.Verdict) string {
	return map[readers.Verdict]string{readers.All: "borne out", readers.Some: "borne out in part", readers.None: "not borne out"}[v]
}
