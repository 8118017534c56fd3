package report

import (
	"fmt"

	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

// spreadSentences are what is said of one book beside its chart: what was read,
// which pages attract handling and where wear drops, one short sentence each.
func (r *Results) spreadSentences(i int) []Sentence {
	b := r.Books[i]
	var out []Sentence
	add := func(topic Topic, text string, numbers ...Number) {
		if text != "" {
			out = append(out, Sentence{Topic: topic, Book: b.Book.ID, Text: text, Numbers: numbers})
		}
	}
	if b.Profile != nil {
		add(Read, b.readWords())
		add(Pictures, b.picturesWords())
	}
	if c, fall := b.mainHours(); c != nil {
		add(Stopped, fallWords(c, fall))
	}
	return out
}

// readWords says which text is worn most, and which others may be.
func (b BookResult) readWords() string {
	ranking := b.Profile.Rank()
	if len(ranking.Order) == 0 {
		return "Too few pages of any text were measured to say what was read most."
	}
	first := ranking.Order[0]
	head := fmt.Sprintf("Most worn: %s, at %s density a page", b.textName(first.Section), wording.Estimate(first.PerPage, first.PerPageLow, first.PerPageHigh, 2))
	switch others, alike := len(ranking.Order)-1, len(ranking.Alike); {
	case others == 0:
		return fmt.Sprintf("Only %s could be ranked, at %s density a page.", b.textName(first.Section), wording.Estimate(first.PerPage, first.PerPageLow, first.PerPageHigh, 2))
	case alike == 0:
		return head + fmt.Sprintf(", clearly more than %s.", theOther(others))
	case alike == others:
		return head + "; any other text may be worn as much."
	case alike == 1:
		return head + fmt.Sprintf("; perhaps as much: %s.", b.textName(ranking.Alike[0].Section))
	default:
		return head + fmt.Sprintf("; %s of %s may be worn as much.", wording.Spelled(alike), theOther(others))
	}
}

// theOther are so many texts beside one.
func theOther(n int) string {
	if n == 1 {
		return "the other text"
	}
	return "the " + wording.Spelled(n) + " other texts"
}

// picturesWords counts the pages that stand above their own text.
func (b BookResult) picturesWords() string {
	tests := b.pictureTests()
	texts := 0
	for _, o := range b.Profile.Standouts {
		if !b.Book.Pages[o.Page].Picture {
			texts++
		}
	}
	tail := "."
	if texts > 0 {
		tail = fmt.Sprintf("; so %s %s.", are(texts), wording.Count(texts, "text page", "text pages"))
	}
	standing := len(b.Profile.Standouts) - texts
	switch {
	case b.Profile.Tested == 0:
		return "No page could be tested for standing out: no text has pages enough."
	case len(tests) == 0 && texts == 0:
		return fmt.Sprintf("No page with a picture could be tested; of %s none is shown to stand out.", wording.Count(b.Profile.Tested, "text page", "text pages"))
	case len(tests) == 0:
		return fmt.Sprintf("No page with a picture could be tested; %s above %s text.", standAbove(texts, "text page", "text pages"), its(texts))
	case standing == 0:
		return fmt.Sprintf("None of %s tested is shown to stand above its text, which does not show that they were passed over%s", wording.Count(len(tests), "picture", "pictures"), tail)
	}
	most := b.mostStanding(tests)
	which := "most"
	if standing == 1 {
		which = "namely"
	}
	return fmt.Sprintf("%s, %s %s, by %s density%s%s", wording.Capital(aboveText(standing, len(tests))), which,
		pageWords(b.Book, most.Page, 28), wording.Estimate(most.Excess, most.Low, most.High, 2), tail, b.uncomparedWords(len(tests)))
}

// uncomparedWords say how many pictures could not be tested, beside those that were.
func (b BookResult) uncomparedWords(tested int) string {
	beside := b.Book.Pictures() - tested
	if beside <= 0 {
		return ""
	}
	return " " + wording.Capital(moreWere(beside)) + " not compared."
}

func moreWere(n int) string {
	if n == 1 {
		return "one more was"
	}
	return wording.Spelled(n) + " more were"
}

func are(n int) string {
	if n == 1 {
		return "does"
	}
	return "do"
}

func its(n int) string {
	if n == 1 {
		return "its"
	}
	return "their"
}

func standAbove(n int, one, many string) string {
	return wording.Count(n, one, many) + " " + stand(n)
}

// hardlyWorn is the relative standard error of the first office's wear beyond which a
// share of it tells little (the interval is Fieller's; common practice, no source).
const hardlyWorn = 0.15

// fallWords says where along the hours wear drops, and how worn the last office
// is.
func fallWords(c *dropoff.Decline, fall int) string {
	along := "Along the " + setName(c.Set) + " "
	said := "no drop of wear is found"
	switch {
	case c.Changes == nil:
		said = "too few pages were measured to look for a drop"
	case fall >= 0:
		change := c.Changes.Changes[fall]
		said = "wear drops after f." + wording.NoBreak + change.At + inOffice(c, change.After)
	case c.Changes.Tentative && len(c.Changes.Changes) > 0:
		said = "wear may change after f." + wording.NoBreak + c.Changes.Changes[0].At + ", which is doubtful"
	case len(c.Changes.Changes) > 0:
		change := c.Changes.Changes[0]
		said = "wear " + verb(change.Size < 0, change.Probability >= likely) + " after f." + wording.NoBreak + change.At
	}
	if c.Refused != "" || len(c.Offices) < 2 {
		return along + said + "; a share for the last office cannot be given."
	}
	first, last := c.Offices[0].Office, c.Offices[len(c.Offices)-1].Office
	if o := c.Offices[0]; c.High-c.Low > wideShare && o.SE > hardlyWorn*o.Wear {
		return along + said + fmt.Sprintf(". %v itself bears little wear (%s density), so that the share of %v, %s, says no more.", first, wording.Fixed(o.Wear, 2), last, wording.PercentEstimate(c.Share, c.Low, c.High))
	}
	said += fmt.Sprintf(". A page of %v is worn %s as much as one of %v (%s", last, wording.Percent(c.Share), first, wording.PercentInterval(c.Low, c.High))
	if besideOthers(c) {
		alone := c.Offices[len(c.Offices)-1]
		said += fmt.Sprintf(" "+amongTests+", %s alone", wording.PercentInterval(alone.Low, alone.High))
	}
	if said += ")"; c.High-c.Low > wideShare {
		said += ", too wide to say more"
	}
	return along + said + "."
}

// amongTests is said of an interval that holds together with all else that was looked
// for unasked.
const amongTests = "allowing for all tests"

// besideOthers tells whether the interval of the last office's share, which claims are
// read from, allows for all that was tested: it is wider than that of the share alone.
func besideOthers(c *dropoff.Decline) bool {
	if c == nil || c.Refused != "" || len(c.Offices) < 2 {
		return false
	}
	last := c.Offices[len(c.Offices)-1]
	return c.Low < last.Low || c.High > last.High
}
