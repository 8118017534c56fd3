package traces

import (
	"math"
	"strings"
	"testing"

	"thumbed/models/table"
)

// TestWeightedKappaOfCohen: the example of Cohen (1968), table 1, which weighs
// disagreements of three diagnoses of 200 patients by 0, 1, 3; 1, 0, 6; 3, 6, 0: kappa
// weighted 0.348, unweighted 0.492 (as the documentation of R's psych, cohen.kappa, has
// the table and both; see testdata/reference/traces).
func TestWeightedKappaOfCohen(t *testing.T) {
	table := [][]int{{88, 14, 18}, {10, 40, 10}, {2, 6, 12}}
	cost := [3][3]float64{{0, 1, 3}, {1, 0, 6}, {3, 6, 0}}
	kappa, _ := weightedKappa(table, func(i, j, _ int) float64 { return cost[i][j] })
	near(t, "weighted", kappa, 0.348, 0.0005)
	kappa, _ = weightedKappa(table, func(i, j, _ int) float64 {
		if i == j {
			return 0
		}
		return 1
	})
	near(t, "unweighted", kappa, 0.492, 0.0005)
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, not %v", what, got, want)
	}
}

// TestAlphaOfKrippendorff: the reliability data of four observers and twelve units,
// some missing, of Krippendorff (2011, Computing Krippendorff's alpha-reliability,
// example C and the sections on other metrics): nominal 0.743, ordinal 0.815, ratio
// 0.797 (from memory).
func TestAlphaOfKrippendorff(t *testing.T) {
	units := [][]float64{{1, 1, 1}, {2, 2, 3, 2}, {3, 3, 3, 3}, {3, 3, 3, 3}, {2, 2, 2, 2}, {1, 2, 3, 4}, {4, 4, 4, 4}, {1, 1, 2, 1}, {2, 2, 2, 2}, {5, 5, 5}, {1, 1}, {3}}
	near(t, "nominal", newCoincidences(units, nominal).alpha(nil), 0.743, 0.0005)
	near(t, "ordinal", newCoincidences(units, ordinal).alpha(nil), 0.815, 0.0005)
	near(t, "ratio", newCoincidences(units, ratio).alpha(nil), 0.797, 0.0005)
}

// reference reads a table of testdata/reference/traces, by agreement.R.
func reference(t *testing.T, name string) *table.Table {
	t.Helper()
	var ps table.Problems
	out := table.ReadFile("../../testdata/reference/traces/"+name, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}

// TestKappaOfThePackages: kappa and its standard error of two published tables are those
// of vcd, to ten digits.
func TestKappaOfThePackages(t *testing.T) {
	cells, want := reference(t, "tables.csv"), reference(t, "agreement.csv")
	tables := map[string][][]int{}
	for i := range cells.Rows() {
		of := cells.Column("of").Label(i)
		if tables[of] == nil {
			tables[of] = [][]int{make([]int, 4), make([]int, 4), make([]int, 4), make([]int, 4)}
		}
		tables[of][int(cells.Column("row").Number(i))-1][int(cells.Column("column").Number(i))-1] = int(cells.Column("n").Number(i))
	}
	unweighted := func(i, j, _ int) float64 {
		if i == j {
			return 0
		}
		return 1
	}
	linear := func(i, j, n int) float64 { return math.Abs(float64(i-j)) / float64(max(n-1, 1)) }
	weights := map[string]func(i, j, n int) float64{"squared": squared, "linear": linear, "unweighted": unweighted}
	checked := 0
	for i := range want.Rows() {
		name, by, _ := strings.Cut(want.Column("of").Label(i), " ")
		if tables[name] == nil {
			continue // Cohen's own, above
		}
		kappa, se := weightedKappa(tables[name], weights[by])
		near(t, name+" "+by, kappa, want.Column("kappa").Number(i), 1e-10)
		near(t, name+" "+by+", standard error", se, want.Column("se").Number(i), 1e-10)
		checked++
	}
	if checked != 4 {
		t.Errorf("%d checked, not 4", checked)
	}
}

// TestDriftOfTwoObservers: of differences on twelve pages the slope and its interval are
// those of lm and confint of R 4.2.2: y <- c(0,0,1,0,0.5,1,0,1,1,2,1,1.5) over
// seq(0, 1, length.out = 12) give 1.4615385 (0.4946350 to 2.4284419).
func TestDriftOfTwoObservers(t *testing.T) {
	p := Pair{One: "HB", Other: "SV", differences: map[[2]int]difference{}}
	for i, d := range []float64{0, 0, 1, 0, 0.5, 1, 0, 1, 1, 2, 1, 1.5} {
		p.differences[[2]int{0, i}] = difference{2 * d, 2, float64(i) / 11}
	}
	p.settle()
	near(t, "slope", p.Drift.Value, 1.4615385, 1e-6)
	near(t, "low", p.Drift.Low, 0.4946350, 1e-6)
	near(t, "high", p.Drift.High, 2.4284419, 1e-6)
	if !strings.Contains(p.words(), "drift apart") {
		t.Error(p.words())
	}
}
