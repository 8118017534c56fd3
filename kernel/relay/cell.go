package relay

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"thumbed/kernel/code"
	"thumbed/kernel/wire"
)

// What the relay reads of an execute_request.
type executeRequest struct {
	Code        string `json:"code"`
	Silent      bool   `json:"silent"`
	StopOnError bool   `json:"stop_on_error"`
}

// executeReply is an execute_reply, and its error fields an error message too.
type executeReply struct {
	Status    string   `json:"status"`
	Count     int      `json:"execution_count"`
	Name      string   `json:"ename,omitempty"`
	Value     string   `json:"evalue,omitempty"`
	Traceback []string `json:"traceback,omitempty"`
	Payload   []any    `json:"payload,omitempty"`
}

type stream struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// A cell is the one cell that gonb works on.
type cell struct {
	request     *message
	asked       executeRequest
	prepared    code.Prepared
	earlier     map[int]code.Prepared // cells of this notebook, by their count
	count       int                   // execution count, once known
	reply       *message              // gonb's, held back until all is said
	idle        *message              // likewise
	interrupted bool

	limit     int             // bytes of text that may be shown
	text      int             // shown so far
	displays  int             // bytes of figures and tables shown so far
	cut       bool            // whether the scholar was told of the limit
	panicking strings.Builder // what a dying program says to standard error
	ended     string          // how the program ended, where it did not end well
	fault     string          // the error that the cell told itself
}

func (r *relay) newCell(request *message) (*cell, error) {
	c := &cell{request: request, limit: r.settings.OutputLimit, earlier: r.ran}
	if err := request.content(&c.asked); err != nil {
		return c, err
	}
	c.prepared = r.code.Prepare(c.asked.Code)
	return c, nil
}

// sent is the request as gonb is given it.
func (c *cell) sent() *message {
	content := map[string]json.RawMessage{}
	if c.request.content(&content) != nil || c.prepared.Code == c.asked.Code {
		return c.request
	}
	content["code"] = pack(c.prepared.Code)
	return c.request.withContent(content)
}

// compiled tells whether gonb keeps what the cell declared.
func compiled(outcome executeReply) bool { return outcome.Status == "ok" || outcome.Name != notRun }

// notRun is the name of the error of a cell that cannot be compiled.
const notRun = "Not run"

// over tells whether everything of the cell has arrived.
func (c *cell) over() bool { return c.reply != nil && c.idle != nil }

// take looks at what the cell publishes, and returns what of it the notebook
// is to see now.
func (c *cell) take(m *message) []*message {
	switch m.header.Type {
	case "stream":
		return c.takeStream(m)
	case "display_data", "update_display_data", "execute_result":
		return c.takeDisplay(m)
	case "error":
		return nil // told when the cell is over, with the reply
	case "execute_input":
		var input struct {
			Count int `json:"execution_count"`
		}
		if m.content(&input) == nil {
			c.count = input.Count
			c.earlier[c.count] = c.prepared
			return []*message{m.withContent(map[string]any{"code": c.asked.Code, "execution_count": input.Count})}
		}
	}
	return []*message{m}
}

// ending is what gonb writes to standard error, as a message of its own, when
// the program of a cell has not ended well.
var ending = regexp.MustCompile(`^(?:\^C\n)?((?:exit status|signal:) [^\n]*)\n$`)

// dying is how Go's runtime begins the last words of a program.
var dying = regexp.MustCompile(`(?m)^(panic: |fatal error: |unexpected fault |SIG[A-Z]+: |runtime: out of memory|runtime: goroutine stack exceeds )`)

// longestPanic is how much of a program's last words is kept.
const longestPanic = 64 << 10

func (c *cell) takeStream(m *message) []*message {
	var s stream
	if m.content(&s) != nil {
		return []*message{m}
	}
	if s.Name == "stderr" {
		if found := ending.FindStringSubmatch(s.Text); found != nil {
			c.ended = found[1]
			return nil
		}
		if c.panicking.Len() > 0 {
			c.lastWords(s.Text)
			return nil
		}
		if at := dying.FindStringIndex(s.Text); at != nil {
			c.lastWords(s.Text[at[0]:])
			s.Text = s.Text[:at[0]]
		}
	}
	if s.Text == "" || c.cut && c.text >= c.limit {
		return nil
	}
	if c.text += len(s.Text); c.text > c.limit {
		s.Text = strings.ToValidUTF8(s.Text[:max(0, len(s.Text)-(c.text-c.limit))], "")
		c.text = c.limit
		return []*message{m.withContent(s), c.cutOff()}
	}
	return []*message{m.withContent(s)}
}

func (c *cell) lastWords(text string) {
	if room := longestPanic - c.panicking.Len(); room > 0 {
		c.panicking.WriteString(text[:min(len(text), room)])
	}
}

func (c *cell) takeDisplay(m *message) []*message {
	var shown struct {
		Data map[string]any `json:"data"`
	}
	if m.content(&shown) != nil {
		return []*message{m}
	}
	if fault, ok := shown.Data[wire.FaultType].(string); ok {
		c.fault = fault
		return nil
	}
	size := len(m.raw[3])
	if c.displays+size > c.limit*displayLimits {
		if c.cut {
			return nil
		}
		return []*message{c.cutOff()}
	}
	c.displays += size
	return []*message{m}
}

// cutOff tells that the cell shows too much.
func (c *cell) cutOff() *message {
	c.cut = true
	return answer(c.request, "stream", stream{"stderr", fmt.Sprintf(
		"\nThis cell shows more than %s; the rest is left out here. Write long output to a file, or page a table with kernel.Table.\n",
		bytesInWords(c.limit))})
}

func bytesInWords(n int) string {
	if n >= 1<<20 {
		return fmt.Sprintf("%d MB", n>>20)
	}
	return fmt.Sprintf("%d kB", n>>10)
}

// withheld is what was taken for a program's last words and was not: the cell
// ended well. It is nil where there is none.
func (c *cell) withheld() *message {
	if c.panicking.Len() == 0 || c.ended != "" || c.interrupted {
		return nil
	}
	return answer(c.request, "stream", stream{"stderr", c.panicking.String()})
}

// outcome is the reply to the cell once it is over: gonb's own where it went
// well, and otherwise the error in words.
func (c *cell) outcome() (executeReply, error) {
	var reply executeReply
	if err := c.reply.content(&reply); err != nil {
		return reply, err
	}
	reply.Count = max(reply.Count, c.count)
	switch {
	case c.interrupted:
		return c.failed(reply, "Interrupted", []string{
			"The computation was stopped. The notebook is ready for the next cell; what earlier cells declared stays."}), nil
	case c.fault != "":
		return c.failed(reply, "Error", []string{c.fault}), nil
	case c.panicking.Len() > 0 && c.ended != "":
		return c.failed(reply, "Panic", c.describePanic(c.panicking.String())), nil
	case c.ended != "":
		return c.failed(reply, "Ended", []string{describeEnd(c.ended)}), nil
	case reply.Status == "error":
		return c.failed(reply, notRun, c.describeRefusal(reply.Traceback, reply.Value)), nil
	}
	return reply, nil
}

func (c *cell) failed(reply executeReply, name string, lines []string) executeReply {
	return executeReply{Status: "error", Count: reply.Count, Name: name, Value: lines[0], Traceback: lines}
}
