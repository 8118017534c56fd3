package mixed_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"thumbed/models/table"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// A boundedRow is one row of an invented table: labels of two columns, a number,
// and whether the outcome is a value (""), below or above.
type boundedRow struct {
	picture, office string
	place           float64
	limit           string
}

func boundedTable(t *testing.T, rows []boundedRow) *table.Table {
	t.Helper()
	r := rand.New(rand.NewPCG(3, uint64(len(rows))))
	var picture, office, limit []string
	var place, wear []float64
	for _, row := range rows {
		picture, office, limit = append(picture, row.picture), append(office, row.office), append(limit, row.limit)
		place = append(place, row.place)
		v := 0.2 + 0.02*r.NormFloat64()
		switch row.limit {
		case "above":
			v = 0.4
		case "below":
			v = 0.05
		}
		wear = append(wear, v)
	}
	out, err := table.New(table.Labels("picture", picture), table.Labels("office", office), table.Labels("limit", limit),
		table.Numbers("place", place), table.Numbers("wear", wear))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// repeated gives n rows alike, with places of their own.
func repeated(n int, row boundedRow) []boundedRow {
	out := make([]boundedRow, n)
	for i := range out {
		out[i] = row
		if out[i].place == 0 {
			out[i].place = float64(i%5) / 5
		}
	}
	return out
}

func joined(parts ...[]boundedRow) []boundedRow {
	var out []boundedRow
	for _, part := range parts {
		out = append(out, part...)
	}
	return out
}

// TestOnlyBoundsSpeak: an effect that only bounds on one side speak of is refused
// in words that name it; one that bounds hold from both sides is fitted.
func TestOnlyBoundsSpeak(t *testing.T) {
	plain := joined(repeated(20, boundedRow{"no", "Matins", 0, ""}), repeated(20, boundedRow{"no", "Lauds", 0, ""}))
	mixedOffices := joined(plain, repeated(20, boundedRow{"yes", "Matins", 0, ""}))
	for _, c := range []struct {
		name, fixed string
		rows        []boundedRow
		want        []string // empty: is fitted
	}{
		{"all above", `["picture"]`, joined(plain, repeated(10, boundedRow{"yes", "Matins", 0, "above"})),
			[]string{"picture=yes", "all 10 rows are at or above their limit", "(0.4)", "one side only"}},
		{"all below", `["picture", "office"]`, joined(plain, repeated(7, boundedRow{"yes", "Lauds", 0, "below"})),
			[]string{"picture=yes", "all 7 rows are at or below their limit", "(0.05)"}},
		{"two effects at once", `["picture", "office"]`, joined(plain, repeated(4, boundedRow{"yes", "Lauds", 0, "below"}), repeated(5, boundedRow{"no", "Prime", 0, "above"})),
			[]string{"all 4 rows are at or below", "all 5 rows are at or above", "office=Prime"}},
		{"the baseline", `["picture"]`, joined(repeated(6, boundedRow{"no", "Lauds", 0, "below"}), repeated(20, boundedRow{"yes", "Matins", 0, ""})),
			[]string{"picture=no", "all 6 rows are at or below"}},
		{"a product", `["picture", "office", ["picture", "office"]]`, joined(mixedOffices, repeated(5, boundedRow{"yes", "Lauds", 0, "above"})),
			[]string{"with picture=yes and office=Lauds", "all 5 rows are at or above"}},
		{"a slope and a level", `["picture", ["picture", "place"], "place"]`, joined(plain, repeated(8, boundedRow{"yes", "Matins", 0.5, "above"}), repeated(1, boundedRow{"yes", "Matins", 0.3, ""})),
			[]string{"picture=yes, picture=yes × place", "all 8 rows are at or above"}},
		{"held from both sides", `["picture"]`, joined(plain, repeated(6, boundedRow{"yes", "Matins", 0, "above"}), repeated(6, boundedRow{"yes", "Lauds", 0, "below"})), nil},
		{"one value among the bounds", `["picture"]`, joined(plain, repeated(9, boundedRow{"yes", "Matins", 0, "above"}), repeated(1, boundedRow{"yes", "Lauds", 0, ""})), nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := parse(t, "outcome = \"wear\"\nfixed = "+c.fixed+"\n[levels]\npicture = [\"no\", \"yes\"]\n[residual]\nlimits = \"limit\"\n")
			fit, err := m.Fit(boundedTable(t, c.rows))
			if len(c.want) == 0 {
				if err != nil {
					t.Fatal(err)
				}
				for _, f := range fit.Fixed {
					if math.Abs(f.Estimate) > 1 || !(f.SE > 0 && f.SE < 1) {
						t.Errorf("%+v", f)
					}
				}
				return
			}
			var fault *table.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("not refused: %v", err)
			}
			for _, want := range c.want {
				if !strings.Contains(err.Error(), want) {
					t.Errorf("lacks %q: %v", want, err)
				}
			}
		})
	}
}

// TestSeparationAgainstLinearProgramme: on random designs of numbers, in which
// only a few rows are values, a model is refused for separation exactly where
// gonum's simplex finds a direction along which no value moves and no bound
// moves to its closed side.
func TestSeparationAgainstLinearProgramme(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 8))
	refused, fitted := 0, 0
	for trial := range 300 {
		const p = 4 // with the intercept
		values := 3 + r.IntN(3)
		n := values + 3 + r.IntN(5)
		names := []string{"a", "b", "c"}
		columns := [][]float64{make([]float64, n), make([]float64, n), make([]float64, n)}
		wear, limit := make([]float64, n), make([]string, n)
		for i := range n {
			for _, c := range columns {
				c[i] = float64(r.IntN(5) - 2)
			}
			wear[i] = r.NormFloat64()
			if i >= values {
				limit[i] = []string{"below", "above"}[r.IntN(2)]
			} else if i > 0 { // values that say little: alike in most columns
				columns[0][i] = columns[0][0]
				columns[1][i] = columns[1][0] + float64(i%2)
			}
		}
		data, err := table.New(table.Numbers("a", columns[0]), table.Numbers("b", columns[1]), table.Numbers("c", columns[2]), table.Numbers("wear", wear), table.Labels("limit", limit))
		if err != nil {
			t.Fatal(err)
		}
		m := parse(t, fmt.Sprintf("outcome = \"wear\"\nfixed = [%q, %q, %q]\n[residual]\nlimits = \"limit\"\n", names[0], names[1], names[2]))
		_, err = m.Fit(data)
		x := func(i, j int) float64 {
			if j == 0 {
				return 1
			}
			return columns[j-1][i]
		}
		says := err != nil && strings.Contains(err.Error(), "one side only")
		if err != nil && (strings.Contains(err.Error(), "told apart") || strings.Contains(err.Error(), "is zero in every row")) {
			continue // collinear
		}
		if want := separatedByProgramme(t, x, n, p, limit); says != want {
			t.Errorf("trial %d: refused %v, by the linear programme %v (%v)", trial, says, want, err)
		}
		if says {
			refused++
		} else {
			fitted++
		}
	}
	t.Logf("%d separated, %d not", refused, fitted)
	if refused < 30 || fitted < 30 {
		t.Errorf("%d separated, %d not: the designs do not put it to the test", refused, fitted)
	}
}

// separatedByProgramme maximises the sum of the bounds' movements to their open
// side over directions in the unit cube: above 0 where they are separated.
func separatedByProgramme(t *testing.T, x func(i, j int) float64, n, p int, limit []string) bool {
	t.Helper()
	cost := make([]float64, p)
	var g, h []float64
	for i := range n {
		row := make([]float64, p)
		for j := range p {
			row[j] = x(i, j)
		}
		switch limit[i] {
		case "":
			// as two inequalities, so that rows may depend on each other
			g, h = append(g, row...), append(h, 0)
			for j := range row {
				row[j] = -row[j]
			}
		case "above":
			for j := range row {
				row[j] = -row[j]
				cost[j] += row[j]
			}
		default:
			for j := range row {
				cost[j] += row[j]
			}
		}
		g, h = append(g, row...), append(h, 0)
	}
	for j := range p {
		for _, s := range []float64{1, -1} {
			row := make([]float64, p)
			row[j] = s
			g, h = append(g, row...), append(h, 1)
		}
	}
	c, eq, rhs := lp.Convert(cost, mat.NewDense(len(h), p, g), h, nil, nil)
	best, _, err := lp.Simplex(c, eq, rhs, 1e-10, nil)
	if err != nil {
		t.Fatal(err)
	}
	return best < -1e-7
}

// TestRefitOfBoundsAlone: an outcome in which every page with a picture is at the
// limit is not refitted to; the one before it and the one after are.
func TestRefitOfBoundsAlone(t *testing.T) {
	data := simulate(3, 5, 40, 3, usualTruth)
	fit := fitted(t, parse(t, floorModel+"[residual]\nlimit = 1\n"), data)
	wear, picture := data.Column("wear").Numbers, data.Column("picture")
	sunk := make([]float64, len(wear))
	for i, v := range wear {
		sunk[i] = v
		if picture.Label(i) == "yes" {
			sunk[i] = 0.5
		}
	}
	r := fit.Refitter()
	for _, outcome := range [][]float64{wear, sunk, wear} {
		refit, err := r.Refit(outcome)
		if &outcome[0] == &sunk[0] {
			if err == nil || !strings.Contains(err.Error(), "nothing but bounds on one side") {
				t.Errorf("refitted: %+v, %v", refit, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		near(t, "picture", refit.Fixed[1], fit.Fixed[1].Estimate, 1e-4, 0)
	}
}
