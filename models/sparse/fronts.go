package sparse

import "slices"

// fronts is the shape of the Cholesky factor. Nodes that are eliminated
// together form a front: a panel of w columns, whose first w rows are its own
// triangle, whose next rows belong to later nodes, and whose last rows to the
// root. Panels are stored by rows, w numbers a row.
type fronts struct {
	first  []int32 // first node of each front, and one past the last node
	of     []int32 // front of each node
	col    []int32 // first column of each node in its front
	w      []int32 // columns of each front
	ptr    []int32 // list[ptr[t]:ptr[t+1]] are the later nodes in front t's rows
	list   []int32
	rowAt  []int32 // the row at which each of them begins
	height []int32 // the row at which the root's rows begin
	at     []int   // offset of each panel
	size   int     // length of all panels
	widest int     // the largest number of rows below a triangle, the root's included
	broad  int     // the largest number of columns
	tall   int     // the largest block of rows below a triangle
	spread int     // the largest number of rows below a triangle worth blocked linear algebra

	into []int32 // for each block of the cross-product: its row in its front's panel

	effect    []int32 // effect[effectPtr[t]:effectPtr[t+1]]: the random effects of front t's later rows
	effectPtr []int32

	stretches  []stretch // stretches[stretchPtr[t]:stretchPtr[t+1]]: where front t's updates go
	stretchPtr []int32
	rel        []int32 // see stretch

	levels []level
}

// A level is fronts that pass on to fronts of earlier levels alone, so that
// their blocks of the inverse can be found side by side.
type level struct {
	fronts []int32
	work   int  // of finding them: multiplications
	large  bool // whether one of them is worth blocked linear algebra, which shares itself out
}

// A stretch is some of a front's later rows (from and to count them from the
// first below the triangle) that belong to one and the same later front, the
// target: rel[rel+k−from] is the row in the target's panel of row k, for all
// rows from there on. For rows of the run itself that is their column, too.
type stretch struct {
	from, to int32
	target   int32
	rel      int32
}

// rowIn is the row in a run's target of row i below a front's triangle, i at or
// after the run's first; later rows stand before the root's.
func (f *fronts) rowIn(r stretch, i, later int) int {
	if i < later {
		return int(f.rel[int(r.rel)+i-int(r.from)])
	}
	return int(f.height[r.target]) + i - later
}

// merging is the least number of later nodes at which two nodes in a row whose
// later nodes agree are joined to one front. Smaller fronts are faster apart.
const merging = 8

// layOut finds the fronts of a system whose nodes from place dense on form one
// dense block.
func (f *fronts) layOut(s *System, dense int) {
	ptr, list := s.laterNodes(dense)
	f.of = make([]int32, s.nodes)
	f.col = make([]int32, s.nodes)
	f.ptr = []int32{0}
	f.stretchPtr = []int32{0}
	f.effectPtr = []int32{0}
	for j := 0; j < s.nodes; {
		end := j + 1
		if j >= dense {
			end = s.nodes
		}
		for end < dense && joins(ptr, list, end-1) {
			end++
		}
		f.addFront(s, j, end, list[ptr[end-1]:ptr[end]])
		j = end
	}
	f.first = append(f.first, int32(s.nodes))
	f.into = make([]int32, len(s.nbr))
	for j := range s.nodes {
		f.place(s, j)
	}
	for t := range f.w {
		f.addStretches(s, t)
	}
	f.sortLevels(s.Root)
}

// sortLevels finds the fronts' levels. A front's later nodes belong to the front
// of the first of them or are among that front's own later nodes.
func (f *fronts) sortLevels(root int) {
	of := make([]int, len(f.w))
	for t := len(f.w) - 1; t >= 0; t-- {
		if f.ptr[t] < f.ptr[t+1] {
			of[t] = of[f.of[f.list[f.ptr[t]]]] + 1
		}
		if of[t] == len(f.levels) {
			f.levels = append(f.levels, level{})
		}
		own := &f.levels[of[t]]
		own.fronts = append(own.fronts, int32(t))
		rows := int(f.height[t]) + root
		own.work += rows * rows * int(f.w[t])
		own.large = own.large || f.w[t] >= blocked
	}
}

// laterNodes finds, for each node, the later nodes that its column of the
// factor reaches: its own neighbours, and what the nodes before it whose first
// later node it is pass on (Liu 1990). Nodes from place dense on are left empty.
func (s *System) laterNodes(dense int) (ptr, list []int32) {
	ptr = make([]int32, s.nodes+1)
	child := make([]int32, s.nodes) // linked lists of the nodes that pass on
	sibling := make([]int32, s.nodes)
	mark := make([]int32, s.nodes)
	for j := range child {
		child[j], sibling[j], mark[j] = -1, -1, -1
	}
	for j := range s.nodes {
		from := len(list)
		if j < dense {
			mark[j] = int32(j)
			take := func(nodes []int32) {
				for _, v := range nodes {
					if mark[v] != int32(j) {
						mark[v] = int32(j)
						list = append(list, v)
					}
				}
			}
			take(s.nbr[s.ptr[j]:s.ptr[j+1]])
			for c := child[j]; c >= 0; c = sibling[c] {
				take(list[ptr[c]:ptr[c+1]])
			}
			own := list[from:]
			slices.Sort(own)
			if len(own) > 0 {
				p := own[0]
				sibling[j] = child[p]
				child[p] = int32(j)
			}
		}
		ptr[j+1] = int32(len(list))
	}
	return ptr, list
}

// joins tells whether node j and the next have the same later nodes.
func joins(ptr, list []int32, j int) bool {
	own, next := list[ptr[j]:ptr[j+1]], list[ptr[j+1]:ptr[j+2]]
	return len(own) >= merging && len(own) == len(next)+1 && int(own[0]) == j+1
}

func (f *fronts) addFront(s *System, from, to int, later []int32) {
	t := int32(len(f.w))
	f.first = append(f.first, int32(from))
	w := int32(0)
	for j := from; j < to; j++ {
		f.of[j], f.col[j] = t, w
		w += s.width[j]
	}
	f.w = append(f.w, w)
	row := w
	for _, v := range later {
		f.list = append(f.list, v)
		f.rowAt = append(f.rowAt, row)
		row += s.width[v]
		for a := range s.width[v] {
			f.effect = append(f.effect, int32(s.column[v])+a)
		}
	}
	f.effectPtr = append(f.effectPtr, int32(len(f.effect)))
	f.ptr = append(f.ptr, int32(len(f.list)))
	f.height = append(f.height, row)
	f.at = append(f.at, f.size)
	f.size += (int(row) + s.Root) * int(w)
	below := int(row-w) + s.Root
	f.widest = max(f.widest, below)
	f.broad = max(f.broad, int(w))
	f.tall = max(f.tall, below*int(w))
	if w >= blocked {
		f.spread = max(f.spread, below)
	}
}

// place finds the rows of node j's blocks in its front's panel.
func (f *fronts) place(s *System, j int) {
	t := f.of[j]
	at := f.ptr[t]
	for b := s.ptr[j]; b < s.ptr[j+1]; b++ {
		v := s.nbr[b]
		if f.of[v] == t {
			f.into[b] = f.col[v]
			continue
		}
		for f.list[at] != v {
			at++
		}
		f.into[b] = f.rowAt[at]
	}
}

// addStretches finds where the updates of front t go.
func (f *fronts) addStretches(s *System, t int) {
	end := f.ptr[t+1]
	w := f.w[t]
	for from := f.ptr[t]; from < end; {
		target := f.of[f.list[from]]
		to := from
		for to < end && f.of[f.list[to]] == target {
			to++
		}
		last := f.height[t]
		if to < end {
			last = f.rowAt[to]
		}
		f.stretches = append(f.stretches, stretch{from: f.rowAt[from] - w, to: last - w, target: target, rel: int32(len(f.rel))})
		at := f.ptr[target]
		for k := from; k < end; k++ {
			v := f.list[k]
			row := f.col[v]
			if f.of[v] != target {
				for f.list[at] != v {
					at++
				}
				row = f.rowAt[at]
			}
			for a := range s.width[v] {
				f.rel = append(f.rel, row+a)
			}
		}
		from = to
	}
	f.stretchPtr = append(f.stretchPtr, int32(len(f.stretches)))
}

// effects are the random effects of front t's later rows.
func (f *fronts) effects(t int) []int32 { return f.effect[f.effectPtr[t]:f.effectPtr[t+1]] }

// ownBlock is node j's diagonal block in panels shaped as f, and its stride.
func (f *fronts) ownBlock(panels []float64, j int32) ([]float64, int) {
	t := f.of[j]
	w, col := int(f.w[t]), int(f.col[j])
	return panels[f.at[t]+col*w+col:], w
}

// rootRows are the root's rows of node j's columns in panels shaped as f, and
// their stride.
func (f *fronts) rootRows(panels []float64, j int32) ([]float64, int) {
	t := f.of[j]
	w := int(f.w[t])
	return panels[f.at[t]+int(f.height[t])*w+int(f.col[j]):], w
}
