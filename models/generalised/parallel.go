package generalised

import (
	"runtime"
	"sync"
	"sync/atomic"

	"thumbed/models/sparse"
)

// inParallel does n pieces of work on at most as many workers as there are cores,
// each with a value of its own. What comes of a piece must not depend on its worker.
func inParallel[W any](n int, make func() W, do func(w W, i int)) {
	workers := min(n, runtime.GOMAXPROCS(0))
	var next atomic.Int64
	var group sync.WaitGroup
	for range workers {
		group.Add(1)
		go func() {
			defer group.Done()
			w := make()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(w, i)
			}
		}()
	}
	group.Wait()
}

// chunk is how many rows one core takes at a time: sums over rows are those of the
// chunks, added in their order, however many cores there are.
const chunk = 4096

func (d *design) chunks() int { return max(1, (d.n+chunk-1)/chunk) }

// inChunks does the rows' work by chunks, on all cores.
func (d *design) inChunks(work func(number, from, to int)) {
	sparse.InParallel(d.chunks(), func(i int) { work(i, i*chunk, min((i+1)*chunk, d.n)) })
}
