package readings

import (
	"encoding/csv"
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// layout makes pages measured again of rows of a published layout: value, page and
// the level of one source; scale brings its unit to that of densities.
func layout(rows [][3]string, scale float64) *spreadModel {
	pages, levels := map[string]int{}, map[string]int{}
	m := &spreadModel{fixed: []float64{math.NaN(), math.NaN()}}
	for _, row := range rows {
		levels[row[2]] = 0
	}
	for k, name := range slices.Sorted(maps.Keys(levels)) {
		levels[name], m.source = k, append(m.source, 0)
	}
	for _, row := range rows {
		p, known := pages[row[1]]
		if !known {
			p = len(m.pages)
			pages[row[1]], m.pages = p, append(m.pages, repeatedPage{})
		}
		value, err := strconv.ParseFloat(row[0], 64)
		if err != nil {
			panic(err)
		}
		page := &m.pages[p]
		page.values, page.variances, page.levels = append(page.values, value*scale), append(page.variances, 0), append(page.levels, []int{levels[row[2]]})
	}
	return m
}

func csvRows(t *testing.T, path string, columns ...int) (rows [][3]string) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range records[1:] {
		var row [3]string
		for k, c := range columns {
			if c >= 0 {
				row[k] = r[c]
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// Published variance components: the nested dyestuff study and the crossed gauge
// study with penicillin (Davies and Goldsmith 1972, sections 6.4 and 6.6; the values
// by lme4, see testdata/reference/mixed/*.json, where they agree with the analysis of
// variance). Both layouts are balanced, so that plates as fixed effects leave the
// estimates as they are. Tolerances: the digits to which lme4 optimises.
func TestPublishedSpreads(t *testing.T) {
	const dir = "../../testdata/reference/"
	for _, c := range []struct {
		name, file       string
		value, page, by  int
		scale            float64
		between, placing float64
	}{
		{"nested", "mixed/Dyestuff.csv", 1, -1, 0, 1e-4, 42.0005946299558, 49.5101000907292},
		{"crossed", "mixed/Penicillin.csv", 0, 1, 2, 1e-2, 1.93155878479593, 0.549923131496986},
	} {
		sd, _ := layout(csvRows(t, dir+c.file, c.value, c.page, c.by), c.scale).fit()
		near(t, c.name+": placing", sd[0]/c.scale, c.placing, 1e-5*c.placing)
		near(t, c.name+": between", sd[1]/c.scale, c.between, 1e-5*c.between)
	}
}

// An unbalanced crossed layout by the reference library: spreads, and the offsets
// given the differences.
func TestSpreadsAgreeWithTheReference(t *testing.T) {
	const dir, scale = "../../testdata/reference/readings/", 1e-2
	m := layout(csvRows(t, dir+"crossed.csv", 0, 1, 2), scale)
	sd, point := m.fit()
	for i, row := range rowsOf(t, "crossed-results.csv") {
		number := func(name string) float64 {
			v, err := strconv.ParseFloat(row[name], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		near(t, "placing", sd[0]/scale, number("residual"), 1e-5)
		near(t, "between", sd[1]/scale, number("between"), 1e-5)
		near(t, "offset of "+row["sample"], point.offsets.AtVec(i)/scale, number("offset"), 1e-5)
	}
}

// The slopes of the likelihood are its derivatives (central differences, width
// 1e-5; tolerance that of such differences).
func TestSlopesOfTheSpreads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		m := &spreadModel{source: []int{0, 0, 0, 1, 1}, fixed: []float64{math.NaN(), math.NaN(), math.NaN()}, penalised: rapid.Bool().Draw(t, "penalised")}
		for range rapid.IntRange(3, 12).Draw(t, "pages") {
			var p repeatedPage
			for range 2 + rng.IntN(2) {
				p.values = append(p.values, 0.3+0.02*rng.NormFloat64())
				p.variances = append(p.variances, 1e-4*(0.5+rng.Float64()))
				p.levels = append(p.levels, []int{rng.IntN(3), 3 + rng.IntN(2)})
			}
			m.pages = append(m.pages, p)
		}
		sd := []float64{0.003 + 0.01*rng.Float64(), 0.003 + 0.02*rng.Float64(), 0.003 + 0.02*rng.Float64()}
		at := m.at(sd, true)
		for k := range sd {
			const width = 1e-5
			side := func(sign float64) float64 {
				moved := append([]float64(nil), sd...)
				moved[k] *= math.Exp(sign * width)
				return m.at(moved, false).height
			}
			near := (side(1) - side(-1)) / (2 * width)
			if math.Abs(near-at.slope[k]) > 1e-5*(1+math.Abs(near)) {
				t.Errorf("slope %d is %g; by differences %g", k, at.slope[k], near)
			}
		}
	})
}
