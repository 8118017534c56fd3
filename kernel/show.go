package kernel

import (
	"errors"
	"fmt"
	"io"

	"github.com/go-gota/gota/series"
	"github.com/kniren/gota/dataframe"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/plot"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/generalised"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/plan"
	"thumbed/models/table"
)

// Show shows values, each with the face of its kind: a study, a book, the
// measuring, a fit, drop-offs, questions and their answers, whole results, what a
// plan came to and its order of placings, tables, plots of gonum.org/v1/plot, a model
// as its TOML, matrices, and what prints in a few words. Of any other value it says
// what can be done with it. What can only be understood with the book beside it, a
// profile for example, is shown by [ShowIn].
func Show(values ...any) { ShowIn(nil, values...) }

// ShowIn shows values that speak of a study's books by their index: a profile,
// the decline along its hours, the wear of the pages.
func ShowIn(s *study.Study, values ...any) {
	for _, value := range values {
		for _, o := range Must(Faces(s, value)) {
			o.show()
		}
	}
}

// Faces is what [ShowIn] shows of a value, one output after the other; s may be
// nil for values that need no study. The error says which value needs one, or
// why a figure cannot be drawn.
func Faces(s *study.Study, value any) ([]Output, error) {
	switch v := value.(type) {
	case error:
		return nil, v
	case string:
		return textFaces(v), nil
	case *study.Study:
		return studyFaces(v), nil
	case *codex.Book:
		return bookFaces(v)
	case []*codex.Book:
		return booksFaces(v), nil
	case generalised.Result:
		return shownFaces(report.ShowFit(v))
	case *report.TraceResults:
		if s == nil {
			return nil, errors.New("traces are shown beside their books: write kernel.ShowIn(s, …) with their study")
		}
		return shownFaces(report.ShowTraces(s.Books, v, s.Labels))
	case mixed.Comparison:
		return inferenceFaces(mixed.Inferences{Comparison: &v})
	case mixed.RSquared:
		return inferenceFaces(mixed.Inferences{Shares: &v})
	case []mixed.JointTest:
		return inferenceFaces(mixed.Inferences{Tests: v})
	case []mixed.Interval:
		return inferenceFaces(mixed.Inferences{Intervals: &mixed.Intervals{Method: "profile likelihood", Parameters: v}})
	case []mixed.RowPrediction:
		return inferenceFaces(mixed.Inferences{Predictions: v})
	case mixed.Coefficient:
		return coefficientFaces("An effect", []mixed.Coefficient{v}), nil
	case []mixed.Coefficient:
		return coefficientFaces("Effects", v), nil
	case []mixed.RandomEffect:
		return modeFaces(v), nil
	case *dropoff.Changes:
		return changesFaces(v)
	case *dropoff.Shaped:
		return shapedFaces(v)
	case *dropoff.Comparison:
		return comparisonFaces(v), nil
	case *dropoff.SharedChange:
		return sharedFaces(v), nil
	case *dropoff.Difference:
		return differenceFaces(v), nil
	case hypotheses.Answer:
		return answerFaces([]hypotheses.Answer{v})
	case []hypotheses.Answer:
		return answerFaces(v)
	case *report.Results:
		return resultsFaces(v)
	case *report.Plan:
		return planFaces(v)
	case *plan.Order:
		return orderFaces(v), nil
	case report.Figure:
		o, err := figureFace(v)
		return []Output{o}, err
	case *table.Table:
		return tableFace(v), nil
	case dataframe.DataFrame:
		t, err := table.FromFrame(v)
		if err != nil {
			return nil, err
		}
		return tableFace(t), nil
	case series.Series:
		return Faces(s, dataframe.New(v))
	case mixed.Model:
		return modelFaces(v)
	case *mixed.Model:
		return modelFaces(*v)
	case *plot.Plot:
		o, err := plotFace(v)
		return []Output{o}, err
	case mat.Matrix:
		return matrixFaces(v), nil
	}
	return facesInStudy(s, value)
}

// facesInStudy shows what needs the study beside it.
func facesInStudy(s *study.Study, value any) ([]Output, error) {
	switch value.(type) {
	case *profile.Profile, *dropoff.Decline, *dropoff.Habits, *readings.Result, []readings.Wear:
		if s == nil {
			return nil, fmt.Errorf("a %T speaks of a study's books: show it with kernel.ShowIn(study, value)", value)
		}
	}
	switch v := value.(type) {
	case *profile.Profile:
		return profileFaces(s, v)
	case *dropoff.Decline:
		return shownFaces(report.ShowDropoff(s.Books[v.Book], v))
	case *dropoff.Habits:
		wear, err := s.Wear()
		if err != nil {
			return nil, err
		}
		return shownFaces(report.ShowHabits(s.Books[v.Book], v, ofBook(wear.Wear, v.Book)))
	case *readings.Result:
		return measuringFaces(s, v)
	case []readings.Wear:
		return wearFaces(s, v), nil
	case interface{ Text(io.Writer) error }:
		text, err := written(v.Text)
		return textFaces(text), err
	}
	return otherFaces(value), nil
}
