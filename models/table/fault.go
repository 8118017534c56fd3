package table

import (
	"fmt"
	"strings"
)

// A Fault is the error that carries every problem found.
type Fault struct {
	Problems []Problem
	counts   map[string]int // by file, with those beyond Problems; nil where there are none beyond
}

const (
	// told is how many sentences a message has on one file; the rest of its
	// problems are counted, since they nearly always have one cause.
	told = 50
	// fewestAlike is how many problems that differ only in their line share a
	// sentence.
	fewestAlike = 3
	// toldAlike is how many of them are on one column of which the same was
	// expected: one slip of the pen repeated down a column must not hide the
	// others.
	toldAlike = 10
)

// Error tells the problems, one a line. Three and more that differ only in their
// line are told in one sentence with all their lines; of those that were to be
// the same but are wrong in different ways ten are told, and of one file fifty
// sentences.
func (f *Fault) Error() string {
	var lines []string
	for _, file := range f.byFile() {
		lines = append(lines, file.words()...)
	}
	return strings.Join(lines, "\n")
}

// A fileFault is what is wrong with one file.
type fileFault struct {
	file   string
	count  int // of its problems, with those that are not kept
	kept   int
	groups []*faultGroup
}

// A faultGroup is problems of a file that are told in one sentence.
type faultGroup struct {
	Problem       // the first of them
	times   int   // how many they are
	lines   []int // on which they stand, each once
	differ  bool  // whether they are told by number, since each says something else
}

func (g *faultGroup) add(p Problem) {
	g.times++
	if p.Line > 0 && (len(g.lines) == 0 || g.lines[len(g.lines)-1] != p.Line) {
		g.lines = append(g.lines, p.Line)
	}
}

// byFile puts the problems into the sentences that tell them, in the order of
// the first of each.
func (f *Fault) byFile() (files []*fileFault) {
	sort := sorter{same: map[Problem]int{}, groups: map[Problem]*faultGroup{}, alike: map[faultKind]int{}, beyond: map[faultKind]*faultGroup{}}
	for _, p := range f.Problems {
		sort.same[p.anywhere()]++
	}
	of := map[string]*fileFault{}
	for _, p := range f.Problems {
		file := of[p.File]
		if file == nil {
			file = &fileFault{file: p.File, count: f.counts[p.File]}
			of[p.File] = file
			files = append(files, file)
		}
		group, fresh := sort.group(p)
		if fresh {
			file.groups = append(file.groups, group)
		}
		group.add(p)
		file.kept++
	}
	return files
}

// A faultKind is a column of a file and what was expected there.
type faultKind struct{ file, column, expected string }

// A sorter finds the sentence for each problem.
type sorter struct {
	same   map[Problem]int         // how many differ in their line at most
	groups map[Problem]*faultGroup // of those that differ in their line only
	alike  map[faultKind]int       // sentences of a kind so far
	beyond map[faultKind]*faultGroup
}

// group is the one that a problem belongs to, and whether it is new.
func (s *sorter) group(p Problem) (group *faultGroup, fresh bool) {
	kind, anywhere := faultKind{p.File, p.Column, p.Expected}, p.anywhere()
	if group := s.groups[anywhere]; group != nil {
		return group, false
	}
	if group := s.beyond[kind]; group != nil {
		return group, false
	}
	group = &faultGroup{Problem: p}
	switch {
	case s.alike[kind] == toldAlike:
		group.differ = true
		s.beyond[kind] = group
	case s.same[anywhere] >= fewestAlike:
		s.groups[anywhere] = group
		fallthrough
	default:
		s.alike[kind]++
	}
	return group, true
}

// anywhere is the problem without its line.
func (p Problem) anywhere() Problem {
	p.Line = 0
	return p
}

// words tells what is wrong with a file, in sentences.
func (f *fileFault) words() (out []string) {
	rest := max(f.count, f.kept)
	for _, group := range f.groups[:min(len(f.groups), told)] {
		out = append(out, group.sentence())
		rest -= group.times
	}
	switch {
	case rest == 0:
	case f.file == "":
		out = append(out, fmt.Sprintf("And %d more problems.", rest))
	default:
		out = append(out, fmt.Sprintf("%s: and %d more problems.", f.file, rest))
	}
	return out
}

func (g *faultGroup) sentence() string {
	place := g.at(lineWords(g.lines))
	switch {
	case !g.differ || g.times == 1:
		return g.told(place)
	case place == "":
		return fmt.Sprintf("And %d more of which the same was expected.", g.times)
	}
	return fmt.Sprintf("%s: and %d more of which the same was expected.", place, g.times)
}

// fewRuns is how many runs of lines a sentence names.
const fewRuns = 6

// lineWords names lines, which ascend: line 7; lines 2–805, 810 and 12 more.
func lineWords(lines []int) string {
	if len(lines) == 0 {
		return ""
	}
	var runs []string
	named := 0
	for named < len(lines) && len(runs) < fewRuns {
		first := named
		for named++; named < len(lines) && lines[named] == lines[named-1]+1; named++ {
		}
		run := fmt.Sprint(lines[first])
		switch named - first {
		case 1:
		case 2:
			runs = append(runs, run)
			run = fmt.Sprint(lines[named-1])
		default:
			run = fmt.Sprintf("%d–%d", lines[first], lines[named-1])
		}
		runs = append(runs, run)
	}
	last := len(runs) - 1
	switch {
	case len(lines) == 1:
		return "line " + runs[0]
	case named < len(lines):
		return fmt.Sprintf("lines %s and %d more", strings.Join(runs, ", "), len(lines)-named)
	case last == 0:
		return "lines " + runs[0]
	}
	return fmt.Sprintf("lines %s and %s", strings.Join(runs[:last], ", "), runs[last])
}
