package claims

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
)

// The aims: at most so many studies with any false claim, at least so many
// intervals that hold, and at least so much of the oracle's power.
const (
	aimFalse    = 0.05
	aimCoverage = 0.95
	aimPower    = 0.80
)

// A Shortfall is where a cell falls short of an aim beyond what chance explains.
type Shortfall struct {
	Cell, What string
	Rate       Rate
	Aim        float64
}

func (s Shortfall) String() string {
	return fmt.Sprintf("%s: %s %s, aim %.0f %%", s.Cell, s.What, percent(s.Rate), 100*s.Aim)
}

// shortfalls lists where the tallies fall short.
func shortfalls(all []Tally) []Shortfall {
	var out []Shortfall
	for _, t := range all {
		atMost := func(what string, r Rate) {
			if r.Low > aimFalse {
				out = append(out, Shortfall{t.Cell.Name, what, r, aimFalse})
			}
		}
		atMost("any false answer", t.anyFalse(answers))
		atMost("any false claim unasked", t.anyFalse(found))
		for _, kind := range kinds(all, func(o *Outcome) []string { return slices.Collect(maps.Keys(o.Intervals)) }) {
			if r := t.covered(kind); uncovered(kind, r) {
				out = append(out, Shortfall{t.Cell.Name, "intervals of " + kind + " that hold", r, aimCoverage})
			}
		}
		for _, kind := range []string{"yes", "no"} {
			if own, oracle, _ := t.said(kind); oracle.Share > 0 && own.High < aimPower*oracle.Share {
				out = append(out, Shortfall{t.Cell.Name, "said " + kind, own, aimPower * oracle.Share})
			}
		}
	}
	return out
}

// uncovered tells whether intervals of a kind hold too seldom.
func uncovered(kind string, r Rate) bool { return kind != leavingOut && r.High < aimCoverage }

// kinds lists the keys of all outcomes, each once, by name.
func kinds(all []Tally, keys func(o *Outcome) []string) []string {
	seen := map[string]bool{}
	for _, t := range all {
		for _, o := range t.Outcomes {
			for _, key := range keys(o) {
				seen[key] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

// percent writes a share with its interval.
func percent(r Rate) string {
	if math.IsNaN(r.Share) {
		return "–"
	}
	return fmt.Sprintf("%.1f (%.1f to %.1f)", 100*r.Share, 100*r.Low, 100*r.High)
}

// bold sets what falls short in bold.
func bold(text string, short bool) string {
	if short {
		return "**" + text + "**"
	}
	return text
}

const head = `# How often what a study says is true

Written by ` + "`make claims`" + `. Whole studies are drawn from a written truth: books, sections and a log
of readings, written as tables, read, checked and run as any study is, without
figures. Every claim is then held against the truth. The numbers are in per cent,
with the 99 % Monte Carlo interval in brackets (Clopper and Pearson 1934; for
shares of things of which a study has several, with the number of independent ones
by Korn and Graubard 1998). A number in bold falls short: its interval leaves out
the aim. The aims: at most 5 % of studies with any false claim among the answers to
their questions, at most 5 % with any false one among all that was found unasked,
95 % of intervals that hold, and 80 % of the power of an oracle.

The oracle knows the truth's structure: which effects vary between what, and how rows
are correlated. It knows no size, and zero is a size: what lies between books, sections,
quires and days it learns from those that a question is asked of, as anyone has to. For
an effect that differs between books it is Student's t over the books' own estimates
(Student 1908), each by generalised least squares with the true covariance within its
book; elsewhere restricted likelihood of the true structure, with standard errors and
degrees of freedom after Kenward and Roger (1997). The ceiling knows all sizes too:
generalised least squares with the true covariance (Aitken 1935). Where effects differ
between three books nobody comes near it: without the variance two degrees of freedom
are left. Where a reading is a bound, both know the wear itself, which no method can. The
intervals of their answers hold at once by Bonferroni's inequality. How often the
oracle's own answers are false stands beside its power: it takes a variance that comes
out as zero at its word, which the program does not.

Books have 64 pages and
studies four books but where a cell says otherwise; pages scatter by 0.015, quires by
0.005, neighbouring pages' scatter is correlated by 0.2, a reading repeats within
0.010 and is rounded to 0.01.

A false claim: a yes where there is no effect in the asked direction; a no where the
effect is as large as would matter; a change whose interval holds no true step, and
a gradual change where wear is level; a page that stands out without a picture, an
incipit, a stain or the like; a text said not to be read most that is worn as much as any; a last
office set apart from the first that is worn as much; two readers told apart who
show the same decline; a drop said to be shared that fewer than two books have. Levels of
quires count as scatter: a change told at the border of a quire alone is false.

An interval that the program says leaves something out is held to no aim: of pages and
sections where nobody knows what days or observers differ by, which are not counted, and
of effects that set sections, days or observers against each other that their model does
not allow for, which stand in a column of their own. Each question about such an effect is
answered with these allowed for, or refused.
`

// certificatePage writes the tallies as a page in Markdown.
func certificatePage(all []Tally) string {
	var b strings.Builder
	b.WriteString(head)
	b.WriteString("\n## Cells\n\n| cell | what is true in it | studies |\n| --- | --- | --- |\n")
	for _, t := range all {
		studies := fmt.Sprint(len(t.Outcomes))
		if n := len(t.Failed); n > 0 {
			studies += fmt.Sprintf(" (%d more could not be run)", n)
		}
		fmt.Fprintf(&b, "| %s | %s | %s |\n", t.Cell.Name, t.Cell.About, studies)
	}
	b.WriteString("\nThe studies of a cell have the seeds from 1.\n")
	claimsTable(&b, all)
	kindTable(&b, "Found unasked: studies with any false claim of a kind", all, kinds(all, func(o *Outcome) []string { return slices.Collect(maps.Keys(o.Found)) }), func(t Tally, kind string) (string, bool) {
		r := t.anyFalse(only(kind, found))
		if sum := t.falseShare(only(kind, found)); math.IsNaN(sum.Share) {
			return "–", false
		}
		return percent(r), r.Low > aimFalse
	})
	kindTable(&b, "Intervals that hold the truth", all, kinds(all, func(o *Outcome) []string { return slices.Collect(maps.Keys(o.Intervals)) }), func(t Tally, kind string) (string, bool) {
		r := t.covered(kind)
		return percent(r), uncovered(kind, r)
	})
	powerTable(&b, all)
	short := shortfalls(all)
	b.WriteString("\n## Where it falls short\n\n")
	if len(short) == 0 {
		b.WriteString("Nowhere.\n")
	}
	for _, s := range short {
		fmt.Fprintf(&b, "- %s\n", s)
	}
	return b.String()
}

func claimsTable(b *strings.Builder, all []Tally) {
	b.WriteString("\n## Claims\n\n| cell | any false answer | any false claim unasked | false among yes and no | false among what was found |\n| --- | --- | --- | --- | --- |\n")
	for _, t := range all {
		asked, unasked := t.anyFalse(answers), t.anyFalse(found)
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s |\n", t.Cell.Name, bold(percent(asked), asked.Low > aimFalse), bold(percent(unasked), unasked.Low > aimFalse),
			percent(t.falseShare(answers)), percent(t.falseShare(found)))
	}
}

// kindTable is a table with a row a cell and a column a kind.
func kindTable(b *strings.Builder, title string, all []Tally, kinds []string, cell func(t Tally, kind string) (string, bool)) {
	if len(kinds) == 0 {
		return
	}
	fmt.Fprintf(b, "\n## %s\n\n| cell | %s |\n|%s\n", title, strings.Join(kinds, " | "), strings.Repeat(" --- |", len(kinds)+1))
	for _, t := range all {
		fmt.Fprintf(b, "| %s |", t.Cell.Name)
		for _, kind := range kinds {
			text, short := cell(t, kind)
			fmt.Fprintf(b, " %s |", bold(text, short))
		}
		b.WriteString("\n")
	}
}

func powerTable(b *strings.Builder, all []Tally) {
	heads := []string{"cell", "yes said where true", "by the oracle", "by the ceiling", "no said where true", "by the oracle", "by the ceiling",
		"studies with a false answer of the oracle", "width of answers’ intervals beside the oracle’s", "stained pages found"}
	fmt.Fprintf(b, "\n## Power\n\n| %s |\n|%s\n", strings.Join(heads, " | "), strings.Repeat(" --- |", len(heads)))
	for _, t := range all {
		fmt.Fprintf(b, "| %s |", t.Cell.Name)
		for _, kind := range []string{"yes", "no"} {
			own, oracle, ceiling := t.said(kind)
			fmt.Fprintf(b, " %s | %s | %s |", bold(percent(own), oracle.Share > 0 && own.High < aimPower*oracle.Share), percent(oracle), percent(ceiling))
		}
		width := "–"
		if w := t.width("answers"); !math.IsNaN(w) {
			width = fmt.Sprintf("%.2f", w)
		}
		stained, _, _ := t.said("stained pages")
		fmt.Fprintf(b, " %s | %s | %s |\n", percent(t.misled()), width, percent(stained))
	}
}
