package study

import (
	"fmt"
	"slices"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/report"
	"thumbed/models/table"
)

// A Comparison names two readers who are to be compared by how far they carried
// on: two books, or one book's two sets of hours.
type Comparison struct {
	Readers []string `toml:"readers" required:"true"` // ids of two books, or of one
	Set     string   `toml:"set"`                     // of two books, the hours to compare; all that both have where not given
	Sets    []string `toml:"sets"`                    // of one book, the two sets of hours
}

// mostUnnamed is up to how many books with one set of hours are compared pair by
// pair where the study file names no pair: six pairs can be read; with more books
// adjusting for so many takes the power from each.
const mostUnnamed = 4

// checkComparisons checks what can be told without the tables.
func (c *fileCheck) checkComparisons() {
	for i, cmp := range c.file.Comparisons {
		if p := cmp.check(); p != nil {
			c.problem(p.Value, p.Expected, p.Remedy, "compare", i, p.Column)
		}
	}
}

// check is what is wrong with a comparison by itself; nil where nothing is.
func (cmp Comparison) check() *table.Problem {
	switch two := len(cmp.Readers) == 2; {
	case len(cmp.Readers) != 1 && !two:
		return &table.Problem{Column: "readers", Value: strings.Join(cmp.Readers, ", "), Expected: "the ids of two books, or of one", Remedy: `write readers = ["…", "…"] under [[compare]]`}
	case two && cmp.Readers[0] == cmp.Readers[1]:
		return &table.Problem{Column: "readers", Value: cmp.Readers[0], Expected: "two different books", Remedy: `name another, or this one alone with sets = ["…", "…"]`}
	case two && len(cmp.Sets) > 0:
		return &table.Problem{Column: "sets", Value: strings.Join(cmp.Sets, ", "), Expected: "one set of hours for both books", Remedy: `write set = "…" instead; sets are for two of one book`}
	case !two && (len(cmp.Sets) != 2 || cmp.Sets[0] == cmp.Sets[1]):
		return &table.Problem{Column: "sets", Value: strings.Join(cmp.Sets, ", "), Expected: "two different sets of hours of this book", Remedy: `write sets = ["…", "…"], or name a second book`}
	}
	return nil
}

// checkReaders looks for the books and hours that comparisons name.
func (s *Study) checkReaders(ps *table.Problems) {
	c := fileCheck{path: s.Path, file: &s.File, where: s.where, ps: ps}
	for i, cmp := range s.Comparisons {
		known := cmp.check() == nil // else it is told already
		for _, id := range cmp.Readers {
			if s.index(id) < 0 {
				_, err := s.Book(id)
				c.problem(id, "a book of the study", err.Error(), "compare", i, "readers")
				known = false
			}
		}
		if !known {
			continue
		}
		pairs := s.pairsOf(cmp)
		if len(pairs) == 0 {
			c.problem(strings.Join(cmp.Readers, ", "), "two books that have a set of hours in common", "give their offices the same set in the table of sections, or compare other books", "compare", i, "readers")
		}
		for _, pair := range pairs {
			for _, reader := range pair {
				if has := Sets(s.Books[reader.Book]); !slices.Contains(has, reader.Set) {
					c.problem(reader.Set, "a set of hours of "+s.Books[reader.Book].ID, setRemedy(reader.Set, has), "compare", i, "set")
				}
			}
		}
	}
}

func setRemedy(set string, has []string) string {
	if len(has) == 0 {
		return "none of its sections names an office; give each office of the hours its own row in the table of sections"
	}
	if near := table.Nearest(set, has); near != "" {
		return "perhaps " + near + " was meant"
	}
	return "it has " + strings.Join(has, ", ")
}

// pairsOf are the pairs of readers that a comparison names.
func (s *Study) pairsOf(cmp Comparison) (pairs [][2]report.Reader) {
	one := s.index(cmp.Readers[0])
	if len(cmp.Readers) == 1 {
		return [][2]report.Reader{{{Book: one, Set: cmp.Sets[0]}, {Book: one, Set: cmp.Sets[1]}}}
	}
	other := s.index(cmp.Readers[1])
	common := []string{cmp.Set}
	if cmp.Set == "" {
		has := Sets(s.Books[other])
		common = slices.DeleteFunc(Sets(s.Books[one]), func(set string) bool { return !slices.Contains(has, set) })
	}
	for _, set := range common {
		pairs = append(pairs, [2]report.Reader{{Book: one, Set: set}, {Book: other, Set: set}})
	}
	return pairs
}

// A commonSet is a set of hours with the books that have it, two or more.
type commonSet struct {
	name  string
	books []int
}

// commonSets are the sets of hours that two or more books have, sets and books by
// name, so that the order of the tables' rows makes no difference.
func (s *Study) commonSets() []commonSet {
	var all []commonSet
	at := map[string]int{}
	for b := range s.Books {
		for _, set := range Sets(s.Books[b]) {
			k, known := at[set]
			if !known {
				k = len(all)
				at[set] = k
				all = append(all, commonSet{name: set})
			}
			all[k].books = append(all[k].books, b)
		}
	}
	all = slices.DeleteFunc(all, func(set commonSet) bool { return len(set.books) < 2 })
	slices.SortFunc(all, func(a, b commonSet) int { return strings.Compare(a.name, b.name) })
	for _, set := range all {
		slices.SortFunc(set.books, func(a, b int) int { return strings.Compare(s.Books[a].ID, s.Books[b].ID) })
	}
	return all
}

// namedPairs are the pairs of readers that the study file names, each once.
func (s *Study) namedPairs() (pairs [][2]report.Reader) {
	for _, cmp := range s.Comparisons {
		for _, pair := range s.pairsOf(cmp) {
			if !slices.Contains(pairs, pair) && !slices.Contains(pairs, [2]report.Reader{pair[1], pair[0]}) {
				pairs = append(pairs, pair)
			}
		}
	}
	return pairs
}

// allPairs are the pairs of books with one set of hours, of each set that few
// books have.
func allPairs(common []commonSet) (pairs [][2]report.Reader) {
	for _, set := range common {
		if len(set.books) > mostUnnamed {
			continue
		}
		for i, one := range set.books {
			for _, other := range set.books[i+1:] {
				pairs = append(pairs, [2]report.Reader{{Book: one, Set: set.name}, {Book: other, Set: set.name}})
			}
		}
	}
	return pairs
}

// compareReaders looks for drop-offs that books share, and compares readers two
// by two: those that the study file names, else all where they are few.
func (s *Study) compareReaders(results *report.Results) {
	common := s.commonSets()
	for _, set := range common {
		results.Shared = append(results.Shared, share(results, set))
	}
	asked := len(s.Comparisons) > 0
	pairs := s.namedPairs()
	if !asked {
		pairs = allPairs(common)
	}
	var p []float64
	together := 0
	for _, pair := range pairs {
		compared := differ(results, pair, asked)
		if compared.Difference != nil {
			together++
		}
		results.Pairs = append(results.Pairs, compared)
		p = append(p, compared.P())
	}
	shares := 1.0 // of everything that is found unasked, of which pairs have one
	if !asked && len(pairs) > 0 {
		shares = unasked / s.among().Level
	}
	for k, adjusted := range hypotheses.Holm(p) {
		results.Pairs[k].Adjusted, results.Pairs[k].Together = min(1, adjusted*shares), together
	}
}

// share looks for a drop-off in all books with one set of hours.
func share(results *report.Results, set commonSet) report.SharedDrop {
	out := report.SharedDrop{Set: set.name}
	for _, b := range set.books {
		if c := results.DeclineBy(report.Reader{Book: b, Set: set.name}); c != nil {
			out.Readers = append(out.Readers, c)
		}
	}
	var err error
	if out.Shared, err = dropoff.FindSharedChange(out.Readers); err != nil {
		out.Failed = sentence(err.Error())
	}
	return out
}

// differ compares two readers.
func differ(results *report.Results, pair [2]report.Reader, asked bool) report.ReaderPair {
	out := report.ReaderPair{One: pair[0], Other: pair[1], Asked: asked}
	var carried [2]*dropoff.Decline
	for k, reader := range pair {
		if carried[k] = results.DeclineBy(reader); carried[k] == nil {
			out.Failed = fmt.Sprintf("No shares of wear could be computed for %s; why stands with its own hours.", results.Books[reader.Book].Book.ID)
			return out
		}
	}
	var err error
	if out.Difference, err = dropoff.Differ(carried[0], carried[1]); err != nil {
		out.Failed = sentence(err.Error())
	}
	return out
}

// Sets are the sets of hours of a book, in the order in which they begin.
func Sets(b *codex.Book) []string {
	var out []string
	seen := map[string]bool{}
	for _, section := range b.Sections {
		if section.Office != codex.NoOffice && !seen[section.Set] {
			seen[section.Set] = true
			out = append(out, section.Set)
		}
	}
	return out
}
