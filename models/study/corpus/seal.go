package corpus

import (
	"time"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
)

// WriteSeal seals the questions and models of a corpus as they stand, as
// [study.WriteSeal] does those of a study. The folders with the books must be there,
// since models speak of the columns of their pages; readings need not.
func WriteSeal(path string, now time.Time) (written, sum string, err error) {
	c, err := Open(path)
	if err != nil {
		return "", "", err
	}
	var paths []string
	for _, folder := range c.Folders {
		var ps table.Problems // of a folder without readings, which come later
		tables, err := c.tablesIn(folder, &ps)
		if err != nil {
			return "", "", err
		}
		for _, name := range tables.Readings {
			paths = append(paths, inFolder(folder, name))
		}
	}
	there, err := study.ReadingsThere(c.path("."), paths)
	if err != nil {
		return "", "", err
	}
	return c.inquiry.WriteSeal(c.text, there, now)
}

// foresee tells each answer whether its question was sealed before the readings
// were taken. Without a seal nothing is said.
func (c *Corpus) foresee(results *report.Results, pieces []Piece) error {
	if c.seal == nil {
		return nil
	}
	var paths []string
	earlier := 0
	for _, p := range pieces {
		earlier += p.Earlier
		for _, input := range p.Inputs {
			paths = append(paths, input.Path)
		}
	}
	return c.inquiry.Preregister(c.seal, c.text, results, c.seal.Seen(paths, earlier))
}
