package mixed

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/table"
)

// A system is the fixed shape of a design's normal equations: which blocks of
// the cross-product of [Z X y] there are, in which order the groups of the
// random terms are eliminated, and where in the Cholesky factor each block
// goes. It holds no numbers that depend on variance parameters, and is shared
// by every trial of them.
//
// A node is one group of one factor, with its factor's k columns. Nodes are
// numbered by their place in the elimination; the fixed effects and the outcome
// (p + 1 columns) come last, as the root.
type system struct {
	d       *design
	factors []factor
	n, p    int
	root    int // p + 1

	nodes  int
	base   []int   // first node number of each factor before ordering
	place  []int32 // place of node base[f]+group
	factor []int32 // factor of the node at each place
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

	outcome [][]int // for each factor and group: offset of the outcome's row among the values

	pairs  [][]int32 // for factors f < g (see pair): offset of each row's block; nil where rows are correlated
	groups correlatedRows
	front  fronts
}

// pair numbers the pairs of factors f < g.
func pair(f, g int) int { return g*(g-1)/2 + f }

// newSystem finds the shape of a design.
func newSystem(d *design) *system {
	s := &system{d: d, factors: d.factors, n: d.n, p: d.fixed.p, root: d.fixed.p + 1}
	for _, f := range d.factors {
		s.base = append(s.base, s.nodes)
		s.nodes += len(f.groups)
	}
	var edges []edge
	var member [][]int32
	if d.errors.gap != nil {
		edges = s.groupNodes()
	} else {
		edges, member = s.sharedRows()
	}
	order, dense := eliminationOrder(newGraph(s.nodes, edges), s.nodes)
	s.place = make([]int32, s.nodes)
	for at, node := range order {
		s.place[node] = int32(at)
	}
	s.factor = make([]int32, s.nodes)
	s.width = make([]int32, s.nodes)
	for f := range s.factors {
		for g := range s.factors[f].groups {
			at := s.place[s.base[f]+g]
			s.factor[at] = int32(f)
			s.width[at] = int32(s.factors[f].k)
		}
	}
	s.column = make([]int, s.nodes+1)
	for j, w := range s.width {
		s.column[j+1] = s.column[j] + int(w)
	}
	block := s.layOut(edges)
	for pr := range member {
		for i, e := range member[pr] {
			member[pr][i] = block[e]
		}
	}
	s.pairs = member
	s.outcome = make([][]int, len(s.factors))
	for f := range s.factors {
		s.outcome[f] = make([]int, len(s.factors[f].groups))
		for g := range s.outcome[f] {
			j := s.place[s.base[f]+g]
			s.outcome[f][g] = s.start[j] + (int(s.tail[j])+s.p)*int(s.width[j])
		}
	}
	s.placeGroups()
	s.front.layOut(s, dense)
	return s
}

// mostNumbers is how many numbers a factor may hold: 3.2 GB of them, and its
// inverse takes as much again.
const mostNumbers = 400_000_000

// checkSize refuses designs whose groups are crossed so thickly that their
// factor would not fit into memory. Its error is a [*table.Fault].
func (s *system) checkSize() error {
	if s.front.size <= mostNumbers && s.values <= math.MaxInt32 && s.groups.long <= mostNumbers && s.groups.widest < 1<<14 {
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

// node is the place of row i's group of factor f.
func (s *system) node(f, i int) int32 {
	return s.place[s.base[f]+int(s.factors[f].code[i])]
}

// sharedRows finds every pair of groups that share a row, and for each pair of
// factors which of them each row belongs to.
func (s *system) sharedRows() (edges []edge, member [][]int32) {
	k := len(s.factors)
	for g := 1; g < k; g++ {
		for f := range g {
			member = append(member, s.pairRows(f, g, &edges))
		}
	}
	return edges, member
}

// pairRows numbers the pairs of groups of two factors that occur.
func (s *system) pairRows(f, g int, edges *[]edge) []int32 {
	F, G := &s.factors[f], &s.factors[g]
	// rows sorted by their group of f
	start := make([]int32, len(F.groups)+1)
	for _, c := range F.code {
		start[c+1]++
	}
	for c := range F.groups {
		start[c+1] += start[c]
	}
	sorted := make([]int32, s.n)
	for i, c := range F.code {
		sorted[start[c]] = int32(i)
		start[c]++
	}
	last := make([]int32, len(G.groups)) // the pair last made with a group of g …
	owner := make([]int32, len(G.groups))
	for c := range owner {
		owner[c] = -1 // … and with which group of f
	}
	ids := make([]int32, s.n)
	for _, i := range sorted {
		cf, cg := F.code[i], G.code[i]
		if owner[cg] != cf {
			owner[cg] = cf
			last[cg] = int32(len(*edges))
			*edges = append(*edges, edge{int32(s.base[f]) + cf, int32(s.base[g]) + cg})
		}
		ids[i] = last[cg]
	}
	return ids
}

// layOut gives every block of the cross-product its place among the values, and
// tells for each edge where its block begins.
func (s *system) layOut(edges []edge) []int32 {
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
		s.values += (int(row) + s.root) * int(s.width[j])
	}
	return block
}

// A cross is the cross-product of [Z X y] under a residual correlation: the
// nodes' panels, and the root's block (root × root by rows, both triangles).
type cross struct {
	values []float64
	root   []float64
}

func (s *system) newCross() *cross {
	return &cross{values: make([]float64, s.values), root: make([]float64, s.root*s.root)}
}

// fill makes the cross-product with weights of the rows (nil: all one), left
// being the outcome's remainder.
func (s *system) fill(c *cross, weights, left []float64) {
	clear(c.values)
	clear(c.root)
	z := s.newRow()
	fixed := make([]float64, s.root)
	for i := range s.n {
		w := 1.0
		if weights != nil {
			w = weights[i]
		}
		s.fixedRow(i, left, fixed)
		for a, va := range fixed {
			wa := w * va
			for b, vb := range fixed[:a+1] {
				c.root[a*s.root+b] += wa * vb
			}
		}
		for f := range s.factors {
			s.randomRow(f, i, z[f])
			j := s.node(f, i)
			c.addSelf(s, j, w, z[f], fixed)
			for e := range f {
				s.addPair(c, s.pairs[pair(e, f)][i], s.node(e, i), j, w, z[e], z[f])
			}
		}
	}
	mirror(c.root, s.root)
}

// fillOutcome makes the outcome's rows of a cross-product of independent, alike
// rows anew, left being the outcome's remainder.
func (s *system) fillOutcome(c *cross, left []float64) {
	for j := range s.nodes {
		k := int(s.width[j])
		clear(c.values[s.start[j]+(int(s.tail[j])+s.p)*k:][:k])
	}
	for f := range s.factors {
		for k, z := range s.factors[f].z {
			s.fillOutcomeOf(c, f, k, z.values, left)
		}
	}
	last := c.root[s.p*s.root:][:s.root]
	clear(last)
	for i, y := range left {
		for a, v := range s.d.fixed.q[i*s.p : (i+1)*s.p] {
			last[a] += y * v
		}
		last[s.p] += y * y
	}
	for a, v := range last[:s.p] {
		c.root[a*s.root+s.p] = v
	}
}

// fillOutcomeOf adds the products of column k of factor f with the outcome; its
// values nil stands for ones.
func (s *system) fillOutcomeOf(c *cross, f, k int, values, left []float64) {
	code := s.factors[f].code
	at := s.outcome[f]
	for i, y := range left {
		if values != nil {
			y *= values[i]
		}
		c.values[at[code[i]]+k] += y
	}
}

// fixedRow is row i of [Q left], the fixed effects and the outcome.
func (s *system) fixedRow(i int, left, out []float64) {
	copy(out, s.d.fixed.q[i*s.p:(i+1)*s.p])
	out[s.p] = left[i]
}

// newRow makes room for one row of every factor's columns.
func (s *system) newRow() [][]float64 {
	out := make([][]float64, len(s.factors))
	for f := range out {
		out[f] = make([]float64, s.factors[f].k)
	}
	return out
}

// randomRow is row i of factor f's columns.
func (s *system) randomRow(f, i int, out []float64) {
	for k, c := range s.factors[f].z {
		out[k] = c.at(i)
	}
}

// addSelf adds a row to a node's diagonal block and its root rows.
func (c *cross) addSelf(s *system, j int32, w float64, z, fixed []float64) {
	k := len(z)
	panel := c.values[s.start[j]:]
	for a, va := range z {
		wa := w * va
		for b, vb := range z {
			panel[a*k+b] += wa * vb
		}
	}
	tail := panel[int(s.tail[j])*k:]
	for a, va := range fixed {
		wa := w * va
		for b, vb := range z {
			tail[a*k+b] += wa * vb
		}
	}
}

// addPair adds a row to the block of two nodes.
func (s *system) addPair(c *cross, at, i, j int32, w float64, zi, zj []float64) {
	if i < j {
		i, j, zi, zj = j, i, zj, zi
	}
	k := len(zj)
	block := c.values[at:]
	for a, va := range zi {
		wa := w * va
		for b, vb := range zj {
			block[a*k+b] += wa * vb
		}
	}
}

// mirror copies the lower triangle of an n × n block to the upper.
func mirror(m []float64, n int) {
	for i := range n {
		for j := range i {
			m[j*n+i] = m[i*n+j]
		}
	}
}
