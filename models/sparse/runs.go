package sparse

import (
	"cmp"
	"slices"
)

// A run is rows whose errors are correlated: which nodes they touch, and where
// the blocks of every pair of them begin in the cross-product.
type run struct {
	rows   []int32 // in order of position
	nodes  []int32 // before ordering while edges are made; by place afterwards
	column []int32 // first column of each node in the run's own matrix
	width  int     // columns, the root's included
	blocks []int32 // offset of the block of nodes a > b at a(a−1)/2+b
}

// runNodes finds the nodes of each run, and every pair of them as edges.
func (s *System) runNodes(runs [][]int32) []edge {
	mark := make([]int32, s.nodes)
	var codes []uint64
	for g, rows := range runs {
		r := run{rows: rows}
		for _, i := range rows {
			for _, m := range s.members {
				if m.Code[i] < 0 {
					continue
				}
				v := int32(s.base[m.Term]) + m.Code[i]
				if mark[v] != int32(g)+1 {
					mark[v] = int32(g) + 1
					r.nodes = append(r.nodes, v)
				}
			}
		}
		slices.Sort(r.nodes)
		for a, u := range r.nodes {
			for _, v := range r.nodes[:a] {
				codes = append(codes, uint64(v)<<32|uint64(u))
			}
		}
		s.runs = append(s.runs, r)
	}
	slices.Sort(codes)
	codes = slices.Compact(codes)
	edges := make([]edge, len(codes))
	for k, c := range codes {
		edges[k] = edge{int32(c >> 32), int32(uint32(c))}
	}
	return edges
}

// placeRuns carries the runs' nodes over to their places and finds their blocks.
func (s *System) placeRuns() {
	for g := range s.runs {
		r := &s.runs[g]
		for k, v := range r.nodes {
			r.nodes[k] = s.place[v]
		}
		slices.Sort(r.nodes)
		column := int32(0)
		for a, v := range r.nodes {
			r.column = append(r.column, column)
			column += s.width[v]
			for _, u := range r.nodes[:a] {
				r.blocks = append(r.blocks, s.blockOf(u, v))
			}
		}
		r.width = int(column) + s.Root
		s.widest = max(s.widest, r.width)
		s.long = max(s.long, r.width*len(r.rows))
	}
}

// blockOf is the offset of the block of nodes low < high.
func (s *System) blockOf(low, high int32) int32 {
	own := s.nbr[s.ptr[low]:s.ptr[low+1]]
	k, _ := slices.BinarySearchFunc(own, high, cmp.Compare[int32])
	return int32(s.start[low]) + s.row[int(s.ptr[low])+k]*s.width[low]
}

// Runs is the number of the design's runs of correlated rows.
func (s *System) Runs() int { return len(s.runs) }

// Run gives run r's rows, in order, and how many columns of [Z X y] they touch:
// the width of its own matrix.
func (s *System) Run(r int) (rows []int32, width int) { return s.runs[r].rows, s.runs[r].width }

// Widest is the width of the widest run, and Long the rows times columns of the
// largest.
func (s *System) Widest() (columns, numbers int) { return s.widest, s.long }

// LoadRun writes run r's own rows of [Z X y] into w, width numbers a row.
func (s *System) LoadRun(r int, y, w []float64) {
	g := &s.runs[r]
	m := g.width
	w = w[:len(g.rows)*m]
	clear(w)
	for k, i := range g.rows {
		row := w[k*m : (k+1)*m]
		for f := range s.members {
			j := s.node(f, int(i))
			if j < 0 {
				continue
			}
			a, _ := slices.BinarySearch(g.nodes, j)
			s.memberRow(f, int(i), row[g.column[a]:][:s.width[j]])
		}
		s.fixedRow(int(i), y, row[m-s.Root:])
	}
}

// each visits every block of the run's m × m cross-product's lower triangle with
// its place among the values of c: rows × cols at local row and column, stride
// cols at to; whole diagonal blocks are visited too.
func (g *run) each(c *Cross, visit func(row, col, rows, cols int, to []float64)) {
	s := c.s
	tail := g.width - s.Root
	for a, v := range g.nodes {
		k := int(s.width[v])
		panel := c.values[s.start[v]:]
		visit(int(g.column[a]), int(g.column[a]), k, k, panel)
		for b, u := range g.nodes[:a] {
			visit(int(g.column[a]), int(g.column[b]), k, int(s.width[u]), c.values[g.blocks[a*(a-1)/2+b]:])
		}
		visit(tail, int(g.column[a]), s.Root, k, panel[int(s.tail[v])*k:])
	}
	visit(tail, tail, s.Root, s.Root, c.root)
}

// AddRun adds run r's own cross-product (width × width by rows) to c.
func (c *Cross) AddRun(r int, local []float64) {
	g := &c.s.runs[r]
	m := g.width
	g.each(c, func(row, col, rows, cols int, to []float64) {
		for a := range rows {
			for b, v := range local[(row+a)*m+col:][:cols] {
				to[a*cols+b] += v
			}
		}
	})
}

// CollectRun writes run r's own part of c (width × width by rows) into local.
func (c *Cross) CollectRun(r int, local []float64) {
	g := &c.s.runs[r]
	m := g.width
	g.each(c, func(row, col, rows, cols int, from []float64) {
		for a := range rows {
			for b, v := range from[a*cols : (a+1)*cols] {
				local[(row+a)*m+col+b] = v
				local[(col+b)*m+row+a] = v
			}
		}
	})
}
