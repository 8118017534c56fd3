package report

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/profile"
	"thumbed/models/wording"
)

// ranked is how many of the most worn sections a sentence names.
const ranked = 3

// namedStandouts is how many pages that stand out a sentence names.
const namedStandouts = 6

func (r *Results) bookSentences(i int) []Sentence {
	b := r.Books[i]
	id := b.Book.ID
	name := r.quotedName(b.Book)
	var out []Sentence
	if b.Profile != nil {
		out = append(out, readSentence(name, b))
	}
	if b.Habits != nil {
		out = append(out, habitSentence(name, b))
	}
	if b.Profile != nil {
		out = append(out, pictureSentence(name, b))
	}
	for _, c := range b.Declines {
		out = append(out, stopSentence(name, c))
	}
	for _, failed := range b.Failed {
		out = append(out, Sentence{Topic: Sure, Text: "Not everything about " + name + " could be computed. " + wording.Typeset(wording.Sentence(failed))})
	}
	for k := range out {
		out[k].Book = id
	}
	return out
}

// byWear orders a book's areas from the most worn per page to the least.
func byWear(areas []profile.Area) []profile.Area {
	sorted := slices.Clone(areas)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].PerPage > sorted[j].PerPage })
	return sorted
}

func readSentence(name string, b BookResult) Sentence {
	s := Sentence{Topic: Read}
	if len(b.Book.Sections) == 0 {
		s.Text = "The texts of " + name + " cannot be ranked, since the table of sections names none of them; enter them there."
		return s
	}
	if len(b.Profile.Areas) == 0 {
		s.Text = "In " + name + " no page of a section was measured, so its texts cannot be ranked."
		return s
	}
	ranking := b.Profile.Rank()
	tell := func(a profile.Area) string {
		section := sectionName(b.Book.Sections[a.Section])
		s.Numbers = append(s.Numbers, Number{Name: "wear per page, " + section, Value: a.PerPage, Low: a.PerPageLow, High: a.PerPageHigh, Unit: "density"})
		estimate := wording.Estimate
		if len(s.Numbers) == 1 {
			estimate = wording.FirstEstimate
		}
		return section + ", at " + estimate(a.PerPage, a.PerPageLow, a.PerPageHigh, wording.DensityDecimals)
	}
	switch order := ranking.Order; len(order) {
	case 0:
		s.Text = "In " + name + " no section can be ranked."
	case 1:
		s.Text = fmt.Sprintf("In %s one section can be ranked: %s density a page.", name, tell(order[0]))
	default:
		s.Text = fmt.Sprintf("In %s the text most worn, its pictures included, is %s density a page", name, tell(order[0]))
		var next []string
		for _, a := range order[1:min(ranked, len(order)-1)] {
			next = append(next, tell(a))
		}
		if len(next) > 0 {
			s.Text += "; next " + strings.Join(next, ", then ")
		}
		s.Text += fmt.Sprintf("; the least worn is %s. ", tell(order[len(order)-1]))
		s.Text += b.apart(ranking) + b.stainText(order[0])
	}
	if len(ranking.Sparse) > 0 {
		s.Text += " Too few pages were measured to rank " + b.sectionNames(ranking.Sparse) + "."
	}
	return s
}

// stainText names the pages of the most worn section that stand out without a
// picture, since a stain raises the section as reading does.
func (b BookResult) stainText(a profile.Area) string {
	var pages []string
	for _, o := range b.Profile.Standouts {
		if !b.Book.Pages[o.Page].Picture && slices.Contains(b.Book.Sections[a.Section].Pages, o.Page) {
			pages = append(pages, folio(b.Book, o.Page))
		}
	}
	switch n := len(pages); {
	case n == 0:
		return ""
	case n > namedStandouts:
		return fmt.Sprintf(" The first counts %s without a picture that stand out: where these are stains and no reading, exclude their readings with the reason.", wording.Count(n, "page", "pages"))
	case n > 1:
		return " The first counts " + wording.List(pages) + ", which stand out without a picture: where these are stains and no reading, exclude their readings with the reason."
	}
	return " The first counts " + pages[0] + ", which stands out without a picture: where that is a stain and no reading, exclude its readings with the reason."
}

// apart says which sections can be told from the most worn.
func (b BookResult) apart(r profile.Ranking) string {
	all := "the other"
	if n := len(r.Order) - 1; n > 1 {
		all = wording.Whole(n) + " others"
	}
	switch {
	case len(r.Alike) == 0:
		return "For all comparisons together, and beside everything else that is found unasked, the first is more worn than " + all + ", by more than pages and quires differ by."
	case len(r.Order) == 2:
		return "The two are not distinguishable, so which was handled more stays open."
	case len(r.Alike) == len(r.Order)-1:
		return "Any of " + all + " may be worn most, so which was handled most stays open."
	case len(r.Alike) > ranked:
		return fmt.Sprintf("Of %s, %s may be worn most too, so which was handled most stays open.", all, wording.Whole(len(r.Alike)))
	}
	return b.sectionNames(r.Alike) + " may be worn most too, so which was handled most stays open."
}

// sectionNames lists sections by name, in quotation marks, since names hold
// commas.
func (b BookResult) sectionNames(areas []profile.Area) string {
	names := make([]string, len(areas))
	for i, a := range areas {
		names[i] = "“" + sectionName(b.Book.Sections[a.Section]) + "”"
	}
	return wording.List(names)
}

func pictureSentence(name string, b BookResult) Sentence {
	s := Sentence{Topic: Pictures}
	p := b.Profile
	rate := wording.Rate(p.Rate)
	s.Numbers = append(s.Numbers, plain("pages tested", float64(p.Tested), ""), plain("pages with pictures tested", float64(p.Pictures), ""), plain("false-discovery rate kept", p.Rate, "share"))
	if p.Tested == 0 {
		s.Text = "No page of " + name + " could be tested for standing out, since none belongs to a section with text pages enough to tell its level; the notes below the chart of its wear say more."
		return s
	}
	if len(p.Standouts) == 0 {
		s.Text = fmt.Sprintf("Of %s tested in %s, %s, none stands above the text pages of its own section (false-discovery rate %s).",
			wording.Count(p.Tested, "page", "pages"), name, b.picturesTested(), rate)
		if p.Pictures > 0 {
			s.Text += " That does not show that its pictures were passed over, only that these readings do not distinguish a touched page from its neighbours."
		}
		return s
	}
	sorted := slices.Clone(p.Standouts)
	sort.SliceStable(sorted, func(i, j int) bool { return sorted[i].Excess > sorted[j].Excess })
	pictures := 0
	for _, o := range sorted {
		if b.Book.Pages[o.Page].Picture {
			pictures++
		}
	}
	var told []string
	for k, o := range sorted[:min(namedStandouts, len(sorted))] {
		told = append(told, standoutName(b.Book, o.Page)+" by "+excessText(o, k == 0))
		s.Numbers = append(s.Numbers, Number{Name: "excess, " + folio(b.Book, o.Page), Value: o.Excess, Low: o.Low, High: o.High, Unit: "density"})
	}
	s.Text = fmt.Sprintf("Of %s tested in %s, %s, %s above the text pages of their own section (false-discovery rate %s), %s: %s",
		wording.Count(p.Tested, "page", "pages"), name, b.picturesTested(), standing(len(sorted)), rate, withPictures(pictures, len(sorted)), strings.Join(told, "; "))
	if rest := len(sorted) - namedStandouts; rest > 0 {
		s.Text += fmt.Sprintf("; and %s more in the table", wording.Whole(rest))
	}
	s.Text += "."
	return s
}

// picturesTested says how many of the pages tested have a picture, and of how many
// in the book where others could not be tested.
func (b BookResult) picturesTested() string {
	tested := wording.Whole(b.Profile.Pictures)
	if pictures := b.Book.Pictures(); b.Profile.Pictures < pictures {
		return tested + " of its " + wording.Whole(pictures) + " with pictures"
	}
	return tested + " with pictures"
}

// excessText is how far a page stands above its section; told in full the first
// time.
func excessText(o profile.Standout, first bool) string {
	text := wording.Fixed(o.Excess, wording.DensityDecimals)
	if o.AtLeast {
		text = "at least " + text
	}
	if first {
		return text + " density (95" + wording.Narrow + "% interval " + wording.Interval(o.Low, o.High, wording.DensityDecimals) + ")"
	}
	return text + " (" + wording.Interval(o.Low, o.High, wording.DensityDecimals) + ")"
}

func standing(n int) string { return wording.Whole(n) + " " + stand(n) }

func withPictures(pictures, all int) string {
	switch {
	case pictures == all && all == 1:
		return "and it has a picture"
	case pictures == all:
		return "all with pictures"
	case pictures == 0 && all == 1:
		return "and it has no picture"
	case pictures == 0:
		return "none with a picture"
	}
	return wording.Whole(pictures) + " with pictures"
}

// standoutName names a page by folio and by what it shows.
func standoutName(b *codex.Book, page int) string {
	p := b.Pages[page]
	switch {
	case p.Subject != "":
		return folio(b, page) + " (" + p.Subject + ")"
	case p.Picture:
		return folio(b, page) + " (a picture)"
	case p.Section >= 0 && p.Incipit:
		return folio(b, page) + " (the opening of " + b.Sections[p.Section].Name + ")"
	case p.Section >= 0:
		return folio(b, page) + " (text, " + b.Sections[p.Section].Name + ")"
	}
	return folio(b, page) + " (text)"
}

func stopSentence(name string, c *dropoff.Decline) Sentence {
	s := Sentence{Topic: Stopped}
	where := "the " + setName(c.Set) + " in " + name
	s.Text = changesText(where, c, &s)
	if c.Changes != nil {
		s.Text += knownText(c.Changes, &s)
	}
	switch {
	case c.Refused != "":
		s.Text += " How much wear is left at the last office cannot be said. " + wording.Typeset(wording.Sentence(c.Refused))
	case len(c.Offices) > 0:
		first, last := c.Offices[0], c.Offices[len(c.Offices)-1]
		s.Numbers = append(s.Numbers, Number{Name: fmt.Sprintf("wear of %v as a share of that of %v", last.Office, first.Office), Value: c.Share, Low: c.Low, High: c.High, Unit: "share"})
		s.Text += fmt.Sprintf(" A page of %v, the last office measured, bears %s of the wear of a page of %v, the first%s%s",
			last.Office, wording.PercentEstimate(c.Share, c.Low, c.High), first.Office, adjustedFor(c.Adjusted), shareMeaning(c))
		if besideOthers(c) {
			s.Numbers = append(s.Numbers, Number{Name: "the same, its interval taken alone", Value: c.Share, Low: last.Low, High: last.High, Unit: "share"})
			s.Text += "; taken alone, the share is " + wording.PercentEstimate(c.Share, last.Low, last.High)
		}
		s.Text += "."
		s.Text += acrossText(c.Breaks)
		if c.Handling != nil {
			s.Text += " " + wording.Typeset(c.HandlingSentence())
			if h := last.Handled; h != nil {
				s.Numbers = append(s.Numbers, Number{Name: fmt.Sprintf("handling of %v as a share of that of %v, by the stated calibration", last.Office, first.Office), Value: h.Share, Low: h.Low, High: h.High, Unit: "share"})
			}
		}
	}
	return s
}

// wideShare is the width of a share's interval beyond which it says nothing.
const wideShare = 1.5

// shareMeaning says what the interval of the last office’s share leaves open.
func shareMeaning(c *dropoff.Decline) string {
	switch {
	case math.IsNaN(c.Low) || math.IsNaN(c.High):
		return ""
	case c.High-c.Low > wideShare:
		return "; the interval is too wide to say whether wear falls"
	case c.Less:
		return "; " + amongTests + ", the interval leaves out equal wear"
	case c.More:
		return "; " + amongTests + ", the last is worn more than the first"
	case c.High < 1 || c.Low > 1:
		return "; the interval leaves out equal wear by itself, and " + amongTests + " none can be given"
	}
	return "; " + amongTests + ", equal wear is not ruled out"
}

func adjustedFor(features []string) string {
	if len(features) == 0 {
		return ""
	}
	return ", adjusted for " + wording.List(readable(features))
}

// readable turns column names into words.
func readable(columns []string) []string {
	out := make([]string, len(columns))
	for i, c := range columns {
		out[i] = strings.ReplaceAll(c, "_", " ")
	}
	return out
}

func changesText(where string, c *dropoff.Decline, s *Sentence) string {
	if c.Changes == nil {
		return "Along " + where + " no change of level could be looked for."
	}
	pages := wording.Count(c.Changes.N, "page", "pages")
	if gradual := c.Changes.Compared; len(c.Changes.Changes) == 0 && gradual != nil && (gradual.Best == dropoff.Steady || gradual.Best == dropoff.BrokenLine) {
		return fmt.Sprintf("Along %s, %s compared, no place is found where the reader stopped. %s", where, pages, wording.Typeset(wording.Sentence(gradual.Sentence)))
	}
	if len(c.Changes.Changes) == 0 {
		return fmt.Sprintf("Along %s, %s compared, no change of level is %s, and so no place where the reader stopped%s.%s", where, pages, foundOrClaimed(c.Changes), noChangeChance(c.Changes, s), doubtText(c.Changes))
	}
	var told []string
	for k, change := range c.Changes.Changes {
		s.Numbers = append(s.Numbers,
			Number{Name: "row after which the level changes", Value: float64(change.After), Low: float64(change.Low), High: float64(change.High), Unit: "pages"},
			plain("probability of the change", change.Probability, "probability"))
		told = append(told, changeText(c, k, s))
	}
	return fmt.Sprintf("Along %s, %s compared, %s.%s", where, pages, strings.Join(told, "; then "), doubtText(c.Changes))
}

// foundOrClaimed is what no change is where none is claimed.
func foundOrClaimed(c *dropoff.Changes) string {
	if len(c.Doubtful) > 0 {
		return "claimed"
	}
	return "found"
}

// doubtText tells of changes that are not claimed; empty where there are none.
func doubtText(c *dropoff.Changes) string {
	if c.Tentative {
		return " " + wording.Typeset(wording.Sentence(c.Compared.Sentence))
	}
	text := ""
	for _, d := range c.Doubtful {
		text += " " + wording.Typeset(wording.Sentence("None is claimed after f. "+d.At+": "+d.Doubt))
	}
	return text
}

// changeText tells one change: its direction, place, interval, probability and
// the levels on either side.
func changeText(c *dropoff.Decline, k int, s *Sentence) string {
	change := c.Changes.Changes[k]
	text := "the level of wear changes" // where no levels are given
	levels := ""
	if before, after, ok := c.Changes.Around(change.After); ok {
		text = "wear " + verb(after.Mean < before.Mean, change.Probability >= likely)
		levels = fmt.Sprintf(", from %s to %s density", wording.Density(before.Mean), wording.Density(after.Mean))
		s.Numbers = append(s.Numbers,
			Number{Name: "level before", Value: before.Mean, Low: before.Mean - normal95*before.SE, High: before.Mean + normal95*before.SE, Unit: "density"},
			Number{Name: "level after", Value: after.Mean, Low: after.Mean - normal95*after.SE, High: after.Mean + normal95*after.SE, Unit: "density"})
	}
	return fmt.Sprintf("%s after f.%s%s%s (95%s%% interval %s; probability %s)%s",
		text, wording.NoBreak, change.At, inOffice(c, change.After), wording.Narrow, changeInterval(c, change), wording.Probability(change.Probability), levels)
}

// likely is the probability from which a change is told as one, below which as
// one that may be.
const likely = 0.8

func verb(falls, sure bool) string {
	switch {
	case falls && sure:
		return "drops"
	case falls:
		return "may drop"
	case sure:
		return "rises"
	}
	return "may rise"
}

// noChangeChance tells how probable it is that there is no change at all, where
// that is known.
func noChangeChance(c *dropoff.Changes, s *Sentence) string {
	if len(c.CountProbability) == 0 {
		return ""
	}
	none := c.CountProbability[0]
	s.Numbers = append(s.Numbers, plain("probability of no change at all", none, "probability"))
	text := " (the probability of no change at all is " + wording.Probability(none) + ")"
	if none < likely {
		text += ", but the pages do not settle it"
	}
	return text
}

// normal95 is the 97.5 % point of the normal distribution.
const normal95 = 1.959963984540054

// inOffice says between which offices, or within which, row after ends.
func inOffice(c *dropoff.Decline, after int) string {
	if after < 1 || after >= len(c.Offs) {
		return ""
	}
	before, next := c.Offs[after-1], c.Offs[after]
	if before != next {
		return fmt.Sprintf(", between %v and %v", before, next)
	}
	return fmt.Sprintf(", within %v", before)
}

func changeInterval(c *dropoff.Decline, change dropoff.Change) string {
	return pageInterval(c.Series.Labels, change)
}

// rowLabel is the label of a row counted from 1, held inside the series.
func rowLabel(labels []string, row int) string {
	if len(labels) == 0 {
		return wording.Whole(row)
	}
	return labels[min(max(row, 1), len(labels))-1]
}
