package sparse

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Large triangles are factored and inverted by rows, as long inner products
// over contiguous numbers: these run at the speed of gonum's vector kernels,
// and the blocks of rows are independent of each other, so that they are shared
// out over the cores. Each number is computed by the same operations in the
// same order on any number of cores.

// tile is the number of columns finished at a time, and rows the number of rows
// taken together so that what they share stays in the cache.
const (
	tile = 32
	band = 8
)

// choleskyLarge is cholesky for large triangles.
func choleskyLarge(panel []float64, rows, n, w int) bool {
	for from := 0; from < n; from += tile {
		to := min(from+tile, n)
		if !choleskyTile(panel, from, to, w) {
			return false
		}
		bands := (rows - to + band - 1) / band
		InParallel(bands, func(b int) {
			first := to + b*band
			last := min(first+band, rows)
			for j := from; j < to; j++ {
				top := panel[j*w : j*w+j+1]
				inverse := 1 / top[j]
				for i := first; i < last; i++ {
					row := panel[i*w : i*w+j+1]
					row[j] = (row[j] - floats.Dot(row[:j], top[:j])) * inverse
				}
			}
		})
	}
	return true
}

// choleskyTile finishes the triangle of rows and columns [from, to), whose rows
// are finished up to column from.
func choleskyTile(panel []float64, from, to, w int) bool {
	for j := from; j < to; j++ {
		top := panel[j*w : j*w+j+1]
		for k := from; k < j; k++ {
			other := panel[k*w : k*w+k+1]
			top[k] = (top[k] - floats.Dot(top[:k], other[:k])) / other[k]
		}
		d := top[j] - floats.Dot(top[:j], top[:j])
		if !(d > 0) {
			return false
		}
		top[j] = math.Sqrt(d)
	}
	return true
}

// inverseOfProductLarge is inverseOfProduct for large triangles: l holds the
// n × n lower triangle L by rows of w numbers, out takes (L·L')⁻¹, n × n by rows
// of w numbers, both triangles. scratch holds n × n numbers.
func inverseOfProductLarge(l []float64, n, w int, out, scratch []float64) {
	bands := (n + band - 1) / band
	// rows of L⁻ᵀ, from their diagonal on
	InParallel(bands, func(b int) {
		first := b * band
		last := min(first+band, n)
		for j := first; j < n; j++ {
			row := l[j*w : j*w+j+1]
			inverse := 1 / row[j]
			for i := first; i < min(last, j+1); i++ {
				u := scratch[i*n : (i+1)*n]
				if i == j {
					u[j] = inverse
					continue
				}
				u[j] = -inverse * floats.Dot(u[i:j], row[i:j])
			}
		}
	})
	// their inner products
	InParallel(bands, func(b int) {
		first := b * band
		last := min(first+band, n)
		for j := first; j < n; j++ {
			v := scratch[j*n+j : (j+1)*n]
			for i := first; i < min(last, j+1); i++ {
				product := floats.Dot(scratch[i*n+j:(i+1)*n], v)
				out[i*w+j] = product
				out[j*w+i] = product
			}
		}
	})
}
