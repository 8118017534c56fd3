package mixed

import (
	"fmt"
	"strings"

	"thumbed/models/sparse"
	"thumbed/models/table"
)

// A system is a design with the fixed shape of its normal equations.
type system struct {
	*sparse.System
	d       *design
	factors []factor
	n, p    int
	root    int // p + 1
}

// newSystem finds the shape of a design.
func newSystem(d *design) *system {
	shape := sparse.Design{N: d.n, P: d.fixed.p, Fixed: d.fixed.q, Runs: d.errors.split()}
	for k, f := range d.factors {
		shape.Terms = append(shape.Terms, sparse.Term{Groups: len(f.groups), Columns: f.k})
		m := sparse.Member{Term: k, Code: f.code}
		for _, c := range f.z {
			m.Columns = append(m.Columns, c.values)
		}
		shape.Members = append(shape.Members, m)
	}
	for k := range d.offsets {
		d.offsets[k].layOut(&shape)
	}
	return &system{System: sparse.NewSystem(shape), d: d, factors: d.factors, n: d.n, p: d.fixed.p, root: d.fixed.p + 1}
}

// checkSize refuses designs whose groups are crossed so thickly that their
// factor would not fit into memory. Its error is a [*table.Fault].
func (s *system) checkSize() error {
	if !s.TooLarge() {
		return nil
	}
	var sizes []string
	for _, f := range s.factors {
		sizes = append(sizes, fmt.Sprintf("%d groups of %s", len(f.groups), strings.Join(f.by, " and ")))
	}
	var ps table.Problems
	ps.Add(table.Problem{File: s.d.file, Value: strings.Join(sizes, " and "),
		Expected: "random terms whose rows join their groups less thickly: the fit would need more than 6 GB of memory",
		Remedy:   "take out the term whose groups are crossed with the others, or fit each book by itself"})
	return ps.Err()
}
