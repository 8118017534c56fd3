package table_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/table"
)

func wrong(line int, column, value, expected string) table.Problem {
	return table.Problem{File: "log.csv", Line: line, Column: column, Value: value, Expected: expected, Remedy: "mend it"}
}

func fault(problems ...table.Problem) string {
	var ps table.Problems
	ps.Add(problems...)
	return ps.Err().Error()
}

// One slip of the pen down a whole column is one sentence.
func TestEqualFaultsAreToldOnce(t *testing.T) {
	var equal, differ, files []table.Problem
	for line := 2; line <= 805; line++ {
		equal = append(equal, wrong(line, "observer", "MT ", "a name"))
		differ = append(differ, wrong(line, "density", fmt.Sprintf("0,%d", line), "a number"))
	}
	for i := range 4 {
		files = append(files, table.Problem{File: fmt.Sprintf("%d.csv", i), Value: "x", Expected: "a file", Remedy: "mend it"})
	}
	gaps := []table.Problem{}
	for _, line := range []int{3, 7, 8, 12, 13, 14, 20, 30, 40, 50, 51} {
		gaps = append(gaps, wrong(line, "", "x", "a name"))
	}
	for _, test := range []struct {
		name     string
		problems []table.Problem
		want     []string
	}{
		{"two", equal[:2], []string{
			`log.csv, line 2, column observer: found "MT "; expected a name; mend it.`,
			`log.csv, line 3, column observer: found "MT "; expected a name; mend it.`}},
		{"three", equal[:3], []string{`log.csv, lines 2–4, column observer: found "MT "; expected a name; mend it.`}},
		{"804, and one other between", append([]table.Problem{wrong(400, "density", "", "a number")}, equal...), []string{
			`log.csv, lines 2–805, column observer: found "MT "; expected a name; mend it.`,
			`log.csv, line 400, column density: found nothing; expected a number; mend it.`}},
		{"with gaps", gaps[:5], []string{`log.csv, lines 3, 7, 8, 12 and 13: found "x"; expected a name; mend it.`}},
		{"with many gaps", gaps, []string{`log.csv, lines 3, 7, 8, 12–14, 20, 30 and 3 more: found "x"; expected a name; mend it.`}},
		{"wrong in different ways", differ[:12], []string{
			`log.csv, line 2, column density: found "0,2"; expected a number; mend it.`,
			`log.csv, line 3, column density: found "0,3"; expected a number; mend it.`,
			`log.csv, line 4, column density: found "0,4"; expected a number; mend it.`,
			`log.csv, line 5, column density: found "0,5"; expected a number; mend it.`,
			`log.csv, line 6, column density: found "0,6"; expected a number; mend it.`,
			`log.csv, line 7, column density: found "0,7"; expected a number; mend it.`,
			`log.csv, line 8, column density: found "0,8"; expected a number; mend it.`,
			`log.csv, line 9, column density: found "0,9"; expected a number; mend it.`,
			`log.csv, line 10, column density: found "0,10"; expected a number; mend it.`,
			`log.csv, line 11, column density: found "0,11"; expected a number; mend it.`,
			`log.csv, lines 12 and 13, column density: and 2 more of which the same was expected.`}},
		{"in files that are not the same", files, []string{
			`0.csv: found "x"; expected a file; mend it.`, `1.csv: found "x"; expected a file; mend it.`,
			`2.csv: found "x"; expected a file; mend it.`, `3.csv: found "x"; expected a file; mend it.`}},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, strings.Split(fault(test.problems...), "\n")); diff != "" {
				t.Error(diff)
			}
		})
	}
	if lines := strings.Split(fault(differ...), "\n"); len(lines) != 11 || !strings.HasPrefix(lines[10], "log.csv, lines 12–805, column density: and 794 more") {
		t.Errorf("%d lines, the last %s", len(lines), lines[len(lines)-1])
	}
}

// Whatever is wrong, a message has at most 51 lines on a file, and problems that
// are told singly stand in the order of their lines.
func TestFaultsAreTold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var problems []table.Problem
		for range rapid.IntRange(1, 200).Draw(t, "problems") {
			problems = append(problems, wrong(rapid.IntRange(1, 300).Draw(t, "line"), rapid.SampledFrom([]string{"", "a", "b"}).Draw(t, "column"),
				rapid.StringMatching("[xyz]{0,3}").Draw(t, "value"), rapid.SampledFrom([]string{"one", "two", "three", "four", "five"}).Draw(t, "expected")))
		}
		lines := strings.Split(fault(problems...), "\n")
		if len(lines) > 51 {
			t.Fatalf("%d lines on one file", len(lines))
		}
		before := 0
		for _, line := range lines {
			at := 0
			if n, _ := fmt.Sscanf(line, "log.csv, line %d", &at); n == 1 && at < before {
				t.Fatalf("line %d stands after line %d", at, before)
			}
			before = max(before, at)
		}
	})
}
