package mixed

import "slices"

// A component is a part of the rows whose outcomes are correlated with no row
// outside: where everything is nested in books, one book. The covariance matrix
// V falls into one block for each.
type component struct {
	cells [][]int32 // rows in order, those of one correlated run together, single rows alone
	nodes []int32   // first random effects of its groups
}

// components finds the rows that hang together through shared groups and
// autocorrelation.
func (s *system) components() []component {
	cells := s.cells()
	links := newLinks(s.Effects)
	for _, cell := range cells {
		first := int32(-1)
		for _, i := range cell {
			for f := range s.factors {
				j := s.node(f, i)
				if first < 0 {
					first = j
				}
				links.join(first, j)
			}
		}
	}
	var out []component
	which := map[int32]int{}
	for _, cell := range cells {
		top := int32(-1) // without groups all rows may go together
		if len(s.factors) > 0 {
			top = links.top(s.node(0, cell[0]))
		}
		k, ok := which[top]
		if !ok {
			k = len(out)
			which[top] = k
			out = append(out, component{})
		}
		out[k].cells = append(out[k].cells, cell)
	}
	for _, j := range s.nodes() {
		k := which[links.top(j)]
		out[k].nodes = append(out[k].nodes, j)
	}
	return out
}

// node is the first random effect of row i's group of factor f.
func (s *system) node(f int, i int32) int32 { return int32(s.First(f, int(s.factors[f].code[i]))) }

// nodes are the first random effects of all groups, in order.
func (s *system) nodes() []int32 {
	var out []int32
	for f := range s.factors {
		for g := range s.factors[f].groups {
			out = append(out, int32(s.First(f, g)))
		}
	}
	slices.Sort(out)
	return out
}

// owners are the factors of all random effects.
func (s *system) owners() []int {
	out := make([]int, s.Effects)
	for f := range s.factors {
		for g := range s.factors[f].groups {
			first := s.First(f, g)
			for a := range s.factors[f].k {
				out[first+a] = f
			}
		}
	}
	return out
}

// cells are the runs of rows whose residuals are correlated.
func (s *system) cells() [][]int32 {
	if runs := s.d.errors.split(); runs != nil {
		return runs
	}
	var out [][]int32
	for i := range int32(s.n) {
		out = append(out, []int32{i})
	}
	return out
}

// links joins numbers to sets (union and find, with halving of paths).
type links []int32

func newLinks(n int) links {
	l := make(links, n)
	for i := range l {
		l[i] = int32(i)
	}
	return l
}

func (l links) top(i int32) int32 {
	for l[i] != i {
		l[i] = l[l[i]]
		i = l[i]
	}
	return i
}

func (l links) join(a, b int32) { l[l.top(a)] = l.top(b) }
