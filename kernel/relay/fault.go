package relay

import (
	"fmt"
	"regexp"
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
func describePanic(words string) []string {
	words = plain(words)
	message, stack, _ := strings.Cut(words, "\n\ngoroutine ")
	message = strings.TrimSpace(strings.TrimPrefix(message, "panic: "))
	message = strings.TrimPrefix(message, "runtime error: ")
	message, _, _ = strings.Cut(message, "\n[signal ") // the machine's own words for it
	if place := cellPlace.FindStringSubmatch(stack); place != nil {
		message += fmt.Sprintf(" (%s)", inCell(place[1], place[2]))
	}
	lines := []string{message}
	if ownCode.MatchString(stack) {
		lines = append(lines, "", "This is a fault of thumbed itself. Please report it with the lines below.", "", "goroutine "+stack)
	}
	return lines
}

func inCell(cell, line string) string {
	if cell == "" {
		return "line " + line
	}
	return "cell " + cell + ", line " + line
}

// describeEnd says in words how a program ended that said nothing itself.
func describeEnd(ended string) string {
	switch {
	case strings.Contains(ended, "killed"):
		return "The system ended this cell, most often for want of memory. Try it on fewer rows, fewer replicates, or a larger machine. What earlier cells declared stays."
	case strings.HasPrefix(ended, "signal:"):
		return "The cell was ended from outside (" + ended + "). What earlier cells declared stays."
	}
	return "The cell ended itself with " + ended + " and gave no reason."
}

// refusedLine is one line of gonb's account of code that cannot be compiled.
var refusedLine = regexp.MustCompile(`(?s)^Cell(?:\[(\d+)\]:)? Line (\d+)\n(.*)\n([^\n]*)$`)

// source is the file into which gonb writes the cell.
var source = regexp.MustCompile(`\S*main(?:_test)?\.go:\d+(?::\d+)?:? ?`)

// describeRefusal turns gonb's account of code that it could not run into
// lines: one a mistake, with its place in the notebook.
func describeRefusal(traceback []string, value string) []string {
	var lines []string
	for _, entry := range traceback {
		entry = strings.TrimRight(plain(entry), "\n ")
		if found := refusedLine.FindStringSubmatch(entry); found != nil {
			lines = append(lines, inCell(found[1], found[2])+": "+found[4])
			continue
		}
		entry = entry[strings.LastIndex(entry, "\n")+1:]
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
