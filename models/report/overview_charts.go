package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/wording"

	"gonum.org/v1/plot/vg"
)

// The charts of the overview. All of one column share a scale; what lies beyond
// it ends in an arrow.

// An overviewScale is what the charts of the columns share.
type overviewScale struct {
	wear    float64 // top of the page strips, density
	read    float64 // end of the axis of texts, density
	compact bool    // many books: lower charts
	touched bool    // the study has traces, which stand below the strips
	names   float64 // room for the names of texts
	last    int     // index of the last book shown: where charts are low, it alone has the numbers of the texts' axis
	dot     float64 // radius of an estimate's mark
}

const (
	shareTop    = 1.5 // end of the axis of offices, of the first
	pagesWidth  = 464.0
	pagesLeft   = 28.0
	readWidth   = 258.0
	readLeft    = 118.0 // room for names of rows, and the most that texts may have
	mostNames   = 150.0
	shareWidth  = 240.0
	shareLeft   = 36.0
	axisLetters = 11.0
	tinyLetters = 10.0 // names of offices
	rowLetters  = 12.0
)

// touchRoom is the room below a strip for the traces on its pages.
const touchRoom = 18.0

// aloneRoom is that room where nothing was measured, and traces have the strip to
// themselves.
const aloneRoom = 66.0

// stripShare is the share of pages that the scale of the strips holds at least.
const stripShare = 0.985

func (r *Results) overviewScale(rows []OverviewRow) overviewScale {
	compact := len(rows) > fewBooks
	dot := 4.2
	if compact { // intervals are short there
		dot = 2.8
	}
	scale := overviewScale{dot: dot, wear: 0.1, read: 0.1, compact: compact, touched: r.looked() && (!compact || r.looksAlone())}
	var values []float64
	for _, row := range rows {
		b := r.Books[row.index]
		scale.last = row.index
		for _, w := range r.wearOf(row.index) {
			if w.Limit != readings.Above && finite(w.Density) {
				values = append(values, w.Density)
			}
		}
		if b.Profile == nil {
			continue
		}
		for _, t := range b.Profile.Standouts {
			scale.wear = max(scale.wear, min(t.Level+t.Excess, 4*t.Level+0.2))
		}
		for _, a := range shownTexts(b.Profile.Rank(), scale.compact) {
			scale.read = max(scale.read, a.PerPage)
			scale.names = max(scale.names, nameRoom(b.textName(a.Section)))
		}
	}
	if len(values) > 0 {
		slices.Sort(values)
		scale.wear = max(scale.wear, values[int(stripShare*float64(len(values)-1))])
	}
	scale.names = max(scale.names, readLeft)
	scale.wear, scale.read = roundUp(1.08*scale.wear), roundUp(1.02*scale.read)
	return scale
}

// roundUp is the next value that an axis ends well at.
func roundUp(v float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10} {
		if m*power >= v*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// steps parts an axis from 0 to top in two to four.
func steps(top float64) []float64 {
	power := math.Pow(10, math.Floor(math.Log10(top)+1e-9))
	step := power
	switch m := math.Round(top / power * 10); {
	case m == 10:
		step = power / 2
	case m == 15:
		step = power / 2
	case m == 30:
		step = power
	case m <= 20:
		step = power
	case m <= 60:
		step = 2 * power
	default:
		step = 4 * power
	}
	var out []float64
	for k := 0; float64(k)*step <= top*(1+1e-9); k++ {
		out = append(out, float64(k)*step)
	}
	return out
}

func axisNumber(v float64) string {
	if v == 0 {
		return "0"
	}
	for decimals := 0; decimals < 4; decimals++ {
		scaled := v * math.Pow(10, float64(decimals))
		if math.Abs(scaled-math.Round(scaled)) < 1e-6 {
			return wording.Fixed(v, decimals)
		}
	}
	return wording.Fixed(v, 3)
}

// shownTexts are the texts that the chart of one book shows: the most worn, and
// the least.
func shownTexts(r profile.Ranking, compact bool) []profile.Area {
	most := 3
	if compact {
		most = 2
	}
	if len(r.Order) <= most+1 {
		return r.Order
	}
	return append(slices.Clone(r.Order[:most]), r.Order[len(r.Order)-1])
}

// readChart draws the most worn texts and the least worn.
func (r *Results) readChart(row OverviewRow, scale overviewScale) template.HTML {
	b := r.Books[row.index]
	if b.Profile == nil {
		return ""
	}
	ranking := b.Profile.Rank()
	shown := shownTexts(ranking, scale.compact)
	if len(shown) == 0 {
		return ""
	}
	pitch := 20.0
	letters := "lb"
	if scale.touched {
		pitch = 18
	}
	if scale.compact {
		pitch, letters = 10.5, "ax dark tiny"
	}
	foot := 4 + pitch*float64(len(shown))
	numbers := !scale.compact || row.index == scale.last
	s := svgDrawing{width: readWidth, height: foot + 3}
	if numbers {
		s.height = foot + 14
	}
	x := func(v float64) float64 { return scale.names + (readWidth-scale.names-12)*v/scale.read }
	for _, v := range steps(scale.read) {
		s.line("g", x(v), 2, x(v), foot)
		if numbers {
			s.text("ax", atMiddle, x(v), foot+12, axisNumber(v))
		}
	}
	alike := map[int]bool{}
	for _, a := range ranking.Alike {
		alike[a.Section] = true
	}
	what := "Wear a page:"
	for i, a := range shown {
		y := 4 + pitch*(float64(i)+0.5)
		dot, line, label := "k", "w", letters
		if i > 0 && !alike[a.Section] {
			dot, line, label = "k q", "w q", letters+" qt"
		}
		name := b.textName(a.Section)
		s.rowName(label, scale.names, y, pitch, name)
		s.add(`<g><title>%v</title>`, fmt.Sprintf("%s: %s density a page", sectionName(b.Book.Sections[a.Section]), wording.Estimate(a.PerPage, a.PerPageLow, a.PerPageHigh, 2)))
		s.line(line, x(max(0, a.PerPageLow)), y, min(x(a.PerPageHigh), readWidth-2), y)
		s.dot(dot, x(a.PerPage), y, scale.dot)
		s.b.WriteString(`</g>`)
		what += fmt.Sprintf(" %s %s;", name, wording.Fixed(a.PerPage, 2))
	}
	return template.HTML(s.drawing("mini", what))
}

// nameRoom is the room that a row's name wants, within bounds.
func nameRoom(name string) float64 {
	return min(max(float64(lettering(rowLetters, text).Width(name))+12, readLeft), mostNames)
}

// rowName writes the name of a row at its left, in two smaller lines where it does not
// fit in one and there is room.
func (s *svgDrawing) rowName(class string, room, y, pitch float64, name string) {
	style, small := lettering(rowLetters, text), lettering(tinyLetters, text)
	if float64(style.Width(name)) <= room-12 {
		s.text(class, atEnd, room-8, y+4, name)
		return
	}
	lines := []string{bothEnds(name, small, vg.Length(room-12))}
	if pitch >= 2*(tinyLetters-1) {
		lines = wrapped(name, small, vg.Length(room-12), 2)
	}
	for k, line := range lines {
		at := y + 3.5 + (tinyLetters-1)*(float64(k)-float64(len(lines)-1)/2)
		s.text(strings.Replace(class, "lb", "ax dark tiny", 1), atEnd, room-8, at, line)
	}
}

// A stripPage is one page as the strip shows and names it.
type stripPage struct {
	page    codex.Page
	wear    *readings.Wear // nil where not measured
	test    *profile.Standout
	stands  bool
	said    string
	picture string // address of the library's image
}

// stripPages are the pages of the book at index i, with the library's images where
// they are known.
func (r *Results) stripPages(i int) []stripPage {
	out := r.Books[i].stripPages(r.wearOf(i), !r.looksAlone())
	for _, images := range r.Images {
		if images.Book == i {
			for k := range out {
				out[k].picture = images.Manifest.Image(out[k].page.Label)
			}
		}
	}
	return out
}

// stripPages are the pages of the book; measured tells whether the study measured any.
func (b BookResult) stripPages(wear []readings.Wear, measured bool) []stripPage {
	out := make([]stripPage, len(b.Book.Pages))
	for k, page := range b.Book.Pages {
		out[k].page = page
	}
	for _, w := range wear {
		out[w.Page].wear = &w
	}
	if b.Profile != nil {
		for _, t := range b.Profile.Tests {
			out[t.Page].test, out[t.Page].stands = &t, b.standsOut(t)
		}
	}
	for k := range out {
		out[k].said = out[k].words(b.Book, measured)
	}
	return out
}

// words tell a page to one who looks closer: folio, text, subject, wear and error.
func (p stripPage) words(b *codex.Book, measured bool) string {
	said := "f. " + p.page.Label.String()
	if p.page.Section >= 0 {
		said += " · " + sectionName(b.Sections[p.page.Section])
	}
	switch {
	case p.page.Subject != "":
		said += " · " + p.page.Subject
	case p.page.Picture:
		said += " · a picture"
	}
	switch w := p.wear; {
	case p.page.Lost:
		return said + " · lost"
	case w == nil && measured:
		return said + " · not measured"
	case w == nil:
		return said
	default:
		said += " · " + boundWords(w.Limit) + wording.Density(w.Density) + " density"
		if finite(w.SE) {
			said += " ± " + wording.Density(w.SE)
		}
	}
	if p.page.Picture && p.test == nil {
		said += " · not compared: no text pages of its own text to compare with"
	}
	if p.test != nil && p.stands {
		said += " · above its text by " + wording.Estimate(p.test.Excess, p.test.Low, p.test.High, 2)
	}
	return said
}

// pageStrip draws every page of a book, front to back.
func (r *Results) pageStrip(row OverviewRow, scale overviewScale) template.HTML {
	b := r.Books[row.index]
	top, plot, below := 12.0, 82.0, 0.0
	if scale.touched {
		plot, below = 46, touchRoom
	}
	if scale.compact {
		top, plot = 10, 20
	}
	if row.alone {
		top, plot, below = 4, 0, aloneRoom
	}
	foot := top + plot
	s := svgDrawing{width: pagesWidth, height: foot + below + 14}
	pages := r.stripPages(row.index)
	if !slices.ContainsFunc(pages, func(p stripPage) bool { return p.wear != nil }) && row.Touched == nil {
		return ""
	}
	positions := 1
	for _, p := range pages {
		positions = max(positions, p.page.Position)
	}
	pitch := (pagesWidth - pagesLeft) / float64(positions)
	left := func(position int) float64 { return pagesLeft + pitch*float64(position-1) }
	y := func(v float64) float64 { return foot - plot*min(max(v, 0), scale.wear)/scale.wear }
	levels := steps(scale.wear)
	if row.alone { // nothing was measured
		levels = nil
		s.line("base", pagesLeft, foot, pagesWidth, foot)
	}
	for k, v := range levels {
		class := "g"
		if v == 0 {
			class = "base"
		}
		s.line(class, pagesLeft, y(v), pagesWidth, y(v))
		if !scale.compact || k == 0 || k == len(levels)-1 {
			s.text("ax", atEnd, pagesLeft-5, y(v)+4, axisNumber(v))
		}
	}
	names := &labelLine{width: pagesWidth}
	var marks []func()
	for _, p := range pages {
		x, middle := left(p.page.Position), left(p.page.Position)+pitch/2
		if p.picture != "" {
			s.add(`<a href="%v">`, p.picture)
		}
		s.add(`<g class="pg"><title>%v</title>`, p.said)
		s.box("hit", x, 0, pitch, foot)
		switch w := p.wear; {
		case p.page.Lost:
			s.box("lostpage", x, foot-4, max(pitch*0.8, 0.6), 4)
		case w == nil:
			s.line("gap", middle, foot, middle, foot+2.5)
		default:
			height := y(w.Density)
			s.box(p.class("bar"), x, height, max(pitch*0.82, 0.6), max(foot-height, 0.5))
			beyond := w.Density > scale.wear || w.Limit == readings.Above
			if beyond {
				names.claim(middle-5, middle+5)
			}
			marks = append(marks, func() { s.pageMark(p, middle, height, beyond, names) })
		}
		s.b.WriteString(`</g>`)
		if p.picture != "" {
			s.b.WriteString(`</a>`)
		}
	}
	stop := math.NaN()
	if row.fall >= 0 {
		change := row.carried.Changes.Changes[row.fall]
		stop = left(b.Book.Pages[row.carried.Pages[change.After-1]].Position) + pitch
		label := "f." + wording.NoBreak + change.At
		names.claim(stop-2, stop+5+letterWidth(label, axisLetters))
		marks = append(marks, func() {
			s.line("stop", stop, 2, stop, foot+3)
			anchor, at := atStart, stop+4
			if at+letterWidth(label, axisLetters) > pagesWidth {
				anchor, at = atEnd, stop-4
			}
			s.text("ax dark", anchor, at, 10, label)
		})
	}
	for _, mark := range marks {
		mark()
	}
	if scale.touched {
		r.touches(&s, row.index, foot, pitch, below)
	}
	s.hoursBracket(row.carried, b.Book, left, pitch, foot+below)
	what, said := "Wear", row.Pictures.Words
	if row.alone {
		what, said = "Traces", row.seen.Words
	}
	return template.HTML(s.drawing("mini strip", fmt.Sprintf("%s of every page, front to back: %s", what, said)))
}

// class is the mark's class: of a picture, of a text page that stands out, or plain.
func (p stripPage) class(mark string) string {
	switch {
	case p.page.Picture:
		return mark + " pic"
	case p.stands:
		return mark + " txt"
	}
	return mark
}

// pageMark sets the mark of a picture or of a text page that stands out on top of
// its bar, and an arrow with the number where the bar ends at the scale.
func (s *svgDrawing) pageMark(p stripPage, x, y float64, beyond bool, names *labelLine) {
	if beyond {
		s.arrow(p.class("up"), x, y-7, 4)
		label := wording.Fixed(p.wear.Density, 2)
		if p.wear.Limit == readings.Above {
			label = "≥" + wording.NoBreak + label
		}
		label += ", f." + wording.NoBreak + p.page.Label.String()
		if width := letterWidth(label, axisLetters); names.claim(x+6, x+8+width) {
			s.text("ax dark", atStart, x+7, 10, label)
		}
		return
	}
	switch {
	case p.page.Picture && p.stands:
		s.diamond("m pic", x, y, 4)
	case p.page.Picture && p.test == nil:
		s.diamond("m untested", x, y, 3.2)
	case p.page.Picture:
		s.diamond("m pic open", x, y, 3.6)
	case p.stands:
		s.square("m txt", x, y, 3.2)
	}
}

// A labelLine is a line of labels that must not meet.
type labelLine struct {
	width float64
	taken [][2]float64
}

func (l *labelLine) claim(from, to float64) bool {
	if to > l.width || slices.ContainsFunc(l.taken, func(t [2]float64) bool { return from < t[1] && t[0] < to }) {
		return false
	}
	l.taken = append(l.taken, [2]float64{from, to})
	return true
}

// hoursBracket marks the hours below the strip.
func (s *svgDrawing) hoursBracket(c *dropoff.Decline, b *codex.Book, left func(int) float64, pitch, foot float64) {
	if c == nil || len(c.Pages) == 0 {
		return
	}
	low, high := math.MaxInt, 0
	for _, page := range c.Pages {
		low, high = min(low, b.Pages[page].Position), max(high, b.Pages[page].Position)
	}
	from, to := left(low), left(high)+pitch
	s.add(`<path class="bracket" d="M%v %vv4H%vv-4"/>`, from, foot+3, to)
	name := setName(c.Set)
	half := letterWidth(name, axisLetters) / 2
	middle := (from + to) / 2
	if to-from < 2*half+16 { // too narrow to hold its name: beside it
		if middle = to + half + 6; middle+half > pagesWidth-4 {
			middle = from - half - 6
		}
	}
	middle = min(max(middle, half+4), pagesWidth-half-4)
	s.box("ground", middle-half-3, foot+1, 2*half+6, 12)
	s.text("ax dark", atMiddle, middle, foot+11, name)
}

// officeChart draws each office as a share of the first.
func (r *Results) officeChart(row OverviewRow, scale overviewScale) template.HTML {
	c := row.carried
	if c == nil || len(c.Offices) < 2 {
		return ""
	}
	top, plot := 12.0, 82.0
	if scale.touched {
		plot = 62
	}
	if scale.compact {
		top, plot = 8, 21
	}
	foot := top + plot
	s := svgDrawing{width: shareWidth, height: foot + 15}
	y := func(v float64) float64 { return foot - plot*min(max(v, 0), shareTop)/shareTop }
	gap := (shareWidth - shareLeft - 22) / float64(len(c.Offices)-1)
	x := func(k float64) float64 { return shareLeft + 10 + gap*k }
	if at := officeStop(row); finite(at) {
		s.box("after", x(at), top-8, shareWidth-x(at), foot-top+8)
	}
	for _, v := range []float64{0, 0.5, 1} {
		class := "g"
		if v != 0.5 {
			class = "base"
		}
		if v == 1 {
			class = "base one"
		}
		s.line(class, shareLeft, y(v), shareWidth, y(v))
		if v != 0.5 || !scale.compact {
			s.text("ax", atEnd, shareLeft-4, y(v)+4, wording.Fixed(100*v, 0)+wording.Narrow+"%")
		}
	}
	if at := officeStop(row); finite(at) {
		s.line("stop", x(at), 2, x(at), foot+3)
	}
	letters := officeLetters(c.Offices, gap)
	what := "Wear of each office as a share of the first:"
	for k, o := range c.Offices {
		at := x(float64(k))
		s.add(`<g><title>%v</title>`, fmt.Sprintf("%v: %s of %v", o.Office, wording.PercentEstimate(o.Share, o.Low, o.High), c.Offices[0].Office))
		if c.Refused == "" && finite(o.Share) {
			if k > 0 && finite(o.Low) && finite(o.High) {
				s.line("w", at, y(o.Low), at, y(o.High))
				top := o.High
				if k == len(c.Offices)-1 && besideOthers(c) {
					s.line("thin", at, y(c.Low), at, y(c.High))
					top = c.High
				}
				if top > shareTop {
					s.arrow("up", at, y(shareTop)-6, 4)
				}
			}
			if o.Share <= shareTop {
				s.dot("k", at, y(o.Share), scale.dot)
			}
			what += fmt.Sprintf(" %v %s;", o.Office, wording.Percent(o.Share))
		}
		s.b.WriteString(`</g>`)
		s.text("ax dark tiny", atMiddle, at, foot+13, letters[k])
	}
	return template.HTML(s.drawing("mini", what))
}

// officeLetters are the offices' names, all of one kind: as long as there is room
// for.
func officeLetters(offices []dropoff.OfficeShare, room float64) []string {
	kinds := []func(codex.Office) string{
		codex.Office.String, officeAbbreviation, officeLetter,
	}
	for i, kind := range kinds {
		var names []string
		fits, before := true, 0.0
		for _, o := range offices {
			name := kind(o.Office)
			half := letterWidth(name, tinyLetters) / 2
			fits = fits && before+half+2 <= room
			names, before = append(names, name), half
		}
		if fits || i == len(kinds)-1 {
			return names
		}
	}
	return nil
}

// officeStop is where the fall lies on the axis of offices, in offices from 0; NaN
// where there is none.
func officeStop(row OverviewRow) float64 {
	if row.fall < 0 {
		return math.NaN()
	}
	c := row.carried
	after := c.Changes.Changes[row.fall].After
	if after < 1 || after >= len(c.Offs) {
		return math.NaN()
	}
	index := func(o codex.Office) int {
		return slices.IndexFunc(c.Offices, func(s dropoff.OfficeShare) bool { return s.Office == o })
	}
	before, next := index(c.Offs[after-1]), index(c.Offs[after])
	if before < 0 || next < 0 {
		return math.NaN()
	}
	return float64(before+next) / 2
}
