package corpus

import (
	"fmt"
	"path/filepath"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/table/document"
)

// Is tells whether path is a corpus file, or the folder of one, and not a study.
// The error says where it could be either.
func Is(path string) (bool, error) {
	if !isFolder(path) {
		return names(path), nil
	}
	there := isFile(filepath.Join(path, FileName))
	if there && isFile(filepath.Join(path, study.FileName)) {
		return false, fmt.Errorf("%s holds a %s and a %s: give the path of the one that is meant", path, study.FileName, FileName)
	}
	return there, nil
}

// names tells whether a file, of whatever name, names folders with books.
func names(path string) bool {
	text, problem := study.ReadText(path, shape.What, FileName)
	var file struct {
		Folders any `toml:"folders"`
	}
	if problem != nil || document.Peek(text, &file) != nil { // which is told when it is read
		return filepath.Base(path) == FileName
	}
	return file.Folders != nil || filepath.Base(path) == FileName
}

// Check reads and measures all folders as [Corpus.Run] does, and looks ahead at
// what the run would stumble over in its models; nothing is fitted. The results
// hold books and failures and nothing else. The error is a [*table.Fault] with
// what is wrong with models and questions.
func (c *Corpus) Check(progress study.Progress) (*report.Corpus, error) {
	pieces := c.pieces(0, len(c.Folders), &pass{corpus: c, ahead: true}, progress)
	books, out := c.begin(pieces)
	var found study.ModelProblems
	rows := 0
	for _, b := range books {
		found = found.Add(b.stumbles...)
		rows += b.Rows
	}
	if rows > 0 { // else it is told of every folder why it has none
		pages, err := pagesOf(books, c.inquiry.Columns())
		if err != nil {
			return out, err
		}
		found = found.Add(c.inquiry.Ahead(nil, pages)...)
	}
	var ps table.Problems
	for _, st := range found {
		ps.Add(st.Told())
	}
	return out, ps.Err()
}
