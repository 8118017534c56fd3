package mixed

// A component is a part of the rows whose outcomes are correlated with no row
// outside: where everything is nested in books, one book. The covariance matrix
// V falls into one block for each.
type component struct {
	cells [][]int32 // rows in order, those of one correlated run together, single rows alone
	nodes []int32   // places of its groups
}

// components finds the rows that hang together through shared groups and
// autocorrelation.
func (s *system) components() []component {
	cells := s.cells()
	links := newLinks(s.nodes)
	for _, cell := range cells {
		first := int32(-1)
		for _, i := range cell {
			for f := range s.factors {
				j := s.node(f, int(i))
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
			top = links.top(s.node(0, int(cell[0])))
		}
		k, ok := which[top]
		if !ok {
			k = len(out)
			which[top] = k
			out = append(out, component{})
		}
		out[k].cells = append(out[k].cells, cell)
	}
	for j := range int32(s.nodes) {
		k := which[links.top(j)]
		out[k].nodes = append(out[k].nodes, j)
	}
	return out
}

// cells are the runs of rows whose residuals are correlated.
func (s *system) cells() [][]int32 {
	e := &s.d.errors
	var out [][]int32
	if e.gap == nil {
		for i := range int32(s.n) {
			out = append(out, []int32{i})
		}
		return out
	}
	from := int32(0)
	for _, end := range e.ends {
		out = append(out, e.runs[from:end])
		from = end
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
