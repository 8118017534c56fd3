package catalogue

import (
	"fmt"
	"slices"
	"strings"
)

// An Entry is one thing that a description says, and what became of it.
type Entry struct {
	File  string // where several were read; else empty
	Line  int    // line of the file from 1; 0 where no line is told
	What  string // a phrase: the text “Calendar”
	Words string // a phrase: what became of it, or why nothing did
}

// String is the entry in one line.
func (e Entry) String() string {
	where := ""
	switch {
	case e.File != "" && e.Line > 0:
		where = fmt.Sprintf("%s, line %d: ", e.File, e.Line)
	case e.File != "":
		where = e.File + ": "
	case e.Line > 0:
		where = fmt.Sprintf("line %d: ", e.Line)
	}
	return where + e.What + ": " + e.Words
}

// An Account tells what was used of a description and what was left.
type Account struct {
	File     string
	Used     []Entry
	Inferred []Entry // what the description does not state, and from what it was inferred
	Left     []Entry // with the reason, and what the scholar can do
	Notes    []Entry // what to know of how things were read
	Texts    []Text  // that have a place, wholes before their parts
}

// Use enters what was used.
func (a *Account) Use(line int, what, format string, args ...any) {
	a.Used = append(a.Used, Entry{Line: line, What: what, Words: fmt.Sprintf(format, args...)})
}

// Infer enters what the description does not state, and from what it was inferred.
func (a *Account) Infer(line int, what, format string, args ...any) {
	a.Inferred = append(a.Inferred, Entry{Line: line, What: what, Words: fmt.Sprintf(format, args...)})
}

// Leave enters what was left, and why.
func (a *Account) Leave(line int, what, format string, args ...any) {
	a.Left = append(a.Left, Entry{Line: line, What: what, Words: fmt.Sprintf(format, args...)})
}

// Note enters something to know.
func (a *Account) Note(line int, what, format string, args ...any) {
	a.Notes = append(a.Notes, Entry{Line: line, What: what, Words: fmt.Sprintf(format, args...)})
}

// Merged is one account of several files, whose entries name theirs.
func Merged(accounts []*Account) *Account {
	if len(accounts) == 1 {
		return accounts[0]
	}
	all := &Account{File: Count(len(accounts), "file", "files")}
	named := func(entries []Entry, file string) []Entry {
		out := slices.Clone(entries)
		for i := range out {
			out[i].File = file
		}
		return out
	}
	for _, a := range accounts {
		all.Used = append(all.Used, named(a.Used, a.File)...)
		all.Inferred = append(all.Inferred, named(a.Inferred, a.File)...)
		all.Left = append(all.Left, named(a.Left, a.File)...)
		all.Notes = append(all.Notes, named(a.Notes, a.File)...)
		all.Texts = append(all.Texts, a.Texts...)
	}
	return all
}

// String is the account as a plain list.
func (a *Account) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "What was made of %s\n", a.File)
	for _, part := range []struct {
		head, none string
		entries    []Entry
	}{
		{"Used", "nothing", a.Used},
		{"Inferred, for you to check", "nothing", a.Inferred},
		{"Left, for you to look at", "nothing", a.Left},
		{"To know", "nothing more", a.Notes},
	} {
		fmt.Fprintf(&b, "\n%s (%d):\n", part.head, len(part.entries))
		if len(part.entries) == 0 {
			fmt.Fprintf(&b, "  %s\n", part.none)
		}
		for _, e := range part.entries {
			fmt.Fprintf(&b, "  %s\n", e)
		}
	}
	return b.String()
}

// Summary is the account in a few lines: how much was used, and all that was
// left, at most so many entries.
func (a *Account) Summary(most int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s used, %s inferred and %s left.\n", Count(len(a.Used), "thing was", "things were"), Count(len(a.Inferred), "was", "were"), Count(len(a.Left), "was", "were"))
	for i, e := range a.Left {
		if i == most {
			fmt.Fprintf(&b, "  and %d more\n", len(a.Left)-most)
			break
		}
		fmt.Fprintf(&b, "  left: %s\n", e)
	}
	return b.String()
}
