package tei

import (
	"strings"

	"thumbed/models/codex/catalogue"
)

// glossed is n with its lists of labels made into lists of pages: where a heading in a list
// is a place, what the list says up to its next heading is one item behind that place, such
// as fol. 17v, then Type: initial D, and Subject: a ship.
func (n *node) glossed() *node {
	out := *n
	out.nodes = nil
	placed := false
	for _, child := range n.nodes {
		child = child.glossed()
		switch last := len(out.nodes) - 1; {
		case n.is("list") && child.is("head") && isPlace(child.words()):
			out.nodes = append(out.nodes, &node{name: "item", line: child.line, text: strings.TrimRight(child.words(), " .:;,") + ": "})
			placed = true
		case placed && child.is("item"):
			if words := child.words(); words != "" {
				out.nodes[last].text += strings.TrimRight(words, " .") + ". "
			}
		case placed: // labels, and the space around them
		default:
			out.nodes = append(out.nodes, child)
		}
	}
	return &out
}

// isPlace tells whether words are a place and nothing else.
func isPlace(words string) bool {
	_, rest, ok := catalogue.LeadingLocus(words)
	return ok && strings.Trim(rest, " .:;,") == ""
}
