package report

import "reflect"

// The shapes of the files of numbers, for the pages that document them: of
// [Results.JSON], [Corpus.JSON] and [Plan.JSON].
var (
	NumbersShape       = reflect.TypeFor[studyFile]()
	CorpusNumbersShape = reflect.TypeFor[corpusFile]()
	PlanNumbersShape   = reflect.TypeFor[planNumbers]()
)

// studyFile and corpusFile are the shapes as [writeJSON] writes them.
type (
	studyFile struct {
		studyNumbers
		Missing []missingNumber `json:"missing"`
	}
	corpusFile struct {
		corpusNumbers
		Missing []missingNumber `json:"missing"`
	}
)
