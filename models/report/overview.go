package report

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/profile"
	"thumbed/models/wording"
)

// A Finding is one answer of the overview: in words, then in numbers. Clear says
// that it holds at the error rate of its kind; what does not is open, and never
// taken for nothing.
type Finding struct {
	Clear   bool     `json:"clear"`   // whether it holds at the error rate of its kind in its book; else it is open
	Void    bool     `json:"void"`    // whether there is nothing to look for in the book
	Words   string   `json:"words"`   // the answer in words
	Detail  string   `json:"detail"`  // its numbers in short
	Numbers []Number `json:"numbers"` // its numbers at full precision
	// P is against the claim, as if this book stood alone; 1 where nothing is claimed.
	P float64 `json:"p"` // p-value against the claim in its book; 1 where nothing is claimed
}

// Mark is how sure it is, as a shape.
func (f Finding) Mark() template.HTML {
	mark, _ := sureOf(f.Clear)
	return mark
}

// An OverviewRow is what is found in one book.
type OverviewRow struct {
	Book     string   `json:"book"`              // the book's id
	Name     string   `json:"name"`              // its short title
	Read     Finding  `json:"read"`              // which text was read most
	Pictures Finding  `json:"pictures"`          // which pictures stand above their own text
	Fell     Finding  `json:"fell"`              // where wear drops along the hours
	Touched  *Finding `json:"touched,omitempty"` // what was seen of traces; left out where nobody looked

	seen    Finding // of traces, where nothing was measured: alone
	alone   bool
	index   int              // into Results.Books
	carried *dropoff.Decline // what Fell speaks of; nil where the book has no hours
	fall    int              // the change told, into carried.Changes.Changes; −1 where there is none
	after   string           // where wear drops, in words: "Prime", "f. 30v"
}

// A QuestionLine is one declared question with its verdicts in one line.
type QuestionLine struct {
	Words   string `json:"words"`                                                 // the question in the scholar's words
	Verdict string `json:"verdict" words:"yes / no / open / differs / no answer"` // the verdict of all its answers; differs where they do not agree; no answer where there is none
	Answer  string `json:"answer"`                                                // the effect with its 95 % interval, or the verdicts counted
	Clear   bool   `json:"clear"`                                                 // whether none of its answers is open, and none is missing
}

// An Overview is the study in one look.
type Overview struct {
	// Headline says only what holds over all books together: claims of one kind are
	// held to a false-discovery rate of 5 % over the books.
	Headline  string         `json:"headline"`  // what holds of all books: claims of one kind are held to a false-discovery rate of 5 % over them
	Rows      []OverviewRow  `json:"rows"`      // what is found in each book
	Sure      string         `json:"sure"`      // how well a page is known, and what wear is
	Questions []QuestionLine `json:"questions"` // the declared questions, one line each
}

// claimRate is the false-discovery rate of the headline's claims of one kind.
const claimRate = 0.05

// Overview finds in each book what was read most, which pictures stand out and
// where wear drops, and says in one sentence what holds of all.
func (r *Results) Overview() Overview {
	var o Overview
	for i := range r.Books {
		o.Rows = append(o.Rows, r.overviewRow(i))
	}
	o.Headline = r.headline(o.Rows)
	o.Sure = r.sureLine()
	o.Questions = r.questionLines()
	return o
}

func (r *Results) overviewRow(i int) OverviewRow {
	b := r.Books[i]
	row := OverviewRow{Book: b.Book.ID, Name: r.short(b.Book), index: i, fall: -1}
	row.Read, row.Pictures = b.readFinding(), b.pictureFinding()
	row.carried, row.fall = b.mainHours()
	row.Fell, row.after = fellFinding(row.carried, row.fall)
	row.Touched = r.touchedFinding(i)
	if row.alone = r.looksAlone(); row.alone {
		row.seen = r.seenFinding(b.Book.ID)
	}
	return row
}

// nothing is a finding that could not be looked for.
func nothing(words, why string) Finding { return Finding{Words: words, Detail: why, P: 1} }

// readFinding tells which text was read most, or among which it lies.
func (b BookResult) readFinding() Finding {
	switch {
	case b.Profile == nil:
		return nothing("Not measured", "")
	case len(b.Book.Sections) == 0:
		return nothing("Texts not described", "enter them in the table of sections")
	}
	ranking := b.Profile.Rank()
	if len(ranking.Order) == 0 {
		return nothing("Too few pages of any text", "")
	}
	first := ranking.Order[0]
	f := Finding{P: ranking.P, Clear: len(ranking.Order) > 1 && len(ranking.Alike) == 0,
		Detail: wording.Fixed(first.PerPage, 2)}
	if half := (first.PerPageHigh - first.PerPageLow) / 2; finite(half) {
		f.Detail = withHalf(first.PerPage, half)
	}
	for _, a := range ranking.Order {
		f.Numbers = append(f.Numbers, Number{Name: "wear per page, " + sectionName(b.Book.Sections[a.Section]), Value: a.PerPage, Low: a.PerPageLow, High: a.PerPageHigh, Unit: "density"})
	}
	switch n := len(ranking.Alike); {
	case f.Clear || len(ranking.Order) == 1:
		f.Words = b.textName(first.Section)
	case n == 1:
		f.Words = b.twoTexts(first.Section, ranking.Alike[0].Section)
	default:
		f.Words = "Perhaps " + b.shortText(first.Section)
	}
	if len(ranking.Order) == 1 {
		f.Clear, f.Detail = false, f.Detail+"; no other text to compare"
	}
	return f
}

// withHalf is an estimate with half the width of its interval: "0.32 ± 0.01".
func withHalf(v, half float64) string {
	decimals := 2
	for decimals < 4 && !strings.ContainsAny(wording.Fixed(half, decimals), "123456789") {
		decimals++
	}
	return wording.Fixed(v, decimals) + " ± " + wording.Fixed(half, decimals)
}

// brief is an estimate with its interval where there is little room: "0.32
// (0.31–0.33)".
func brief(v, low, high float64, decimals int) string {
	text := wording.Fixed(v, decimals)
	if finite(low) && finite(high) {
		between := "–"
		if low < 0 {
			between = " to "
		}
		text += " (" + wording.Fixed(low, decimals) + between + wording.Fixed(high, decimals) + ")"
	}
	return text
}

// twoTexts names two texts, the hours of two offices once.
func (b BookResult) twoTexts(one, other int) string {
	if b.Book.Sections[one].Set == b.Book.Sections[other].Set {
		return b.shortText(one) + " or " + b.textName(other)
	}
	return b.textName(one) + " or " + b.textName(other)
}

// shortText is a text's name without its hours.
func (b BookResult) shortText(section int) string {
	if s := b.Book.Sections[section]; s.Office != codex.NoOffice {
		return s.Office.String()
	}
	return b.textName(section)
}

// textName is a text's name where there is little room: an office with its hours
// where the book has several sets, else what stands after the comma.
func (b BookResult) textName(section int) string {
	s := b.Book.Sections[section]
	if s.Office != codex.NoOffice {
		name := s.Office.String()
		if set := strings.TrimPrefix(strings.TrimPrefix(s.Set, "of "), "the "); set != "" && b.severalSets() {
			name += ", " + set
		}
		return name
	}
	if _, after, ok := strings.Cut(s.Name, ", "); ok && after != "" {
		return wording.Capital(after)
	}
	return s.Name
}

func (b BookResult) severalSets() bool {
	sets := map[string]bool{}
	for _, s := range b.Book.Sections {
		if s.Office != codex.NoOffice {
			sets[s.Set] = true
		}
	}
	return len(sets) > 1
}

// pictureTests are the tests of the book's pages with a picture, the furthest
// above its text first.
func (b BookResult) pictureTests() []profile.Standout {
	var out []profile.Standout
	for _, t := range b.Profile.Tests {
		if b.Book.Pages[t.Page].Picture {
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(a, b profile.Standout) int { return cmp.Compare(b.Excess, a.Excess) })
	return out
}

// standsOut tells whether a test is one of those claimed.
func (b BookResult) standsOut(t profile.Standout) bool {
	return slices.ContainsFunc(b.Profile.Standouts, func(s profile.Standout) bool { return s.Page == t.Page })
}

// simes is the p-value against all of several hypotheses being true: the least of
// the Benjamini–Hochberg adjusted (Simes 1986, Biometrika 73, 751–754); 1 for none.
func simes(p []float64) float64 {
	if len(p) == 0 {
		return 1
	}
	return slices.Min(profile.FalseDiscovery(p))
}

// pictureFinding counts the pictures that stand above their own text.
func (b BookResult) pictureFinding() Finding {
	if b.Profile == nil {
		return nothing("Not measured", "")
	}
	tests := b.pictureTests()
	inBook := b.Book.Pictures()
	switch {
	case inBook == 0:
		f := nothing("No picture in this book", "")
		f.Void = true
		f.Detail = b.textStandouts()
		return f
	case len(tests) == 0:
		return nothing("No picture could be tested", "no text page to compare with")
	}
	var p []float64
	standing := 0
	f := Finding{}
	for _, t := range tests {
		p = append(p, t.P)
		if b.standsOut(t) {
			standing++
		}
		f.Numbers = append(f.Numbers, Number{Name: "excess, " + folio(b.Book, t.Page), Value: t.Excess, Low: t.Low, High: t.High, Unit: "density"})
	}
	f.P, f.Clear = simes(p), standing > 0
	if !f.Clear {
		f.Words = "No picture shown to stand out"
		f.Detail = fmt.Sprintf("%d of %d tested", len(tests), inBook)
		return f
	}
	f.Words = fmt.Sprintf("%d of %s %s out", standing, wording.Count(len(tests), "picture", "pictures"), stand(standing))
	most := b.mostStanding(tests)
	f.Detail = "most " + pageWords(b.Book, most.Page, 16) + " (+" + wording.Fixed(most.Excess, 2) + ")"
	return f
}

// mostStanding is the first of the tests that is claimed; the first where none is.
func (b BookResult) mostStanding(tests []profile.Standout) profile.Standout {
	return tests[max(0, slices.IndexFunc(tests, b.standsOut))]
}

func stand(n int) string {
	if n == 1 {
		return "stands"
	}
	return "stand"
}

// textStandouts names the text page furthest above its section; empty where none
// stands out.
func (b BookResult) textStandouts() string {
	var most *profile.Standout
	more := 0
	for i := range b.Profile.Standouts {
		o := &b.Profile.Standouts[i]
		if b.Book.Pages[o.Page].Picture {
			continue
		}
		more++
		if most == nil || o.Excess > most.Excess {
			most = o
		}
	}
	switch {
	case most == nil:
		return ""
	case more == 1:
		return "text page " + folio(b.Book, most.Page) + " (+" + wording.Fixed(most.Excess, 2) + ")"
	}
	return fmt.Sprintf("%d text pages, %s (+%s)", more, folio(b.Book, most.Page), wording.Fixed(most.Excess, 2))
}

// pageWords names a page by its picture's subject, in so many characters at most, and by
// its folio.
func pageWords(b *codex.Book, page, most int) string {
	if subject := b.Pages[page].Subject; subject != "" {
		return wording.Clipped(subject, most) + ", " + folio(b, page)
	}
	return folio(b, page)
}

// mainHours are the hours that the overview tells of: those with a fall that is
// claimed, else those with the most pages; and that fall, −1 where there is none.
func (b BookResult) mainHours() (hours *dropoff.Decline, fall int) {
	fall = -1
	for _, c := range b.Declines {
		k := clearFall(c)
		if hours == nil || k >= 0 && fall < 0 || (k >= 0) == (fall >= 0) && len(c.Pages) > len(hours.Pages) {
			hours, fall = c, k
		}
	}
	return hours, fall
}

// clearFall is the greatest fall of wear along the hours that is claimed; −1
// where there is none.
func clearFall(c *dropoff.Decline) int {
	if c.Changes == nil || c.Changes.Tentative {
		return -1
	}
	best := -1
	for k, change := range c.Changes.Changes {
		if change.Size < 0 && change.Probability >= likely && (best < 0 || change.Size < c.Changes.Changes[best].Size) {
			best = k
		}
	}
	return best
}

// fellFinding tells where along the hours wear falls, and how worn the last
// office is against the first.
func fellFinding(c *dropoff.Decline, fall int) (f Finding, after string) {
	if c == nil {
		f = nothing("No hours to follow", "")
		f.Void = true
		return f, ""
	}
	f.P = 1
	if c.Refused == "" && len(c.Offices) > 1 {
		f.Detail = shareWords(c)
		f.Numbers = append(f.Numbers, shareNumber(c))
	}
	if fall >= 0 {
		change := c.Changes.Changes[fall]
		after = fallPlace(c, change)
		f.Clear, f.Words, f.P = true, "After "+after, c.Changes.FalseAlarm
		if f.Detail != "" {
			f.Detail = "to " + f.Detail
		}
		f.Numbers = append(f.Numbers, plain("probability of the change", change.Probability, "probability"))
		return f, after
	}
	switch {
	case c.Changes == nil:
		f.Words = "Too few pages to follow"
	case c.Refused != "" || len(c.Offices) < 2:
		f.Words = "No drop found"
	case c.Less:
		f.Words = "Drops, place open"
	case c.Low <= 0.5 && c.High >= 2:
		f.Words, f.Detail = "Too wide to say", "" // the page’s own part has the numbers
	case c.High < 1 || c.Low <= 0.5: // a fall, or one to half, is not excluded
		f.Words = "Not settled"
	default:
		f.Words = "No drop found"
	}
	return f, ""
}

// fallPlace names the place of a change: the office that ends there, or the page.
func fallPlace(c *dropoff.Decline, change dropoff.Change) string {
	if i := change.After; i >= 1 && i < len(c.Offs) && c.Offs[i-1] != c.Offs[i] {
		return c.Offs[i-1].String()
	}
	return "f." + wording.NoBreak + change.At
}

// shareWords is the last office's wear as a share of the first's: "43 % (37–50)".
func shareWords(c *dropoff.Decline) string {
	return strings.Replace(brief(100*c.Share, 100*c.Low, 100*c.High, 0), " (", wording.Narrow+"% (", 1)
}

func shareNumber(c *dropoff.Decline) Number {
	first, last := c.Offices[0], c.Offices[len(c.Offices)-1]
	return Number{Name: fmt.Sprintf("wear of %v as a share of that of %v", last.Office, first.Office), Value: c.Share, Low: c.Low, High: c.High, Unit: "share"}
}

// held are the rows whose finding holds among those of all books.
func held(rows []OverviewRow, of func(OverviewRow) Finding) []OverviewRow {
	p := make([]float64, len(rows))
	for i, row := range rows {
		p[i] = of(row).P
	}
	var out []OverviewRow
	for i, q := range profile.FalseDiscovery(p) {
		if q <= claimRate && of(rows[i]).Clear {
			out = append(out, rows[i])
		}
	}
	return out
}

// headline says in at most three short sentences what holds.
func (r *Results) headline(rows []OverviewRow) string {
	var said []string
	if with := held(rows, func(row OverviewRow) Finding { return row.Pictures }); len(with) > 0 {
		said = append(said, r.standingWords(with, len(rows)))
	}
	if fell := held(rows, func(row OverviewRow) Finding { return row.Fell }); len(fell) > 0 {
		said = append(said, r.fellWords(fell, len(rows)))
	}
	if read := held(rows, func(row OverviewRow) Finding { return row.Read }); len(read) > 0 && len(said) < 2 {
		said = append(said, r.readWords(read, len(rows)))
	}
	if told := r.touchedHeadline(); told != "" && len(said) < 3 {
		said = append(said, told)
	}
	switch {
	case len(said) > 0:
	case r.looksAlone():
		f := r.seenFinding("")
		return strings.TrimSpace(f.Words+" "+f.Detail) + "."
	case r.count(func(a hypotheses.Answer) bool { return a.Verdict != hypotheses.Open }) > 0:
		return "Beyond the questions asked, these pages settle nothing yet."
	default:
		return "These pages settle nothing yet."
	}
	return strings.ReplaceAll(strings.Join(said, " "), "….", "…") // of a title cut short
}

// inBooks says in how many of the books, by name where it is one or two of several.
func (r *Results) inBooks(rows []OverviewRow, all int) string {
	switch n := len(rows); {
	case n == all && all == 1:
		return r.shortBook(rows[0])
	case n == all:
		return allBooks(all) + " books"
	case n == 1:
		return "one of " + wording.Spelled(all) + " books: " + r.shortBook(rows[0])
	}
	return wording.Spelled(len(rows)) + " of " + wording.Spelled(all) + " books"
}

// standingWords count the pictures that stand above their own text, over the books in
// which any is claimed to.
func (r *Results) standingWords(rows []OverviewRow, all int) string {
	standing, tested := 0, 0
	for _, row := range rows {
		b := r.Books[row.index]
		for _, t := range b.pictureTests() {
			tested++
			if b.standsOut(t) {
				standing++
			}
		}
	}
	where := ", found in "
	if all == 1 {
		where = " in "
	}
	return wording.Capital(aboveText(standing, tested)) + where + r.inBooks(rows, all) + "."
}

// aboveText says how many of the pictures tested are more worn than their own text.
func aboveText(standing, tested int) string {
	are, their := "are", "their"
	if standing == 1 {
		are, their = "is", "its"
	}
	if standing == tested {
		return fmt.Sprintf("all %s %s more worn than %s own text", wording.Count(tested, "picture", "pictures"), are, their)
	}
	return fmt.Sprintf("%s of %s %s more worn than %s own text", wording.Spelled(standing), wording.Count(tested, "picture", "pictures"), are, their)
}

func (r *Results) fellWords(rows []OverviewRow, all int) string {
	if len(rows) > 2 {
		return "Wear drops along the hours in " + r.inBooks(rows, all) + "."
	}
	var parts []string
	for i, row := range rows {
		if i > 0 && row.after == rows[0].after {
			parts[0] += " and " + r.shortBook(row)
			continue
		}
		parts = append(parts, fmt.Sprintf("after %s in %s", row.after, r.shortBook(row)))
	}
	return "Wear drops " + wording.List(parts) + "."
}

func (r *Results) readWords(rows []OverviewRow, all int) string {
	if len(rows) > 2 {
		return "One text is worn most in " + r.inBooks(rows, all) + "."
	}
	var parts []string
	for _, row := range rows {
		parts = append(parts, fmt.Sprintf("%s in %s", row.Read.Words, r.shortBook(row)))
	}
	return "Most worn: " + wording.List(parts) + "."
}

func (r *Results) shortBook(row OverviewRow) string { return r.short(r.Books[row.index].Book) }

// short is a book's name where there is little room: the short title of the table
// of books, else its title without the shelfmark.
func (r *Results) short(b *codex.Book) string {
	if b.Short != "" && b.Short != b.ID {
		return b.Short
	}
	return wording.Clipped(r.bookName(b), 40)
}

// sureLine says how well a page is known, and what wear is.
func (r *Results) sureLine() string {
	if r.looksAlone() {
		return r.agreedLine()
	}
	text := "Wear shows handling, not belief."
	if r.Readings == nil {
		return text
	}
	if se := r.standardErrors(); len(se) > 0 {
		text = "Density 0.3 means half the light of an untouched spot. Half of all pages are known to ±" + wording.Fixed(normal95*median(se), 2) + " or better (95" + wording.Narrow + "%). " + text
	}
	failed := 0
	for _, m := range r.Models {
		if m.Fit == nil {
			failed++
		}
	}
	if failed > 0 {
		text += fmt.Sprintf(" %s could not be fitted, and questions asked of what was not fitted have no answer: the referee’s part says why.", wording.Capital(wording.Count(failed, "model", "models")))
	}
	return text
}

func median(sorted []float64) float64 {
	n := len(sorted)
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// questionLines are the declared questions in their order, one line each.
func (r *Results) questionLines() []QuestionLine {
	var out []QuestionLine
	for _, q := range r.askedAll() {
		line := q.line()
		after := ""
		if q.afterwards {
			after = "; asked afterwards"
		}
		switch all := len(q.answers) + len(q.without); {
		case len(q.answers) == 0:
			line.Answer = "the referee’s part says why"
		case all == 1:
			line.Answer = r.effectWords(q.answers[0]) + r.inGeneral(q.answers[0])
			if book := q.answers[0].Book; book != "" && len(r.Books) > 1 {
				line.Answer += " in " + r.shortByID(book)
			}
		default:
			line.Answer = r.countedWords(q, all)
		}
		line.Answer += after
		out = append(out, line)
	}
	return out
}

// inGeneral says of an open answer whose effect may differ from book to book that it is
// one on all such books, and no contradiction to what is told of these; else empty.
func (r *Results) inGeneral(a hypotheses.Answer) string {
	for _, m := range r.Models {
		if a.Verdict != hypotheses.Open || m.Name != a.Question.Model || m.Book != a.Book {
			continue
		}
		for _, random := range m.Model.Random {
			if slices.Equal(random.By, []string{codex.ColumnBook}) && slices.ContainsFunc(random.Terms, func(term string) bool { return hasTerm(a.Question.Contrast, term) }) {
				return ", for books in general"
			}
		}
	}
	return ""
}

// hasTerm tells whether a contrast names a term, or a level of it.
func hasTerm(contrast map[string]float64, term string) bool {
	for name := range contrast {
		if column, _, _ := strings.Cut(name, "="); column == term || name == term {
			return true
		}
	}
	return false
}

// countedWords are the verdicts of a question's answers, all of them with those that are
// missing, with the books that have each: named where one has it and there is room.
func (r *Results) countedWords(q askedQuestion, all int) string {
	counts := map[string][]string{}
	for _, a := range q.answers {
		counts[a.Verdict] = append(counts[a.Verdict], r.shortByID(a.Book))
	}
	for _, book := range q.without {
		counts[noAnswer] = append(counts[noAnswer], r.shortByID(book))
	}
	var parts, brief []string
	for _, verdict := range append(slices.Clone(verdicts), noAnswer) {
		short := "" // what a no rules out
		if a := q.answers[0]; verdict == hypotheses.No && a.Told == nil && !a.Factor() {
			short = " (under " + number(a.Question.Smallest) + ")"
		}
		switch books := counts[verdict]; {
		case len(books) == all:
			parts = append(parts, verdict+short+" in "+allBooks(all))
		case len(books) > 1:
			parts = append(parts, verdict+short+" in "+wording.Spelled(len(books)))
		case len(books) == 1:
			parts = append(parts, verdict+short+" in "+books[0])
		}
		if n := len(counts[verdict]); n > 0 {
			brief = append(brief, verdict+short+" in "+wording.Spelled(n))
		}
	}
	if answer := strings.Join(parts, ", "); utf8.RuneCountInString(answer) <= mostAnswer {
		return answer
	}
	return strings.Join(brief, ", ")
}

// allBooks are so many books, all there are: "both", "all four".
func allBooks(n int) string {
	if n == 2 {
		return "both"
	}
	return "all " + wording.Spelled(n)
}

// mostAnswer is how many characters an answer in one line has before books are counted
// and not named.
const mostAnswer = 48

// noAnswer stands for the verdict of a question whose model could not answer it.
const noAnswer = "no answer"

// verdicts are those of single answers.
var verdicts = []string{hypotheses.Yes, hypotheses.No, hypotheses.Open}

// differs is the verdict of a question that books answer differently.
const differs = "differs"

// An askedQuestion is one question with its answers: one, or one for each book.
type askedQuestion struct {
	words      string
	afterwards bool
	answers    []hypotheses.Answer
	without    []string // books whose model has no answer, "" for one of all books
}

// line is the question with its verdict, without the answer.
func (q askedQuestion) line() QuestionLine {
	if len(q.answers) == 0 {
		return QuestionLine{Words: q.words, Verdict: noAnswer}
	}
	line := QuestionLine{Words: q.words, Verdict: q.answers[0].Verdict, Clear: q.count(hypotheses.Open)+len(q.without) == 0}
	if q.count(line.Verdict) < len(q.answers) {
		line.Verdict = differs
	}
	return line
}

// count is how many of its answers are of a verdict.
func (q askedQuestion) count(verdict string) int {
	n := 0
	for _, a := range q.answers {
		if a.Verdict == verdict {
			n++
		}
	}
	return n
}

// asked gathers the answers by question, in the order of the answers.
func (r *Results) asked() []askedQuestion {
	all := r.askedAll()
	return slices.DeleteFunc(all, func(q askedQuestion) bool { return len(q.answers) == 0 })
}

// askedAll are the questions asked, those without any answer last.
func (r *Results) askedAll() []askedQuestion {
	var out []askedQuestion
	index := map[string]int{}
	of := func(q hypotheses.Question) *askedQuestion {
		key := q.Model + "\x00" + q.Words
		k, known := index[key]
		if !known {
			k = len(out)
			index[key] = k
			out = append(out, askedQuestion{words: q.Words, afterwards: q.Asked == "after"})
		}
		return &out[k]
	}
	for _, a := range r.Answers {
		q := of(a.Question)
		q.answers = append(q.answers, a)
	}
	for _, u := range r.Unanswered {
		q := of(u.Question)
		q.without = append(q.without, u.Book)
	}
	return out
}

// effectWords is an effect with its interval in its unit: "0.11 density (0.06 to
// 0.17)"; of a logarithm as a factor.
func (r *Results) effectWords(a hypotheses.Answer) string {
	if a.Told != nil {
		return a.Told.Brief()
	}
	e := a.Effect
	if a.Factor() {
		v, low, high := math.Exp(e.Estimate), math.Exp(e.Low), math.Exp(e.High)
		return "factor " + wording.Estimate(v, low, high, wording.Decimals(v*e.SE))
	}
	sign := ""
	if e.Estimate > 0 {
		sign = "+"
	}
	return strings.TrimSpace(sign + brief(e.Estimate, e.Low, e.High, briefDecimals(e.Low, e.High)) + " " + a.Unit)
}

// briefDecimals shows an interval with as few decimals as keep its ends apart from
// each other and from zero.
func briefDecimals(low, high float64) int {
	for decimals := 2; decimals < 4; decimals++ {
		l, h := wording.Fixed(low, decimals), wording.Fixed(high, decimals)
		if l != h && strings.ContainsAny(l, "123456789") && strings.ContainsAny(h, "123456789") {
			return decimals
		}
	}
	return 4
}

func (r *Results) shortByID(id string) string {
	for _, b := range r.Books {
		if b.Book.ID == id {
			return r.short(b.Book)
		}
	}
	return id
}
