package kernel

import (
	"fmt"
	"html"
	"sync"
	"time"

	"github.com/janpfeifer/gonb/gonbui"
	"github.com/janpfeifer/gonb/gonbui/protocol"
)

// patience is how long work goes on in silence before a bar is shown, and
// redrawn how often at most.
const (
	patience = time.Second
	redrawn  = 200 * time.Millisecond
)

// Progress makes a bar for long work, a bootstrap or a simulation: give the
// function that it returns to whatever tells how much is done.
//
//	results, err := s.Run(kernel.Progress("Running the study"))
//
// The bar appears after a second and is gone when all is done, so that a kept
// notebook shows no trace of it. It may be called by several goroutines.
func Progress(words string) func(done, total int, part string) {
	if !gonbui.IsNotebook {
		return func(int, int, string) {}
	}
	b := &bar{words: words, began: time.Now(), name: gonbui.UniqueId(), draw: send}
	return b.tell
}

type bar struct {
	mu    sync.Mutex
	words string
	name  string
	began time.Time
	drawn time.Time // the zero time until it is
	draw  func(data map[protocol.MIMEType]any, name string)
}

func (b *bar) tell(done, total int, part string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := time.Now()
	switch {
	case done >= total:
		if !b.drawn.IsZero() {
			b.draw(map[protocol.MIMEType]any{protocol.MIMETextHTML: "", protocol.MIMETextPlain: ""}, b.name)
			b.drawn = time.Time{}
		}
		return
	case now.Sub(b.began) < patience || now.Sub(b.drawn) < redrawn:
		return
	}
	b.drawn = now
	words := fmt.Sprintf("%s: %d of %d", b.words, done, total)
	if part != "" {
		words += ", " + part
	}
	b.draw(map[protocol.MIMEType]any{
		protocol.MIMETextHTML:  fmt.Sprintf(`<label>%s <progress value="%d" max="%d"></progress></label>`, html.EscapeString(words), done, total),
		protocol.MIMETextPlain: words,
	}, b.name)
}
