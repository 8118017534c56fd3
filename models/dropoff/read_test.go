package dropoff_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/dropoff"
	"thumbed/models/table"
)

func read(t testing.TB, text string, c dropoff.Columns) (dropoff.Series, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "series.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return dropoff.ReadSeries(path, c)
}

func TestReadSeries(t *testing.T) {
	s, err := read(t, "page,position,wear,wear_se\n1r,1,0.31,0.02\n1v,2,0.3,0.03\n", dropoff.Columns{Values: "wear", SE: "wear_se", Position: "position"})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Values) != 2 || s.Values[1] != 0.3 || s.SE[0] != 0.02 || s.Position[1] != 2 || s.Labels[0] != "1r" {
		t.Errorf("%+v", s)
	}
}

// TestRowNames: rows are named by the column asked for, else by the first of
// labels or times, else by number.
func TestRowNames(t *testing.T) {
	for text, want := range map[string]string{
		"wear,leaf,page\n0.1,5,1r\n":  "1r",
		"wear,Year\n0.1,1898\n":       "1898",
		"wear,other\n0.1,7\n":         "1",
		"wear\n0.1\n":                 "1",
		"page,wear,year\n1r,1,1871\n": "1r",
		"book,wear,page\nA,0.1,12r\n": "12r",
		"hand,wear,page\nleft,1,12\n": "12",
	} {
		s, err := read(t, text, dropoff.Columns{Values: "wear"})
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Label(1); got != want {
			t.Errorf("%q: the first row is named %q, not %q", text, got, want)
		}
	}
	s, err := read(t, "wear,leaf,page\n0.1,5,1r\n", dropoff.Columns{Values: "wear", Label: "leaf"})
	if err != nil || s.Label(1) != "5" {
		t.Errorf("asked for leaf: %q, %v", s.Label(1), err)
	}
}

// TestReadProblems: every problem of a table comes at once, with its line, its
// column and the remedy.
func TestReadProblems(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		columns dropoff.Columns
		words   []string
	}{
		"unknown column":   {"page,wear\n1r,0.1\n", dropoff.Columns{Values: "wea"}, []string{`found "wea"`, "did you mean wear?", "page, wear"}},
		"unknown label":    {"page,wear\n1r,0.1\n", dropoff.Columns{Values: "wear", Label: "folium"}, []string{`found "folium"`, "it has page, wear"}},
		"missing cells":    {"page,wear\n1r,0.1\n1v,\n2r,\n", dropoff.Columns{Values: "wear"}, []string{"line 3, column wear: found nothing", "line 4, column wear: found nothing"}},
		"words":            {"page,wear\n1r,dark\n", dropoff.Columns{Values: "wear"}, []string{`line 2, column wear: found "dark"; expected a number`}},
		"decimal comma":    {"page,wear\n1r,\"0,31\"\n", dropoff.Columns{Values: "wear"}, []string{"0.31"}},
		"infinite":         {"page,wear\n1r,Inf\n", dropoff.Columns{Values: "wear"}, []string{`found "Inf"`}},
		"zero error":       {"page,wear,se\n1r,0.1,0\n1v,0.1,-2\n", dropoff.Columns{Values: "wear", SE: "se"}, []string{"line 2, column se: found \"0\"", "line 3, column se: found \"-2\"", "above zero"}},
		"missing error":    {"page,wear,se\n1r,0.1,\n", dropoff.Columns{Values: "wear", SE: "se"}, []string{"line 2, column se: found nothing"}},
		"unsorted":         {"p,wear\n1,0.1\n3,0.2\n2,0.3\n", dropoff.Columns{Values: "wear", Position: "p"}, []string{"line 4, column p: found \"2\"; expected a position above 3", "sort the rows"}},
		"repeated":         {"p,wear\n1,0.1\n1,0.2\n", dropoff.Columns{Values: "wear", Position: "p"}, []string{"line 3, column p: found \"1\"; expected each position once"}},
		"several problems": {"p,wear,se\n1,x,0\n1,0.2,1\n", dropoff.Columns{Values: "wear", SE: "se", Position: "p"}, []string{"line 2, column wear", "line 2, column se", "line 3, column p"}},
		"empty file":       {"", dropoff.Columns{Values: "wear"}, []string{"line of column names"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := read(t, c.text, c.columns)
			if err == nil {
				t.Fatal("it was read")
			}
			for _, words := range c.words {
				if !strings.Contains(err.Error(), words) {
					t.Errorf("%q is not in %q", words, err)
				}
			}
		})
	}
	if _, err := dropoff.ReadSeries(filepath.Join(t.TempDir(), "none.csv"), dropoff.Columns{Values: "wear"}); err == nil {
		t.Error("a file that is not there was read")
	}
	if s, err := read(t, "page,wear\n", dropoff.Columns{Values: "wear"}); err == nil && len(s.Values) > 0 {
		t.Errorf("a table without rows gave %+v", s)
	}
}

// FuzzSeries: whatever the table and the options, reading and segmenting end in
// a result that holds together or in an error.
func FuzzSeries(f *testing.F) {
	f.Add("page,position,wear,wear_se\n1r,1,0.31,0.02\n1v,2,0.3,0.03\n2r,3,0.1,0.02\n2v,5,0.12,0.02\n", 2, 0, 1.0, 2, 1, 3)
	f.Add("a,wear\n,0\n,0\n,1\n,1e99\n", 1, 5, 0.5, 0, 0, 0)
	f.Add("wear\n1\n-1e139\n3\n", 0, 1, 0.0, 1, 2, 9)
	f.Fuzz(func(t *testing.T, text string, length, most int, expected float64, broken, low, high int) {
		if len(text) > 2000 {
			return
		}
		var ps table.Problems
		tab := table.Read("series.csv", []byte(text), &ps)
		if tab == nil || ps.Len() > 0 {
			return
		}
		for _, c := range []dropoff.Columns{{Values: "wear"}, {Values: "wear", SE: "wear_se", Position: "position"}} {
			s, err := dropoff.FromTable(tab, c)
			if err != nil {
				continue
			}
			o := dropoff.Options{MinLength: length, MostChanges: most, Expected: expected}
			if broken != 0 {
				o.Breaks = []int{broken}
			}
			if low != 0 || high != 0 {
				o.Quiet = [][2]int{{low, high}}
			}
			found, err := dropoff.Segment(s, o)
			if err != nil {
				continue
			}
			for _, change := range found.Changes {
				if !(change.Probability >= 0 && change.Probability <= 1) || change.Low > change.After || change.High < change.After {
					t.Errorf("%+v", change)
				}
			}
			for _, level := range found.Levels {
				if level.Mean != level.Mean || level.SE != level.SE {
					t.Errorf("%+v", level)
				}
			}
		}
	})
}
