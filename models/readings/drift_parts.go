package readings

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A day's tile readings are looked at for two things that a straight line does not
// hold: one reading that is wrong, which is named and left out, and a jump, after which
// the day goes on in a part with a line of its own.

// leastTimes is the number of times of a day at which the tile must be read, so that a
// jump can be told from a bend: two on each side of it.
const leastTimes = 4

// fitDay fits the lines of one day: one, or one for each part of the day between jumps.
// noise is the scatter of tile readings taken at one time; tests is how many breaks are
// looked for in all.
func fitDay(tile []Reading, in Instrument, correction Drift, noise pool, tests int) []driftLine {
	slices.SortFunc(tile, func(a, b Reading) int { return cmp.Or(cmp.Compare(a.Hour, b.Hour), cmp.Compare(a.Density, b.Density)) })
	tile, suspects := withoutSuspects(tile, in.Tile, noise)
	parts, chances := partsOf(tile, in.Tile, correction, noise, tests)
	lines := make([]driftLine, len(parts))
	for k, part := range parts {
		lines[k] = fitDrift(part, in.Tile, correction)
		lines[k].dayFrom, lines[k].dayTo = tile[0].Hour, tile[len(tile)-1].Hour
		lines[k].times = len(tileTimes(tile))
		lines[k].misfit = lines[k].unfitting(part, noise)
		if k+1 < len(parts) {
			lines[k].until = (part[len(part)-1].Hour + parts[k+1][0].Hour) / 2
			lines[k].jump = chances[k]
		}
	}
	for _, s := range suspects {
		k := 0
		for s.Hour > lines[k].until {
			k++
		}
		lines[k].suspects = append(lines[k].suspects, s)
	}
	return lines
}

// oneTime is how many hours tile readings that follow each other may be apart and count
// as taken at one time.
const oneTime = 0.1

// tileTimes are the tile readings of a day by the times at which the tile was read.
func tileTimes(tile []Reading) [][]Reading {
	var times [][]Reading
	for i, r := range tile {
		if i > 0 && r.Hour-tile[i-1].Hour <= oneTime {
			times[len(times)-1] = append(times[len(times)-1], r)
			continue
		}
		times = append(times, []Reading{r})
	}
	return times
}

// pureError pools what tile readings taken at one time scatter. So that a wrong one does
// not hide itself, readings further than five standard deviations from the median of
// their time are left out, by the standard deviation that the median of the times'
// sums of squares tells (of normal readings hardly any are).
func pureError(tiles map[dayKey][]Reading) pool {
	var times [][]float64
	var variances []float64
	for _, tile := range tiles {
		sorted := slices.Clone(tile)
		slices.SortFunc(sorted, func(a, b Reading) int { return cmp.Compare(a.Hour, b.Hour) })
		for _, time := range tileTimes(sorted) {
			var values []float64
			for _, r := range time {
				values = append(values, r.Density)
			}
			slices.Sort(values)
			times = append(times, values)
			if len(values) > 1 {
				var p pool
				p.add(values, 1)
				variances = append(variances, p.squares/distuv.ChiSquared{K: p.freedom()}.Quantile(0.5))
			}
		}
	}
	slices.SortFunc(times, func(a, b []float64) int { return slices.Compare(a, b) }) // sums in one order
	limit := math.Inf(1)
	if len(variances) > 0 {
		slices.Sort(variances)
		if v := middleOf(variances); v > 0 {
			limit = 5 * math.Sqrt(v)
		}
	}
	var p pool
	for _, values := range times {
		centre := middleOf(values)
		p.add(slices.DeleteFunc(slices.Clone(values), func(v float64) bool { return math.Abs(v-centre) > limit }), 1)
	}
	return p
}

// middleOf is the median of sorted values.
func middleOf(values []float64) float64 {
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}

// withoutSuspects leaves out tile readings that lie off the others of their time: those
// whose distance from the mean of these is beyond chance (Student's t by the pooled
// scatter, Bonferroni over the day), at times with three readings or more.
func withoutSuspects(tile []Reading, certified float64, noise pool) (kept []Reading, suspects []Suspect) {
	if noise.df < fewDF {
		return tile, nil
	}
	student := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: noise.freedom()}
	for _, time := range tileTimes(tile) {
		worst, off := -1, 0.0
		for i := range time {
			if len(time) < 3 {
				break
			}
			var others []float64
			for k, r := range time {
				if k != i {
					others = append(others, r.Density)
				}
			}
			distance := time[i].Density - stat.Mean(others, nil)
			if math.Abs(distance) > math.Abs(off)+1e-9 { // of ties the first
				worst, off = i, distance
			}
		}
		if worst >= 0 {
			n := float64(len(time))
			se := noise.sd() * math.Sqrt(n/(n-1))
			if 2*student.Survival(math.Abs(off)/se) < oddity/float64(len(tile)) {
				suspects = append(suspects, Suspect{Hour: time[worst].Hour, Density: time[worst].Density, Off: off})
				time = slices.Delete(slices.Clone(time), worst, worst+1)
			}
		}
		kept = append(kept, time...)
	}
	return kept, suspects
}

// breakTests counts the places at which a jump is looked for.
func breakTests(tiles map[dayKey][]Reading) int {
	n := 0
	for _, tile := range tiles {
		sorted := slices.Clone(tile)
		slices.SortFunc(sorted, func(a, b Reading) int { return cmp.Compare(a.Hour, b.Hour) })
		n += max(0, len(tileTimes(sorted))-leastTimes+1)
	}
	return n
}

// parting is the level, over all places looked at, at which a day is parted. A line
// across a jump errs by more than two lines without one, so that a jump half seen is
// taken for one: at 20 % the intervals of an afternoon whose scale changed by 2 % at noon
// hold in 94 of 100, at 1 % in 89, and those of a quiet instrument are no wider
// (TestEitherHoldsBoth). It is said to be beyond chance at [oddity].
const parting = 0.2

// partsOf parts the day at the jump, if any: two lines against one, by the F test over
// the scatter of tile readings at one time, Bonferroni over all places looked at. Beside
// the parts stand the p of the jumps between them.
func partsOf(tile []Reading, certified float64, correction Drift, noise pool, tests int) ([][]Reading, []float64) {
	times := tileTimes(tile)
	if len(times) < leastTimes || noise.df < fewDF {
		return [][]Reading{tile}, nil
	}
	one := fitDrift(tile, certified, correction).residual
	best, gain := -1, 0.0
	for k := 2; k <= len(times)-2; k++ {
		before, after := slices.Concat(times[:k]...), slices.Concat(times[k:]...)
		gained := one - fitDrift(before, certified, correction).residual - fitDrift(after, certified, correction).residual
		if gained > gain*(1+1e-9) {
			best, gain = k, gained
		}
	}
	if best < 0 {
		return [][]Reading{tile}, nil
	}
	p := exceeds(gain/2, 2, noise.variance(), noise.freedom()) * float64(max(1, tests))
	if p >= parting {
		return [][]Reading{tile}, nil
	}
	before, early := partsOf(slices.Concat(times[:best]...), certified, correction, noise, tests)
	after, late := partsOf(slices.Concat(times[best:]...), certified, correction, noise, tests)
	return append(before, after...), slices.Concat(early, []float64{p}, late)
}

// unfitting is the p of the tile readings of a part bending away from its line by
// chance: the means of the times about the line against the scatter at one time.
func (d *driftLine) unfitting(tile []Reading, noise pool) float64 {
	sorted := slices.Clone(tile)
	slices.SortFunc(sorted, func(a, b Reading) int { return cmp.Compare(a.Hour, b.Hour) })
	times := tileTimes(sorted)
	df := len(times) - 2
	if df < 1 || noise.df < fewDF {
		return 1
	}
	squares := 0.0
	for _, time := range times {
		off := 0.0
		for _, r := range time {
			off += (r.Density - d.certified - d.departure(r.Hour)) / float64(len(time))
		}
		squares += float64(len(time)) * off * off
	}
	return exceeds(squares/float64(df), float64(df), noise.variance(), noise.freedom())
}

// ofScale says what a jump means for wear, by how days are corrected: a page and its zero
// share an offset, which cancels, but not a scale.
var ofScale = map[Drift]string{
	DriftOffset: "If its scale changed and not its zero, wear read after the jump is off by that share of itself, and its intervals do not hold: drift = \"scale\" under [measuring] corrects that, and drift = \"either\" holds both.",
	DriftScale:  "The jump is taken as one of its scale; if its zero alone moved, drift = \"offset\" under [measuring] is right, and drift = \"either\" holds both.",
	DriftEither: "Wear is corrected half as for a zero that moved and half as for a scale that changed, and its errors hold both; write drift = \"offset\" or \"scale\" under [measuring] where you know which.",
}

// partNotes say which days went on in parts, which tile readings were left out of the
// lines, and where a straight line does not hold.
func partNotes(days []DayDrift) []string {
	var notes, jumped, perhaps, wrong, bent, few []string
	seen := map[string]bool{}
	for i, day := range days {
		name := fmt.Sprintf("%s (%s)", day.Day, day.Instrument)
		if day.Break {
			next := days[i+1]
			jump := next.Start - day.End
			text := fmt.Sprintf("%s between %s and %s, by %s (%.0f %% of the tile)", name, clock(day.To), clock(next.From), signed(jump, 3), 100*math.Abs(jump)/day.Certified)
			if day.Zeros != "" {
				text += ": " + day.Zeros
			}
			if day.Jump < oddity {
				jumped = append(jumped, text)
			} else {
				perhaps = append(perhaps, text)
			}
		}
		for _, s := range day.Suspects {
			wrong = append(wrong, fmt.Sprintf("%g at %s on %s, %s from the others of that time", s.Density, clock(s.Hour), name, signed(s.Off, 3)))
		}
		if day.Misfit < oddity/float64(len(days)) {
			bent = append(bent, name)
		}
		if day.Times < leastTimes && day.Correction != DriftNone && !seen[name] {
			few = append(few, name)
		}
		seen[name] = true
	}
	if len(jumped) > 0 {
		notes = append(notes, fmt.Sprintf("The tile jumps within the day beyond chance: %s. The parts of the day before and after are corrected by lines of their own; readings between are taken to belong to the nearer. Look for what happened to the instrument. %s", strings.Join(jumped, "; "), ofScale[days[0].Correction]))
	}
	if len(perhaps) > 0 {
		notes = append(notes, fmt.Sprintf("The tile may have jumped within the day, and chance may explain it: %s. The parts of the day before and after are corrected by lines of their own, since a line across a jump errs by more than two lines where there is none.", strings.Join(perhaps, "; ")))
	}
	if len(wrong) > 0 {
		notes = append(notes, fmt.Sprintf("Tile readings that do not fit the others of their time are left out of the lines: %s. Look for a slip of the pen or a moved probe, and give such a reading a reason in the column excluded.", strings.Join(wrong, "; ")))
	}
	if len(bent) > 0 {
		notes = append(notes, fmt.Sprintf("The tile readings bend away from their line beyond chance (F test against readings of one time), and the correction does not follow them, on %s: wear measured far from a tile reading of that day may be off. Read the tile more often.", named(bent)))
	}
	if len(few) > 0 {
		notes = append(notes, fmt.Sprintf("With the tile read at fewer than %d times of a day a jump of the instrument is not distinguishable from a bend, and is not corrected: %s. Read the tile before and after every rest.", leastTimes, named(few)))
	}
	return notes
}
