package chapter

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/report"
	"thumbed/models/report/grid"
)

// Results are what can be set as a chapter: those of a study or of a corpus.
type Results interface {
	Heading() report.Meta
	Printed() []report.PrintedSection
	Methods() (paragraphs []string, cited []report.Reference)
	Files() grid.Grid
}

// Files sets the results as a chapter: contents by path, with forward slashes,
// inside the chapter's folder. Figures are those of [report.Results.Figures] as
// PDF, looked for in ../figures.
func Files(r Results) map[string][]byte {
	s := newSetter()
	sections := r.Printed()
	out := map[string][]byte{}
	for _, section := range sections {
		for _, part := range section.Parts {
			if len(part.Said) > 0 {
				out[wordsName(section, part)+".tex"] = s.wordsFile(section.Heading, part.Said)
			}
			for _, f := range part.Figures {
				out["figures/"+f.Name+".tex"] = s.figureFile(f)
			}
			for _, t := range part.Tables {
				out["tables/"+t.Name+".tex"] = s.tableFile(t)
			}
		}
	}
	paragraphs, _ := r.Methods()
	out["methods.tex"] = s.methodsFile(paragraphs)
	out["words/files.tex"] = s.wordsFile("The numbers on disk", []report.Said{{Paragraphs: []string{filesSaid}}})
	out["tables/files.tex"] = s.tableFile(r.Files())
	out["references.bib"] = bibliography(s.citedWorks())
	out["chapter.tex"] = s.mainFile(r.Heading(), sections)
	out["preamble.tex"] = s.preambleFile()
	return out
}

// wordsName names the file of what a part says, without extension.
func wordsName(section report.PrintedSection, part report.PrintedPart) string {
	if part.ID == "" {
		return "words/" + section.ID
	}
	return "words/" + section.ID + "-" + part.ID
}

// filesSaid tells an appendix where the numbers are.
const filesSaid = "Every number of this chapter, at full precision, is in results.json beside it, and the rows behind every table and figure are in the folder tables as CSV. The file record.json names the digest of each input and of each output, the program’s version and that of every module it was built of; with it the run can be repeated and compared."

// compiled are the endings of what LaTeX and BibTeX make beside chapter.tex.
var compiled = []string{"aux", "bbl", "blg", "fdb_latexmk", "fls", "log", "out", "pdf", "synctex.gz"}

// Compiled tells whether the file at path, with forward slashes, inside the
// chapter's folder is what LaTeX and BibTeX make of chapter.tex, so that it can be
// made again.
func Compiled(path string) bool {
	ending, ok := strings.CutPrefix(path, "chapter.")
	return ok && slices.Contains(compiled, ending)
}

// Write writes the chapter into dir, which must not exist. It does not clean up
// after a failure: the caller makes the folder appear whole or not at all.
func Write(r Results, dir string) error {
	for _, folder := range []string{"", "words", "figures", "tables"} {
		if err := os.Mkdir(filepath.Join(dir, folder), 0o755); err != nil {
			return err
		}
	}
	files := Files(r)
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), files[name], 0o644); err != nil {
			return err
		}
	}
	return nil
}
