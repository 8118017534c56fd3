package readers

import (
	"fmt"
	"slices"
	"strings"
)

// byDegrees is what to do where there are no kinds.
const byDegrees = "Speak of how they differ along a scale, not of kinds of readers."

// words says what is borne out.
func (g *Grouping) words() string {
	n := len(g.Members)
	if g.Chosen == 1 {
		return fmt.Sprintf("No grouping of the %d readers is borne out: their curves lie no closer together in groups than curves without groups would (gap statistic, 1 to %d groups tried). %s", n, len(g.Gaps), byDegrees)
	}
	if g.OneCluster > chance {
		return fmt.Sprintf("No grouping of the %d readers is borne out: the gap statistic would part them into %d groups, but readers of one kind, who differ by degrees and are measured with these errors, part as clearly in %.0f of 100 cases.", n, g.Chosen, 100*g.OneCluster)
	}
	if g.Verdict == None && slices.ContainsFunc(g.Gapped, func(p float64) bool { return p > chance }) {
		last := len(g.Gapped) - 1
		return fmt.Sprintf("No grouping of the %d readers is borne out: they could be parted into %d groups, but no gap shows between these. Readers who differ by degrees look as if there were %d kinds in %.0f of 100 cases. %s", n, g.Chosen, last+2, 100*g.Gapped[last], byDegrees)
	}
	var unsure []string
	for _, k := range g.Clusters {
		if !k.Holds {
			unsure = append(unsure, fmt.Sprintf("%s (%.2f with other readers, %.2f with the curves measured again)", k.Letter, k.Sampling, k.Measuring))
		}
	}
	found := fmt.Sprintf("the %d readers fall into %d groups by the shape of their curves", n, len(g.Clusters))
	held := fmt.Sprintf("a group counts as coming out again where its mean Jaccard similarity is %.2f or more", Stable)
	switch g.Verdict {
	case All:
		words := fmt.Sprintf("It seems that %s, with a gap between any two where readers are less than half as dense, and each group comes out again when other readers are drawn and when the curves are measured again within their errors (%s).", found, held)
		if len(g.Clusters) < g.Chosen {
			words += fmt.Sprintf(" The gap statistic would part them into %d, of which not all come out again.", g.Chosen)
		}
		return words
	case Some:
		return fmt.Sprintf("It seems that %s, but not all of them come out again: doubt %s (%s).", found, strings.Join(unsure, ", "), held)
	}
	return fmt.Sprintf("No grouping of the %d readers is borne out: the gap statistic parts them into %d groups, but none of these comes out again: %s (%s).", n, g.Chosen, strings.Join(unsure, ", "), held)
}
