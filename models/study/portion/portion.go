// Package portion answers: how is one long piece of work shared out among many
// machines, and put together again to the same digits?
//
// Such work is a row of numbered pieces that depend on nothing but their number:
// the draws of a bootstrap, the campaigns of a simulation, the books of a corpus.
// A [Portion] is the share of one machine, a run of neighbouring pieces; what it
// computed is kept in a [File]; [Gather] lays the files of all portions side by
// side in the order of the pieces.
package portion

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// A Portion is share Part of Parts of some work, counted from 1. The zero value
// is the whole.
type Portion struct {
	Part, Parts int
}

// most is the largest number of portions; batch engines stop well before.
const most = 100_000

// Parse reads a portion as it is written on the command line: "3/64" is the
// third of sixty-four.
func Parse(text string) (Portion, error) {
	part, parts, found := strings.Cut(text, "/")
	k, errPart := strconv.Atoi(part)
	n, errParts := strconv.Atoi(parts)
	if !found || errPart != nil || errParts != nil || n < 1 || n > most || k < 1 || k > n {
		return Portion{}, fmt.Errorf("%q is no share of the work: write it as 3/64, the third of sixty-four (at most %d)", text, most)
	}
	return Portion{k, n}, nil
}

// whole tells whether the portion is all of the work.
func (p Portion) whole() bool { return p.Parts <= 1 }

// Pieces are those of the portion, from (counted from 0) up to but not
// including to, out of total. Portions of the same work differ by one piece at
// most.
func (p Portion) Pieces(total int) (from, to int) {
	if p.whole() {
		return 0, total
	}
	return (p.Part - 1) * total / p.Parts, p.Part * total / p.Parts
}

func (p Portion) String() string {
	if p.whole() {
		return "1/1"
	}
	return fmt.Sprintf("%d/%d", p.Part, p.Parts)
}

// Name is the usual name of the portion's file: part-03-of-64.json.
func (p Portion) Name() string {
	k, n := max(p.Part, 1), max(p.Parts, 1)
	return fmt.Sprintf("part-%0*d-of-%d.json", len(strconv.Itoa(n)), k, n)
}

// partName is what [Portion.Name] gives, for any part.
var partName = regexp.MustCompile(`^part-[0-9]+-of-[0-9]+\.json$`)

// Files lists the files of portions in a folder, by the names that
// [Portion.Name] gives, in the order of their names.
func Files(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, fmt.Errorf("the folder of parts cannot be read: %w", err)
	}
	var paths []string
	for _, e := range entries {
		if partName.MatchString(e.Name()) {
			paths = append(paths, filepath.Join(dir, e.Name()))
		}
	}
	if paths == nil {
		return nil, fmt.Errorf("%s holds no part of divided work (part-03-of-64.json and the like): name the folder that --part wrote to", dir)
	}
	return paths, nil
}
