package relay

import (
	"os"
	"strings"

	"thumbed/kernel/code"
)

// list finds packages for questions about code, as gonb would compile them.
func (s Settings) list(paths ...string) ([]code.Package, error) {
	cache, err := BuildCache()
	if err != nil {
		return nil, err
	}
	return code.ByGo(s.Go, s.Source, s.Environment(os.Environ(), os.TempDir(), cache))(paths...)
}

// help answers what could stand at a place of a cell, or what stands there. It
// answers while a cell runs, too.
func (r *relay) help(a arrival) {
	var asked struct {
		Code   string `json:"code"`
		Cursor int    `json:"cursor_pos"` // in characters
	}
	kind, content := a.message.header.Type, map[string]any{"status": "error"}
	if a.message.content(&asked) == nil {
		characters := []rune(asked.Code)
		at := min(max(asked.Cursor, 0), len(characters))
		content = r.aboutCode(kind, asked.Code, at, len(string(characters[:at])))
	}
	answer := func() { r.reply(a.socket, a.message, strings.TrimSuffix(kind, "request")+"reply", content) }
	select {
	case r.helped <- func() { r.attended(a.message, answer) }:
	case <-r.ctx.Done():
	}
}

// aboutCode is the content of the answer; the cursor is counted in characters and in bytes.
func (r *relay) aboutCode(kind, cell string, at, bytes int) map[string]any {
	content := map[string]any{"status": "ok", "metadata": struct{}{}}
	if kind == "complete_request" {
		matches, start := r.code.Complete(cell, bytes)
		content["matches"] = append([]string{}, matches...)
		content["cursor_start"], content["cursor_end"] = at-len([]rune(cell[start:bytes])), at
		return content
	}
	text, found := r.code.Inspect(cell, bytes)
	content["found"], content["data"] = found, map[string]string{}
	if found {
		content["data"] = map[string]string{"text/plain": text}
	}
	return content
}
