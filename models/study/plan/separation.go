package plan

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// What the features of pages must not go with.
const (
	AlongDay      = "the course of the day"
	AlongBend     = "a drift out and back over the day"
	alongDays     = "the day"
	alongObserver = "the observer"
)

// A visited is a visit to an opening: on which day, by whom and when.
type visited struct {
	opening       int
	day, observer string
	time, bend    float64 // from −1 to 1 over the book's hours of that day; its square, less its straight part
	weight        float64 // of a page: one over those of its opening
}

// measure works out turns and correlations of the book's order.
func (b *OrderBook) measure(days []OrderDay, index int) {
	var all []visited
	for _, day := range days {
		visits := b.turn(&day, index)
		if len(visits) > 0 {
			b.Days++
			all = append(all, visits...)
		}
	}
	b.Correlations = b.correlations(all)
}

// turn counts the turns of a book on a day, and gives its visits with their times.
func (b *OrderBook) turn(day *OrderDay, index int) []visited {
	var visits []visited
	last := -1
	for _, step := range day.Steps {
		if step.Kind != Visit || step.Book != index {
			continue
		}
		visits = append(visits, visited{opening: step.opening, day: day.Date, observer: day.Observer, time: float64(step.Clock)})
		if last != step.opening {
			b.Turns++
			from := 0 // a closed book is opened from its front
			if last >= 0 {
				from = b.leaf[last]
			}
			b.Leaves += abs(b.leaf[step.opening] - from)
		}
		last = step.opening
	}
	straighten(visits)
	return visits
}

func abs(n int) int { return max(n, -n) }

// straighten brings the times of a day to −1 to 1 and works out their bend.
func straighten(visits []visited) {
	if len(visits) == 0 {
		return
	}
	from, to := visits[0].time, visits[len(visits)-1].time
	var mean, squares, straight float64
	for i := range visits {
		v := &visits[i]
		if to > from {
			v.time = 2*(v.time-from)/(to-from) - 1
		} else {
			v.time = 0
		}
		mean += v.time / float64(len(visits))
	}
	for i := range visits {
		t := visits[i].time - mean
		squares += t * t
		straight += t * t * t
	}
	for i := range visits {
		t := visits[i].time - mean
		visits[i].bend = t * t
		if squares > 0 {
			visits[i].bend -= t * straight / squares
		}
	}
}

// A feature of pages is followed by its column: a number, whether it has one label, or
// any label by itself.
type feature struct {
	column, label, words string
	labels               bool
}

// of is what a page counts for, and under which label; NaN where it has no value.
func (f feature) of(c *table.Column, row int) (label string, value float64) {
	switch {
	case f.labels && c.Label(row) == "":
		return "", math.NaN()
	case f.labels:
		return c.Label(row), 1
	case f.label == "":
		return "", c.Number(row)
	case c.Label(row) == f.label:
		return "", 1
	}
	return "", 0
}

const orderOfLeaves = "the order of the leaves"

// followed are the features that must not go with the order of the placings.
var followed = []feature{
	{codex.FeatureLeafPosition, "", orderOfLeaves, false},
	{codex.FeatureOfficeOrder, "", "the office of the day", false},
	{codex.ColumnPicture, "yes", "pictures", false},
	{codex.ColumnIncipit, "yes", "first pages of texts", false},
	{codex.ColumnQuire, "", "quires", true},
	{codex.ColumnSection, "", "texts", true},
}

// correlations are those of the followed features with time, day and observer; a
// feature that does not vary has none. The pages of an opening are read at one time and
// count together as one.
func (b *OrderBook) correlations(visits []visited) []Correlation {
	var out []Correlation
	for _, f := range followed {
		c := b.pages.Column(f.column)
		if c == nil {
			continue
		}
		var at []visited
		series := map[string][]float64{}
		for _, v := range visits {
			first := len(at)
			for _, row := range b.openings[v.opening] {
				if label, value := f.of(c, row); !math.IsNaN(value) {
					series[label] = append(filled(series[label], len(at)), value)
					at = append(at, v)
				}
			}
			for i := first; i < len(at); i++ {
				at[i].weight = 1 / float64(len(at)-first)
			}
		}
		for label := range series {
			series[label] = filled(series[label], len(at))
		}
		told := alongAll(f.words, series, at)
		if f.labels && len(series) > 1 && !slices.ContainsFunc(told, func(c Correlation) bool { return c.Along == AlongDay }) {
			b.untold = append(b.untold, f.words)
		}
		out = append(out, told...)
	}
	return out
}

// filled brings a series to a length by zeros.
func filled(series []float64, n int) []float64 {
	return append(series, make([]float64, n-len(series))...)
}

// alongAll are the correlations of one feature, given as one series or one indicator a
// label.
func alongAll(words string, series map[string][]float64, at []visited) []Correlation {
	if len(at) < 3 {
		return nil
	}
	day := func(v visited) string { return v.day }
	var out []Correlation
	add := func(along string, value float64, ok bool) {
		if ok {
			out = append(out, Correlation{With: words, Along: along, Value: value})
		}
	}
	for _, time := range []struct {
		along string
		of    func(visited) float64
	}{{AlongDay, func(v visited) float64 { return v.time }}, {AlongBend, func(v visited) float64 { return v.bend }}} {
		value, ok := withinDays(series, at, time.of)
		add(time.along, value, ok)
	}
	value, ok := betweenLabels(series, at, day)
	add(alongDays, value, ok)
	value, ok = betweenLabels(series, at, func(v visited) string { return v.observer })
	add(alongObserver, value, ok)
	return out
}

// withinDays is the correlation of a feature with a time inside the days: of one
// series Pearson's, of the indicators of labels the multiple one, less chance; ok is
// false where it does not vary or has too many labels to tell.
func withinDays(series map[string][]float64, at []visited, time func(visited) float64) (value float64, ok bool) {
	t := make([]float64, len(at))
	for i, v := range at {
		t[i] = time(v)
	}
	days := centre(t, at)
	total := dot(t, t, at)
	if total < 1e-9 {
		return 0, false
	}
	if only, one := series[""]; one {
		x := slices.Clone(only)
		centre(x, at)
		if dot(x, x, at) < 1e-9 {
			return 0, false
		}
		return dot(x, t, at) / math.Sqrt(dot(x, x, at)*total), true
	}
	within := total
	for _, label := range slices.Sorted(maps.Keys(series)) {
		if n, sum := dot(series[label], series[label], at), dot(series[label], t, at); n > 0 {
			within -= sum * sum / n
		}
	}
	all := stops(at)
	return lessChance(within, total, all-days-len(series)+1, all-days)
}

// betweenLabels is the correlation of a feature with labels of the visits: how much of
// its variation lies between them, less chance; ok is false as for [withinDays].
func betweenLabels(series map[string][]float64, at []visited, label func(visited) string) (value float64, ok bool) {
	count := map[string]float64{}
	for _, v := range at {
		count[label(v)] += v.weight
	}
	if len(count) < 2 {
		return 0, false
	}
	all := stops(at)
	total, within := 0.0, 0.0
	for _, name := range slices.Sorted(maps.Keys(series)) {
		x := series[name]
		sum, sums := 0.0, map[string]float64{}
		for i, v := range at {
			sum += v.weight * x[i]
			sums[label(v)] += v.weight * x[i]
		}
		squares := dot(x, x, at)
		total += squares - sum*sum/float64(all)
		within += squares
		for _, l := range slices.Sorted(maps.Keys(sums)) {
			within -= sums[l] * sums[l] / count[l]
		}
	}
	if total < 1e-9 {
		return 0, false
	}
	return lessChance(within, total, all-len(count), all-1)
}

// stops is how many visits the pages are of.
func stops(at []visited) int {
	n := 0.0
	for _, v := range at {
		n += v.weight
	}
	return int(math.Round(n))
}

// fewToTell is the number of degrees of freedom below which a multiple correlation is
// mostly chance (common practice, no source): of texts read at one opening each any order
// would give the greatest.
const fewToTell = 5

// lessChance is the multiple correlation with the variances within and in all by their
// degrees of freedom; ok is false where these are too few.
func lessChance(within, total float64, withinDF, totalDF int) (value float64, ok bool) {
	if withinDF < fewToTell {
		return 0, false
	}
	return math.Sqrt(math.Max(0, 1-within/float64(withinDF)/(total/float64(totalDF)))), true
}

// centre takes the mean of each day off; it gives the number of days.
func centre(x []float64, at []visited) int {
	sum, n := map[string]float64{}, map[string]float64{}
	for i, v := range at {
		sum[v.day] += v.weight * x[i]
		n[v.day] += v.weight
	}
	for i, v := range at {
		x[i] -= sum[v.day] / n[v.day]
	}
	return len(n)
}

// dot is the sum of products, each page by its weight.
func dot(a, b []float64, at []visited) float64 {
	total := 0.0
	for i, v := range at {
		total += v.weight * a[i] * b[i]
	}
	return total
}

// worst is the greatest correlation of any book, without its sign.
func (o *Order) worst(sweeps int) float64 {
	worst := 0.0
	for i := range o.Books {
		worst = math.Max(worst, o.Books[i].worst(sweeps, 1))
	}
	return worst
}

// worst is the book's greatest correlation, without its sign, that of the order of the
// leaves taken so many times; of two sweeps without a drift out and back, along which
// they lie by their nature.
func (b *OrderBook) worst(sweeps int, ofLeaves float64) float64 {
	worst := 0.0
	for _, c := range b.Correlations {
		if sweeps == 2 && c.Along == AlongBend {
			continue
		}
		value := math.Abs(c.Value)
		if c.With == orderOfLeaves {
			value *= ofLeaves
		}
		worst = math.Max(worst, value)
	}
	return worst
}

// greatest are, for each of what features must not go with, that with the greatest
// correlation.
func (b *OrderBook) greatest() []Correlation {
	var out []Correlation
	for _, along := range []string{AlongDay, AlongBend, alongDays, alongObserver} {
		var best *Correlation
		for i := range b.Correlations {
			if c := &b.Correlations[i]; c.Along == along && (best == nil || cmp.Compare(math.Abs(c.Value), math.Abs(best.Value)) > 0) {
				best = c
			}
		}
		if best != nil {
			out = append(out, *best)
		}
	}
	return out
}

// confounded names the books that one observer alone measures, where there are
// several.
func (o *Order) confounded() []string {
	var out []string
	observers := map[string]bool{}
	of := make([]map[string]bool, len(o.Books))
	for _, day := range o.Days {
		observers[day.Observer] = true
		for _, step := range day.Steps {
			if step.Kind != Visit {
				continue
			}
			if of[step.Book] == nil {
				of[step.Book] = map[string]bool{}
			}
			of[step.Book][day.Observer] = true
		}
	}
	if len(observers) < 2 {
		return nil
	}
	for b := range o.Books {
		if len(of[b]) == 1 {
			out = append(out, fmt.Sprintf("%s (%s)", o.Books[b].ID, slices.Sorted(maps.Keys(of[b]))[0]))
		}
	}
	return out
}
