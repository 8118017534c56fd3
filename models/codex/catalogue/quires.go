package catalogue

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/codex"
)

// unpaired is what the column conjugate says of a leaf whose other half is not
// known.
const unpaired = "unknown"

// listed gives the leaves their quires from a list of quires; nil where the record
// has none that can be used.
func (b *builder) listed(r *Record, f foliation) []codex.StatedLeaf {
	leaves := unbound(f.all())
	at := map[codex.Folio]int{}
	for i, leaf := range leaves {
		at[bare(leaf.Label)] = i
	}
	done, named := 0, map[string]int{}
	for _, q := range r.Quires {
		from, fromOK := at[bare(q.From)]
		to, toOK := at[bare(q.To)]
		switch {
		case !fromOK || !toOK || to < from:
			b.account.Leave(q.Line, "the quire "+q.Label, "its leaves, %s to %s, are not in the book in that order; enter it in leaves.csv", q.From, q.To)
			continue
		case from < done:
			b.account.Leave(q.Line, "the quire "+q.Label, "its leaves, %s to %s, are in another quire too; enter it in leaves.csv", q.From, q.To)
			continue
		}
		if named[q.Label]++; named[q.Label] > 1 {
			again := fmt.Sprintf("%s (%d)", q.Label, named[q.Label])
			b.account.Note(q.Line, "the quire "+q.Label, "the record has another of that name before it; it is called %s", again)
			q.Label = again
		}
		for i := from; i <= to; i++ {
			leaves[i].Quire = q.Label
			if !q.Regular || (to-from)%2 == 0 {
				leaves[i].Conjugate = unpaired
			}
		}
		done = to + 1
	}
	if done == 0 {
		return nil
	}
	b.account.Use(r.Quires[0].Line, "the list of quires", "the quires of the leaves")
	return leaves
}

// reNextQuire parts the quires of a statement of collation.
var reNextQuire = regexp.MustCompile(`\s*[,;|]\s*|\s+`)

// begun gives the leaves their quires from the beginning of a collation that can be
// read only so far; nil where less than two quires can. The quire before what is
// not read is left too where no mark parts the two, since the words may be of it.
func (b *builder) begun(r *Record, f foliation) []codex.StatedLeaf {
	for _, statement := range r.Collations {
		for _, text := range formulaTexts(statement.Text) {
			if _, err := codex.ParseFormula(text); err == nil {
				return nil // all of it can be read, and does not come to the leaves
			}
			formula, rest := readable(text)
			flyleaves, counted := formula.Counted()
			if len(formula) < 2 || flyleaves > 0 || counted > len(f.leaves) {
				continue
			}
			leaves, err := bind(formula, foliation{front: f.front, leaves: f.leaves[:counted]})
			if err != nil {
				continue
			}
			b.account.Left = slices.DeleteFunc(b.account.Left, func(e Entry) bool {
				return strings.HasPrefix(e.What, "the collation “") && e.Line == r.Collations[0].Line
			})
			b.account.Use(statement.Line, "the collation “"+formula.String()+"”", "the quires and sheets of the leaves up to %s", f.leaves[counted-1])
			b.account.Leave(statement.Line, "the collation from “"+Short(rest, 120)+"”", "it cannot be read from there; the leaves after %s are in no quire: enter their quires in leaves.csv", f.leaves[counted-1])
			return slices.Concat(leaves, unbound(f.leaves[counted:]), unbound(f.end))
		}
	}
	return nil
}

// readable is the longest beginning of a collation that can be read, and the rest.
func readable(text string) (codex.Formula, string) {
	gaps := reNextQuire.FindAllStringIndex(text, -1)
	if len(gaps) > 200 {
		gaps = gaps[:200]
	}
	for _, gap := range slices.Backward(gaps) {
		formula, err := codex.ParseFormula(strings.TrimRight(text[:gap[0]], ",;| "))
		if err != nil {
			continue
		}
		if !strings.ContainsAny(text[gap[0]:gap[1]], ",;|") && len(formula) > 0 {
			formula = formula[:len(formula)-1]
		}
		return formula, text[gap[1]:]
	}
	return nil, text
}

// mostLost is how many leaves are taken as lost at one place.
const mostLost = 40

// untold tells of losses of which a collation that tells of others says nothing.
func (b *builder) untold(r *Record, leaves []codex.StatedLeaf) {
	for _, gap := range r.Gone {
		if at, ok := place(leaves, gap); ok && (at > 0 && leaves[at-1].Gone() || at < len(leaves) && leaves[at].Gone()) {
			continue
		}
		b.account.Leave(gap.Line, "the loss “"+Short(gap.Text, 80)+"”", "the collation tells of lost leaves, and of none there; enter it in leaves.csv if it is one")
	}
}

// lose enters the leaves that the record says are lost, where no collation has
// told of them.
func (b *builder) lose(r *Record, leaves []codex.StatedLeaf) []codex.StatedLeaf {
	for _, gap := range r.Gone {
		at, ok := place(leaves, gap)
		what := "the loss “" + Short(gap.Text, 80) + "”"
		if !ok || gap.Leaves > mostLost {
			b.account.Leave(gap.Line, what, "its place cannot be found among the leaves; enter it in leaves.csv")
			continue
		}
		if at > 0 && leaves[at-1].Lost || at < len(leaves) && leaves[at].Lost {
			continue // told twice
		}
		quire := quireAt(leaves, at, gap.Quire)
		leaf := codex.StatedLeaf{Lost: true, Quire: quire}
		if quire != "" {
			leaf.Conjugate = unpaired
			loosen(leaves, quire)
		}
		lost := slices.Repeat([]codex.StatedLeaf{leaf}, gap.Leaves)
		leaves = slices.Insert(leaves, at, lost...)
		if gap.Least {
			b.account.Infer(gap.Line, what, "%s at least; how many is not told: add the others in leaves.csv", Count(gap.Leaves, "lost leaf", "lost leaves"))
		} else {
			b.account.Use(gap.Line, what, "%s", Count(gap.Leaves, "lost leaf", "lost leaves"))
		}
	}
	return leaves
}

// quireAt is the quire that leaves at a place belong to: the one told, where that is
// beside the place, or the one on both sides of it; empty where there is none.
func quireAt(leaves []codex.StatedLeaf, at int, told string) string {
	before, after := "", ""
	if at > 0 {
		before = leaves[at-1].Quire
	}
	if at < len(leaves) {
		after = leaves[at].Quire
	}
	if told != "" && (before == told || after == told) {
		return told
	}
	if before == after {
		return before
	}
	return ""
}

// loosen says of the leaves of the quire that leaves are lost from that their
// other halves are not known.
func loosen(leaves []codex.StatedLeaf, quire string) {
	for i := range leaves {
		if leaves[i].Quire == quire && !leaves[i].Cancelled {
			leaves[i].Conjugate = unpaired
		}
	}
}

// place is where among the leaves lost ones belong.
func place(leaves []codex.StatedLeaf, gap Gap) (int, bool) {
	first, last := 0, len(leaves)
	for first < last && leaves[first].Label.Roman {
		first++
	}
	for last > first && leaves[last-1].Label.Roman {
		last--
	}
	switch {
	case gap.AtEnd:
		return last, true
	case gap.After.IsZero():
		return first, true
	}
	at := slices.IndexFunc(leaves, func(l codex.StatedLeaf) bool { return bare(l.Label) == bare(gap.After) })
	if at < 0 {
		return 0, false
	}
	if gap.Before {
		return at, true
	}
	return at + 1, true
}
