// Package tabletest reads tables for the tests of other rooms.
package tabletest

import (
	"testing"

	"thumbed/models/table"
)

// Read reads the CSV file at path; the test fails where the file has a problem.
func Read(t testing.TB, path string) *table.Table {
	t.Helper()
	var problems table.Problems
	out := table.ReadFile(path, &problems)
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}
