package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"thumbed/models/dropoff/readers"
	"thumbed/models/hypotheses"
	"thumbed/models/traces"
	"thumbed/models/wording"
)

// Line tells a failure in one line.
func (f CorpusFailure) Line() string {
	where := onOneLine(f.Folder)
	if f.Book != "" {
		where += ", book " + onOneLine(f.Book)
	}
	where += " (" + f.Stage + ")"
	if place := f.inside(); place != "" {
		where += ", " + onOneLine(place)
	}
	text := where + ": " + f.Problem
	if f.Remedy != "" {
		text = strings.TrimSuffix(text, ".") + "; " + f.Remedy + "."
	}
	return text
}

// inside is the place as seen from the folder.
func (f CorpusFailure) inside() string {
	return strings.TrimPrefix(strings.TrimPrefix(f.Place, f.Folder), "/")
}

// onOneLine is a name as it can be shown to people: in quotes where it holds
// what moves the cursor of a terminal.
func onOneLine(name string) string {
	if strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return strconv.Quote(name)
	}
	return name
}

// mostTold is how many failing folders and books, or kinds of failure, are told in
// words, so that they fit a screen; the table of failures has all.
const mostTold = 6

// FailureLines tell what failed, on lines that fit a screen: the first failure of
// each folder and book or, where these are many, one of each kind, the most
// frequent first.
func (c *Corpus) FailureLines() []string {
	at := groups(c.Failures, func(f CorpusFailure) [3]string { return [3]string{f.Folder, f.Book} })
	if len(at) <= mostTold {
		var lines []string
		for _, g := range at {
			line := "  " + g[0].Line()
			if more := len(g) - 1; more > 0 {
				line += fmt.Sprintf(" (And %s more.)", wording.Whole(more))
			}
			lines = append(lines, line)
		}
		return lines
	}
	kinds := groups(c.Failures, CorpusFailure.kind)
	folders := func(g []CorpusFailure) int {
		return len(groups(g, func(f CorpusFailure) [3]string { return [3]string{f.Folder} }))
	}
	slices.SortStableFunc(kinds, func(a, b []CorpusFailure) int { return folders(b) - folders(a) })
	var lines []string
	for i, g := range kinds {
		if i == mostTold {
			return append(lines, fmt.Sprintf("  And %s more.", wording.Count(len(kinds)-mostTold, "kind of failure", "kinds of failure")))
		}
		line := "  " + g[0].Line()
		if n := folders(g); n > 1 {
			line += fmt.Sprintf(" (And the like in %s more.)", wording.Count(n-1, "folder", "folders"))
		}
		lines = append(lines, line)
	}
	return lines
}

// groups puts what has the same key together, in the order of first appearance.
func groups(failures []CorpusFailure, key func(CorpusFailure) [3]string) [][]CorpusFailure {
	var out [][]CorpusFailure
	at := map[[3]string]int{}
	for _, f := range failures {
		k, known := at[key(f)]
		if !known {
			k, out = len(out), append(out, nil)
			at[key(f)] = k
		}
		out[k] = append(out[k], f)
	}
	return out
}

// kind is what failures of one kind have in common: the stage, the column and what
// was expected of it.
func (f CorpusFailure) kind() [3]string {
	return [3]string{f.Stage, f.Column, f.Expected}
}

// FailureCount says of how many folders and books something failed.
func (c *Corpus) FailureCount() string {
	books := map[string]bool{}
	for _, f := range c.Failures {
		if f.Book != "" {
			books[f.Folder+"\x00"+f.Book] = true
		}
	}
	var parts []string
	if n := c.lostFolders(); n > 0 {
		parts = append(parts, fmt.Sprintf("%s of %s could not be used", wording.Whole(n), wording.Count(c.Folders, "folder", "folders")))
	}
	if n := len(books); n > 0 {
		parts = append(parts, "of "+wording.Count(n, "book", "books")+" something could not be computed")
	}
	if parts == nil {
		return fmt.Sprintf("All %s could be used.", wording.Count(c.Folders, "folder", "folders"))
	}
	return wording.Sentence(strings.Join(parts, ", and "))
}

// CheckedWords say what a corpus that was looked through holds, of what is in
// order, on a few lines; models and questions count those of its file.
func (c *Corpus) CheckedWords(models, questions int) string {
	leaves, lost := 0, 0
	for _, b := range c.Books {
		leaves += b.Leaves
		lost += b.Lost
	}
	head := "In order are:"
	if len(c.Failures) == 0 {
		head = "The corpus and its tables are in order."
	}
	return fmt.Sprintf("%s\n  %s with %s: %s (%s of them lost)\n  %s on %s\n  %s, %s\n", head,
		wording.Count(c.Folders-c.lostFolders(), "folder", "folders"), wording.Count(len(c.Books), "book", "books"), wording.Count(leaves, "leaf", "leaves"), wording.Whole(lost),
		wording.Count(c.readings(), "reading", "readings"), wording.Count(c.pages(), "page", "pages"), wording.Count(models, "model", "models"), wording.Count(questions, "question", "questions"))
}

// Sentences are the answers in words: to the questions, what the readers have in
// common, and how sure that is. A question that is asked of each book by itself
// is told by counts.
func (c *Corpus) Sentences() []Sentence {
	once := c.once()
	out := once.answerSentences()
	for _, q := range c.askedOfEach() {
		s := Sentence{Topic: Asked, Text: wording.Sentence(q.words) + " " + eachWords(q)}
		for _, verdict := range verdicts {
			s.Numbers = append(s.Numbers, plain(verdict, float64(q.count(verdict)), "books"))
		}
		out = append(out, s)
	}
	for _, text := range c.readerWords() {
		out = append(out, Sentence{Topic: Stopped, Text: wording.Typeset(text)})
	}
	used := fmt.Sprintf("%s %s were used, from %s.", c.FailureCount(), c.held(), wording.Count(c.Folders-c.lostFolders(), "folder", "folders"))
	out = append(out, Sentence{Topic: Sure, Text: used, Numbers: []Number{plain("folders", float64(c.Folders), ""), plain("books", float64(len(c.Books)), "books"), plain("pages measured", float64(c.pages()), "pages")}}, cautionSentence())
	sure := []Sentence{c.repeats()}
	for _, m := range once.Models {
		if s, ok := once.modelSentence(m); ok {
			sure = append(sure, s)
		}
	}
	return append(out, aside(sure)...)
}

// repeatability pools that of the folders, each once, by degrees of freedom; sd is NaN
// where no folder has any.
func (c *Corpus) repeatability() (sd, df float64, folders int) {
	seen := map[string]bool{}
	squares := 0.0
	for _, b := range c.Books {
		if !seen[b.Folder] && b.RepeatabilityDF > 0 {
			squares += b.RepeatabilityDF * b.Repeatability * b.Repeatability
			df += b.RepeatabilityDF
			folders++
		}
		seen[b.Folder] = true
	}
	return math.Sqrt(squares / df), df, folders
}

func (c *Corpus) precisionRows() []precisionRow {
	sd, df, folders := c.repeatability()
	return []precisionRow{
		{"repeatability", "standard deviation of density between placings on one spot (s_r, ISO 5725-2), pooled over the folders’ logs", sd, df},
		{"folders", "folders with more than one placing on a spot, pooled in it", float64(folders), noDF},
	}
}

// repeats says how placings on one spot repeat.
func (c *Corpus) repeats() Sentence {
	sd, df, folders := c.repeatability()
	if folders == 0 {
		return Sentence{Topic: Sure, Text: "The repeatability of the measuring is not known, since no spot was measured twice; measure some pages more than once."}
	}
	limit := repeatabilityFactor * sd
	return Sentence{Topic: Sure, Text: fmt.Sprintf("Two placings on one spot differ by less than %s density nineteen times in twenty (repeatability standard deviation %s, %s degrees of freedom, over %s).",
		wording.Density(limit), wording.Fixed(sd, 4), wording.DF(df), wording.Count(folders, "folder", "folders")),
		Numbers: []Number{plain("repeatability standard deviation", sd, "density"), plain("repeatability limit", limit, "density"), plain("degrees of freedom", df, "")}}
}

// readings counts those of the books used.
func (c *Corpus) readings() int {
	n := 0
	for _, b := range c.Books {
		n += b.Readings
	}
	return n
}

// pages counts the pages measured.
func (c *Corpus) pages() int {
	n := 0
	for _, b := range c.Books {
		n += b.Measured
	}
	return n
}

// lostFolders counts the folders of which nothing could be used.
func (c *Corpus) lostFolders() int {
	folders := map[string]bool{}
	for _, f := range c.Failures {
		if f.Book == "" {
			folders[f.Folder] = true
		}
	}
	return len(folders)
}

// readerWords tell of the comparison of readers: whether groups are borne out,
// and what each is like.
func (c *Corpus) readerWords() []string {
	x := &c.Compared
	if x.Refused != "" {
		return []string{wording.Sentence(x.Refused)}
	}
	out := []string{x.Grouping.Words}
	if left := c.uncompared(); left > 0 {
		out = append(out, fmt.Sprintf("%s of these hours could not be compared; the table of readers says why of each.", wording.Count(left, "more reader", "more readers")))
	}
	out = append(out, x.continuum()...)
	if x.Grouping.Verdict == readers.None {
		return out
	}
	for _, k := range x.Grouping.Clusters {
		out = append(out, fmt.Sprintf("Group %s, %s, with %s in its middle: relative to its own mean, wear goes from %s at %s to %s at %s. How alike it comes out again, from 0 to 1: %s with other readers, %s with the curves measured again.",
			k.Letter, wording.Count(k.Readers, "reader", "readers"), c.bookNamed(k.Medoid), wording.Fixed(k.Mean[0], 2), x.Offices[0], wording.Fixed(k.Mean[len(k.Mean)-1], 2), x.Offices[len(x.Offices)-1], wording.Fixed(k.Sampling, 2), wording.Fixed(k.Measuring, 2)))
	}
	return out
}

// continuum tells how readers differ by degrees: by the offices at which the axis is
// largest either way.
func (x *Compared) continuum() []string {
	s := x.Grouping.Continuum
	if s == nil || s.SD == 0 {
		return nil
	}
	more, less := 0, 0
	for j, v := range s.Axis {
		if v > s.Axis[more] {
			more = j
		}
		if v < s.Axis[less] {
			less = j
		}
	}
	return []string{
		fmt.Sprintf("Along the scale on which they differ most, readers of higher place have more of their wear at %s and less at %s. It holds %s of all that they differ by beyond the errors of measuring.",
			x.Offices[more], x.Offices[less], wording.Percent(s.Share)),
		fmt.Sprintf("Their places have a standard deviation of %s (of shape, whose mean is 1). The table of readers has each one’s place with its interval.", wording.Fixed(s.SD, 2)),
	}
}

// Overview is the corpus in one look: its headline, its questions, and what else must be
// known; its books are too many for rows.
func (c *Corpus) Overview() Overview {
	return Overview{Headline: c.headline(), Questions: c.lines(), Sure: wording.Typeset(c.readerWords()[0] + " " + c.FailureCount())}
}

// held says what the books hold: readings on pages, or looks where nothing was measured.
func (c *Corpus) held() string {
	books := wording.Count(len(c.Books), "book", "books")
	if c.pages() == 0 && c.Traces != nil {
		return books + " with " + c.looks() + " at traces"
	}
	return fmt.Sprintf("%s with %s on %s", books, wording.Count(c.readings(), "reading", "readings"), wording.Count(c.pages(), "page", "pages"))
}

func (c *Corpus) looks() string {
	return wording.Count(c.Traces.total(func(traces.State) bool { return true }).Looks, "look", "looks")
}

// headline says the first of the effects that are found over all books, and whether
// readers fall into groups; what the corpus holds where no effect is.
func (c *Corpus) headline() string {
	once := c.once()
	held := wording.Count(c.pages(), "page", "pages")
	text := fmt.Sprintf("%s with %s measured", wording.Count(len(c.Books), "book", "books"), held)
	if c.pages() == 0 && c.Traces != nil { // traces alone
		held, text = c.looks(), c.held()
	}
	if k := slices.IndexFunc(once.Answers, func(a hypotheses.Answer) bool { return a.Verdict == hypotheses.Yes && a.Of != "" }); k >= 0 {
		a := once.Answers[k]
		text = fmt.Sprintf("%s: %s over %s with %s", a.Of, once.effectWords(a), wording.Count(len(c.Books), "book", "books"), held)
	}
	if g := c.Compared.Grouping; g != nil {
		text += ". Groups of readers: " + verdictWord(g.Verdict)
	}
	return wording.Capital(text) + "."
}

// uncompared counts the readers of the hours compared whose curves have no shape.
func (c *Corpus) uncompared() int {
	n := 0
	for _, r := range c.Readers {
		if r.Set == c.Compared.Set && r.Shape == nil {
			n++
		}
	}
	return n
}

func (c *Corpus) bookNamed(id string) string {
	for i := range c.Books {
		if c.Books[i].ID == id {
			return c.Books[i].name()
		}
	}
	return id
}

// once are the models fitted to all books, with their answers, as results of a
// study.
func (c *Corpus) once() *Results {
	r := &Results{Meta: c.Meta}
	if c.Traces != nil {
		r.Traces = &TraceResults{Coding: c.Traces.Coding, States: c.Traces.States, Agreement: c.Traces.Agreement}
		for _, m := range c.Traces.Models {
			if m.Book == "" {
				r.Traces.Models = append(r.Traces.Models, m)
			}
		}
	}
	for _, m := range c.Models {
		if m.Book == "" {
			r.Models = append(r.Models, m)
		}
	}
	for _, a := range c.Answers {
		if a.Book == "" {
			r.Answers = append(r.Answers, a)
		}
	}
	return r
}

// whole are all models and answers as results of a study; books are known by
// their ids alone.
func (c *Corpus) whole() *Results {
	return &Results{Meta: c.Meta, Models: c.Models, Answers: c.Answers, Seal: c.Seal}
}

// eachWords tell what came of a question that is asked of each book.
func eachWords(q askedQuestion) string {
	return fmt.Sprintf("Asked of %s by itself: %s, after adjustment over all of them.", wording.Count(len(q.answers), "book", "books"), eachBrief(q))
}

// eachBrief counts the books of each verdict.
func eachBrief(q askedQuestion) string {
	var parts []string
	for _, verdict := range verdicts {
		parts = append(parts, verdict+" in "+wording.Whole(q.count(verdict)))
	}
	return strings.Join(parts, ", ")
}

// askedOfEach are the questions that are asked of each book by itself.
func (c *Corpus) askedOfEach() []askedQuestion {
	r := &Results{}
	for _, a := range c.Answers {
		if a.Book != "" {
			r.Answers = append(r.Answers, a)
		}
	}
	return r.asked()
}
