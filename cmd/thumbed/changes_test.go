package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// stepped is a series of invented wear that falls after its sixth page.
const stepped = `page,wear,wear_se
1r,0.31,0.02
1v,0.29,0.02
2r,0.30,0.02
2v,0.32,0.02
3r,0.28,0.02
3v,0.30,0.02
4r,0.11,0.02
4v,0.12,0.02
5r,0.10,0.02
5v,0.13,0.02
6r,0.12,0.02
6v,0.11,0.02
`

func callChanges(t *testing.T, text string, args ...string) (code int, stdout, stderr string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "series.csv")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	var out, failure bytes.Buffer
	code = execute(append([]string{"changes", path}, args...), &out, &failure)
	return code, out.String(), failure.String()
}

// TestChangesJSON: the keys of the design, and the change where it is.
func TestChangesJSON(t *testing.T) {
	code, out, failure := callChanges(t, stepped, "--column", "wear", "--se", "wear_se", "--json")
	if code != exitDone || failure != "" {
		t.Fatalf("exit %d, %s", code, failure)
	}
	var got struct {
		N         int
		Criterion string
		Changes   []struct {
			After, Low, High int
			At               string
			Probability      float64
		}
		Levels []struct {
			From, To int
			Mean, SE float64
		}
		Notes []string
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	if got.N != 12 || len(got.Changes) != 1 || got.Changes[0].After != 6 || got.Changes[0].At != "3v" || got.Changes[0].Probability < 0.9 {
		t.Errorf("%s", out)
	}
	if len(got.Levels) != 2 || got.Levels[1].From != 7 || got.Levels[1].To != 12 || got.Levels[0].Mean < 0.29 || got.Levels[0].Mean > 0.31 {
		t.Errorf("%s", out)
	}
}

// TestChangesText: the plain text names the page; a known break there leaves no
// change to find.
func TestChangesText(t *testing.T) {
	code, out, _ := callChanges(t, stepped, "--column", "wear", "--se", "wear_se")
	if code != exitDone || !strings.Contains(out, "After 3v (row 6)") {
		t.Errorf("exit %d\n%s", code, out)
	}
	code, out, _ = callChanges(t, stepped, "--column", "wear", "--se", "wear_se", "--break", "6")
	if code != exitDone || !strings.HasPrefix(out, "No change of level in 12 rows beside 1 known break.") || !strings.Contains(out, "Known break before 4r, after 3v (row 6): a step of") {
		t.Errorf("exit %d\n%s", code, out)
	}
}

// TestChangesOnly: one book of several, its rows counted from 1.
func TestChangesOnly(t *testing.T) {
	rows := strings.SplitAfter(stepped, "\n")
	var b strings.Builder
	b.WriteString("book," + rows[0])
	for _, book := range []string{"Alder", "Birch"} {
		for _, row := range rows[1 : len(rows)-1] {
			b.WriteString(book + "," + row)
		}
	}
	code, out, failure := callChanges(t, b.String(), "--column", "wear", "--se", "wear_se", "--only", "book=Birch")
	if code != exitDone || !strings.Contains(out, "1 change of level in 12 rows") || !strings.Contains(out, "After 3v (row 6)") {
		t.Errorf("exit %d, %s\n%s", code, failure, out)
	}
}

// tiring is a series of invented wear that is level, and from its twelfth row on
// falls evenly.
var tiring = func() string {
	var b strings.Builder
	b.WriteString("page,wear\n")
	for i := range 24 {
		wear := 0.3 + 0.004*float64(i*7%5-2) // a scatter that is no trend
		if i > 11 {
			wear -= 0.02 * float64(i-11)
		}
		fmt.Fprintf(&b, "%d%s,%.3f\n", i/2+1, []string{"r", "v"}[i%2], wear)
	}
	return b.String()
}()

// scattering is a series of one level, whose scatter grows tenfold after its
// thirtieth row.
var scattering = func() string {
	var b strings.Builder
	b.WriteString("wear\n")
	rng := rand.New(rand.NewPCG(3, 3))
	for i := range 60 {
		sd := 0.01
		if i >= 30 {
			sd = 0.1
		}
		fmt.Fprintf(&b, "%.4f\n", 1+sd*rng.NormFloat64())
	}
	return b.String()
}()

// TestChangesOfOtherKinds: each kind finds what is of its kind, and says where.
func TestChangesOfOtherKinds(t *testing.T) {
	type shaped struct {
		Shape   string
		Changes []struct{ After, Low, High int }
		Pieces  []struct {
			From, To            int
			Start, End, Scatter float64
		}
		Path []struct{ Changes int }
	}
	for name, c := range map[string]struct {
		text, kind  string
		low, high   int // within which the change lies
		words, from string
	}{
		"joined lines":      {tiring, "joined-lines", 10, 13, "The lines meet at", "joined lines"},
		"level and slope":   {tiring, "level-and-slope", 10, 14, "1 change of level and slope in 24 rows", "level and slope"},
		"level and scatter": {scattering, "level-and-scatter", 29, 31, "1 change of level and scatter in 60 rows", "level and scatter"},
	} {
		t.Run(name, func(t *testing.T) {
			code, out, failure := callChanges(t, c.text, "--column", "wear", "--of", c.kind, "--correlation", "0", "--json")
			var got shaped
			if err := json.Unmarshal([]byte(out), &got); code != exitDone || err != nil {
				t.Fatalf("exit %d, %v, %s", code, err, failure)
			}
			if got.Shape != c.from || len(got.Changes) != 1 || len(got.Pieces) != 2 || len(got.Path) < 2 {
				t.Fatalf("%s", out)
			}
			if after := got.Changes[0].After; after < c.low || after > c.high || got.Changes[0].Low > after || got.Changes[0].High < after {
				t.Errorf("a change after row %d; want %d to %d\n%s", after, c.low, c.high, out)
			}
			if code, text, _ := callChanges(t, c.text, "--column", "wear", "--of", c.kind, "--correlation", "0"); code != exitDone || !strings.Contains(text, c.words) {
				t.Errorf("exit %d\n%s", code, text)
			}
		})
	}
}

// TestChangesFull: beside the promised keys stand the probabilities of every
// place, that sum to the number expected under them, and the path with penalties
// that meet.
func TestChangesFull(t *testing.T) {
	code, out, failure := callChanges(t, stepped, "--column", "wear", "--se", "wear_se", "--json")
	if code != exitDone {
		t.Fatalf("exit %d, %s", code, failure)
	}
	var got struct {
		Each     []float64 `json:"each_probability"`
		Number   []float64 `json:"number_probability"`
		Compared struct{ Best string }
		Path     []struct {
			Changes int
			Low     *float64 `json:"penalty_low"`
			High    *float64 `json:"penalty_high"`
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	expected, sum := 0.0, 0.0
	for k, p := range got.Number {
		expected += float64(k) * p
	}
	for _, p := range got.Each {
		sum += p
	}
	if len(got.Each) != 12 || math.Abs(expected-sum) > 1e-6 || got.Compared.Best != "steps" {
		t.Errorf("%d places; %v changes expected by number, %v by place; best %q", len(got.Each), expected, sum, got.Compared.Best)
	}
	if len(got.Path) < 2 || got.Path[0].High != nil || got.Path[1].High == nil || *got.Path[1].High != *got.Path[0].Low {
		t.Errorf("%s", out)
	}
}

// TestChangesConstrained: what the scholar knows is respected.
func TestChangesConstrained(t *testing.T) {
	for name, c := range map[string]struct {
		args  []string
		words string
	}{
		"a stretch without change": {[]string{"--whole", "5-8", "--number", "1"}, "After 2v (row 4)"},
		"a stretch by pages":       {[]string{"--whole", "3r-4v", "--number", "1"}, "After 2v (row 4)"},
		"a break by its page":      {[]string{"--break", "3v"}, "No change of level in 12 rows"},
		"two stretches":            {[]string{"--whole", "1-6,7-12", "--number", "1"}, "After 3v (row 6)"},
		"a row left out":           {[]string{"--without", "3v", "--number", "1"}, "After 3r (row 5)"},
		"two rows left out, told":  {[]string{"--without", "1,3v"}, "Left out as asked: 1 and 3v."},
		"a number":                 {[]string{"--number", "0"}, "No change of level in 12 rows"},
		"a least length":           {[]string{"--min-length", "7"}, "No abrupt change of level in 12 rows"},
		"many expected":            {[]string{"--expected", "3"}, "with 3 expected in the series beforehand"},
		"at most one":              {[]string{"--most", "1"}, "After 3v (row 6)"},
	} {
		t.Run(name, func(t *testing.T) {
			code, out, failure := callChanges(t, stepped, append([]string{"--column", "wear", "--se", "wear_se"}, c.args...)...)
			if code != exitDone || !strings.Contains(out, c.words) {
				t.Errorf("exit %d, %s\n%s", code, failure, out)
			}
		})
	}
}

// TestChangesRefuses: what is wrong with the command ends with 2, what is wrong
// with the data with 1, and standard output stays empty.
func TestChangesRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		text  string
		args  []string
		code  int
		words string
	}{
		"choice":         {stepped, []string{"--column", "wear", "--only", "page"}, exitUsage, "--only book=Corvaes"},
		"several books":  {"book,wear\nAlder,1\nAlder,2\nBirch,3\n", []string{"--column", "wear"}, exitNo, "--only book=Alder"},
		"no column":      {stepped, nil, exitUsage, "--column NAME"},
		"unknown flag":   {stepped, []string{"--colum", "wear"}, exitUsage, "colum"},
		"unknown column": {stepped, []string{"--column", "waer"}, exitNo, `found "waer"`},
		"labels":         {stepped, []string{"--column", "page"}, exitNo, "expected a number"},
		"constant floor": {"wear\n0.01\n0.01\n0.01\n", []string{"--column", "wear"}, exitNo, "a finer instrument is needed"},
		"constant":       {"wear\n1\n1\n1\n1\n", []string{"--column", "wear"}, exitNo, "all 4 values are 1"},
		"kind":           {stepped, []string{"--column", "wear", "--of", "colour"}, exitUsage, "level-and-slope, joined-lines"},
		"stretch":        {stepped, []string{"--column", "wear", "--whole", "5"}, exitUsage, "--whole 20-30"},
		"unknown page":   {stepped, []string{"--column", "wear", "--break", "9r"}, exitNo, "no row is called \"9r\": give a number from 1 to 12, or a name as the rows have it, from 1r to 6v"},
		"unknown out":    {stepped, []string{"--column", "wear", "--without", "9r,13"}, exitNo, "no row has the number 13"},
		"unknown row":    {"wear\n1\n2\n3\n4\n", []string{"--column", "wear", "--whole", "1-x"}, exitNo, "rows have no names, give a number from 1 to 4"},
		"break inside":   {stepped, []string{"--column", "wear", "--whole", "3r-4v", "--break", "3v"}, exitNo, "known break after row 6 lies in the no-change zone from row 5 to row 8"},
		"stretch beyond": {stepped, []string{"--column", "wear", "--whole", "5-20"}, exitNo, "does not lie inside the series of 12 rows"},
		"break beyond":   {stepped, []string{"--column", "wear", "--break", "12"}, exitNo, "outside the series of 12 rows"},
		"floor":          {"wear,limit\n0.01,below\n0.01,below\n0.01,below\n0.01,below\n", []string{"--column", "wear"}, exitNo, "an instrument that reaches farther"},
		"all bounds":     {"wear,limit\n0.01,below\n0.012,below\n0.01,below\n0.011,below\n", []string{"--column", "wear"}, exitNo, "an instrument that reaches farther"},
		"one row":        {"wear\n1\n", []string{"--column", "wear"}, exitNo, "1 row: a change"},
		"unsorted":       {"at,wear\n1,1\n3,2\n2,4\n4,1\n", []string{"--column", "wear", "--position", "at"}, exitNo, "sort the rows by position"},
		"repeated":       {"at,wear\n1,1\n2,2\n2,4\n4,1\n", []string{"--column", "wear", "--position", "at"}, exitNo, "average the rows that share a place"},
		"zero error":     {"wear,se\n1,0\n2,0.1\n3,0.1\n4,0.1\n", []string{"--column", "wear", "--se", "se"}, exitNo, "a standard error above zero"},
		"negative error": {"wear,se\n1,0.1\n2,-0.1\n3,0.1\n4,0.1\n", []string{"--column", "wear", "--se", "se"}, exitNo, "leave --se away"},
		"too short":      {"wear\n1\n2\n3\n4\n", []string{"--column", "wear", "--min-length", "5"}, exitNo, "lower the minimum length or measure more pages"},
		"short lines":    {"wear\n1\n2\n", []string{"--column", "wear", "--of", "joined-lines"}, exitNo, "2 rows"},
		"no rows":        {"wear\n", []string{"--column", "wear"}, exitNo, "no rows"},
		"two rows":       {"wear\n1\n2\n", []string{"--column", "wear"}, exitNo, "2 rows"},
		"too many":       {stepped, []string{"--column", "wear", "--number", "12"}, exitNo, "12 changes cannot be placed"},
		"correlation":    {stepped, []string{"--column", "wear", "--correlation", "2"}, exitNo, "from 0 to 0.9"},
	} {
		t.Run(name, func(t *testing.T) {
			code, out, failure := callChanges(t, c.text, c.args...)
			if code != c.code || !strings.Contains(failure, c.words) || out != "" {
				t.Errorf("exit %d, not %d; %q; %q", code, c.code, failure, out)
			}
		})
	}
}
