package kernel

import (
	"strings"
	"testing"
	"time"

	"github.com/janpfeifer/gonb/gonbui/protocol"
)

func TestProgressShowsOnlyWhatLasts(t *testing.T) {
	var drawn []string
	b := &bar{words: "Fits", name: "x", began: time.Now(), draw: func(data map[protocol.MIMEType]any, name string) {
		drawn = append(drawn, data[protocol.MIMETextPlain].(string))
		if html := data[protocol.MIMETextHTML].(string); html != "" && !strings.Contains(html, "<progress") || name != "x" {
			t.Errorf("drawn: %q in %q", html, name)
		}
	}}
	b.tell(1, 3, "")
	b.tell(3, 3, "")
	if len(drawn) > 0 {
		t.Fatalf("work that was soon done was shown: %q", drawn)
	}
	b.began = time.Now().Add(-2 * patience)
	b.tell(1, 3, "Corvaes")
	b.tell(2, 3, "Tremele") // too soon after
	b.tell(3, 3, "")
	if strings.Join(drawn, "|") != "Fits: 1 of 3, Corvaes|" {
		t.Errorf("drawn: %q", drawn)
	}
}
