package dropoff

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// referenceFolder holds series and values computed in R by reference.R there;
// versions.txt names the versions.
const referenceFolder = "../../testdata/reference/dropoff"

// records reads a reference table, header left out.
func records(t testing.TB, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(referenceFolder, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return all[1:]
}

func number(t testing.TB, cell string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func whole(t testing.TB, cell string) int {
	t.Helper()
	v, err := strconv.Atoi(cell)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// referenceSeries are the values of all reference series by name.
func referenceSeries(t testing.TB) map[string][]float64 {
	out := map[string][]float64{}
	for _, r := range records(t, "series.csv") {
		out[r[0]] = append(out[r[0]], number(t, r[2]))
	}
	return out
}

func independent() *float64 { return new(float64) }

// TestPartitions holds the optimal partitions by number of changes against R's
// strucchange 1.5-3, breakpoints() (Bai and Perron 2003, Journal of Applied
// Econometrics 18, 1–22): the same places, and the same residual sum of squares
// to 1e-9 relative.
func TestPartitions(t *testing.T) {
	series := referenceSeries(t)
	for _, r := range records(t, "partitions.csv") {
		name, least, changes, rss := r[0], whole(t, r[1]), whole(t, r[2]), number(t, r[4])
		found, err := Segment(Series{Values: series[name]}, Options{MinLength: least, Number: &changes, Correlation: independent()})
		if err != nil {
			t.Fatal(err)
		}
		step := found.Path[changes]
		if off := math.Abs(step.RSS/rss - 1); off > 1e-9 {
			t.Errorf("%s with %d changes: residual sum of squares %v, not %v", name, changes, step.RSS, rss)
		}
		var places []string
		for _, change := range found.Changes {
			places = append(places, strconv.Itoa(change.After))
		}
		if got := strings.Join(places, " "); got != r[3] {
			t.Errorf("%s with %d changes: after rows %s, not %s", name, changes, got, r[3])
		}
	}
}

// TestNile: the annual flow of the Nile at Aswan 1871–1970 changes once, after
// 1898 (Cobb 1978, Biometrika 65, 243–251). The levels before and after are
// 1097.75 and 849.97 (means of the published data).
func TestNile(t *testing.T) {
	s := Series{Values: referenceSeries(t)["nile"]}
	for year := 1871; year <= 1970; year++ {
		s.Labels = append(s.Labels, strconv.Itoa(year))
	}
	found, err := Segment(s, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(found.Changes) != 1 {
		t.Fatalf("%d changes, not one: %+v", len(found.Changes), found.Changes)
	}
	change := found.Changes[0]
	if change.After != 28 || change.At != "1898" {
		t.Errorf("the change is after row %d (%s), not 28 (1898)", change.After, change.At)
	}
	// Cobb's interval and the 1895–1902 of Bai's (1997) method, as strucchange's
	// confint gives it, bound what is reasonable here.
	if change.Low < 25 || change.High > 32 || change.Low > 28 || change.High < 28 {
		t.Errorf("the interval %d to %d leaves rows 25 to 32", change.Low, change.High)
	}
	if change.Probability < 0.95 {
		t.Errorf("the probability is only %v", change.Probability)
	}
	for k, mean := range []float64{1097.75, 61198.0 / 72} {
		if got := found.Levels[k].Mean; math.Abs(got-mean) > 1e-9*mean {
			t.Errorf("level %d is %v, not %v", k+1, got, mean)
		}
	}
}

// TestIntervalsAgainstReference compares the 95 % intervals of places with
// strucchange's (Bai 1997, Review of Economics and Statistics 79, 551–563):
// another method, asymptotic where ours is exact given the noise, so that only
// rough agreement can be asked, and only with the number of changes that the
// series were made with. Every interval must overlap the reference's, and be no
// longer than twice it plus 2 rows.
func TestIntervalsAgainstReference(t *testing.T) {
	made := map[string]int{"nile": 1, "short": 1, "three": 3, "heavy": 2}
	series := referenceSeries(t)
	least := map[string]int{}
	for _, r := range records(t, "partitions.csv") {
		least[r[0]] = whole(t, r[1])
	}
	compared := 0
	for _, r := range records(t, "intervals.csv") {
		name, m, place, low, high := r[0], whole(t, r[1]), whole(t, r[2]), whole(t, r[3]), whole(t, r[4])
		if made[name] != m {
			continue
		}
		found, err := Segment(Series{Values: series[name]}, Options{MinLength: least[name], Number: &m, Correlation: independent()})
		if err != nil {
			t.Fatal(err)
		}
		for _, change := range found.Changes {
			if change.After != place {
				continue
			}
			compared++
			if change.Low > high || change.High < low || change.High-change.Low > 2*(high-low)+2 {
				t.Errorf("%s, change %d of %d: rows %d to %d against the reference's %d to %d", name, place, m, change.Low, change.High, low, high)
			}
		}
	}
	if compared != 7 {
		t.Errorf("%d intervals compared, not 7", compared)
	}
}
