package claims

import (
	"fmt"
	"runtime"
	"slices"
	"strings"
	"time"

	"golang.org/x/sync/errgroup"

	"thumbed/models/study/portion"
)

// A Plan says how many studies of each cell are drawn.
type Plan struct {
	Main   int       // of the cells that are drawn more often: see [Cell.Main]
	Others int       // of the others
	Until  time.Time // the deadline; zero: none
	Only   string    // cells whose name holds this, or one of several with | between; empty: all
}

// A job is one study to be drawn and judged.
type job struct {
	cell Cell
	seed uint64
}

// jobs lists the studies, those of a cell with the seeds from 1. They stand in
// the order of the seeds, so that every part of the work has its share of each
// cell.
func (p Plan) jobs() []job {
	var out []job
	for seed := 1; seed <= max(p.Main, p.Others); seed++ {
		for _, c := range allCells() {
			studies := p.Others
			if c.Main {
				studies = p.Main
			}
			if seed <= studies && p.keeps(c) {
				out = append(out, job{c, uint64(seed)})
			}
		}
	}
	return out
}

// keeps tells whether the plan draws studies of the cell.
func (p Plan) keeps(c Cell) bool {
	return slices.ContainsFunc(strings.Split(p.Only, "|"), func(part string) bool { return strings.Contains(c.Name, part) })
}

// work describes the plan's work, so that its parts know each other.
func (p Plan) work(program string) portion.Work {
	return portion.Work{Verb: "claims", Of: fmt.Sprintf("%d and %d studies a cell %s", p.Main, p.Others, p.Only), Source: "models/study/claims", Program: program, Total: len(p.jobs())}
}

// Run draws and judges the studies of a portion of the plan, as many at once as
// there are processors. The outcomes stand in the order of the jobs. after is
// called, from one study at a time, when another is done; it may be nil. Studies that
// would begin after the deadline, where there is one, are not drawn and left out.
func (p Plan) Run(share portion.Portion, after func(done, of int)) []*Outcome {
	jobs := p.jobs()
	from, to := share.Pieces(len(jobs))
	jobs = jobs[from:to]
	out := make([]*Outcome, len(jobs))
	done := make(chan int)
	counted := make(chan struct{})
	go func() {
		defer close(counted)
		n := 0
		for range done {
			if n++; after != nil {
				after(n, len(jobs))
			}
		}
	}()
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i, job := range jobs {
		group.Go(func() error {
			if !p.Until.IsZero() && time.Now().After(p.Until) {
				return nil
			}
			out[i] = job.cell.draw(job.seed).judge(job.cell.Name)
			done <- i
			return nil
		})
	}
	_ = group.Wait() // no study is an error: its outcome says why it failed
	close(done)
	<-counted
	return slices.DeleteFunc(out, func(o *Outcome) bool { return o == nil })
}
