package kernel

import (
	"errors"
	"fmt"

	"github.com/kniren/gota/dataframe"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
)

// Open opens a study, given its folder or its study.toml; where something is
// wrong with it, the cell ends with every problem of every file.
func Open(path string) *study.Study { return Must(study.Open(path)) }

// Frame is the study's pages as a data frame: one row a page of every leaf
// still there, with its features and its wear ([study.Study.Data]).
func Frame(s *study.Study) dataframe.DataFrame { return Must(s.Data()).Frame() }

// Looks is the study's looks at traces as a data frame: one row a kept look, with the
// features of its page ([study.Study.LookData]).
func Looks(s *study.Study) dataframe.DataFrame {
	t := Must(s.LookData())
	if t == nil {
		Check(errors.New("the study looks for no trace: name its tables of looks and describe each trace in a [[trace]]"))
	}
	return t.Frame()
}

// Traces is what was seen of the study's traces, without models: states, shares,
// agreement and prints. [ShowIn] shows it.
func Traces(s *study.Study) *report.TraceResults { return Must(s.Traces()) }

// Fit fits a model of a measure to a data frame, with what the model asks for besides
// its effects (intervals by profile, adjusted means, joint tests, predictions; see
// [mixed.Inference]) and its diagnosis; where that cannot be done, the cell ends with
// why.
func Fit(m mixed.Model, frame dataframe.DataFrame) *mixed.Fit {
	fit, ok := fitAny(m, frame).(*mixed.Fit)
	if !ok {
		Check(errors.New("the model is of no measure: fit it by kernel.FitTraces"))
	}
	return fit
}

func fitAny(m mixed.Model, frame dataframe.DataFrame) generalised.Result {
	Check(frame.Err)
	return Must(generalised.FitModel(m, Must(table.FromFrame(frame))))
}

// Compare compares two models of any kind, fitted to a data frame, by the likelihood
// ratio; where that cannot be done, the cell ends with why.
func Compare(m, other mixed.Model, frame dataframe.DataFrame) mixed.Comparison {
	Check(frame.Err)
	return Must(generalised.CompareModels(m, other, "given", Must(table.FromFrame(frame))))
}

// FitTraces fits a model of grades, of yes or no or of counts to a data frame, with
// adjusted means and diagnosis; where that cannot be done, the cell ends with why.
func FitTraces(m mixed.Model, frame dataframe.DataFrame) *generalised.Fit {
	fit, ok := fitAny(m, frame).(*generalised.Fit)
	if !ok {
		Check(errors.New("the model is of a measure: fit it by kernel.Fit, or give it a kind"))
	}
	return fit
}

// Say shows a sentence among the tables and figures, in the order of the calls;
// what is printed with fmt may come before or after them.
func Say(format string, args ...any) { Show(fmt.Sprintf(format, args...)) }
