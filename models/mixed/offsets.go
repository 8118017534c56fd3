package mixed

import (
	"fmt"
	"math"
	"strings"

	"thumbed/models/sparse"
	"thumbed/models/table"
)

// An Offset is an error shared by all rows that name the same label, with a
// spread known beforehand: what a day, an observer or an instrument adds to each
// of its measurements. A row's share of the error is its weight times it.
type Offset struct {
	// By names the column of labels: one label, or several with weights as
	// [table.ParseShares] reads them ("Monday × 0.62 + Tuesday × 0.38"). An empty
	// cell has no part in it.
	By string `toml:"by" json:"by" required:"true"` // column of the labels that share the error: one label in a cell, or several with weights such as A × 0.62 + B × 0.38; none in an empty cell
	// SD is the standard deviation of the errors, in the unit of the outcome as the
	// table has it.
	SD float64 `toml:"sd" json:"sd" unit:"of the outcome" required:"true"` // standard deviation of the errors, known beforehand
	// DF are the degrees of freedom that SD was estimated with; 0 takes it as
	// exactly known.
	DF float64 `toml:"df,omitempty" json:"df,omitempty"` // degrees of freedom that sd was estimated with; 0 or nothing takes it as exactly known
}

// offsets reads the shared errors of a residual.
func (r reader) offsets(tree map[string]any, prefix string) []Offset {
	value, present := tree["offsets"]
	if !present {
		return nil
	}
	list, ok := value.([]any)
	if !ok {
		r.problem(prefix+"offsets", value, "one or more tables of shared errors", "write [[residual.offsets]] in double brackets above each")
		return nil
	}
	var out []Offset
	for k, item := range list {
		key := fmt.Sprintf("%soffsets %d", prefix, k)
		entry, ok := item.(map[string]any)
		if !ok {
			r.problem(key, item, "a shared error", "write [[residual.offsets]] with by and sd")
			continue
		}
		r.known(key+" ", entry, "by", "sd", "df")
		out = append(out, Offset{By: r.text(entry, key+" ", "by", true), SD: r.size(entry, key+" ", "sd", true), DF: r.size(entry, key+" ", "df", false)})
	}
	return out
}

// size reads a number that is not negative.
func (r reader) size(tree map[string]any, prefix, key string, required bool) float64 {
	value, present := tree[key]
	var out float64
	switch v := value.(type) {
	case float64:
		out = v
	case int64:
		out = float64(v)
	default:
		switch {
		case present:
			r.problem(prefix+key, value, "a number, zero or more", "write it without quotation marks")
		case required:
			r.ps.Add(table.Problem{File: r.file, Line: r.where[strings.TrimSpace(prefix)], Column: key,
				Expected: "the key " + key + " with a number, zero or more", Remedy: "write it below, such as " + key + " = 0.015"})
		}
		return 0
	}
	if !finite(out) || out < 0 {
		r.problem(prefix+key, value, "a number, zero or more", "correct the number")
		return 0
	}
	return out
}

// An offsetPart is one shared error laid over the rows.
type offsetPart struct {
	Offset
	sd      float64  // in the unit of the likelihood
	groups  []string // the labels
	members []membership
}

// A membership is each row's n-th label with its weight; −1 where it has fewer.
type membership struct {
	code   []int32
	weight []float64
}

// checkOffsets reports columns that are not there and numbers that are none.
func (l *layer) checkOffsets() {
	seen := map[string]bool{}
	for _, o := range l.model.Residual.Offsets {
		switch c := l.table.Column(o.By); {
		case seen[o.By]:
			l.problem(o.By, o.By, "each shared error once", "delete the repetition; two spreads of one column's labels add by their squares")
		case o.By == "" || c == nil:
			l.problem("", o.By, "a column of labels for a shared error", "name one of the table's columns")
		case !finite(o.SD) || o.SD < 0 || !finite(o.DF) || o.DF < 0:
			l.problem(o.By, fmt.Sprintf("sd %g with %g degrees of freedom", o.SD, o.DF), "numbers, zero or more", "correct the numbers")
		}
		seen[o.By] = true
	}
}

// readOffsets reads the labels of the rows' shared errors. Those without spread
// are left out.
func (l *layer) readOffsets(d *design) {
	for _, o := range l.model.Residual.Offsets {
		if o.SD == 0 {
			continue
		}
		part := offsetPart{Offset: o, sd: o.SD}
		index := map[string]int32{}
		c := l.table.Column(o.By)
		for k, i := range l.rows {
			shares, err := table.ParseShares(c.Label(i))
			if err != nil {
				l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(i), Column: o.By, Value: c.Label(i),
					Expected: "a label, or labels with weights", Remedy: err.Error()})
				continue
			}
			part.add(d, k, shares, index)
		}
		if len(part.groups) > 0 {
			d.offsets = append(d.offsets, part)
		}
	}
}

// add gives row k its labels.
func (o *offsetPart) add(d *design, k int, shares []table.Share, index map[string]int32) {
	slot := 0
	weights := map[int32]float64{} // a label may be named twice
	var order []int32
	for _, s := range shares {
		code, known := index[s.Label]
		if !known {
			code = int32(len(o.groups))
			index[s.Label] = code
			o.groups = append(o.groups, s.Label)
		}
		if _, twice := weights[code]; !twice {
			order = append(order, code)
		}
		weights[code] += s.Weight
	}
	for _, code := range order {
		if slot == len(o.members) {
			m := membership{code: make([]int32, d.n), weight: make([]float64, d.n)}
			for i := range m.code {
				m.code[i] = -1
			}
			o.members = append(o.members, m)
		}
		w := weights[code]
		if d.model.logarithmic() {
			w /= math.Exp(d.outcome[k]) // to first order, the error of a logarithm
		}
		o.members[slot].code[k], o.members[slot].weight[k] = code, w
		slot++
	}
}

// mostMembers is the number of labels a row up to which a shared error's labels
// are groups of a sparse term; with more they are columns of one.
const mostMembers = 4

// layOut adds the shared error to the shape of the normal equations.
func (o *offsetPart) layOut(shape *sparse.Design) {
	term := len(shape.Terms)
	if len(o.members) <= mostMembers {
		shape.Terms = append(shape.Terms, sparse.Term{Groups: len(o.groups), Columns: 1})
		for _, m := range o.members {
			shape.Members = append(shape.Members, sparse.Member{Term: term, Code: m.code, Columns: [][]float64{m.weight}})
		}
		return
	}
	shape.Terms = append(shape.Terms, sparse.Term{Groups: 1, Columns: len(o.groups), Scaled: true})
	columns := make([][]float64, len(o.groups))
	for c := range columns {
		columns[c] = make([]float64, shape.N)
	}
	for _, m := range o.members {
		for i, code := range m.code {
			if code >= 0 {
				columns[code][i] = m.weight[i]
			}
		}
	}
	shape.Members = append(shape.Members, sparse.Member{Term: term, Code: make([]int32, shape.N), Columns: columns})
}

// columns is the number of columns that one group of the shared error's term has.
func (o *offsetPart) columns() int {
	if len(o.members) <= mostMembers {
		return 1
	}
	return len(o.groups)
}

// variance is row i's variance by the shared error.
func (o *offsetPart) variance(i int) float64 {
	sum := 0.0
	for _, m := range o.members {
		if m.code[i] >= 0 {
			sum += m.weight[i] * m.weight[i]
		}
	}
	return o.sd * o.sd * sum
}
