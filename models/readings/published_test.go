package readings

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %.12g; expected %.12g ± %g", what, got, want, tolerance)
	}
}

// The mean of the largest of n standard normal values, to the five decimals of
// Harter (1961, Biometrika 48, 151–165, table 1); from memory.
func TestLargestMeanIsHarters(t *testing.T) {
	for n, want := range map[int]float64{2: 0.56419, 3: 0.84628, 4: 1.02938, 5: 1.16296, 6: 1.26721, 7: 1.35218, 8: 1.42360,
		9: 1.48501, 10: 1.53875, 15: 1.73591, 20: 1.86748, 25: 1.96531, 30: 2.04276, 50: 2.24907, 100: 2.50759} {
		mean, _ := Largest(n)
		near(t, "e_"+strconv.Itoa(n), mean, want, 0.5e-5)
	}
}

// The variance of the largest of n, to the digits of Sarhan and Greenberg
// (1956, Annals of Mathematical Statistics 27, 427–451, table II); from memory.
func TestLargestVarianceIsSarhanAndGreenbergs(t *testing.T) {
	for n, want := range map[int]float64{2: 0.681690, 3: 0.559467, 4: 0.491715, 5: 0.447534, 10: 0.344344} {
		_, variance := Largest(n)
		near(t, "v_"+strconv.Itoa(n), variance, want, 0.5e-6)
	}
}

// Closed forms for n up to 5 (Bose and Gupta 1959, Biometrika 46, 433–440).
// The quadrature should agree but for rounding.
func TestLargestIsExact(t *testing.T) {
	rootPi := math.Sqrt(math.Pi)
	for n, want := range map[int]float64{1: 0, 2: 1 / rootPi, 3: 1.5 / rootPi,
		4: 1.5 / rootPi * (1 + 2/math.Pi*math.Asin(1.0/3)), 5: 1.25 / rootPi * (1 + 6/math.Pi*math.Asin(1.0/3))} {
		mean, _ := Largest(n)
		near(t, "e_"+strconv.Itoa(n), mean, want, 1e-12)
	}
	_, two := Largest(2)
	near(t, "v_2", two, 1-1/math.Pi, 1e-12)
	_, three := Largest(3)
	near(t, "v_3", three, 1+math.Sqrt(3)/(2*math.Pi)-9/(4*math.Pi), 1e-12)
}

// For many spots the integral of 1 − Φ^n − (1−Φ)^n over the half-line, an
// independent formula by the trapezoidal rule (exact to rounding for a smooth
// function that dies away), must give the same.
func TestLargestOfMany(t *testing.T) {
	for _, n := range []int{2, 17, 200, mostTried} {
		const step = 1.0 / 256
		sum := 0.0
		for i := -9 * 256; i <= 9*256; i++ {
			x := float64(i) * step
			below := math.Exp(float64(n) * logPhi(x))
			if x >= 0 {
				sum += step * (1 - below)
			} else {
				sum -= step * below
			}
		}
		sum -= step / 2 // the step of the integrand at 0 counts half on each side
		mean, _ := Largest(n)
		near(t, "e_"+strconv.Itoa(n), mean, sum, 1e-9)
	}
}

// ISO 5-4 defines density by the reflectance factor; decades and their halves
// are exact.
func TestDensityIsISO5(t *testing.T) {
	for reflectance, want := range map[float64]float64{1: 0, 0.1: 1, 0.01: 2, 0.5: 0.301029995663981} {
		got, err := Density(reflectance)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "density", got, want, 1e-15)
		near(t, "reflectance", reflectanceOf(got), reflectance, 1e-15)
	}
	for _, impossible := range []float64{0, -0.1, math.NaN(), math.Inf(1)} {
		if _, err := Density(impossible); err == nil {
			t.Errorf("a reflectance factor of %g has a density", impossible)
		}
	}
}

// A tint of 0.30 under a solid of 1.40 covers 52 %, and one of 0.22 under a
// solid of 1.50 covers 41 %: reflectance worked by hand, (1−0.50119)/(1−0.03981)
// and (1−0.60256)/(1−0.03162).
func TestCoverageIsMurrayDavies(t *testing.T) {
	for _, c := range []struct{ tint, solid, want float64 }{{0.30, 1.40, 0.519488}, {0.22, 1.50, 0.410419}, {0, 1.5, 0}, {1.5, 1.5, 1}} {
		got, err := checkedCoverage(c.tint, c.solid)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "coverage", got, c.want, 1e-5)
		const h = 1e-6
		near(t, "slope", coverageSlope(c.tint, c.solid), (coverage(c.tint+h, c.solid)-coverage(c.tint-h, c.solid))/(2*h), 1e-8)
	}
	if _, err := checkedCoverage(0.3, 0); err == nil {
		t.Error("a solid of no density scales coverage")
	}
}

const reference = "../../testdata/reference/readings"

// rowsOf reads a table written by the R script in the reference folder.
func rowsOf(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(reference, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	reader := csv.NewReader(f)
	reader.TrimLeadingSpace = true
	reader.FieldsPerRecord = -1
	records, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for k, cell := range record {
			row[records[0][k]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// Means with values at a limit, against R's survival package (interval
// regression of known scale) on the durable goods of Tobin (1958) and others;
// both climb to the top, R until its step is 1e-14.
func TestLimitsAgreeWithSurvreg(t *testing.T) {
	rows := rowsOf(t, "censored.csv")
	for _, want := range rowsOf(t, "censored-results.csv") {
		sd := number(t, want["sd"])
		// The same data as one side, and as the page of a block whose zeros
		// are so many and exact that they do not count.
		var side []datum
		data := []datum{{value: 0, variance: 1e-12, zero: true}}
		for _, row := range rows {
			if row["case"] == want["case"] {
				d := datum{value: number(t, row["value"]), variance: sd * sd, limit: Limit(row["limit"])}
				side, data = append(side, d), append(data, d)
			}
		}
		mean, _, shares := sideMean(side)
		variance := 0.0
		for _, s := range shares {
			variance += s
		}
		near(t, want["case"]+": mean", mean, number(t, want["mean"]), 1e-8)
		near(t, want["case"]+": standard error", math.Sqrt(variance), number(t, want["se"]), 1e-7)
		e, ok := solve(data, 1)
		if !ok || e.limit != Measured {
			t.Fatalf("%s: no number", want["case"])
		}
		near(t, want["case"]+": wear", e.wear, number(t, want["mean"]), 1e-8)
	}
}

// levelOf makes determinations of a laboratory's results, and the pool of
// their scatter.
func levelOf(laboratories [][]float64) ([]determination, pool) {
	var repeat pool
	for _, results := range laboratories {
		repeat.add(results, 1)
	}
	var level []determination
	for _, results := range laboratories {
		mean := 0.0
		for _, v := range results {
			mean += v / float64(len(results))
		}
		level = append(level, determination{value: mean, variance: repeat.variance() / float64(len(results))})
	}
	return level, repeat
}

// Dyestuff (Davies and Goldsmith 1972) and its second set (Box and Tiao 1973),
// from R's lme4, by R's analysis of variance.
func TestBetweenIsOneWayAnalysis(t *testing.T) {
	yields := rowsOf(t, "dyestuff.csv")
	for _, want := range rowsOf(t, "dyestuff-results.csv") {
		batches := map[string][]float64{}
		var order []string
		for _, row := range yields {
			if row["set"] != want["set"] {
				continue
			}
			if batches[row["Batch"]] == nil {
				order = append(order, row["Batch"])
			}
			batches[row["Batch"]] = append(batches[row["Batch"]], number(t, row["Yield"]))
		}
		var laboratories [][]float64
		for _, batch := range order {
			laboratories = append(laboratories, batches[batch])
		}
		level, repeat := levelOf(laboratories)
		var between betweenPool
		between.add(level)
		near(t, want["set"]+": repeatability", repeat.sd(), number(t, want["within"]), 1e-6)
		near(t, want["set"]+": between", between.variance(), number(t, want["raw"]), 1e-6)
	}
}

// Glucose in serum, eight laboratories with three results each on materials A,
// C and D: the worked example of ASTM E691, whose s_r and s_R are those of
// ISO 5725-2. Data and results from memory; that the results follow from the
// data to all four decimals confirms both.
func TestReproducibilityIsE691s(t *testing.T) {
	cases := []struct {
		material                       string
		laboratories                   [][]float64
		repeatability, reproducibility float64
	}{
		{"A", [][]float64{{41.03, 41.45, 41.37}, {41.17, 42.00, 41.15}, {41.01, 40.68, 42.66}, {39.37, 42.37, 42.63},
			{41.88, 41.19, 41.32}, {43.28, 40.50, 42.28}, {41.08, 41.27, 39.02}, {43.36, 42.65, 41.72}}, 1.0632, 1.0632},
		{"C", [][]float64{{132.66, 133.83, 133.10}, {132.92, 136.90, 136.40}, {132.61, 135.80, 135.36}, {138.50, 138.30, 135.69},
			{131.90, 134.14, 133.76}, {137.21, 135.14, 137.50}, {130.97, 131.59, 134.92}, {135.46, 135.14, 133.63}}, 1.5434, 2.1482},
		{"D", [][]float64{{193.71, 193.59, 193.65}, {190.88, 200.14, 194.30}, {192.71, 193.28, 190.28}, {195.85, 196.36, 199.43},
			{192.59, 191.44, 195.12}, {195.34, 198.26, 198.13}, {194.66, 191.99, 187.13}, {197.56, 195.99, 200.82}}, 2.6251, 3.3657},
	}
	for _, c := range cases {
		level, repeat := levelOf(c.laboratories)
		var between betweenPool
		between.add(level)
		near(t, c.material+": s_r", repeat.sd(), c.repeatability, 0.5e-4)
		near(t, c.material+": s_R", math.Sqrt(repeat.variance()+math.Max(0, between.variance())), c.reproducibility, 0.5e-4)
	}
}

// A drift line is a least-squares line; R's lm on R's own data set cars.
func TestDriftLineIsLeastSquares(t *testing.T) {
	want := rowsOf(t, "line-results.csv")[0]
	var tile []Reading
	for _, row := range rowsOf(t, "line.csv") {
		tile = append(tile, Reading{Day: "2026-03-09", Hour: number(t, row["speed"]), Density: number(t, row["dist"]) + 1})
	}
	line := fitDrift(tile, 1, DriftOffset)
	table := driftTable{lines: []driftLine{line}, variance: line.residual / float64(line.residualDF), df: float64(line.residualDF)}
	day := table.report(&Log{Instruments: []Instrument{{ID: "D1"}}})[0]
	near(t, "slope", day.Slope, number(t, want["slope"]), 1e-10)
	near(t, "standard error", day.SlopeSE, number(t, want["se"]), 1e-10)
	near(t, "p", day.P/number(t, want["p"]), 1, 1e-6)
	near(t, "start", day.Start, number(t, want["first"]), 1e-10)
	near(t, "standard error at mid-day", day.SE, number(t, want["mid_se"]), 1e-10)
}

// The share of rounding that replicates have in common is the whole of r²/12
// where they are identical, and gone where they differ by a step; in between,
// against a simulation by exact probabilities: for a true value at each of many
// places between two steps, the mean and the variance of the rounded value.
func TestRoundingShare(t *testing.T) {
	const step = 0.01
	near(t, "identical", roundingShare(0, step), step*step/12, 1e-18)
	near(t, "a step apart", roundingShare(step, step), 0, 1e-9*step*step)
	for _, sd := range []float64{0.15, 0.25, 0.35, 0.5} { // true, in steps
		offsets, within := 0.0, 0.0
		const places = 400
		for i := range places {
			at := (float64(i) + 0.5) / places
			mean, square := 0.0, 0.0
			for k := -6; k <= 7; k++ {
				p := math.Exp(logPhi((float64(k)+0.5-at)/sd)) - math.Exp(logPhi((float64(k)-0.5-at)/sd))
				mean += p * float64(k)
				square += p * float64(k) * float64(k)
			}
			offsets += (mean - at) * (mean - at) / places
			within += (square - mean*mean) / places
		}
		near(t, "share", roundingShare(math.Sqrt(within)*step, step)/(step*step), offsets, 1e-4)
	}
}
