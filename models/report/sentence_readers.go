package report

import (
	"fmt"

	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

// togetherSentences speak of several books at once: a drop-off that they share,
// and readers compared.
func (r *Results) togetherSentences() []Sentence {
	var out []Sentence
	for _, s := range r.Shared {
		out = append(out, Sentence{Topic: Stopped, Text: r.sharedWords(s)})
	}
	var named, unnamed []ReaderPair
	for _, p := range r.Pairs {
		if p.Asked {
			named = append(named, p)
		} else if p.Difference != nil {
			unnamed = append(unnamed, p)
		}
	}
	if len(named) > fewNamed {
		out = append(out, r.pairsSentence(named))
	} else {
		for _, p := range named {
			out = append(out, Sentence{Topic: Stopped, Text: r.pairWords(p)})
		}
	}
	if len(unnamed) > 0 {
		out = append(out, r.pairsSentence(unnamed))
	}
	return out
}

// fewNamed is how many books or pairs a short sentence names before it counts them.
const fewNamed = 2

// sharedWords say in one sentence whether books share a drop.
func (r *Results) sharedWords(s SharedDrop) string {
	hours := "the " + setName(s.Set)
	if s.Shared == nil {
		return "Whether the books with " + hours + " share a drop of wear cannot be said."
	}
	books := theBooks(len(s.Shared.Books)) + " with " + hours
	if !s.Shared.Claimed() {
		return fmt.Sprintf("Whether %s share a drop of wear is open; the likeliest place is after %v.", books, s.Shared.After)
	}
	var has []string
	beside := "" // what one book's own sentence says, which is not the same
	for _, d := range s.Shared.Books {
		if d.Refused == "" && d.Has {
			c := s.Readers[d.Decline]
			has, beside = append(has, r.short(r.bookOf(c))+" (to "+wording.Percent(1-d.Drop)+")"), lastAlone(c)
		}
	}
	share := "share a"
	if len(has) < 2 {
		share = "share no"
	}
	head := fmt.Sprintf("%s %s drop of wear. After %v all offices together are clearly less worn in ", wording.Capital(books), share, s.Shared.After)
	switch n := len(has); {
	case n == 0:
		return head + "no book by itself."
	case n > fewNamed:
		return head + wording.Spelled(n) + "."
	}
	if len(has) > 1 {
		beside = ""
	}
	return head + wording.List(has) + beside + "."
}

// lastAlone sets the share of the last office, told elsewhere, beside that of all later
// ones; empty where there is none.
func lastAlone(c *dropoff.Decline) string {
	if c.Refused != "" || len(c.Offices) < 2 {
		return ""
	}
	return fmt.Sprintf("; there %v alone falls to %s of %v", c.Offices[len(c.Offices)-1].Office, wording.Percent(c.Share), c.Offices[0].Office)
}

// pairWords say in one sentence whether two readers that the study names differ.
func (r *Results) pairWords(p ReaderPair) string {
	one, other, where := r.readerNames(p)
	switch {
	case p.Difference == nil:
		return fmt.Sprintf("Whether readings of %s and %s show the same decline %s cannot be said.", one, other, where)
	case p.apart():
		return fmt.Sprintf("Readings of %s and %s differ in their decline %s.", one, other, where)
	}
	return fmt.Sprintf("Readings of %s and %s are not shown to differ in their decline %s.", one, other, where)
}

// theBooks are so many books, told as known: "both books", "the four books".
func theBooks(n int) string {
	if n == 2 {
		return "both books"
	}
	return "the " + wording.Spelled(n) + " books"
}

// namedBooks is how many books a sentence names.
const namedBooks = 6

func (r *Results) sharedSentence(s SharedDrop) Sentence {
	out := Sentence{Topic: Stopped}
	hours := "the " + setName(s.Set)
	if s.Shared == nil {
		out.Text = "Whether the books that have " + hours + " share a drop-off cannot be said. " + wording.Typeset(wording.Sentence(s.Failed))
		return out
	}
	have, told := s.Shared.Having()
	out.Numbers = append(out.Numbers,
		plain("probability of a drop-off at one place", s.Shared.Some(), "probability"),
		plain(fmt.Sprintf("probability of one after %v", s.Shared.After), s.Shared.At(), "probability"),
		plain("books that have it clearly", float64(have), ""), plain("books of which it can be told", float64(told), ""))
	books := wording.Count(len(s.Shared.Books), "book", "books")
	switch {
	case !s.Shared.Claimed():
		out.Text = fmt.Sprintf("The %s with %s do not settle whether they share a drop-off at one place (probability %s; most likely after %v).",
			books, hours, wording.Probability(s.Shared.Some()), s.Shared.After)
		return out
	case have >= 2:
		out.Text = fmt.Sprintf("The %s with %s share a drop-off (probability %s), most likely after %v (probability %s there). ",
			books, hours, wording.Probability(s.Shared.Some()), s.Shared.After, wording.Probability(s.Shared.At()))
	default:
		out.Text = fmt.Sprintf("The %s with %s share no drop-off: after %v, the best place for all together (probability %s), fewer than two have it. ",
			books, hours, s.Shared.After, wording.Probability(s.Shared.At()))
	}
	out.Text += r.whoDrops(s, &out) + r.atBreak(s)
	return out
}

// atBreak names the books in which a known break lies right at the place of the
// drop, so that nothing can be told of it.
func (r *Results) atBreak(s SharedDrop) string {
	var names []string
	for _, d := range s.Shared.Books {
		if d.AtBreak {
			names = append(names, r.quotedName(r.bookOf(s.Readers[d.Decline])))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return " In " + wording.List(names) + " a known break lies at that very place, so that nothing can be told of a drop there."
}

// whoDrops tells which books have the drop at the most probable place, and which
// do not show it.
func (r *Results) whoDrops(s SharedDrop, out *Sentence) string {
	var names, has, hasNot []string
	var drops []Number
	for _, d := range s.Shared.Books {
		name := r.quotedName(r.bookOf(s.Readers[d.Decline]))
		switch {
		case d.Refused != "":
		case d.Has:
			names = append(names, name)
			has = append(has, fmt.Sprintf("%s by %s", name, wording.PercentEstimate(d.Drop, d.Low, d.High)))
			drops = append(drops, Number{Name: "drop after " + s.Shared.After.String() + ", " + name, Value: d.Drop, Low: d.Low, High: d.High, Unit: "share"})
		default:
			hasNot = append(hasNot, name)
		}
	}
	if len(has) > namedBooks {
		return fmt.Sprintf("It is clear in %s of %s books; the table names them.", wording.Whole(len(has)), wording.Whole(len(has)+len(hasNot)))
	}
	text := "It is clear in no book by itself"
	if len(has) > 1 {
		text = "All offices after it, against all before, are clearly worn less in " + wording.List(names)
	} else if len(has) > 0 {
		out.Numbers = append(out.Numbers, drops...)
		text = "All offices after it, against all before, are worn less in " + wording.List(has)
	}
	switch {
	case len(has) == 0 || len(hasNot) == 0:
	case len(hasNot) > namedBooks:
		text += fmt.Sprintf(", not in %s others", wording.Whole(len(hasNot)))
	default:
		text += ", not in " + wording.List(hasNot)
	}
	return text + "."
}

// readerNames name two readers: by their books, or by their hours where both are
// of one book.
func (r *Results) readerNames(p ReaderPair) (one, other, where string) {
	first, second := r.quotedName(r.Books[p.One.Book].Book), r.quotedName(r.Books[p.Other.Book].Book)
	if p.One.Book == p.Other.Book {
		return "the " + setName(p.One.Set), "the " + setName(p.Other.Set), "in " + first
	}
	return first, second, "through the " + setName(p.One.Set)
}

// pairSentence tells of a pair that the study file names.
func (r *Results) pairSentence(p ReaderPair) Sentence {
	s := Sentence{Topic: Stopped}
	if p.Difference == nil {
		s.Text = r.pairWords(p) + " " + wording.Typeset(wording.Sentence(p.Failed))
		return s
	}
	one, other, _ := r.readerNames(p)
	last := p.last()
	s.Numbers = append(s.Numbers,
		Number{Name: fmt.Sprintf("share of wear left at %v, %s less %s", last.Office, one, other), Value: last.Difference, Low: last.Low, High: last.High, Unit: "share"},
		plain("p that both show the same decline", p.P(), "p"), plain("p adjusted over the pairs compared", p.Adjusted, "p"))
	s.Text = fmt.Sprintf("%s At %v, the last office of both, the share of the first less that of the second is %s.",
		r.pairWords(p), last.Office, wording.PercentEstimate(last.Difference, last.Low, last.High))
	for _, reader := range []Reader{p.One, p.Other} {
		if c := r.DeclineBy(reader); c != nil && len(c.Breaks) > 0 {
			s.Text += fmt.Sprintf(" Among the offices of %s a break is known %s: what differs may be its doing, not the reader’s.", r.quotedName(r.Books[reader.Book].Book), wording.List(c.Breaks))
		}
	}
	return s
}

// pairsSentence tells of all pairs where the study file names none.
func (r *Results) pairsSentence(pairs []ReaderPair) Sentence {
	s := Sentence{Topic: Stopped}
	var apart []string
	for _, p := range pairs {
		s.Numbers = append(s.Numbers, plain(fmt.Sprintf("p adjusted over the pairs compared, %s and %s", r.Books[p.One.Book].Book.ID, r.Books[p.Other.Book].Book.ID), p.Adjusted, "p"))
		if !p.apart() {
			continue
		}
		one, other, where := r.readerNames(p)
		apart = append(apart, fmt.Sprintf("%s and %s %s", one, other, where))
	}
	all := wording.Count(len(pairs), "pair", "pairs")
	switch n := len(apart); {
	case len(pairs) == 1 && pairs[0].One.Book != pairs[0].Other.Book:
		s.Text = "The two readers are not shown to differ in their decline."
		if n == 1 {
			s.Text = "The two readers differ in their decline."
		}
	case n == 0:
		s.Text = fmt.Sprintf("Of %s of readers no two are shown to differ in their decline.", all)
	case n == len(pairs):
		s.Text = fmt.Sprintf("Of %s of readers all differ in their decline.", all)
	case n == 1:
		s.Text = fmt.Sprintf("Of %s of readers one differs in its decline: %s. The others are open.", all, apart[0])
	default:
		s.Text = fmt.Sprintf("Of %s of readers %s differ in their decline; the others are open.", all, wording.Spelled(n))
	}
	return s
}

// namedHabits is how many changes along a book a sentence names.
const namedHabits = 4

// habitSentence proposes where in a book the level of wear changes.
func habitSentence(name string, b BookResult) Sentence {
	s := Sentence{Topic: Read}
	h := b.Habits
	switch {
	case h.Refused != "":
		s.Text = "Where in " + name + " the level of wear changes cannot be said. " + wording.Typeset(wording.Sentence(h.Refused))
		return s
	case len(h.Changes.Changes) == 0:
		s.Text = fmt.Sprintf("Along %s of %s, its sections not looked at, no change of level is %s, and so no place is proposed where the level of wear changes.", wording.Count(h.Changes.N, "page", "pages"), name, foundOrClaimed(h.Changes)) + doubtText(h.Changes)
		s.Text += knownText(h.Changes, &s)
		return s
	}
	var told []string
	changes := h.Changes.Changes
	for k, change := range changes {
		s.Numbers = append(s.Numbers,
			Number{Name: "row after which the level changes", Value: float64(change.After), Low: float64(change.Low), High: float64(change.High), Unit: "pages"},
			plain("probability of the change", change.Probability, "probability"))
		if k < namedHabits {
			told = append(told, habitText(h, k))
		}
	}
	if rest := len(changes) - namedHabits; rest > 0 {
		told = append(told, wording.Whole(rest)+" more in the table")
	}
	s.Text = fmt.Sprintf("Along %s of %s, its sections not looked at, the level of wear changes %s.%s", wording.Count(h.Changes.N, "page", "pages"), name, wording.List(told), doubtText(h.Changes))
	if h.Agrees {
		s.Numbers = append(s.Numbers, plain("changes that may lie at the beginning of a section", float64(h.Held()), ""),
			plain("the same by chance", h.Chance, ""), plain("adjusted Rand index of stretches and sections", h.Agreement, ""))
		s.Text += " " + agreementText(h)
	}
	s.Text += knownText(h.Changes, &s)
	return s
}

// agreementText tells how the changes agree with the sections.
func agreementText(h *dropoff.Habits) string {
	chance := "by chance " + wording.Fixed(h.Chance, 1) + " would"
	switch n := len(h.Changes.Changes); {
	case n > 1 && h.Held() == n:
		return fmt.Sprintf("All %s changes may lie at the beginning of a section; %s.", wording.Whole(n), chance)
	case n > 1:
		return fmt.Sprintf("Of %s changes %s may lie at the beginning of a section; %s.", wording.Whole(n), wording.Whole(h.Held()), chance)
	case h.Held() == 1:
		return "The change may lie at the beginning of a section; " + chance + "."
	}
	return "The change lies at the beginning of no section."
}

// habitText tells one change: its page, its probability, and the section with
// whose beginning it may come.
func habitText(h *dropoff.Habits, k int) string {
	change := h.Changes.Changes[k]
	text := fmt.Sprintf("after f.%s%s (probability %s", wording.NoBreak, change.At, wording.Probability(change.Probability))
	if change.Probability < likely {
		text = "perhaps " + text
	}
	if k < len(h.Nearest) && h.Nearest[k].Holds {
		text += ", perhaps with "
		if section := h.Nearest[k].Section; section == dropoff.OutsideSections {
			text += "the " + section
		} else {
			text += quoted(section)
		}
	}
	return text + ")"
}

func quoted(name string) string { return "“" + name + "”" }
