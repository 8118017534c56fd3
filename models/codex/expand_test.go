package codex_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"thumbed/models/codex"
	"thumbed/models/table"
)

func expanded(t testing.TB, text string) []codex.StatedLeaf {
	t.Helper()
	formula, err := codex.ParseFormula(text)
	if err != nil {
		t.Fatal(err)
	}
	leaves, err := formula.Leaves()
	if err != nil {
		t.Fatal(err)
	}
	return leaves
}

// Leaves worked out by hand: label, quire, state, conjugate.
func TestFormulaLeaves(t *testing.T) {
	for text, want := range map[string]string{
		"ii 1⁴ i":                            "i - - -|ii - - -|1 1 - -|2 1 - -|3 1 - -|4 1 - -|iii - - -",
		"1⁴ (wants 2)":                       "1 1 - -|- 1 lost -|2 1 - -|3 1 - -",
		"1⁴ (1 and 4 are singletons)":        "1 1 - singleton|2 1 - -|3 1 - -|4 1 - singleton",
		"1² (+1 leaf after 1, f. 1bis) 2²":   "1 1 - -|1bis 1 - singleton|2 1 - -|3 2 - -|4 2 - -",
		"1² (+1 leaf before 1)":              "1 1 - singleton|2 1 - -|3 1 - -",
		"1⁴⁻² (wants 4)":                     "1 1 - unknown|2 1 - unknown|- 1 lost unknown",
		"1⁴ (3 cancelled)":                   "1 1 - -|2 1 - -|- 1 cancelled -|3 1 - -",
		"χ1":                                 "1 χ - singleton",
		"1²⁺¹":                               "1 1 - unknown|2 1 - unknown|3 1 - unknown",
		"1⁴⁻¹":                               "1 1 - unknown|2 1 - unknown|3 1 - unknown",
		"1³":                                 "1 1 - unknown|2 1 - unknown|3 1 - unknown",
		"1² (+2 leaves after 2, 1 now lost)": "1 1 - -|2 1 - -|3 1 - singleton|- 1 lost singleton",
	} {
		var got []string
		for _, leaf := range expanded(t, text) {
			state := ""
			switch {
			case leaf.Lost:
				state = "lost"
			case leaf.Cancelled:
				state = "cancelled"
			}
			cells := []string{leaf.Label.String(), leaf.Quire, state, leaf.Conjugate}
			for i, cell := range cells {
				if cell == "" {
					cells[i] = "-"
				}
			}
			got = append(got, strings.Join(cells, " "))
		}
		if diff := cmp.Diff(want, strings.Join(got, "|")); diff != "" {
			t.Errorf("%s: %s", text, diff)
		}
	}
}

// The TEI P5 Guidelines' example of a collation, 1-3:8, 4:6, 5-13:8, makes
// 3×8 + 6 + 9×8 leaves.
func TestFormulaLeavesOfTheGuidelines(t *testing.T) {
	leaves := expanded(t, "1-3:8, 4:6, 5-13:8")
	if n := len(leaves); n != 102 || leaves[n-1].Label.Number != 102 || leaves[29].Quire != "4" || leaves[30].Quire != "5" {
		t.Errorf("%d leaves", n)
	}
}

func TestFormulaLeavesBroken(t *testing.T) {
	for text, want := range map[string]string{
		"1⁸ 2⁸ 1⁸":                          "quire 1 stands twice in the collation; give each quire a label of its own",
		"1⁴ (+1 leaf after 4, f. 2)":        "leaf 2 stands twice in the collation; give each leaf a label of its own",
		"1² (+1 leaf after 2, f. 99999) 2²": "the collation has more leaves than can be numbered; check its numbers",
	} {
		formula, err := codex.ParseFormula(text)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := formula.Leaves(); err == nil || err.Error() != want {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A book made of its own formula has that formula.
func TestFormulaLeavesRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		formula := drawBook(t).Formula()
		for i := range formula {
			for k := range formula[i].Added {
				formula[i].Added[k].Labels = nil
			}
		}
		leaves, err := formula.Leaves()
		if err != nil {
			t.Fatal(err)
		}
		flyleaves, others := formula.Counted()
		present := 0
		for _, leaf := range leaves {
			if !leaf.Gone() {
				present++
			}
		}
		if present != flyleaves+others {
			t.Fatalf("%d leaves are there, and %d and %d are counted", present, flyleaves, others)
		}
		again := bookOf(t, leaves).Formula()
		for i := range again {
			for k := range again[i].Added {
				again[i].Added[k].Labels = nil
			}
		}
		if diff := cmp.Diff(formula, again); diff != "" {
			t.Fatalf("%s: %s", formula, diff)
		}
	})
}

type fatal interface{ Fatal(...any) }

// bookOf loads a book of stated leaves.
func bookOf(t fatal, leaves []codex.StatedLeaf) *codex.Book {
	books, err := table.New(table.Labels(codex.ColumnBook, []string{"hazel"}))
	if err != nil {
		t.Fatal(err)
	}
	var ps table.Problems
	loaded := codex.FromTables(codex.Tables{Books: books, Leaves: codex.LeavesTable("hazel", leaves)}, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return loaded[0]
}

// Whatever formula can be read makes a book that can be loaded, or says why
// not.
func FuzzFormulaLeaves(f *testing.F) {
	for _, seed := range []string{"1⁸ 2⁸⁻¹ 3¹⁰⁺² iv", "1⁸ wants 2, 2⁷", "1⁸ 3 is a singleton", "ii (wants 2)", "1⁶ (+2 leaves after 5, ff. 3, 4, 1 now lost)", "[2 leaves in no known quire] 1⁸", "i i⁸ (+1 leaf before 1, f. iv)"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		formula, err := codex.ParseFormula(text)
		if err != nil {
			return
		}
		if leaves, err := formula.Leaves(); err == nil && len(leaves) > 0 {
			bookOf(t, leaves)
		}
	})
}
