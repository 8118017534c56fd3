package corpus

import (
	"errors"
	"fmt"
	"path/filepath"

	"thumbed/models/report"
	"thumbed/models/report/chapter"
	"thumbed/models/study"
)

// Write writes the results of a run of this corpus as the folder dir: the page,
// figures/, tables/, chapter/, results.json and record.json, whole or not at all and by the
// same rules as [study.Study.Write].
func (c *Corpus) Write(results *report.Corpus, dir string) error {
	return study.WriteFolder(dir, func(fresh string) (*study.Record, error) {
		if err := results.Write(fresh); err != nil {
			return nil, err
		}
		if err := chapter.Write(results, filepath.Join(fresh, study.ChapterName)); err != nil {
			return nil, fmt.Errorf("the chapter: %w", err)
		}
		return study.NewRecord(study.OfCorpus, dir, c.Path, study.Record{StudyText: string(c.text), Inputs: c.inputs, Seeds: c.seeds(), Answers: len(results.Answers)})
	})
}

// seeds are those of all that is drawn by chance.
func (c *Corpus) seeds() []study.Seed {
	return append(c.inquiry.Seeds(), study.Seed{Of: "the comparison of readers", Seed: c.Readers.Seed})
}

// Repeat makes the recorded run of a corpus again and compares; see
// [study.Repeat].
func Repeat(path, corpusPath string, progress study.Progress) (*study.Rerun, error) {
	return study.RepeatBy(path, corpusPath, study.Again{Kind: study.OfCorpus, Name: FileName, Run: func(path string) ([]study.FileSum, []byte, error) {
		c, err := Open(path)
		if err != nil {
			return nil, nil, err
		}
		results, err := c.Run(progress)
		var incomplete *study.Incomplete
		if err != nil && !errors.As(err, &incomplete) {
			return c.inputs, nil, err
		}
		numbers, err := results.JSON()
		return c.inputs, numbers, err
	}})
}
