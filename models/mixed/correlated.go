package mixed

import (
	"cmp"
	"slices"
)

// correlatedRows is the shape of the cross-product where rows are
// autocorrelated inside groups: which nodes the rows of each group touch, and
// where the blocks of every pair of them begin.
type correlatedRows struct {
	groups []correlatedGroup
	widest int // columns of the widest group, the root's included
	long   int // rows times columns of the largest
}

type correlatedGroup struct {
	rows   []int32 // in order of position
	nodes  []int32 // before ordering while edges are made; by place afterwards
	column []int32 // first column of each node in the group's own matrix
	width  int     // columns, the root's included
	blocks []int32 // offset of the block of nodes a > b at a(a−1)/2+b
}

// groupNodes finds the nodes of each run of correlated rows, and every pair of
// them as edges.
func (s *system) groupNodes() []edge {
	e := &s.d.errors
	mark := make([]int32, s.nodes)
	var codes []uint64
	from := int32(0)
	for g, end := range e.ends {
		group := correlatedGroup{rows: e.runs[from:end]}
		from = end
		for _, i := range group.rows {
			for f := range s.factors {
				v := int32(s.base[f]) + s.factors[f].code[i]
				if mark[v] != int32(g)+1 {
					mark[v] = int32(g) + 1
					group.nodes = append(group.nodes, v)
				}
			}
		}
		slices.Sort(group.nodes)
		for a, u := range group.nodes {
			for _, v := range group.nodes[:a] {
				codes = append(codes, uint64(v)<<32|uint64(u))
			}
		}
		s.groups.groups = append(s.groups.groups, group)
	}
	slices.Sort(codes)
	codes = slices.Compact(codes)
	edges := make([]edge, len(codes))
	for k, c := range codes {
		edges[k] = edge{int32(c >> 32), int32(uint32(c))}
	}
	return edges
}

// placeGroups carries the groups' nodes over to their places and finds their
// blocks.
func (s *system) placeGroups() {
	for g := range s.groups.groups {
		group := &s.groups.groups[g]
		for k, v := range group.nodes {
			group.nodes[k] = s.place[v]
		}
		slices.Sort(group.nodes)
		column := int32(0)
		for a, v := range group.nodes {
			group.column = append(group.column, column)
			column += s.width[v]
			for _, u := range group.nodes[:a] {
				group.blocks = append(group.blocks, s.blockOf(u, v))
			}
		}
		group.width = int(column) + s.root
		s.groups.widest = max(s.groups.widest, group.width)
		s.groups.long = max(s.groups.long, group.width*len(group.rows))
	}
}

// blockOf is the offset of the block of nodes low < high.
func (s *system) blockOf(low, high int32) int32 {
	own := s.nbr[s.ptr[low]:s.ptr[low+1]]
	k, _ := slices.BinarySearchFunc(own, high, cmp.Compare[int32])
	return int32(s.start[low]) + s.row[int(s.ptr[low])+k]*s.width[low]
}

// load writes the group's own rows of [Z X y] into w, width numbers a row, left
// being the outcome's remainder.
func (g *correlatedGroup) load(s *system, left, w []float64) {
	m := g.width
	w = w[:len(g.rows)*m]
	clear(w)
	for k, i := range g.rows {
		row := w[k*m : (k+1)*m]
		for f := range s.factors {
			a, _ := slices.BinarySearch(g.nodes, s.node(f, int(i)))
			s.randomRow(f, int(i), row[g.column[a]:][:s.factors[f].k])
		}
		s.fixedRow(int(i), left, row[m-s.root:])
	}
}

// each visits every block of the group's m × m cross-product's lower triangle
// with its place among the values of a cross: rows × cols at local row and
// column, stride cols at to; whole diagonal blocks are visited too.
func (g *correlatedGroup) each(s *system, c *cross, visit func(row, col, rows, cols int, to []float64)) {
	tail := g.width - s.root
	for a, v := range g.nodes {
		k := int(s.width[v])
		panel := c.values[s.start[v]:]
		visit(int(g.column[a]), int(g.column[a]), k, k, panel)
		for b, u := range g.nodes[:a] {
			visit(int(g.column[a]), int(g.column[b]), k, int(s.width[u]), c.values[g.blocks[a*(a-1)/2+b]:])
		}
		visit(tail, int(g.column[a]), s.root, k, panel[int(s.tail[v])*k:])
	}
	visit(tail, tail, s.root, s.root, c.root)
}

// loadAdjoint collects the group's own m × m matrix from blocks in the shape of
// the cross-product.
func (g *correlatedGroup) loadAdjoint(s *system, c *cross, local []float64) {
	m := g.width
	g.each(s, c, func(row, col, rows, cols int, from []float64) {
		for a := range rows {
			for b, v := range from[a*cols : (a+1)*cols] {
				local[(row+a)*m+col+b] = v
				local[(col+b)*m+row+a] = v
			}
		}
	})
}
