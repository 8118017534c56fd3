package table_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"thumbed/models/table"
)

func build(t testing.TB, columns ...*table.Column) *table.Table {
	t.Helper()
	made, err := table.New(columns...)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

func TestNew(t *testing.T) {
	got := build(t, table.Labels("page", []string{"1r", "", "2r"}), table.Numbers("wear", []float64{0.1, math.NaN(), 2}))
	if got.Rows() != 3 || got.Column("none") != nil || got.Line(1) != 0 {
		t.Errorf("%d rows, line %d", got.Rows(), got.Line(1))
	}
	if diff := cmp.Diff([][]string{{"page", "wear"}, {"1r", "0.1"}, {"", ""}, {"2r", "2"}}, cells(got)); diff != "" {
		t.Error(diff)
	}
	if err := got.Add(table.Labels("own", []string{"a"})); err == nil || err.Error() != "column own has 1 rows; the table has 3" {
		t.Error(err)
	}
	if err := got.Add(table.Labels("page", []string{"a", "b", "c"})); err == nil || err.Error() != "column page stands twice in the table" {
		t.Error(err)
	}
	var empty table.Table
	if err := empty.Add(table.Numbers("x", nil)); err != nil || empty.Rows() != 0 {
		t.Error(err)
	}
}

func TestProblemEndsOnce(t *testing.T) {
	p := table.Problem{Column: "residuals", Value: "residuals", Expected: "a key", Remedy: "did you mean residual?"}
	if want := `column residuals: found "residuals"; expected a key; did you mean residual?`; p.String() != want {
		t.Error(p)
	}
}

func TestLevels(t *testing.T) {
	levels, codes := table.Labels("kind", []string{"hours", "", "psalms", "hours"}).Levels()
	if diff := cmp.Diff([]string{"hours", "psalms"}, levels); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]int32{0, -1, 1, 0}, codes); diff != "" {
		t.Error(diff)
	}
	levels, codes = table.Numbers("office_order", []float64{2, math.NaN(), 1, 2}).Levels()
	if diff := cmp.Diff([]string{"2", "1"}, levels); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]int32{0, -1, 1, 0}, codes); diff != "" {
		t.Error(diff)
	}
}

func TestSelect(t *testing.T) {
	read, _ := read("page,wear\n1r,0.1\n\n1v,0.2\n2r,0.3\n")
	got := read.Select([]int{2, 0, 2})
	if diff := cmp.Diff([][]string{{"page", "wear"}, {"2r", "0.3"}, {"1r", "0.1"}, {"2r", "0.3"}}, cells(got)); diff != "" {
		t.Error(diff)
	}
	if got.Line(0) != 5 || got.Line(1) != 2 || got.File != "log.csv" || got.Column("wear").Number(0) != 0.3 {
		t.Errorf("lines %d, %d of %s", got.Line(0), got.Line(1), got.File)
	}
	if none := read.Select(nil); none.Rows() != 0 || none.Column("page").Len() != 0 {
		t.Error("an empty selection has rows")
	}
}

func TestWriteInfinite(t *testing.T) {
	err := build(t, table.Numbers("wear", []float64{1, math.Inf(1)})).Write(&bytes.Buffer{})
	if err == nil || err.Error() != "column wear, row 2: found +Inf; expected a finite number; mend it or leave it missing (NaN)" {
		t.Error(err)
	}
}

// cell draws text such as tables hold: with commas, quotation marks, line
// feeds, letters of many scripts and digits.
var cell = rapid.Custom(func(t *rapid.T) string {
	letters := rapid.SampledFrom([]rune("ab1.-e,\"\n;'#\\ é€𝄞⁸ʳ\ufeff"))
	return strings.TrimSpace(string(rapid.SliceOfN(letters, 0, 8).Draw(t, "cell")))
})

// What is written reads back as the same table, cell by cell and number by
// number.
func TestWriteRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.IntRange(0, 12).Draw(t, "rows")
		key := make([]string, rows) // no row is wholly missing
		for i := range key {
			key[i] = "k"
		}
		written := &table.Table{}
		add := func(c *table.Column) {
			if err := written.Add(c); err != nil {
				t.Fatal(err)
			}
		}
		add(table.Labels("key", key))
		add(table.Labels("label", rapid.SliceOfN(cell, rows, rows).Draw(t, "labels")))
		finite := rapid.OneOf(rapid.Float64Range(-1e300, 1e300), rapid.Just(math.NaN()), rapid.Float64Range(-2, 2))
		add(table.Numbers("number", rapid.SliceOfN(finite, rows, rows).Draw(t, "numbers")))
		var out bytes.Buffer
		if err := written.Write(&out); err != nil {
			t.Fatal(err)
		}
		var ps table.Problems
		got := table.Read("", out.Bytes(), &ps)
		if err := ps.Err(); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(cells(written), cells(got)); diff != "" {
			t.Fatal(diff)
		}
		want := written.Column("number").Numbers
		if c := got.Column("number"); c.IsNumber() && !cmp.Equal(want, c.Numbers, cmpopts.EquateNaNs()) {
			t.Fatalf("numbers %v, not %v", c.Numbers, want)
		}
	})
}

func TestPlace(t *testing.T) {
	made, err := table.New(table.Labels("a", []string{"x", "y"}))
	if err != nil {
		t.Fatal(err)
	}
	if err := made.Place("record.xml", []int{7}); err == nil || err.Error() != "1 lines are given; the table has 2 rows" {
		t.Error(err)
	}
	if err := made.Place("record.xml", []int{7, 31}); err != nil || made.File != "record.xml" || made.Line(1) != 31 {
		t.Errorf("%v: row 1 is of %s, line %d", err, made.File, made.Line(1))
	}
}
