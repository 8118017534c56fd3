package power

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"sync"

	"golang.org/x/sync/errgroup"
)

// Pieces is the number of campaigns to draw: those of each design in turn.
func (s *Setting) Pieces() int { return len(s.Designs) * s.Replicates }

// Run draws the campaigns from (counted from 0) up to but not including to, on
// all processors, and gives what each came to, in their order. progress, where
// given, is told how many are done, from one goroutine at a time. It fails where
// the setting cannot be tried ([Setting.Check]) and where ctx ends.
func (s *Setting) Run(ctx context.Context, from, to int, progress func(done, total int)) ([]Campaign, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	if from < 0 || to < from || to > s.Pieces() {
		return nil, fmt.Errorf("campaigns %d to %d were asked for; there are %d", from, to, s.Pieces())
	}
	complete := s
	if s.Looks == nil {
		complete = s.completed()
	}
	if len(complete.Books) == 0 {
		return nil, errors.New("no book has a page that the model can speak of: a value in each of its columns")
	}
	out := make([]Campaign, to-from)
	var told sync.Mutex
	done := 0
	var campaigns errgroup.Group
	campaigns.SetLimit(runtime.GOMAXPROCS(0))
	for i := range out {
		campaigns.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			piece := from + i
			out[i] = complete.campaign(s.Designs[piece/s.Replicates], piece%s.Replicates)
			told.Lock()
			defer told.Unlock()
			if done++; progress != nil {
				progress(done, len(out))
			}
			return nil
		})
	}
	return out, campaigns.Wait()
}
