package relay

import (
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
)

// escapes are the terminal's colours, which stand in the way of reading.
var escapes = regexp.MustCompile("\x1b\\[[0-9;]*m")

func plain(text string) string { return escapes.ReplaceAllString(text, "") }

// cellPlace is how gonb marks the line of a cell in a stack.
var cellPlace = regexp.MustCompile(`\[\[ Cell (?:\[(\d+)\] )?Line (\d+) \]\]`)

// ownCode finds our own packages in a stack, but for those that only show.
var ownCode = regexp.MustCompile(`(?m)^(?:panic\(.*\n\t.*\n)?thumbed/models/`)

// describePanic turns the last words of a program into lines: what went wrong
// and where in the notebook. The stack is kept only where the fault is ours.
func (c *cell) describePanic(words string) []string {
	words = plain(words)
	message, stack, _ := strings.Cut(words, "\n\ngoroutine ")
	message = strings.TrimSpace(strings.TrimPrefix(message, "panic: "))
	message = strings.TrimPrefix(message, "runtime error: ")
	for sign, meaning := range exhausted {
		if strings.Contains(message, sign) {
			message = meaning
		}
	}
	message, _, _ = strings.Cut(message, "\n[signal ")                                 // the machine's own words for it
	if place := cellPlace.FindStringSubmatch(stack); place != nil && place[2] != "0" { // gonb's line 0 is one that it does not know
		message += fmt.Sprintf(" (%s)", c.place(place[1], place[2]))
	} else if line := c.prepared.Line(lineOf(stack, c.prepared.Code)); line > 0 {
		message += fmt.Sprintf(" (line %d)", line)
	}
	lines := []string{message}
	if ownCode.MatchString(stack) {
		lines = append(lines, "", "This is a fault of thumbed itself. Please report it with the lines below.", "", "goroutine "+stack)
	}
	return lines
}

// exhausted are the words of Go's runtime for a want of the machine's, and what they mean.
var exhausted = map[string]string{
	"stack overflow":         "The cell ran out of stack: a function calls itself without end, or too deep.",
	"out of memory":          outOfMemory,
	"cannot allocate memory": outOfMemory,
}

const (
	outOfMemory = "The cell ran out of memory. " + smaller
	// smaller is what helps where memory wants.
	smaller = "Try it on fewer rows, fewer replicates, or a larger machine. What earlier cells declared stays."
)

// inProgram finds the line of a cell's program in a stack.
var inProgram = regexp.MustCompile(`(\S+/main(?:_test)?\.go):(\d+)`)

// lineOf is the line of the cell's code at which a stack points, from 1; 0
// where it cannot be told. gonb marks that place itself, but misses it where
// the runtime's words reach it in pieces.
func lineOf(stack, code string) int {
	found := inProgram.FindStringSubmatch(stack)
	if found == nil {
		return 0
	}
	program, err := os.ReadFile(found[1])
	if err != nil {
		return 0
	}
	number, err := strconv.Atoi(found[2])
	lines := strings.Split(string(program), "\n")
	if err != nil || number > len(lines) {
		return 0
	}
	wanted, line := strings.TrimSpace(lines[number-1]), 0
	for i, written := range strings.Split(code, "\n") {
		if strings.TrimSpace(written) == wanted {
			if line > 0 {
				return 0 // the same words twice
			}
			line = i + 1
		}
	}
	return line
}

// place is a place in the notebook, of one in what gonb was given; no cell is the
// current one.
func (c *cell) place(cell, line string) string {
	words, prepared := "", c.prepared
	if cell != "" {
		words = "cell " + cell + ", "
		if count, err := strconv.Atoi(cell); err == nil {
			prepared = c.earlier[count]
		}
	}
	if number, err := strconv.Atoi(line); err == nil {
		line = strconv.Itoa(prepared.Line(number))
	}
	return words + "line " + line
}

// describeEnd says in words how a program ended that said nothing itself.
func describeEnd(ended string) string {
	switch {
	case strings.Contains(ended, "killed"):
		return "The system ended this cell, most often for want of memory. " + smaller
	case strings.HasPrefix(ended, "signal:"):
		return "The cell was ended from outside (" + ended + "). What earlier cells declared stays."
	}
	return "The cell ended itself with " + ended + " and gave no reason."
}

// refusedLine is one line of gonb's account of code that cannot be compiled.
var refusedLine = regexp.MustCompile(`(?s)^Cell(?:\[(\d+)\]:)? Line (\d+)\n(.*)\n([^\n]*)$`)

// notHere is how Go says that a package is not among the modules at hand.
var notHere = regexp.MustCompile(`(?:no required module provides package|cannot find module providing package) ([^\s;:]+).*$`)

// source is the file into which gonb writes the cell.
var source = regexp.MustCompile(`\S*main(?:_test)?\.go:\d+(?::\d+)?:? ?`)

// describeRefusal turns gonb's account of code that it could not run into
// lines: one a mistake, with its place in the notebook.
func (c *cell) describeRefusal(traceback []string, value string) []string {
	var lines []string
	for _, entry := range traceback {
		entry = strings.TrimRight(plain(entry), "\n ")
		if found := notHere.FindStringSubmatch(entry); found != nil {
			entry = entry[:len(entry)-len(found[0])] + fmt.Sprintf("there is no package %s here. A cell imports the packages of thumbed and of Go, and those of the libraries that thumbed is built of (thumbed version lists them)", found[1])
		} else if strings.HasPrefix(entry, "\tgo get ") {
			continue // nothing is fetched
		}
		if found := refusedLine.FindStringSubmatch(entry); found != nil {
			lines = append(lines, c.place(found[1], found[2])+": "+found[4])
			continue
		}
		if context := strings.LastIndex(entry, "\n"); context >= 0 {
			// Code with no place in the notebook is what gonb adds after it.
			entry = "at the end of the cell: " + entry[context+1:]
		}
		entry = strings.TrimSpace(source.ReplaceAllString(entry, ""))
		if entry != "" && !strings.HasPrefix(entry, "# ") && !strings.HasPrefix(entry, "exit status") && !strings.HasPrefix(entry, "failed to run") {
			lines = append(lines, entry)
		}
	}
	if len(lines) == 0 {
		lines = []string{strings.TrimSpace(plain(value))}
	}
	return lines
}
