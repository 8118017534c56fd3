package main

import (
	"io"
	"time"

	"github.com/schollz/progressbar/v3"
)

// patience is how long a verb works in silence before it shows how far it is.
const patience = 2 * time.Second

// A progress shows on a terminal how far a long piece of work is, and shows
// nothing anywhere else or where the work is done before long.
type progress struct {
	out   io.Writer
	began time.Time
	bar   *progressbar.ProgressBar
}

func newProgress(out io.Writer) *progress {
	return &progress{out: out, began: time.Now()}
}

// tell takes the news that a part is done, as [study.Progress] gives it.
func (p *progress) tell(done, total int, part string) {
	if !isTerminal(p.out) || time.Since(p.began) < patience {
		return
	}
	if p.bar == nil {
		p.bar = progressbar.NewOptions(total, progressbar.OptionSetWriter(p.out),
			progressbar.OptionClearOnFinish(), progressbar.OptionShowCount(), progressbar.OptionSetWidth(24))
	}
	p.bar.Describe(part)
	_ = p.bar.Set(done) // a bar that cannot be drawn must not stop the work
}

// during does a piece of work of unknown length, with a sign of life if it
// takes long.
func during(out io.Writer, what string, work func()) {
	if !isTerminal(out) {
		work()
		return
	}
	ended, cleared := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(cleared)
		select {
		case <-ended:
			return
		case <-time.After(patience):
		}
		spinner := progressbar.NewOptions(-1, progressbar.OptionSetWriter(out), progressbar.OptionSetDescription(what),
			progressbar.OptionClearOnFinish(), progressbar.OptionSetElapsedTime(true))
		<-ended
		_ = spinner.Finish() // a sign that cannot be taken away must not stop the work
	}()
	work()
	close(ended)
	<-cleared
}

// end takes the bar away.
func (p *progress) end() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
