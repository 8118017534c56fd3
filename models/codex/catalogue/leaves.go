package catalogue

import (
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
)

// mostLeaves is how many leaves a book may have here. A number beyond it comes
// of a slip, or of a file that means no good.
const mostLeaves = 5000

// A foliation is the labels of a book's leaves in physical order, as far as a
// description tells them: flyleaves, leaves, flyleaves.
type foliation struct {
	front, leaves, end []codex.Folio
}

func (f foliation) all() []codex.Folio { return slices.Concat(f.front, f.leaves, f.end) }

// mentioned are the leaves that texts and pictures name.
type mentioned struct {
	last, lastRoman int
	suffixed        map[int][]codex.Folio // leaves such as 13bis by their number
	supplied        bool                  // all of them in brackets
}

// mention goes through all places that a record names, and drops those that
// name a leaf which the book cannot have.
func (b *builder) mention(r *Record) mentioned {
	m := mentioned{suffixed: map[int][]codex.Folio{}, supplied: true}
	impossible := b.impossible(r)
	keep := func(line int, what string, ranges []codex.Range) []codex.Range {
		return slices.DeleteFunc(ranges, func(place codex.Range) bool {
			for _, folio := range []codex.Folio{place.From.Folio, place.To.Folio} {
				if why := impossible(folio); why != "" {
					b.account.Leave(line, what, "it names leaf %s, and %s; correct the number", folio, why)
					return true
				}
			}
			for _, folio := range []codex.Folio{place.From.Folio, place.To.Folio} {
				m.take(folio)
			}
			return false
		})
	}
	walk(r.Items, func(i *Item) {
		before := len(i.Loci)
		i.Loci = keep(i.Line, i.What(), i.Loci)
		i.Told = i.Told || len(i.Loci) < before
		i.Ends = keep(i.Line, i.What(), i.Ends)
	})
	for _, p := range r.Pictures {
		before := len(p.Loci)
		p.Loci = keep(p.Line, p.What(), p.Loci)
		p.Told = p.Told || len(p.Loci) < before
	}
	return m
}

// most letters of a roman numeral in a locus that stand for a leaf and no column,
// line or abbreviation: flyleaves beyond twenty are numbered otherwise.
const mostFlyleaves = 20

// impossible tells why the book cannot have a leaf; empty where it can. Against
// the number of leaves that the record states a leaf is held only where it is more
// than twice as many, or where it is the only one beyond.
func (b *builder) impossible(r *Record) func(codex.Folio) string {
	stated := r.Counts.All()
	var beyond []int
	romans, arabics := 0, 0
	note := func(ranges []codex.Range) {
		for _, place := range ranges {
			for _, folio := range []codex.Folio{place.From.Folio, place.To.Folio} {
				if folio.Roman {
					romans++
				} else if arabics++; folio.Number > stated && !slices.Contains(beyond, folio.Number) {
					beyond = append(beyond, folio.Number)
				}
			}
		}
	}
	walk(r.Items, func(i *Item) { note(i.Loci) })
	for _, p := range r.Pictures {
		note(p.Loci)
	}
	counted := max(r.Counts.Front+r.Counts.End, mostFlyleaves)
	return func(folio codex.Folio) string {
		switch {
		case folio.Number > mostLeaves:
			return fmt.Sprintf("no book is taken to have more than %d", mostLeaves)
		case folio.Roman && arabics > 0 && folio.Number > counted && !slices.Contains(r.Labels, bare(folio)):
			return "it counts no such flyleaf: a stray letter is taken for none"
		case r.Counts.Leaves == 0 || folio.Roman || folio.Number <= stated || slices.Contains(r.Labels, bare(folio)):
			return ""
		case len(beyond) <= 2 && folio.Number > 2*stated+10 || len(beyond) == 1 && folio.Number > stated+stated/4+2:
			return fmt.Sprintf("it counts %d", r.Counts.Leaves)
		}
		return ""
	}
}

// ofVolume numbers the leaves by the places of the texts where these run over just as
// many leaves as the record counts, and do not begin with 1: those of a part of a
// volume that is numbered throughout.
func (b *builder) ofVolume(r *Record) {
	first, last := 0, 0
	plain := r.Counts.Leaves > 0 && r.Counts.Front+r.Counts.End == 0 && r.Labels == nil
	walk(r.Items, func(i *Item) {
		for _, place := range i.Loci {
			from, to := place.From.Folio, place.To.Folio
			plain = plain && from.Suffix+to.Suffix == "" && !from.Roman && !to.Roman && to.Number <= mostLeaves
			if first == 0 || from.Number < first {
				first = from.Number
			}
			last = max(last, to.Number)
		}
	})
	if !plain || first < 2 || last-first+1 != r.Counts.Leaves {
		return
	}
	r.Labels = Numbered(first, last, false)
	b.account.Infer(r.Counts.Line, "the foliation", "the record counts %d and its texts run over as many, from %d to %d: these are taken as their numbers", r.Counts.Leaves, first, last)
}

// endOfCount ends a text that is said to run from leaf 1 to the leaf of the number of
// all leaves, flyleaves among them, on the last leaf that bears a number, where the
// record lists the numbers: of i–ii + 1–152 such a text ends on 152 and not on 154.
func (b *builder) endOfCount(r *Record) {
	last := codex.Folio{}
	for _, label := range r.Labels {
		if !label.Roman && label.Number >= last.Number {
			last = label
		}
	}
	for _, item := range r.Items {
		if len(item.Loci) != 1 || last.Number == 0 {
			continue
		}
		from, to := item.Loci[0].From, &item.Loci[0].To
		if from.Folio.Number == 1 && !to.Folio.Roman && to.Folio.Number == r.Counts.All() && to.Folio.Number > last.Number {
			b.account.Infer(item.Line, item.What(), "it is said to run to leaf %d, which is the count of all leaves; it is taken to end on %s, the last that bears a number", to.Folio.Number, last)
			to.Folio = last
		}
	}
}

func walk(items []*Item, do func(*Item)) {
	for _, item := range items {
		do(item)
		walk(item.Children, do)
	}
}

func (m *mentioned) take(folio codex.Folio) {
	m.supplied = m.supplied && folio.Supplied
	if folio.Suffix != "" {
		folio.Supplied = false
		if at := m.suffixed[folio.Number]; !folio.Roman && !slices.Contains(at, folio) {
			m.suffixed[folio.Number] = append(at, folio)
		}
	}
	if folio.Roman {
		m.lastRoman = max(m.lastRoman, folio.Number)
	} else {
		m.last = max(m.last, folio.Number)
	}
}

// among tells whether all leaves named are among those of a list.
func (m *mentioned) among(labels []codex.Folio) bool {
	last, lastRoman := 0, 0
	for _, label := range labels {
		if label.Roman {
			lastRoman = max(lastRoman, label.Number)
		} else {
			last = max(last, label.Number)
		}
	}
	for _, folios := range m.suffixed {
		for _, folio := range folios {
			if !slices.Contains(labels, folio) {
				return false
			}
		}
	}
	return m.last <= last && m.lastRoman <= lastRoman
}

// extra is how many leaves share a number with the one before.
func (m *mentioned) extra() int {
	n := 0
	for _, folios := range m.suffixed {
		n += len(folios)
	}
	return n
}

// foliate numbers the leaves: those that the record counts, or as many as its
// collation makes, or up to the last that it names.
func (b *builder) foliate(r *Record, m mentioned, collated int) foliation {
	last := r.Counts.Leaves - m.extra()
	switch {
	case r.Counts.Leaves == 0 && collated > 0:
		last = collated - m.extra()
	case r.Counts.Leaves == 0 && m.last > 0:
		b.account.Note(r.Line, "the leaves", "the record does not count them; they are taken to run to %d, the last that it names", m.last)
	case m.last > last && r.Counts.Leaves > 0:
		b.account.Note(r.Counts.Line, "the leaves", "the record counts %d and names leaf %d; they are taken to run to %d", r.Counts.Leaves, m.last, m.last)
	}
	last = min(max(last, m.last), mostLeaves)
	front, end := min(r.Counts.Front, mostLeaves), min(r.Counts.End, mostLeaves)
	if missing := m.lastRoman - front - end; missing > 0 {
		b.account.Note(r.Line, "the flyleaves", "the record names leaf %s and counts %d; those missing are put in front", codex.Folio{Number: m.lastRoman, Roman: true}, front+end)
		front += missing
	}
	f := foliation{front: Numbered(1, front, true), end: Numbered(front+1, front+end, true)}
	for n := 1; n <= last; n++ {
		f.leaves = append(f.leaves, codex.Folio{Number: n, Supplied: m.supplied && m.last > 0})
		f.leaves = append(f.leaves, inOrder(m.suffixed[n])...)
	}
	for _, n := range slices.Sorted(maps.Keys(m.suffixed)) {
		for _, folio := range m.suffixed[n] {
			b.account.Note(r.Line, "leaf "+folio.String(), "it is put after leaf %d, since a text or picture stands on it", n)
		}
	}
	return f
}

// inOrder sorts leaves of one number: 13bis, 13ter, 13quater, then letters.
func inOrder(folios []codex.Folio) []codex.Folio {
	rank := func(f codex.Folio) string {
		if at := slices.Index([]string{"bis", "ter", "quater"}, f.Suffix); at >= 0 {
			return string(rune('0' + at))
		}
		return f.Suffix
	}
	slices.SortFunc(folios, func(a, c codex.Folio) int { return strings.Compare(rank(a), rank(c)) })
	return folios
}

// leaves are the rows of leaves.csv.
func (b *builder) leaves(r *Record) []codex.StatedLeaf {
	b.ofVolume(r)
	b.endOfCount(r)
	m := b.mention(r)
	var f foliation
	if r.Counts.Leaves > 0 && !m.among(r.Labels) {
		r.Labels = nil
	}
	b.throughout(r, m)
	if r.Labels != nil {
		f = parted(r.Labels, r.Counts)
		r.Counts.Leaves = len(f.leaves)
	}
	formula, at := b.collation(r, m)
	if r.Labels == nil {
		collated := 0
		if formula != nil {
			_, collated = formula.Counted()
			if r.Counts.Front+r.Counts.End == 0 {
				r.Counts.Front, r.Counts.End = flyleaves(formula)
			}
		}
		f = b.foliate(r, m, collated)
	}
	if formula != nil {
		leaves, err := bind(formula, f)
		if err == nil {
			b.account.Use(at.Line, "the collation “"+formula.String()+"”", "the quires and sheets of the leaves")
			r.Gone = slices.DeleteFunc(r.Gone, func(g Gap) bool { return g.Collated })
			if strings.Contains(formula.String(), "⁻") || slices.ContainsFunc(leaves, codex.StatedLeaf.Gone) {
				b.untold(r, leaves)
				return leaves
			}
			return b.lose(r, leaves) // it counts those that are there
		}
		b.account.Leave(at.Line, "the collation “"+Short(at.Text, 80)+"”", "%v; the leaves are in no quire", err)
	}
	if leaves := b.listed(r, f); leaves != nil {
		return b.lose(r, leaves)
	}
	if leaves := b.begun(r, f); leaves != nil {
		return b.lose(r, leaves)
	}
	return b.lose(r, unbound(f.all()))
}

// throughout numbers the flyleaves with the leaves where the record names leaves
// beyond those that it counts, and no more than it counts with the flyleaves.
func (b *builder) throughout(r *Record, m mentioned) {
	c := r.Counts
	all := c.All()
	if r.Labels != nil || c.Leaves == 0 || m.last <= c.Leaves+m.extra() || m.last > all || m.lastRoman > 0 || len(m.suffixed) > 0 {
		return
	}
	r.Labels = Numbered(1, all, false)
	b.account.Infer(c.Line, "the foliation", "the record counts %d leaves and %d flyleaves, and names leaf %d: the numbers are taken to run through all of them, from 1 to %d", c.Leaves, c.Front+c.End, m.last, all)
}

// flyleaves counts the flyleaves that a formula states before its first quire,
// and the others.
func flyleaves(formula codex.Formula) (front, end int) {
	all, _ := formula.Counted()
	for i, g := range formula {
		if !g.Flyleaves {
			front, _ = formula[:i].Counted()
			break
		}
	}
	return front, all - front
}

// parted tells the flyleaves in front and at the end from the leaves between: by
// their counts, or else by their roman numerals.
func parted(labels []codex.Folio, c Counts) foliation {
	from, to := 0, len(labels)
	if c.Leaves > 0 {
		from, to = c.Front, c.Front+c.Leaves
		return foliation{front: labels[:from:from], leaves: labels[from:to:to], end: labels[to:]}
	}
	for from < to && labels[from].Roman {
		from++
	}
	for to > from && labels[to-1].Roman {
		to--
	}
	return foliation{front: labels[:from:from], leaves: labels[from:to:to], end: labels[to:]}
}

// unbound are leaves in no known quire.
func unbound(labels []codex.Folio) []codex.StatedLeaf {
	leaves := make([]codex.StatedLeaf, len(labels))
	for i, label := range labels {
		leaves[i].Label = label
	}
	return leaves
}

// collation finds the first statement that is a collation formula and makes as
// many leaves as the record counts, or, where it counts none, at least as many
// as it names.
func (b *builder) collation(r *Record, m mentioned) (codex.Formula, Statement) {
	var why, unread error
	for _, statement := range r.Collations {
		for _, text := range formulaTexts(statement.Text) {
			formula, err := codex.ParseFormula(text)
			if err != nil {
				if unread == nil && reQuire.MatchString(text) {
					unread = err
				}
				continue
			}
			flyleaves, leaves := formula.Counted()
			switch stated := r.Counts.Leaves; {
			case stated > 0 && leaves != stated:
				why = fmt.Errorf("it makes %d leaves and the record counts %d; the leaves are in no quire: enter the quires in leaves.csv", leaves, stated)
			case leaves < m.last:
				why = fmt.Errorf("it makes %d leaves and the record names leaf %d; the leaves are in no quire: enter the quires in leaves.csv", leaves, m.last)
			case leaves+flyleaves > mostLeaves:
				why = fmt.Errorf("it makes %d leaves, and no book is taken to have more than %d", leaves+flyleaves, mostLeaves)
			default:
				return formula, statement
			}
		}
	}
	if len(r.Collations) == 0 {
		return nil, Statement{}
	}
	if len(r.Quires) > 0 {
		return nil, Statement{}
	}
	at := r.Collations[0]
	var label *codex.LabelError
	if why == nil && errors.As(unread, &label) {
		why = fmt.Errorf("%s; the leaves are in no quire: enter the quires in leaves.csv", label.Remedy)
	}
	if why == nil {
		why = fmt.Errorf("it cannot be read as a formula such as 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰; the leaves are in no quire: enter the quires in leaves.csv")
	}
	b.account.Leave(at.Line, "the collation “"+Short(at.Text, 80)+"”", "%v", why)
	return nil, Statement{}
}

// longestFormula is the longest text that is tried as a formula, in bytes.
const longestFormula = 4000

// reQuire finds a text that begins as formulas do, so that what is wrong with it
// is worth telling: with a quire's number or letter and how many leaves it has.
var reQuire = regexp.MustCompile(`^(?:\d+|(?i:[ivxlc]+)|[A-Za-z])(?: ?[-–—] ?(?:\d+|(?i:[ivxlc]+)|[A-Za-z]))?(?:\^|[⁰¹²³⁴⁵⁶⁷⁸⁹]|[:.] ?\d| ?\()`)

// reSentence ends a sentence or a part of one.
var reSentence = regexp.MustCompile(`[.;] |, (?:\p{L}+ )?(?:catchwords|signatures)\b`)

// formulaTexts are the parts of a statement that may be a formula: all of it,
// what follows a colon after a word, and each of these up to the end of its
// first sentences. Strokes between quires say that a text ends there, and part
// quires as commas do.
func formulaTexts(text string) []string {
	text, shorter := collated(strings.TrimSpace(text))
	text = strings.ReplaceAll(wanting(text), " | ", ", ")
	text = strings.TrimSpace(reSpaces.ReplaceAllString(text, " "))
	if len(text) > longestFormula {
		text = strings.ToValidUTF8(text[:longestFormula], "")
	}
	starts := []string{text}
	for at, r := range text {
		if r == ':' && at < 40 && len(starts) < 3 {
			starts = append(starts, strings.TrimSpace(text[at+1:]))
		}
	}
	var texts []string
	if shorter != "" {
		texts = []string{shorter}
	}
	for _, start := range slices.Backward(starts) {
		texts = append(texts, strings.TrimRight(start, ".;, "))
		for rest, from := start, 0; len(texts) < 12; {
			at := reSentence.FindStringIndex(rest[from:])
			if at == nil {
				break
			}
			texts = append(texts, rest[:from+at[0]])
			from += at[1]
		}
	}
	return texts
}

// bind gives the leaves that a formula makes their labels. Flyleaves that the
// formula passes over stay in no quire.
func bind(formula codex.Formula, f foliation) ([]codex.StatedLeaf, error) {
	leaves, err := formula.Leaves()
	if err != nil {
		return nil, err
	}
	flyleaves, others := formula.Counted()
	if others != len(f.leaves) {
		return nil, fmt.Errorf("it makes %d leaves and there are %d", others, len(f.leaves))
	}
	loose := slices.Concat(f.front, f.end)
	if flyleaves > 0 && flyleaves != len(loose) {
		return nil, fmt.Errorf("it makes %d flyleaves and there are %d", flyleaves, len(loose))
	}
	numbers := f.leaves
	for i := range leaves {
		leaf := &leaves[i]
		if leaf.Gone() {
			leaf.Label = codex.Folio{}
			continue
		}
		from := &numbers
		if leaf.Quire == "" && leaf.Label.Roman {
			from = &loose
		}
		if len(*from) == 0 {
			return nil, fmt.Errorf("its flyleaves and leaves cannot be told apart")
		}
		leaf.Label, *from = (*from)[0], (*from)[1:]
	}
	if flyleaves == 0 {
		leaves = slices.Concat(unbound(f.front), leaves, unbound(f.end))
	}
	return leaves, nil
}
