package readings

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/table"
)

// photographed is a study in which page i of ardel, from 1r, has wear 0.1 + 0.01 i. Odd
// pages are read by the bench, even ones from photographs, which show (D − 0.02)/1.25.
func photographed(t *testing.T, instruments, pairs string) (*Log, *table.Problems) {
	t.Helper()
	rng := rand.New(rand.NewPCG(9, 9))
	dir := t.TempDir()
	rows := header
	for i := range 20 {
		page := fmt.Sprintf("%d%s", i/2+1, []string{"r", "v"}[i%2])
		if i/2+1 == 7 {
			continue // lost
		}
		in, shown := "bench", func(d float64) float64 { return d }
		if i%2 == 1 {
			in, shown = "camera", func(d float64) float64 { return (d - 0.02) / 1.25 }
		}
		for range 3 {
			rows += fmt.Sprintf("ardel,%s,2026-03-09,10:00,%s,ann,page,fixed,1,%.3f,,\n", page, in, shown(0.3+0.01*float64(i)+0.004*rng.NormFloat64()))
			rows += fmt.Sprintf("ardel,%s,2026-03-09,10:01,%s,ann,zero,,,%.3f,,\n", page, in, shown(0.2+0.004*rng.NormFloat64()))
		}
	}
	paths := Paths{Instruments: filepath.Join(dir, "instruments.csv"), Readings: []string{filepath.Join(dir, "readings.csv")}}
	write(t, paths.Instruments, "instrument,floor,ceiling,resolution,tile,stated_sd,converted_to\n"+instruments)
	write(t, paths.Readings[0], rows)
	if pairs != "" {
		paths.Paired = filepath.Join(dir, "paired.csv")
		write(t, paths.Paired, "book,spot,instrument,density\n"+pairs)
	}
	var ps table.Problems
	return Load(paths, testBooks(t), &ps), &ps
}

// pairs are spots of eight books that both read, twice each.
func pairs(spots int) string {
	rng := rand.New(rand.NewPCG(4, 4))
	out := ""
	for i := range spots {
		truth := 0.1 + 0.5*float64(i)/float64(spots)
		for range 2 {
			out += fmt.Sprintf("b%d,s%d,bench,%.3f\nb%d,s%d,camera,%.3f\n", i%8, i, truth+0.004*rng.NormFloat64(), i%8, i, (truth-0.02+0.004*rng.NormFloat64())/1.25)
		}
	}
	return out
}

const (
	bench  = "bench,0.00,2.00,0.001,0.80,,\n"
	camera = "camera,-0.50,2.00,0.001,,0.006,bench\n"
)

// Readings from photographs come to the bench's scale, with their stated error and that
// of the conversion, which all their pages share.
func TestReadingsFromElsewhereAreConverted(t *testing.T) {
	log, ps := photographed(t, bench+camera, pairs(48))
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	r, err := log.Wear(Options{})
	if err != nil {
		t.Fatal(err)
	}
	var source *Source
	for k := range r.Shared {
		if r.Shared[k].By == ByConversion {
			source = &r.Shared[k]
		}
	}
	if source == nil || !(source.SD > 0) || source.DF != 7 || source.Levels[0] != "camera" {
		t.Fatalf("the conversion's error is %+v", source)
	}
	for _, w := range r.Wear {
		i := w.Page
		if math.Abs(w.Density-(0.1+0.01*float64(i))) > 0.02 {
			t.Errorf("page %d: wear %.3f of %.3f", i, w.Density, 0.1+0.01*float64(i))
		}
		loads, shares := r.Loads(&w, ByConversion), i%2 == 1
		if (loads != "") != shares {
			t.Errorf("page %d shares in the conversion's error: %q", i, loads)
		}
		if shares {
			// three placings and three zeros of 1.25 × 0.006 each, beside rounding and placing anew
			if own := 1.25 * 0.006 * math.Sqrt(2.0/3); w.SE < 0.97*own || w.SE > 1.3*own {
				t.Errorf("page %d: standard error %.4f; %.4f by what is stated", i, w.SE, own)
			}
			var weight float64
			for _, load := range w.Shared {
				if r.Shared[load.Source].By == ByConversion {
					weight = load.Weight
				}
			}
			if math.Abs(weight-w.Density/1.25) > 0.01 {
				t.Errorf("page %d has a share of %.3f in the error of the slope", i, weight)
			}
		}
	}
	if len(r.Agreement) == 0 || !r.Agreement[0].Paired || r.Agreement[0].SlopeLow > 1.25 || r.Agreement[0].SlopeHigh < 1.25 {
		t.Errorf("the agreement is %+v", r.Agreement)
	}
}

// Readings from elsewhere beside others need a table that converts them.
func TestReadingsFromElsewhereAreRefusedAlone(t *testing.T) {
	for _, c := range []struct{ instruments, pairs, says string }{
		{bench + "camera,-0.50,2.00,0.001,,0.006,\n", "", "readings from elsewhere are converted, since others stand beside them"},
		{bench + camera, "", "a table of spots that both instruments read"},
		{bench + camera, pairs(6), "10 spots or more of different density"},
		{bench + "camera,-0.50,2.00,0.001,,0.006,banch\n", pairs(48), "another instrument of this table"},
	} {
		_, ps := photographed(t, c.instruments, c.pairs)
		if err := ps.Err(); err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "line 3") {
			t.Errorf("%q is not said: %v", c.says, err)
		}
	}
	if _, ps := photographed(t, bench+camera, pairs(48)+"b1,s1,camra,0.3\n"); ps.Err() == nil || !strings.Contains(ps.Err().Error(), "camra") {
		t.Errorf("an unknown instrument of a pair gives %v", ps.Err())
	}
}
