package sparse

// A graph says which groups of the random terms share rows: neighbours in
// compressed form, each edge in both directions.
type graph struct {
	ptr []int32
	nbr []int32
}

func newGraph(nodes int, edges []edge) graph {
	g := graph{ptr: make([]int32, nodes+1), nbr: make([]int32, 2*len(edges))}
	for _, e := range edges {
		g.ptr[e.u+1]++
		g.ptr[e.v+1]++
	}
	for i := range nodes {
		g.ptr[i+1] += g.ptr[i]
	}
	at := make([]int32, nodes)
	copy(at, g.ptr)
	for _, e := range edges {
		g.nbr[at[e.u]] = e.v
		at[e.u]++
		g.nbr[at[e.v]] = e.u
		at[e.v]++
	}
	return g
}

// An edge joins two groups that share a row.
type edge struct{ u, v int32 }

// crowded is the share of the groups left over that the front of an
// elimination step may reach before the rest is taken as one dense block: from
// there on sparsity costs more than it saves.
const crowded = 0.7

// eliminationOrder puts the groups in an order that keeps the Cholesky factor
// sparse: at each step a group with the least number of neighbours in what is
// left (approximate minimum degree, Amestoy, Davis and Duff 1996, without their
// supervariables). Quires within books come before their books, at no fill. The
// groups from place dense on are best treated as one dense block.
func eliminationOrder(g graph, nodes int) (order []int32, dense int) {
	m := newMinimumDegree(g, nodes)
	for len(m.order) < nodes {
		p := m.least()
		front := m.eliminate(p)
		left := nodes - len(m.order)
		if left > 2 && float64(front) >= crowded*float64(left) && front > 2 {
			dense = len(m.order)
			for v := range int32(nodes) {
				if !m.gone[v] {
					m.order = append(m.order, v)
				}
			}
			return m.order, dense
		}
	}
	return m.order, nodes
}

// minimumDegree is the quotient graph of an elimination under way. An
// eliminated group lives on as an element: the set of groups left that it
// joined.
type minimumDegree struct {
	order    []int32
	gone     []bool
	vars     [][]int32 // neighbours left, of each group left
	elements [][]int32 // elements that a group left belongs to
	front    [][]int32 // groups of each element; nil once absorbed
	degree   []int32
	mark     []int32 // scratch: stamp of the last step that touched a group
	outside  []int32 // scratch: groups of an element outside the current front
	stamped  []int32
	stamp    int32

	// groups by degree, as doubly linked lists
	head, next, prev []int32
	lowest           int32
}

func newMinimumDegree(g graph, nodes int) *minimumDegree {
	m := &minimumDegree{
		gone: make([]bool, nodes), vars: make([][]int32, nodes), elements: make([][]int32, nodes), front: make([][]int32, nodes),
		degree: make([]int32, nodes), mark: make([]int32, nodes), outside: make([]int32, nodes), stamped: make([]int32, nodes),
		head: make([]int32, nodes+1), next: make([]int32, nodes), prev: make([]int32, nodes),
	}
	for i := range m.head {
		m.head[i] = -1
	}
	for v := int32(nodes) - 1; v >= 0; v-- {
		m.vars[v] = g.nbr[g.ptr[v]:g.ptr[v+1]:g.ptr[v+1]]
		m.degree[v] = g.ptr[v+1] - g.ptr[v]
		m.link(v)
	}
	return m
}

func (m *minimumDegree) link(v int32) {
	d := m.degree[v]
	m.prev[v], m.next[v] = -1, m.head[d]
	if m.head[d] >= 0 {
		m.prev[m.head[d]] = v
	}
	m.head[d] = v
	m.lowest = min(m.lowest, d)
}

func (m *minimumDegree) unlink(v int32) {
	if m.prev[v] >= 0 {
		m.next[m.prev[v]] = m.next[v]
	} else {
		m.head[m.degree[v]] = m.next[v]
	}
	if m.next[v] >= 0 {
		m.prev[m.next[v]] = m.prev[v]
	}
}

func (m *minimumDegree) least() int32 {
	for m.head[m.lowest] < 0 {
		m.lowest++
	}
	return m.head[m.lowest]
}

// eliminate takes group p out and tells how many groups it joined.
func (m *minimumDegree) eliminate(p int32) int {
	m.unlink(p)
	m.gone[p] = true
	m.order = append(m.order, p)
	front := m.gather(p)
	m.front[p] = front
	m.countOutside(front)
	left := int32(len(m.gone) - len(m.order))
	for _, v := range front {
		m.unlink(v)
		m.update(v, p, int32(len(front)), left)
		m.link(v)
	}
	m.vars[p], m.elements[p] = nil, nil
	return len(front)
}

// gather is the set of groups that p joins; the elements it came through are
// absorbed.
func (m *minimumDegree) gather(p int32) []int32 {
	m.stamp++
	m.mark[p] = m.stamp
	var front []int32
	take := func(v int32) {
		if !m.gone[v] && m.mark[v] != m.stamp {
			m.mark[v] = m.stamp
			front = append(front, v)
		}
	}
	for _, v := range m.vars[p] {
		take(v)
	}
	for _, e := range m.elements[p] {
		for _, v := range m.front[e] {
			take(v)
		}
		m.front[e] = nil
	}
	return front
}

// countOutside finds, for each element that touches the front, how many of its
// groups lie outside it. An element's groups are all left: when one of them is
// eliminated the element is absorbed.
func (m *minimumDegree) countOutside(front []int32) {
	for _, v := range front {
		for _, e := range m.elements[v] {
			if m.front[e] == nil {
				continue
			}
			if m.stamped[e] != m.stamp {
				m.stamped[e] = m.stamp
				m.outside[e] = int32(len(m.front[e]))
			}
			m.outside[e]--
		}
	}
}

// update gives group v of the front of p its new neighbours and degree.
func (m *minimumDegree) update(v, p, front, left int32) {
	vars := m.vars[v][:0]
	for _, u := range m.vars[v] {
		if !m.gone[u] && m.mark[u] != m.stamp {
			vars = append(vars, u)
		}
	}
	m.vars[v] = vars
	degree := int32(len(vars)) + front - 1
	elements := m.elements[v][:0]
	for _, e := range m.elements[v] {
		if m.front[e] == nil {
			continue
		}
		if m.outside[e] == 0 {
			continue // wholly inside the front: absorbed
		}
		elements = append(elements, e)
		degree += m.outside[e]
	}
	m.elements[v] = append(elements, p)
	m.degree[v] = min(degree, left-1)
}
