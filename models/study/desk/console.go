package desk

import (
	"fmt"
	"io"
	"strings"
)

// A console is what a person reads.
type console struct{ out io.Writer }

func (c *console) say(format string, args ...any) { c.ask(format+"\n", args...) }

// ask writes without ending the line. A terminal gets plain spaces.
func (c *console) ask(format string, args ...any) {
	fmt.Fprint(c.out, plainSpaces.Replace(fmt.Sprintf(format, args...)))
}

var plainSpaces = strings.NewReplacer("\u00a0", " ", "\u202f", " ")
