package table

import (
	"fmt"
	"maps"
	"slices"
	"sort"
	"strings"
)

// A Problem is one thing wrong with the scholar's input, told so that the
// scholar can mend it.
type Problem struct {
	File     string // path as the scholar gave it; may be empty
	Line     int    // line in the file from 1; 0 where no single line is at fault
	Column   string // column or key; empty where none is at fault
	Value    string // the value seen, as it stands in the file
	Expected string // what was expected, a phrase: "a number with a decimal point"
	Remedy   string // how to mend it, a phrase: "write 0.31"
}

// Place is where the problem stands, as far as that is known: file, line and
// column.
func (p Problem) Place() string {
	if p.Line > 0 {
		return p.at(fmt.Sprintf("line %d", p.Line))
	}
	return p.at("")
}

// at is the place with the line or lines in words.
func (p Problem) at(lines string) string {
	where := []string{p.File, lines, ""}
	if p.Column != "" {
		where[2] = "column " + p.Column
	}
	return strings.Join(slices.DeleteFunc(where, func(part string) bool { return part == "" }), ", ")
}

// String tells the problem in one line.
func (p Problem) String() string { return p.told(p.Place()) }

// told tells the problem in one line, with its place in words.
func (p Problem) told(place string) string {
	var b strings.Builder
	if place != "" {
		b.WriteString(place + ": ")
	}
	fmt.Fprintf(&b, "found %s; expected %s", shown(p.Value), p.Expected)
	if p.Remedy != "" {
		b.WriteString("; " + p.Remedy)
	}
	if !strings.HasSuffix(p.Remedy, "?") {
		b.WriteString(".")
	}
	return b.String()
}

// shownRunes is the longest piece of a value that a message repeats.
const shownRunes = 60

func shown(value string) string {
	if value == "" {
		return "nothing"
	}
	runes := 0
	for at := range value {
		if runes == shownRunes {
			return fmt.Sprintf("%q …", value[:at])
		}
		runes++
	}
	return fmt.Sprintf("%q", value)
}

// mostProblems is how many problems of one file are kept. A file with more is
// not the table that it was taken for.
const mostProblems = 10_000

// Problems gathers what is wrong, over one file or many. The zero value is
// ready for use. Of one file it keeps the first ten thousand and counts the
// rest.
type Problems struct {
	list    []Problem
	perFile map[string]int
	total   int
}

// Add appends problems.
func (ps *Problems) Add(problems ...Problem) {
	if ps.perFile == nil {
		ps.perFile = map[string]int{}
	}
	for _, p := range problems {
		ps.total++
		ps.perFile[p.File]++
		if ps.perFile[p.File] <= mostProblems {
			ps.list = append(ps.list, p)
		}
	}
}

// List returns the problems ordered by file, then line, otherwise as added.
func (ps *Problems) List() []Problem {
	sorted := append([]Problem(nil), ps.list...)
	sort.SliceStable(sorted, func(i, j int) bool {
		if sorted[i].File != sorted[j].File {
			return sorted[i].File < sorted[j].File
		}
		return sorted[i].Line < sorted[j].Line
	})
	return sorted
}

// Len is the number of problems found so far.
func (ps *Problems) Len() int { return ps.total }

// Err is nil where nothing is wrong, and otherwise a [*Fault] of them all.
func (ps *Problems) Err() error {
	if ps.total == 0 {
		return nil
	}
	return &Fault{Problems: ps.List(), counts: maps.Clone(ps.perFile)}
}
