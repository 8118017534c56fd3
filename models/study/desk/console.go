package desk

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"thumbed/models/wording"
)

// A console asks, and takes a line for an answer.
type console struct{ out io.Writer }

// run asks for line after line until they end or take says so.
func (c *console) run(lines <-chan string, out io.Writer, opening func() string, prompt func(), take func(string) (end bool, err error)) error {
	c.out = out
	c.say("%s", opening())
	for {
		prompt()
		line, open := <-lines
		if !open {
			c.say("")
			return nil
		}
		end, err := take(strings.TrimSpace(line))
		if err != nil || end {
			return err
		}
	}
}

func (c *console) say(format string, args ...any) { c.ask(format+"\n", args...) }

// ask writes without ending the line. A terminal gets plain spaces.
func (c *console) ask(format string, args ...any) {
	fmt.Fprint(c.out, plainSpaces.Replace(fmt.Sprintf(format, args...)))
}

var plainSpaces = strings.NewReplacer("\u00a0", " ", "\u202f", " ")

// leftWords tell in brackets how many are left, told in words, and how long they will
// take at the pace of those that were made at these times.
func leftWords(words string, left int, times []time.Time) string {
	words = " (" + words + " left"
	if pace := pace(times); pace > 0 {
		minutes := (time.Duration(left) * pace).Round(time.Minute).Minutes()
		words += fmt.Sprintf(", about %s", wording.Count(max(1, int(minutes)), "minute", "minutes"))
	}
	return words + ")"
}

// pace is the median time between one and the next, pauses left out; 0 before five.
func pace(times []time.Time) time.Duration {
	var between []time.Duration
	for i := 1; i < len(times); i++ {
		if d := times[i].Sub(times[i-1]); d > 0 && d < 5*time.Minute {
			between = append(between, d)
		}
	}
	if len(between) < 5 {
		return 0
	}
	slices.Sort(between)
	return between[len(between)/2]
}
