package deposit

import (
	"fmt"
	"path"
	"strings"

	"thumbed/models/wording"
)

// ReadmeName is the file of a bundle for people.
const ReadmeName = "README.txt"

// readme says to people what the bundle is and what can be done with it.
func (b *Bundle) readme() string {
	var s strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&s, format+"\n", args...) }
	line("%s\n", b.title())
	for _, paragraph := range strings.Split(b.description(), "\n") {
		line("%s", fill(paragraph))
	}
	line("")
	for _, c := range b.people() {
		line("By %s.", strings.Join(nonEmpty(c.Name, c.Affiliation), ", "))
	}
	if l := b.licence(); l.Address != "" {
		line("Licence: %s\n  %s", l.Name, l.Address)
	} else {
		line("No licence is stated. Ask the authors before any use beyond what the law\nallows.")
	}
	line("\nWhat is here")
	row := func(name, says string) { line("  %-24s %s", name, says) }
	for _, f := range b.files {
		if f.role != roleOutput && f.role != roleSchema && f.role != roleRecord && b.of.folder(strings.TrimPrefix(strings.TrimPrefix(f.path, b.home), "/")) == "" {
			row(f.path, f.about)
		}
	}
	if n := len(b.of.folders); n > 0 {
		row(path.Join(b.home, b.of.folders[0])+"/", plain.Replace("the tables of a folder of books; there are "+wording.Count(n, "such folder", "such folders")))
	}
	row(path.Join(b.home, "results")+"/", "what came of the run: open index.html in a browser")
	row(PackageName, "the files with their sums, the tables with their")
	row("", "schemas (Frictionless Data Package)")
	row(SumsName, "the sums of all files")
	row(CrateName, "people, books, instruments, software, and which")
	row("", "files were made from which (RO-Crate 1.1)")
	line("\nThe tables are CSV in UTF-8; what each column is stands in %s.", PackageName)
	line("\nWhat can be done with it, by %s, in this folder", b.record.Program)
	line("  thumbed bundle --check .        is every file what it was?")
	line("  %-31s do all numbers come out again?", b.rerun())
	return s.String()
}

// plain writes the spaces of typesetting as those of a typewriter.
var plain = strings.NewReplacer("\u00a0", " ", "\u202f", " ")

func nonEmpty(texts ...string) (out []string) {
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

// width is that of lines for people, in letters.
const width = 76

// fill breaks a paragraph into lines.
func fill(text string) string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			lines = append(lines, line)
			line = ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return strings.Join(append(lines, line), "\n")
}
