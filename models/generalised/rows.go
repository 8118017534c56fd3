package generalised

import (
	"encoding/binary"
	"hash/maphash"
	"math"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/sparse"
)

// A design is a model laid over a table, with equal rows as one: what the
// likelihood needs, and nothing that depends on parameters.
type design struct {
	lay  *mixed.Layout
	kind kind
	base float64 // log likelihood that depends on no parameter

	// Covariate patterns: distinct rows of all columns of fixed effects.
	patterns int
	columns  int       // 1 + those of the fixed effects + those of the zero inflation
	x        []float64 // patterns × columns by rows; the first column is one
	offset   []float64 // patterns: the logarithm of the exposure; nil where there is none
	example  []int32   // patterns: a used row of the table that has it
	of       []int32   // used rows of the table: their pattern

	// The predictors: linear functions of the parameters, `width` for each pattern.
	width int
	uses  [][]use // by predictor
	size  int     // number of parameters but those of the random terms

	rows
	random random
	system *sparse.System // the random effects' equations; nil where there are none
}

// A use says that a predictor has coefficient × parameter × column in it.
type use struct {
	parameter, column int
	coefficient       float64
}

// rows are the distinct rows: a pattern, a group of each factor and an outcome.
type rows struct {
	n       int
	pattern []int32
	weight  []float64 // how many of the table's rows each stands for
	y       []float64 // the outcome: a grade from 0, a count, the successes
	no      []float64 // yes or no: the failures
}

// A gatherer finds equal rows, by open addressing.
type gatherer struct {
	seed  maphash.Seed
	table []int32
	width int
	keys  []byte // of the distinct rows
	n     int
}

func newGatherer(width, most int) *gatherer {
	size := 1
	for size < 2*most {
		size *= 2
	}
	return &gatherer{seed: maphash.MakeSeed(), table: make([]int32, size), width: width}
}

// number gives the number of a key, new or known.
func (g *gatherer) number(key []byte) (number int, known bool) {
	at := maphash.Bytes(g.seed, key) & uint64(len(g.table)-1)
	for g.table[at] != 0 {
		k := int(g.table[at]) - 1
		if string(g.keys[k*g.width:(k+1)*g.width]) == string(key) {
			return k, true
		}
		at = (at + 1) & uint64(len(g.table)-1)
	}
	g.keys = append(g.keys, key...)
	g.n++
	g.table[at] = int32(g.n)
	return g.n - 1, false
}

func putNumbers(out []byte, values []float64) {
	for j, v := range values {
		binary.LittleEndian.PutUint64(out[8*j:], math.Float64bits(v+0))
	}
}

// gather makes the distinct rows of a layout. apart tells whether rows of unlike
// outcomes stay apart; outcome and failures are by the table's rows, failures nil
// but for yes or no. Columns are those of the patterns, the intercept not among
// them.
func (d *design) gather(columns []mixed.Column, exposure, outcome, failures []float64, apart bool) (err error) {
	n := len(outcome)
	if exposure != nil {
		columns = append(slices.Clone(columns), mixed.Column{Values: exposure})
	}
	code := d.gatherPatterns(columns, n)
	if exposure != nil {
		d.offset = make([]float64, d.patterns)
		for i, p := range code {
			d.offset[p] = math.Log(exposure[i])
		}
	}
	factors := d.lay.Factors
	z := 0
	for _, f := range factors {
		for _, c := range f.Z {
			if c.Values != nil {
				z++
			}
		}
	}
	width := 4 + 4*len(factors) + 8*z + 8
	g := newGatherer(width, n)
	key := make([]byte, width)
	r := &d.rows
	var first []int32 // the table's row that each distinct one was found in
	for i := range n {
		binary.LittleEndian.PutUint32(key, uint32(code[i]))
		at := 4
		for f := range factors {
			binary.LittleEndian.PutUint32(key[at:], uint32(factors[f].Code[i]))
			at += 4
			for _, c := range factors[f].Z {
				if c.Values != nil {
					binary.LittleEndian.PutUint64(key[at:], math.Float64bits(c.Values[i]+0))
					at += 8
				}
			}
		}
		if apart {
			binary.LittleEndian.PutUint64(key[at:], math.Float64bits(outcome[i]+0))
		}
		k, known := g.number(key)
		if !known {
			first = append(first, int32(i))
			r.pattern = append(r.pattern, code[i])
			r.weight = append(r.weight, 0)
			r.y = append(r.y, 0)
			if failures != nil {
				r.no = append(r.no, 0)
			}
		}
		r.weight[k]++
		switch {
		case failures != nil:
			r.y[k] += outcome[i]
			r.no[k] += failures[i]
		case apart:
			r.y[k] = outcome[i]
		default:
			r.y[k] += outcome[i]
		}
	}
	r.n = g.n
	if len(factors) == 0 {
		return nil
	}
	own := make([]mixed.Factor, len(factors))
	by := make([][]string, len(factors))
	for f := range factors {
		own[f], by[f] = factors[f].At(first), factors[f].By
	}
	d.random.read(own)
	d.system, err = d.random.equations(r.n, d.lay.File(), by)
	return err
}

// gatherPatterns finds the covariate patterns, and gives each row's.
func (d *design) gatherPatterns(columns []mixed.Column, n int) []int32 {
	d.columns = 1 + len(columns)
	code := make([]int32, n)
	g := newGatherer(8*max(1, len(columns)), n)
	row := make([]float64, len(columns))
	key := make([]byte, g.width)
	for i := range n {
		for j, c := range columns {
			row[j] = 1
			if c.Values != nil {
				row[j] = c.Values[i]
			}
		}
		putNumbers(key, row)
		k, known := g.number(key)
		if !known {
			d.x = append(append(d.x, 1), row...)
			d.example = append(d.example, int32(i))
		}
		code[i] = int32(k)
	}
	d.patterns, d.of = g.n, code
	return code
}

// predict fills the predictors (patterns × width by rows) for parameters.
func (d *design) predict(parameters, out []float64) {
	for j, uses := range d.uses {
		for p := range d.patterns {
			sum := 0.0
			if j == 0 && d.offset != nil {
				sum = d.offset[p]
			}
			row := d.x[p*d.columns:]
			for _, u := range uses {
				sum += u.coefficient * parameters[u.parameter] * row[u.column]
			}
			out[p*d.width+j] = sum
		}
	}
}

// collect adds to grad the derivative by the parameters, given that by the
// predictors.
func (d *design) collect(slopes, grad []float64) {
	for j, uses := range d.uses {
		for _, u := range uses {
			sum := 0.0
			for p := range d.patterns {
				sum += slopes[p*d.width+j] * d.x[p*d.columns+u.column]
			}
			grad[u.parameter] += u.coefficient * sum
		}
	}
}
