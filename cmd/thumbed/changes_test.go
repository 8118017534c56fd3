package main

import (
	"bytes"
	"encoding/json"
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
	if code != exitDone || !strings.HasPrefix(out, "No change of level in 12 rows") {
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
		"constant":       {"wear\n1\n1\n1\n1\n", []string{"--column", "wear"}, exitNo, "all 4 values are 1"},
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
