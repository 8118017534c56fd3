package kernel

import (
	"fmt"
	"os"

	"github.com/janpfeifer/gonb/gonbui"
	"github.com/janpfeifer/gonb/gonbui/protocol"

	"thumbed/kernel/wire"
	"thumbed/models/study"
)

// A cell whose packages are of another version than its kernel may show what
// the kernel does not know; it says so once.
func init() {
	kernel, here := os.Getenv(wire.VersionVariable), study.ThisBuild().Program
	if kernel != "" && kernel != here {
		fmt.Fprintf(os.Stderr, "This kernel was installed by %s, and the notebook's packages are of %s. Run: thumbed kernel install\n", kernel, here)
	}
}

// send gives the notebook one output in several media types, and returns when
// it has arrived: a cell may end right after. An output with a name replaces
// the earlier one of that name.
func send(data map[protocol.MIMEType]any, name string) {
	gonbui.SendData(&protocol.DisplayData{Data: data, DisplayID: name})
	gonbui.Sync()
}
