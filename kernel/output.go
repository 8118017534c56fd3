package kernel

import (
	"encoding/base64"
	"fmt"
	"html"
	"os"
	"strings"

	"github.com/janpfeifer/gonb/gonbui"
	"github.com/janpfeifer/gonb/gonbui/protocol"

	"thumbed/kernel/wire"
)

// An Output is one thing that a notebook shows, in every form that it may be
// wanted in. Plain is never empty: it is what a screen reader reads and what an
// export keeps that can hold nothing else.
type Output struct {
	Plain string
	HTML  string // for words and tables
	SVG   []byte // for figures; self-contained
	PNG   []byte // the same figure, for exports that draw no SVG
}

// show gives the output to the notebook, or, outside one, its plain text to
// standard output.
func (o Output) show() {
	if !gonbui.IsNotebook {
		fmt.Println(strings.TrimRight(o.Plain, "\n"))
		return
	}
	data := map[protocol.MIMEType]any{protocol.MIMETextPlain: o.Plain}
	if o.HTML != "" {
		data[protocol.MIMETextHTML] = o.HTML
	}
	if o.SVG != nil {
		data[protocol.MIMETextHTML] = o.picture()
	}
	if o.PNG != nil {
		data[protocol.MIMEImagePNG] = o.PNG
	}
	send(data, "")
}

// picture is the figure as an image within HTML. A drawing by itself would not
// outlive an export: exporters and front ends that do not trust it take its
// lines away, and leave the words. Its height is that at which two figures of one
// cell stand in the classic client without a box that scrolls.
func (o Output) picture() string {
	return fmt.Sprintf(`<img alt="%s" style="max-width:100%%;max-height:60em" src="data:image/svg+xml;base64,%s">`,
		html.EscapeString(o.Plain), base64.StdEncoding.EncodeToString(o.SVG))
}

// send gives the notebook one output in several media types, and returns when
// it has arrived: a cell may end right after. An output with a name replaces
// the earlier one of that name.
func send(data map[protocol.MIMEType]any, name string) {
	gonbui.SendData(&protocol.DisplayData{Data: data, DisplayID: name})
	gonbui.Sync()
	if err := gonbui.Error(); err != nil {
		fmt.Fprintln(os.Stderr, "The notebook cannot be reached:", err)
	}
}

// tellFault tells the notebook the error that ends the cell.
func tellFault(words string) {
	send(map[protocol.MIMEType]any{wire.FaultType: words, protocol.MIMETextPlain: words}, "")
}
