package generalised

import "thumbed/models/mixed"

// random are the random terms over the distinct rows. The random effects are one
// vector u of independent standard normal values: those of the first factor's
// first group, its second group, …; what a group adds to a row's predictor is
// z'Λu with Λ the factor's lower triangle.
type random struct {
	factors []factor
	q       int     // random effects in all
	entries []entry // the variance parameters
}

// A factor is one way of naming groups, with k columns that vary between them.
type factor struct {
	code   []int32   // by distinct row
	z      []float64 // rows × k; nil where all are one and k is 1
	k      int
	groups int
	first  int // its first random effect
}

// An entry is one variance parameter: Λ[row, column] of a factor.
type entry struct{ factor, row, column int }

// read takes the factors over the distinct rows.
func (r *random) read(factors []mixed.Factor) {
	for f, from := range factors {
		to := factor{code: from.Code, k: len(from.Z), groups: len(from.Groups), first: r.q}
		if to.k > 1 || from.Z[0].Values != nil {
			to.z = make([]float64, len(to.code)*to.k)
			for c, column := range from.Z {
				for i := range to.code {
					to.z[i*to.k+c] = 1
					if column.Values != nil {
						to.z[i*to.k+c] = column.Values[i]
					}
				}
			}
		}
		r.q += to.k * to.groups
		r.factors = append(r.factors, to)
		for _, b := range from.Blocks {
			for row := range b.Size {
				for column := range row + 1 {
					if row == column || b.Correlated {
						r.entries = append(r.entries, entry{f, b.First + row, b.First + column})
					}
				}
			}
		}
	}
}

// newLambda makes room for the covariance factors Λ, k × k by rows each.
func (r *random) newLambda() [][]float64 {
	out := make([][]float64, len(r.factors))
	for f := range out {
		out[f] = make([]float64, r.factors[f].k*r.factors[f].k)
	}
	return out
}

// set puts the variance parameters into Λ.
func (r *random) set(lambda [][]float64, theta []float64) {
	for i, e := range r.entries {
		lambda[e.factor][e.row*r.factors[e.factor].k+e.column] = theta[i]
	}
}

// apply writes Λu, group by group, into b.
func (r *random) apply(lambda [][]float64, u, b []float64) {
	for f := range r.factors {
		fac := &r.factors[f]
		k, l := fac.k, lambda[f]
		for g := range fac.groups {
			from, to := u[fac.first+g*k:][:k], b[fac.first+g*k:][:k]
			for a := range to {
				sum := 0.0
				for c := range a + 1 {
					sum += l[a*k+c] * from[c]
				}
				to[a] = sum
			}
		}
	}
}

// applyTransposed replaces, group by group, a vector by Λ' times it.
func (r *random) applyTransposed(lambda [][]float64, v []float64) {
	for f := range r.factors {
		fac := &r.factors[f]
		k, l := fac.k, lambda[f]
		for g := range fac.groups {
			at := v[fac.first+g*k:][:k]
			for c := range at {
				sum := 0.0
				for a := c; a < k; a++ {
					sum += l[a*k+c] * at[a]
				}
				at[c] = sum
			}
		}
	}
}

// spread writes the rows' sums Zb for rows from to to.
func (r *random) spread(b []float64, from, to int, out []float64) {
	for f := range r.factors {
		fac := &r.factors[f]
		own := b[fac.first:]
		if fac.z == nil {
			if f == 0 {
				for i := from; i < to; i++ {
					out[i] = own[fac.code[i]]
				}
				continue
			}
			for i := from; i < to; i++ {
				out[i] += own[fac.code[i]]
			}
			continue
		}
		k := fac.k
		for i := from; i < to; i++ {
			sum := 0.0
			for c, z := range fac.z[i*k : (i+1)*k] {
				sum += z * own[int(fac.code[i])*k+c]
			}
			if f > 0 {
				sum += out[i]
			}
			out[i] = sum
		}
	}
}

// gatherRows writes Z'v.
func (r *random) gatherRows(v, out []float64) {
	clear(out)
	for f := range r.factors {
		fac := &r.factors[f]
		own := out[fac.first:]
		if fac.z == nil {
			for i, g := range fac.code {
				own[g] += v[i]
			}
			continue
		}
		k := fac.k
		for i, g := range fac.code {
			for c, z := range fac.z[i*k : (i+1)*k] {
				own[int(g)*k+c] += z * v[i]
			}
		}
	}
}

// at is column c of row i.
func (f *factor) at(i, c int) float64 {
	if f.z == nil {
		return 1
	}
	return f.z[i*f.k+c]
}
