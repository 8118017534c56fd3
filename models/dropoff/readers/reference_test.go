package readers

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/table"
	"thumbed/models/table/tabletest"
)

// Published points and what the reference library makes of them; the sources
// stand in testdata/reference/readers/make.R.
const reference = "../../../testdata/reference/readers"

func readTable(t *testing.T, name string) *table.Table {
	t.Helper()
	return tabletest.Read(t, filepath.Join(reference, name))
}

func published(t *testing.T, name string) *cloud {
	t.Helper()
	data := readTable(t, name+".csv")
	c := newCloud(data.Rows(), 2)
	for i := range c.n {
		c.point(i)[0], c.point(i)[1] = data.Column("x").Number(i), data.Column("y").Number(i)
	}
	return c
}

// near tells whether two numbers agree to the digits that the reference files
// give.
func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*(1+math.Abs(b)) }

func TestPartitionsAgainstReference(t *testing.T) {
	medoid := map[string]map[int]map[int]int{} // set, groups, point
	rows := readTable(t, "partitions.csv")
	for i := range rows.Rows() {
		set, k := rows.Column("set").Label(i), int(rows.Column("k").Number(i))
		if medoid[set] == nil {
			medoid[set] = map[int]map[int]int{}
		}
		if medoid[set][k] == nil {
			medoid[set][k] = map[int]int{}
		}
		medoid[set][k][int(rows.Column("row").Number(i))-1] = int(rows.Column("medoid").Number(i)) - 1
	}
	objectives := readTable(t, "objectives.csv")
	for i := range objectives.Rows() {
		set, k := objectives.Column("set").Label(i), int(objectives.Column("k").Number(i))
		c := published(t, set)
		p := c.part(k, nil)
		if want := objectives.Column("objective").Number(i); !near(p.cost/float64(c.n), want) {
			t.Errorf("%s in %d groups: mean distance %.10g; expected %.10g", set, k, p.cost/float64(c.n), want)
		}
		// Either point of a group of two may stand for it: which are together counts.
		for a := range c.n {
			for b := range a {
				if got, want := p.of[a] == p.of[b], medoid[set][k][a] == medoid[set][k][b]; got != want {
					t.Errorf("%s in %d groups: points %d and %d together: %v; expected %v", set, k, a+1, b+1, got, want)
				}
			}
		}
	}
}

func TestGapsAgainstReference(t *testing.T) {
	rows := readTable(t, "gaps.csv")
	const drawn = 400
	o := Options{References: drawn, Seed: 1}
	o.complete()
	got := map[string][]Gap{}
	for _, set := range []string{"ruspini", "agriculture"} {
		got[set] = published(t, set).gaps(8, o)
	}
	for i := range rows.Rows() {
		set, k := rows.Column("set").Label(i), int(rows.Column("k").Number(i))
		g := got[set][k-1]
		// The library leaves out the factor 2 of ordered pairs, which cancels in gaps.
		if want := rows.Column("logw").Number(i) + math.Ln2; !near(g.LogW, want) {
			t.Errorf("%s, %d groups: log W %.10g; expected %.10g", set, k, g.LogW, want)
		}
		// The means are of 2,000 draws and of ours: five standard errors of their difference.
		sd := rows.Column("sd").Number(i)
		if want, tolerance := rows.Column("gap").Number(i), 5*sd*math.Sqrt(1./2000+1./drawn); math.Abs(g.Gap-want) > tolerance {
			t.Errorf("%s, %d groups: gap %.4f; expected %.4f ± %.4f", set, k, g.Gap, want, tolerance)
		}
		// A standard deviation of n draws is known to 1/√(2n) of itself.
		if math.Abs(g.SE/sd-1) > 5*math.Sqrt(1./4000+1./(2*drawn)) {
			t.Errorf("%s, %d groups: standard error %.4f; expected %.4f", set, k, g.SE, sd)
		}
	}
	// Ruspini's points are the usual example of four groups; the twelve countries
	// are two to the eye (Kaufman and Rousseeuw 1990, p. 299), which so few do not
	// bear out.
	for set, want := range map[string]int{"ruspini": 4, "agriculture": 1} {
		if k := chosen(got[set]); k != want {
			t.Errorf("%s: %d groups are chosen; expected %d", set, k, want)
		}
	}
}

// Kinds that are known, in published measurements (testdata/reference/readers/make.R has
// the sources): where species stand apart with a gap they are told, where they overlap
// they are not, and what differs by degrees, as the size of crabs does, is told by its
// axis, which is the first principal one.
func TestPublishedKinds(t *testing.T) {
	read := func(name string) (shapes []Shape, kind map[string]string) {
		rows := readTable(t, name)
		kind = map[string]string{}
		for i := range rows.Rows() {
			s := Shape{Name: fmt.Sprintf("%03d", i)}
			for _, c := range rows.Columns() {
				if c.Name == "kind" {
					kind[s.Name] = c.Label(i)
				} else {
					s.Values = append(s.Values, c.Number(i))
				}
			}
			shapes = append(shapes, s)
		}
		return shapes, kind
	}
	group := func(shapes []Shape) *Grouping {
		g, err := Group(shapes, Options{Seed: 1, Most: 4, References: 39, Draws: 20})
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	agree := func(g *Grouping, kind func(name string) string) float64 {
		var a, b []string
		for _, m := range g.Members {
			a, b = append(a, m.Letter), append(b, kind(m.Name))
		}
		return adjustedRand(a, b)
	}
	axes := readTable(t, "axes.csv")
	axis := func(set string, g *Grouping) {
		along, share := 0.0, 0.0
		for i, k := 0, 0; i < axes.Rows(); i++ {
			if axes.Column("set").Label(i) == set {
				along += axes.Column("axis").Number(i) * g.Continuum.Axis[k]
				share = axes.Column("share").Number(i)
				k++
			}
		}
		if math.Abs(math.Abs(along)-1) > 1e-6 || math.Abs(g.Continuum.Share-share) > 1e-6 {
			t.Errorf("%s: the axis has a cosine of %.6f with the reference's, and %.6f of the variance, there %.6f", set, along, g.Continuum.Share, share)
		}
	}

	flowers, species := read("iris.csv")
	g := group(flowers)
	axis("iris", g)
	if r := agree(g, func(name string) string { return fmt.Sprint(species[name] == "setosa") }); g.Verdict != All || len(g.Clusters) != 2 || r < 0.95 {
		t.Errorf("setosa and the rest: %s, %d groups, adjusted Rand index %.2f", g.Verdict, len(g.Clusters), r)
	}
	if g := group(flowers[50:]); g.Verdict != None { // versicolor and virginica overlap
		t.Errorf("versicolor and virginica: %s", g.Words)
	}
	crabs, form := read("crabs.csv")
	g = group(crabs)
	if axis("crabs", g); g.Verdict != None {
		t.Errorf("crabs by size: %s", g.Words)
	}
	for i := range crabs { // by their shape, as readers are
		mean := stat.Mean(crabs[i].Values, nil)
		for j := range crabs[i].Values {
			crabs[i].Values[j] /= mean
		}
	}
	g = group(crabs)
	if r := agree(g, func(name string) string { return form[name][:1] }); g.Verdict != All || len(g.Clusters) != 2 || r < 0.95 {
		t.Errorf("the species of crabs by their shape: %s, %d groups, adjusted Rand index %.2f", g.Verdict, len(g.Clusters), r)
	}
}
