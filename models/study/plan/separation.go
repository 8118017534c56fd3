package plan

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"thumbed/models/codex"
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
}

// measure works out turns and correlations of each book's order.
func (o *Order) measure() {
	for b := range o.Books {
		book := &o.Books[b]
		var all []visited
		for _, day := range o.Days {
			visits := book.turn(&day, b)
			if len(visits) > 0 {
				book.Days++
				all = append(all, visits...)
			}
		}
		book.Correlations = book.correlations(all)
	}
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

// followed are the features that must not go with the order of the placings.
var followed = []struct {
	column, label, words string
	labels               bool // any label by itself
}{
	{codex.FeatureLeafPosition, "", "the order of the leaves", false},
	{codex.FeatureOfficeOrder, "", "the office of the day", false},
	{codex.ColumnPicture, "yes", "pictures", false},
	{codex.ColumnIncipit, "yes", "first pages of texts", false},
	{codex.ColumnQuire, "", "quires", true},
	{codex.ColumnSection, "", "texts", true},
}

// correlations are those of the followed features with time, day and observer; a
// feature that does not vary has none.
func (b *OrderBook) correlations(visits []visited) []Correlation {
	var out []Correlation
	for _, f := range followed {
		var at []visited
		series := map[string][]float64{}
		c := b.pages.Column(f.column)
		if c == nil {
			continue
		}
		for _, v := range visits {
			for _, row := range b.openings[v.opening] {
				value, label := 0.0, ""
				switch {
				case f.labels:
					if label, value = c.Label(row), 1; label == "" {
						continue
					}
				case f.label != "":
					if c.Label(row) == f.label {
						value = 1
					}
				default:
					value = c.Number(row)
				}
				if math.IsNaN(value) {
					continue
				}
				for len(series[label]) < len(at) {
					series[label] = append(series[label], 0)
				}
				at, series[label] = append(at, v), append(series[label], value)
			}
		}
		for label := range series {
			for len(series[label]) < len(at) {
				series[label] = append(series[label], 0)
			}
		}
		out = append(out, alongAll(f.words, series, at)...)
	}
	return out
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
// series Pearson's, of the indicators of labels the multiple one, less chance.
func withinDays(series map[string][]float64, at []visited, time func(visited) float64) (float64, bool) {
	t := make([]float64, len(at))
	for i, v := range at {
		t[i] = time(v)
	}
	days := centre(t, at)
	total := dot(t, t)
	if total < 1e-9 {
		return 0, false
	}
	if only, one := series[""]; one {
		x := slices.Clone(only)
		centre(x, at)
		if dot(x, x) < 1e-9 {
			return 0, false
		}
		return dot(x, t) / math.Sqrt(dot(x, x)*total), true
	}
	groups, within := len(series), total
	for _, label := range slices.Sorted(maps.Keys(series)) {
		if n, sum := dot(series[label], series[label]), dot(series[label], t); n > 0 {
			within -= sum * sum / n
		}
	}
	return lessChance(within, total, len(at)-days-groups+1, len(at)-days), groups > 1
}

// betweenLabels is the correlation of a feature with labels of the visits: how much of
// its variation lies between them, less chance.
func betweenLabels(series map[string][]float64, at []visited, label func(visited) string) (float64, bool) {
	count := map[string]float64{}
	for _, v := range at {
		count[label(v)]++
	}
	if len(count) < 2 || len(at) <= len(count) {
		return 0, false
	}
	total, within := 0.0, 0.0
	for _, name := range slices.Sorted(maps.Keys(series)) {
		x := series[name]
		all, sums := 0.0, map[string]float64{}
		for i, v := range at {
			all += x[i]
			sums[label(v)] += x[i]
		}
		squares := dot(x, x)
		total += squares - all*all/float64(len(at))
		within += squares
		for _, l := range slices.Sorted(maps.Keys(sums)) {
			within -= sums[l] * sums[l] / count[l]
		}
	}
	if total < 1e-9 {
		return 0, false
	}
	return lessChance(within, total, len(at)-len(count), len(at)-1), true
}

// lessChance is the multiple correlation with the variances within and in all by their
// degrees of freedom.
func lessChance(within, total float64, withinDF, totalDF int) float64 {
	if withinDF < 1 {
		return 0
	}
	return math.Sqrt(math.Max(0, 1-within/float64(withinDF)/(total/float64(totalDF))))
}

// centre takes the mean of each day off; it gives the number of days.
func centre(x []float64, at []visited) int {
	sum, n := map[string]float64{}, map[string]float64{}
	for i, v := range at {
		sum[v.day] += x[i]
		n[v.day]++
	}
	for i, v := range at {
		x[i] -= sum[v.day] / n[v.day]
	}
	return len(n)
}

func dot(a, b []float64) float64 {
	total := 0.0
	for i := range a {
		total += a[i] * b[i]
	}
	return total
}

// worst is the greatest correlation of any book, without its sign; of two sweeps
// without a drift out and back, along which they lie by their nature.
func (o *Order) worst(sweeps int) float64 {
	worst := 0.0
	for _, b := range o.Books {
		for _, c := range b.Correlations {
			if sweeps == 2 && c.Along == AlongBend {
				continue
			}
			worst = math.Max(worst, math.Abs(c.Value))
		}
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
