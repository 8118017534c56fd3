package study

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"

	"golang.org/x/sync/errgroup"
)

// Progress is told each time that a part of a run is done: how many of how
// many, and which. It is called by one goroutine at a time.
type Progress func(done, total int, part string)

// Of tells of parts as some of so many in all.
func (p Progress) Of(total int) Progress {
	if p == nil {
		return nil
	}
	return func(done, _ int, part string) { p(done, total, part) }
}

// after tells of parts that come after so many others.
func (p Progress) after(before int) Progress {
	if p == nil {
		return nil
	}
	return func(done, total int, part string) { p(before+done, total, part) }
}

// A Part is one piece of a run that depends on no other and writes only to its
// own place, so that the order in which parts end makes no difference.
type Part struct {
	Name string
	Do   func()
}

// RunAll runs the parts on all processors. Where one panics, RunAll does so
// when the others have ended. progress may be nil.
func RunAll(parts []Part, progress Progress) {
	var crew errgroup.Group
	crew.SetLimit(runtime.GOMAXPROCS(0))
	var lock sync.Mutex
	done := 0
	for _, p := range parts {
		crew.Go(func() error {
			if err := p.run(); err != nil {
				return err
			}
			lock.Lock()
			defer lock.Unlock()
			if done++; progress != nil {
				progress(done, len(parts), p.Name)
			}
			return nil
		})
	}
	if err := crew.Wait(); err != nil {
		panic(err.Error())
	}
}

// run does the part; the error is its panic, with the stack.
func (p Part) run() (broken error) {
	defer func() {
		if fault := recover(); fault != nil {
			broken = fmt.Errorf("%s: %v\n%s", p.Name, fault, debug.Stack())
		}
	}()
	p.Do()
	return nil
}
