package table_test

import (
	"errors"
	"math"
	"testing"

	"github.com/go-gota/gota/series"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/kniren/gota/dataframe"
	"pgregory.net/rapid"

	"thumbed/models/table"
)

func TestFrame(t *testing.T) {
	from := build(t, table.Labels("page", []string{"1r", "", "2r"}), table.Numbers("wear", []float64{0.1, math.NaN(), 2}),
		table.Cells("gold", []string{"1", "", "3"}))
	frame := from.Frame()
	if frame.Err != nil {
		t.Fatal(frame.Err)
	}
	if diff := cmp.Diff([]series.Type{series.String, series.Float, series.Float}, frame.Types()); diff != "" {
		t.Error(diff)
	}
	if frame.Nrow() != 3 || frame.Elem(2, 1).Float() != 2 || !frame.Elem(1, 1).IsNA() {
		t.Errorf("frame is %v", frame)
	}
	back, err := table.FromFrame(frame)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(cells(from), cells(back)); diff != "" {
		t.Error(diff)
	}
}

func TestFromFrame(t *testing.T) {
	frame := dataframe.New(
		series.New([]string{"1r", "NaN", "2r"}, series.String, "page"),
		series.New([]any{3, nil, 5}, series.Int, "placings"),
		series.New([]bool{true, false, true}, series.Bool, "picture"),
		series.New([]float64{0.25, math.NaN(), 1}, series.Float, "wear"))
	got, err := table.FromFrame(frame)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([][]string{{"page", "placings", "picture", "wear"},
		{"1r", "3", "yes", "0.25"}, {"", "", "no", ""}, {"2r", "5", "yes", "1"}}, cells(got)); diff != "" {
		t.Error(diff)
	}
	if !got.Column("placings").IsNumber() || got.Column("picture").IsNumber() {
		t.Error("kinds of column are lost")
	}
	_, err = table.FromFrame(dataframe.New(series.New([]float64{1, math.Inf(-1)}, series.Float, "wear")))
	if err == nil || err.Error() != "column wear, row 2: found -Inf; expected a finite number; mend or drop the row" {
		t.Error(err)
	}
	_, err = table.FromFrame(dataframe.DataFrame{Err: errors.New("no such column")})
	if err == nil || err.Error() != "the data frame is not usable: no such column; mend the step that made it" {
		t.Error(err)
	}
}

// There and back through a data frame a table keeps its labels and numbers.
func TestFrameRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.IntRange(1, 9).Draw(t, "rows")
		labels := rapid.SliceOfN(cell, rows, rows).Draw(t, "labels")
		numbers := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-9, 9), rapid.Just(math.NaN())), rows, rows).Draw(t, "numbers")
		made, err := table.New(table.Labels("label", labels), table.Numbers("number", numbers))
		if err != nil {
			t.Fatal(err)
		}
		back, err := table.FromFrame(made.Frame())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(labels, back.Column("label").Text()); diff != "" {
			t.Fatal(diff)
		}
		if diff := cmp.Diff(numbers, back.Column("number").Numbers, cmpopts.EquateNaNs()); diff != "" {
			t.Fatal(diff)
		}
	})
}
