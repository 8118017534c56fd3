package sparse

import (
	"cmp"
	"math"
	"slices"
)

// A Design is what normal equations are made of: n rows of [Z X y], Z sparse
// and given as terms, X dense and narrow. The outcome y is given where the
// equations are filled.
type Design struct {
	N, P    int
	Fixed   []float64 // X: n × p by rows
	Terms   []Term
	Members []Member
	// Runs are rows whose errors are correlated, in order, each row in one of
	// them; nil where all rows are independent.
	Runs [][]int32
}

// A Term is a set of groups, each with the same number of columns of Z.
type Term struct {
	Groups, Columns int
	// Scaled says that the term's Λ is a number times the identity. Of its slopes the
	// diagonal alone is then filled, and the work of a group grows with the square of
	// its columns where it would with the cube.
	Scaled bool
}

// A Member says to which group of a term each row belongs, and the row's numbers
// in that group's columns. A row that belongs to several groups of one term, as
// with weights that sum to one, takes several members of it, with another group
// in each.
type Member struct {
	Term    int
	Code    []int32     // n: the row's group; −1 for none
	Columns [][]float64 // one a column, n each; nil stands for ones
}

// A System is the fixed shape of a design's normal equations: which blocks of
// the cross-product of [Z X y] there are, in which order the groups are
// eliminated, and where in the Cholesky factor each block goes. It holds no
// numbers that depend on variance parameters, and is shared by every factor.
//
// A node is one group of one term, with its term's k columns. Nodes are numbered
// by their place in the elimination; the fixed effects and the outcome (p + 1
// columns) come last, as the root.
type System struct {
	N, P    int
	Root    int // p + 1
	Effects int // columns of Z, the random effects

	fixed   []float64
	terms   []Term
	members []Member

	nodes  int
	base   []int   // first node number of each term before ordering
	place  []int32 // place of node base[f]+group
	term   []int32 // term of the node at each place
	width  []int32 // its columns
	column []int   // the number of random effects before it; one more entry for all

	// The cross-product, one panel a node: its diagonal block, the blocks of
	// later nodes that share rows with it, and the root's rows, each row width
	// numbers long.
	start  []int   // offset of each node's panel among the values
	ptr    []int32 // nbr[ptr[j]:ptr[j+1]] are node j's later neighbours
	nbr    []int32
	row    []int32 // row in node j's panel at which neighbour's block begins
	tail   []int32 // row in node j's panel at which the root's rows begin
	values int     // length of the values

	outcome [][]int // for each term and group: offset of the outcome's row among the values

	pairs  [][]int32 // for members f < g (see pair): offset of each row's block; nil where rows are correlated
	runs   []run
	widest int // columns of the widest run, the root's included
	long   int // rows times columns of the largest
	front  fronts
}

// pair numbers the pairs of members f < g.
func pair(f, g int) int { return g*(g-1)/2 + f }

// NewSystem finds the shape of a design.
func NewSystem(d Design) *System {
	s := &System{N: d.N, P: d.P, Root: d.P + 1, fixed: d.Fixed, terms: d.Terms, members: d.Members}
	for _, f := range d.Terms {
		s.base = append(s.base, s.nodes)
		s.nodes += f.Groups
	}
	var edges []edge
	var shared [][]int32
	if d.Runs != nil {
		edges = s.runNodes(d.Runs)
	} else {
		edges, shared = s.sharedRows()
	}
	order, dense := eliminationOrder(newGraph(s.nodes, edges), s.nodes)
	s.place = make([]int32, s.nodes)
	for at, node := range order {
		s.place[node] = int32(at)
	}
	s.term = make([]int32, s.nodes)
	s.width = make([]int32, s.nodes)
	for f, t := range s.terms {
		for g := range t.Groups {
			at := s.place[s.base[f]+g]
			s.term[at] = int32(f)
			s.width[at] = int32(t.Columns)
		}
	}
	s.column = make([]int, s.nodes+1)
	for j, w := range s.width {
		s.column[j+1] = s.column[j] + int(w)
	}
	s.Effects = s.column[s.nodes]
	block := s.layOut(edges)
	for pr := range shared {
		for i, e := range shared[pr] {
			if e >= 0 {
				shared[pr][i] = block[e]
			}
		}
	}
	s.pairs = shared
	s.outcome = make([][]int, len(s.terms))
	for f, t := range s.terms {
		s.outcome[f] = make([]int, t.Groups)
		for g := range s.outcome[f] {
			j := s.place[s.base[f]+g]
			s.outcome[f][g] = s.start[j] + (int(s.tail[j])+s.P)*int(s.width[j])
		}
	}
	s.placeRuns()
	s.front.layOut(s, dense)
	return s
}

// mostNumbers is how many numbers a factor may hold: 3.2 GB of them, and its
// inverse takes as much again.
const mostNumbers = 400_000_000

// TooLarge tells whether the groups are crossed so thickly that a factor would
// not fit into memory (6 GB).
func (s *System) TooLarge() bool {
	return s.front.size > mostNumbers || s.values > math.MaxInt32 || s.long > mostNumbers || s.widest >= 1<<14
}

// Size is how many numbers a factor holds.
func (s *System) Size() int { return s.front.size }

// First is the number of the first random effect of a term's group, its columns
// following one another: its place in every vector of random effects.
func (s *System) First(term, group int) int {
	return s.column[s.place[s.base[term]+group]]
}

// node is the place of row i's group of member m, −1 where it has none.
func (s *System) node(m, i int) int32 {
	code := s.members[m].Code[i]
	if code < 0 {
		return -1
	}
	return s.place[s.base[s.members[m].Term]+int(code)]
}

// sharedRows finds every pair of groups that share a row, and for each pair of
// members which of them each row belongs to.
func (s *System) sharedRows() (edges []edge, shared [][]int32) {
	for g := 1; g < len(s.members); g++ {
		for f := range g {
			shared = append(shared, s.pairRows(f, g, &edges))
		}
	}
	if len(s.members) > len(s.terms) {
		edges = eachOnce(edges, shared)
	}
	return edges, shared
}

// eachOnce takes out pairs of groups that several pairs of members have found.
func eachOnce(edges []edge, shared [][]int32) []edge {
	known := map[edge]int32{}
	id := make([]int32, len(edges))
	var out []edge
	for k, e := range edges {
		e = edge{min(e.u, e.v), max(e.u, e.v)}
		at, ok := known[e]
		if !ok {
			at = int32(len(out))
			known[e] = at
			out = append(out, e)
		}
		id[k] = at
	}
	for _, rows := range shared {
		for i, e := range rows {
			if e >= 0 {
				rows[i] = id[e]
			}
		}
	}
	return out
}

// pairRows numbers the pairs of groups of two members that occur; −1 for rows
// that have none.
func (s *System) pairRows(f, g int, edges *[]edge) []int32 {
	F, G := &s.members[f], &s.members[g]
	// rows sorted by their group of f
	start := make([]int32, s.terms[F.Term].Groups+1)
	for _, c := range F.Code {
		if c >= 0 {
			start[c+1]++
		}
	}
	for c := range len(start) - 1 {
		start[c+1] += start[c]
	}
	sorted := make([]int32, start[len(start)-1])
	for i, c := range F.Code {
		if c >= 0 {
			sorted[start[c]] = int32(i)
			start[c]++
		}
	}
	last := make([]int32, s.terms[G.Term].Groups) // the pair last made with a group of g …
	owner := make([]int32, len(last))
	for c := range owner {
		owner[c] = -1 // … and with which group of f
	}
	ids := make([]int32, s.N)
	for i := range ids {
		ids[i] = -1
	}
	for _, i := range sorted {
		cf, cg := F.Code[i], G.Code[i]
		if cg < 0 {
			continue
		}
		if owner[cg] != cf {
			owner[cg] = cf
			last[cg] = int32(len(*edges))
			*edges = append(*edges, edge{int32(s.base[F.Term]) + cf, int32(s.base[G.Term]) + cg})
		}
		ids[i] = last[cg]
	}
	return ids
}

// layOut gives every block of the cross-product its place among the values, and
// tells for each edge where its block begins.
func (s *System) layOut(edges []edge) []int32 {
	type placed struct {
		low, high int32
		id        int32
	}
	list := make([]placed, len(edges))
	s.ptr = make([]int32, s.nodes+1)
	for id, e := range edges {
		a, b := s.place[e.u], s.place[e.v]
		list[id] = placed{min(a, b), max(a, b), int32(id)}
		s.ptr[min(a, b)+1]++
	}
	for j := range s.nodes {
		s.ptr[j+1] += s.ptr[j]
	}
	// a counting sort by the earlier node, then each node's few by the later
	sorted := make([]placed, len(list))
	at := slices.Clone(s.ptr)
	for _, e := range list {
		sorted[at[e.low]] = e
		at[e.low]++
	}
	s.nbr = make([]int32, len(list))
	s.row = make([]int32, len(list))
	s.tail = make([]int32, s.nodes)
	s.start = make([]int, s.nodes)
	block := make([]int32, len(edges))
	for j := range s.nodes {
		own := sorted[s.ptr[j]:s.ptr[j+1]]
		slices.SortFunc(own, func(a, b placed) int { return cmp.Compare(a.high, b.high) })
		s.start[j] = s.values
		row := s.width[j]
		for k, e := range own {
			s.nbr[int(s.ptr[j])+k] = e.high
			s.row[int(s.ptr[j])+k] = row
			block[e.id] = int32(s.values + int(row*s.width[j]))
			row += s.width[e.high]
		}
		s.tail[j] = row
		s.values += (int(row) + s.Root) * int(s.width[j])
	}
	return block
}
