package sparse

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// InParallel calls work for every i in [0, n), over the cores. It is for inner
// loops: what one core does needs no other.
func InParallel(n int, work func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers <= 1 {
		for i := range n {
			work(i)
		}
		return
	}
	var taken atomic.Int64
	var group sync.WaitGroup
	for range workers {
		group.Go(func() {
			for i := int(taken.Add(1)) - 1; i < n; i = int(taken.Add(1)) - 1 {
				work(i)
			}
		})
	}
	group.Wait()
}
