package table

import (
	"fmt"
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

// String tells the problem in one line.
func (p Problem) String() string {
	var where []string
	if p.File != "" {
		where = append(where, p.File)
	}
	if p.Line > 0 {
		where = append(where, fmt.Sprintf("line %d", p.Line))
	}
	if p.Column != "" {
		where = append(where, "column "+p.Column)
	}
	var b strings.Builder
	if len(where) > 0 {
		b.WriteString(strings.Join(where, ", ") + ": ")
	}
	fmt.Fprintf(&b, "found %s; expected %s", shown(p.Value), p.Expected)
	if p.Remedy != "" {
		b.WriteString("; " + p.Remedy)
	}
	b.WriteString(".")
	return b.String()
}

// shownRunes is the longest piece of a value that a message repeats.
const shownRunes = 60

func shown(value string) string {
	if value == "" {
		return "nothing"
	}
	if runes := []rune(value); len(runes) > shownRunes {
		return fmt.Sprintf("%q …", string(runes[:shownRunes]))
	}
	return fmt.Sprintf("%q", value)
}

// Problems gathers what is wrong, over one file or many. The zero value is
// ready for use.
type Problems struct {
	list []Problem
}

// Add appends problems.
func (ps *Problems) Add(p ...Problem) { ps.list = append(ps.list, p...) }

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
func (ps *Problems) Len() int { return len(ps.list) }

// Err is nil where nothing is wrong, and otherwise a [*Fault] of them all.
func (ps *Problems) Err() error {
	if len(ps.list) == 0 {
		return nil
	}
	return &Fault{Problems: ps.List()}
}

// A Fault is the error that carries every problem found.
type Fault struct {
	Problems []Problem
}

// told is how many problems of one file a message spells out; the rest are
// counted, since they nearly always have one cause.
const told = 50

// Error tells the problems, one a line, at most fifty for each file.
func (f *Fault) Error() string {
	var b strings.Builder
	perFile := map[string]int{}
	var files []string
	for _, p := range f.Problems {
		if perFile[p.File] == 0 {
			files = append(files, p.File)
		}
		perFile[p.File]++
		if perFile[p.File] <= told {
			b.WriteString(p.String() + "\n")
		}
	}
	for _, file := range files {
		if rest := perFile[file] - told; rest > 0 {
			fmt.Fprintf(&b, "%s: %d more problems like these.\n", file, rest)
		}
	}
	return strings.TrimSuffix(b.String(), "\n")
}
