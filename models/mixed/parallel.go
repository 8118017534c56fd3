package mixed

import (
	"context"
	"runtime"
	"sync/atomic"

	"golang.org/x/sync/errgroup"
)

// shareOut has pieces 0 to n-1 done over the cores, each worker doing them in room
// of its own: newWorker makes them one after the other. It ends at the first
// error, and where ctx ends.
func shareOut(ctx context.Context, n int, newWorker func() func(i int) error) error {
	group, ctx := errgroup.WithContext(ctx)
	var taken atomic.Int64
	for range min(runtime.GOMAXPROCS(0), n) {
		work := newWorker()
		group.Go(func() error {
			for {
				i := int(taken.Add(1)) - 1
				if i >= n {
					return nil
				}
				if err := ctx.Err(); err != nil {
					return err
				}
				if err := work(i); err != nil {
					return err
				}
			}
		})
	}
	return group.Wait()
}
