package study

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
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

// A crew works through parts on several processors.
type crew struct {
	progress Progress
	total    int

	lock   sync.Mutex
	done   int
	broken string // the first panic, with its stack
}

// RunAll runs the parts on all processors. Where one panics, RunAll does so
// when the others have ended. progress may be nil.
func RunAll(parts []Part, progress Progress) {
	c := &crew{progress: progress, total: len(parts)}
	next := make(chan Part)
	var workers sync.WaitGroup
	for range min(len(parts), runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for p := range next {
				c.run(p)
			}
		})
	}
	for _, p := range parts {
		next <- p
	}
	close(next)
	workers.Wait()
	if c.broken != "" {
		panic(c.broken)
	}
}

func (c *crew) run(p Part) {
	defer c.end(p)
	p.Do()
}

// end is deferred by run: it takes up a panic or tells that the part is done.
func (c *crew) end(p Part) {
	fault := recover()
	c.lock.Lock()
	defer c.lock.Unlock()
	if fault != nil {
		if c.broken == "" {
			c.broken = fmt.Sprintf("%s: %v\n%s", p.Name, fault, debug.Stack())
		}
		return
	}
	c.done++
	if c.progress != nil {
		c.progress(c.done, c.total, p.Name)
	}
}
