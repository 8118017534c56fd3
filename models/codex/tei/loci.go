package tei

import (
	"strings"

	"thumbed/models/codex"
	"thumbed/models/codex/catalogue"
)

// A pending place waits until it is known by which numbering, of leaves or of
// pages, the record goes.
type pending struct {
	line   int
	what   string
	locus  catalogue.Locus
	scheme string
	into   *[]codex.Range
}

func (r *reader) hold(p pending) {
	r.schemes[p.scheme]++
	r.pending = append(r.pending, p)
}

// await reads loci and holds the places that they name for a text or picture.
func (r *reader) await(line int, what string, loci []*node, into *[]codex.Range) {
	for _, n := range loci {
		l, ok := parseLocus(n)
		if !ok {
			if words := n.words(); words != "" || n.attr("from") != "" || n.attr("target") != "" {
				r.account.Leave(n.line, what, "its place “%s” cannot be read; write it such as ff. 13r–25v", catalogue.Short(strings.TrimSpace(words+" "+n.attr("from")+" "+n.attr("to")+" "+n.attr("target")), 60))
			}
			continue
		}
		r.hold(pending{line: n.line, what: what, locus: l, scheme: n.attr("scheme"), into: into})
	}
}

// parseLocus reads a locus: its words where they name pages, its attributes
// from and to, or its words.
func parseLocus(n *node) (catalogue.Locus, bool) {
	words := n.words()
	inWords, readable := catalogue.ParseLocus(words)
	if readable && inWords.Paged {
		return inWords, true
	}
	from, to := n.attr("from"), n.attr("to")
	switch {
	case from == "":
		return inWords, readable
	case to == "" && readable:
		return inWords, true
	case to == "" || to == from:
		return catalogue.ParseLocus(from)
	}
	if l, ok := catalogue.ParseLocus(from + "–" + to); ok {
		return l, true
	}
	return inWords, readable
}

// settle gives all places to their texts and pictures. A record has one
// numbering here: by pages where it says so or names nothing but pages, and
// otherwise by leaves, in the scheme that most of its loci have.
func (r *reader) settle(byPages bool, record *catalogue.Record) {
	main := r.mainScheme()
	pages, leaves := 0, 0
	for _, p := range r.pending {
		if p.locus.Paged {
			pages++
		} else if _, convertible := p.locus.AsPages(); !convertible {
			leaves++
		}
	}
	byPages = (byPages || pages > 0) && leaves == 0 && len(r.pending) > 0
	if byPages {
		r.account.Note(record.Line, "the numbering", "the record names pages: odd pages are taken as the rectos and even ones as the versos of leaves [1], [2] …")
	}
	for _, p := range r.pending {
		ranges := p.locus.Ranges
		switch {
		case p.scheme != "" && p.scheme != main:
			r.account.Leave(p.line, p.what, "its place is in another numbering, %s", p.scheme)
			continue
		case byPages && !p.locus.Paged:
			ranges, _ = p.locus.AsPages()
		case !byPages && p.locus.Paged:
			r.account.Leave(p.line, p.what, "its place is in pages, where the record goes by leaves")
			continue
		}
		*p.into = append(*p.into, ranges...)
	}
}

// mainScheme is the numbering that most loci name; of equals the first in the
// alphabet.
func (r *reader) mainScheme() string {
	main := ""
	for scheme, n := range r.schemes {
		if scheme == "" {
			continue
		}
		if most := r.schemes[main]; main == "" || n > most || n == most && scheme < main {
			main = scheme
		}
	}
	return main
}
