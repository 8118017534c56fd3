package portion

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Whole is a work put together from all its portions.
type Whole struct {
	Work       Work
	Pieces     []json.RawMessage // all of them, in their order
	Processors []string          // families of processors that computed them, each once, in order of name
	Notes      []string          // what the scholar should know
}

// Gather puts together what the files at paths hold, in whatever order they are
// given. The error names every file that cannot be read, belongs to other work
// or stands twice, and every portion that is missing.
func Gather(paths []string) (*Whole, error) {
	if len(paths) == 0 {
		return nil, errors.New("no part was given: name the files that --part wrote")
	}
	var faults []error
	files := make([]*File, 0, len(paths))
	at := map[int]string{} // path by part
	var first *File
	for _, path := range paths {
		f, err := Read(path)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		if first == nil {
			first = f
		}
		switch before, again := at[f.Part]; {
		case !f.Work.Same(first.Work) || f.Parts != first.Parts:
			faults = append(faults, fmt.Errorf("%s is a part of other work than %s (%s)", path, paths[0], first.difference(f)))
		case again:
			faults = append(faults, fmt.Errorf("%s and %s are both part %s: give one of them", before, path, f.portion()))
		default:
			at[f.Part] = path
			files = append(files, f)
		}
	}
	if first != nil {
		faults = append(faults, missing(at, first.Parts)...)
	}
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	slices.SortFunc(files, func(a, b *File) int { return a.Part - b.Part })
	w := &Whole{Work: files[0].Work, Processors: processors(files)}
	if len(w.Processors) > 1 {
		w.Notes = append(w.Notes, fmt.Sprintf("The parts were computed by %d families of processors (%s), between which the last bit of a number may differ.",
			len(w.Processors), strings.Join(w.Processors, "; ")))
	}
	for _, f := range files {
		w.Pieces = append(w.Pieces, f.Pieces...)
	}
	return w, nil
}

// difference says in what another file's work differs.
func (f *File) difference(other *File) string {
	a, b := f.Work, other.Work
	switch {
	case a.Verb != b.Verb:
		return fmt.Sprintf("one is of %s, the other of %s", a.Verb, b.Verb)
	case a.Program != b.Program:
		return fmt.Sprintf("computed by %s and by %s; compute all parts with one version of the program", a.Program, b.Program)
	case f.Parts != other.Parts:
		return fmt.Sprintf("divided into %d and into %d", f.Parts, other.Parts)
	}
	return "what was to be computed, or the data, changed in between; compute all parts from the same files"
}

// missing names the parts that no file holds, neighbours together.
func missing(at map[int]string, parts int) []error {
	var names []string
	for k := 1; k <= parts; k++ {
		if _, there := at[k]; there {
			continue
		}
		from := k
		for k < parts && at[k+1] == "" {
			k++
		}
		if from == k {
			names = append(names, fmt.Sprint(k))
		} else {
			names = append(names, fmt.Sprintf("%d to %d", from, k))
		}
	}
	if names == nil {
		return nil
	}
	return []error{fmt.Errorf("of %d parts these are missing: %s; compute them with --part K/%d", parts, strings.Join(names, ", "), parts)}
}

// processors are the families that computed some files.
func processors(files []*File) []string {
	var families []string
	for _, f := range files {
		families = append(families, f.Processor)
	}
	slices.Sort(families)
	return slices.Compact(families)
}

// Decode reads all pieces as values of one type.
func Decode[T any](w *Whole) ([]T, error) {
	out := make([]T, len(w.Pieces))
	for i, text := range w.Pieces {
		if err := json.Unmarshal(text, &out[i]); err != nil {
			return nil, fmt.Errorf("piece %d of the work cannot be understood (%w): compute its part again", i+1, err)
		}
	}
	return out, nil
}
