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

// end takes the bar away.
func (p *progress) end() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
