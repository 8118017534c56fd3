package kernel_test

import (
	"math"
	"testing"

	"github.com/go-gota/gota/series"
	"github.com/kniren/gota/dataframe"

	"thumbed/kernel"
)

func TestMeans(t *testing.T) {
	frame := dataframe.New(
		series.New([]string{"a", "b", "a", "a", "b"}, series.String, "book"),
		series.New([]float64{1, 5, 3, math.NaN(), 5}, series.Float, "wear"))
	got := kernel.Means(frame, "wear", "book")
	if books := got.Col("book").Records(); len(books) != 2 || books[0] != "a" || books[1] != "b" {
		t.Fatalf("groups: %v", books)
	}
	for i, want := range []struct{ rows, mean, sd float64 }{{2, 2, math.Sqrt2}, {2, 5, 0}} {
		rows, mean, sd := got.Col("rows").Float()[i], got.Col("mean").Float()[i], got.Col("sd").Float()[i]
		if rows != want.rows || mean != want.mean || math.Abs(sd-want.sd) > 1e-12 {
			t.Errorf("group %d: %v rows, mean %v, sd %v; want %+v", i, rows, mean, sd, want)
		}
	}
	all := kernel.Means(frame, "wear")
	if all.Nrow() != 1 || all.Col("rows").Float()[0] != 4 || all.Col("mean").Float()[0] != 3.5 {
		t.Errorf("all rows together: %v", all)
	}
}
