package traces

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/mixed"
	"thumbed/models/student"
)

// A Thing is what a look is at: one trace on a page, or on a part of it.
type Thing struct {
	Trace, Book, Page int
	Part              string
}

// thing is what the look is at.
func (l *Look) thing() Thing { return Thing{l.Trace, l.Book, l.Page, l.Part} }

func (t Thing) compare(o Thing) int {
	return cmp.Or(cmp.Compare(t.Trace, o.Trace), cmp.Compare(t.Book, o.Book), cmp.Compare(t.Page, o.Page), cmp.Compare(t.Part, o.Part))
}

// Of are the kept looks at each thing, in the order of their days and observers, so
// that no result depends on the order of rows.
func (l *Looks) Of() (things []Thing, looks map[Thing][]Look) {
	looks = map[Thing][]Look{}
	for i := range l.All {
		if look := l.All[i]; look.Kept() {
			t := look.thing()
			if looks[t] == nil {
				things = append(things, t)
			}
			looks[t] = append(looks[t], look)
		}
	}
	slices.SortFunc(things, Thing.compare)
	for _, own := range looks {
		slices.SortStableFunc(own, func(a, b Look) int {
			return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Observer, b.Observer))
		})
	}
	return things, looks
}

// wanted counts the pages of a book on which the coding book looks for a trace.
func (l *Looks) wanted(trace, book int) int {
	pages := 0
	b := l.Books[book]
	for _, p := range b.Present() {
		if l.Book[trace].lookedForOn(&b.Pages[p]) {
			pages++
		}
	}
	return pages
}

// A State counts the things of one trace, book and part in their three states. A thing
// that was looked at several times is one thing; it counts as there where at least half
// of the looks that can tell say so.
type State struct {
	Trace     string  `json:"trace"`          // the trace
	Book      string  `json:"book"`           // the book’s id
	Part      string  `json:"part,omitempty"` // the part; none where the page is looked at as a whole
	Things    int     `json:"things"`         // that the coding book looks for
	NotLooked int     `json:"not_looked"`     // nobody looked
	Nothing   int     `json:"nothing"`        // looked at, and nothing there
	There     int     `json:"there"`          // looked at, and something there
	Unclear   int     `json:"unclear"`        // looked at, and cannot be told
	Looks     int     `json:"looks"`          // kept
	Excluded  int     `json:"excluded"`       // looks left out with a reason
	Shares    []Share `json:"shares"`         // of the things that can be told, by the trace's values; of counts the mean
	// Rate is a count's sum by its exposure, by the number of things where there is
	// none; of counts only.
	Rate *Estimate `json:"rate,omitempty"` // of counts: the sum by the exposure, or by the things where there is none
}

// An Estimate is a number with its 95 % interval.
type Estimate struct {
	Value float64 `json:"value"` // the number
	Low   float64 `json:"low"`   // lower end of its 95 % interval
	High  float64 `json:"high"`  // upper end
}

// A Share is how many of the things that can be told have a value. A thing on whose
// value looks differ counts in parts.
type Share struct {
	Level string   `json:"level"` // the value
	Share float64  `json:"share"` // share of the things that can be told with it; looks that differ count in parts
	Least Estimate `json:"least"` // the share with this value or a higher one
}

// States counts every trace of the coding book by book and part.
func (l *Looks) States() []State {
	things, looks := l.Of()
	excluded := map[Thing]int{}
	for i := range l.All {
		if !l.All[i].Kept() {
			excluded[l.All[i].thing()]++
		}
	}
	type cell struct {
		trace, book int
		part        string
	}
	of := map[cell][]Thing{}
	out := map[cell]int{}
	for _, t := range things {
		c := cell{t.Trace, t.Book, t.Part}
		of[c] = append(of[c], t)
	}
	for t, n := range excluded {
		out[cell{t.Trace, t.Book, t.Part}] += n
	}
	var all []State
	for trace := range l.Book {
		for book, b := range l.Books {
			wanted := l.wanted(trace, book)
			for _, part := range l.Book[trace].PartsOfPage() {
				c := cell{trace, book, part}
				s := State{Trace: l.Book[trace].Name, Book: b.ID, Part: part, Things: wanted, Excluded: out[c], Shares: []Share{}}
				l.count(&s, &l.Book[trace], of[c], looks)
				all = append(all, s)
			}
		}
	}
	return all
}

func (l *Looks) count(s *State, t *Trace, things []Thing, looks map[Thing][]Look) {
	s.NotLooked = s.Things - len(things)
	levels := t.Levels()
	sums := make([]float64, len(levels))
	told := 0.0
	var counts, exposures []float64
	for _, thing := range things {
		own := looks[thing]
		s.Looks += len(own)
		clear, there := 0.0, 0.0
		sum, exposure := 0.0, 0.0
		for _, look := range own {
			if math.IsNaN(look.Value) {
				continue
			}
			clear++
			if look.Value > 0 {
				there++
			}
			sum += look.Value
			exposure += look.Exposure
		}
		switch {
		case clear == 0:
			s.Unclear++
			continue
		case 2*there >= clear && there > 0:
			s.There++
		default:
			s.Nothing++
		}
		told++
		for _, look := range own {
			if !math.IsNaN(look.Value) && levels != nil {
				sums[int(look.Value)] += 1 / clear
			}
		}
		if t.Per == "" {
			exposure = clear
		}
		counts, exposures = append(counts, sum/clear), append(exposures, exposure/clear)
	}
	if told == 0 {
		return
	}
	if levels == nil {
		r := rate(counts, exposures)
		s.Rate = &r
		return
	}
	above := 0.0
	for k := len(levels) - 1; k >= 0; k-- {
		above += sums[k]
		e := Estimate{min(1, above/told), 0, 1}
		if k > 0 {
			e.Low, e.High = student.Wilson(e.Value, told)
		} else {
			e = Estimate{1, 1, 1}
		}
		s.Shares = append(s.Shares, Share{levels[k], sums[k] / told, e})
	}
	slices.Reverse(s.Shares)
}

// rate is a sum of counts by their exposure, with an interval from the spread of the
// things about it (the ratio estimator: Cochran 1977, Sampling techniques, section
// 2.11) on the logarithm; where all are zero, up to 3.69 by the exposure, the exact
// upper end of Poisson's distribution (Garwood 1936, Biometrika 28, 437–442).
func rate(counts, exposures []float64) Estimate {
	n := float64(len(counts))
	sum, exposure := 0.0, 0.0
	for i, c := range counts {
		sum += c
		exposure += exposures[i]
	}
	e := Estimate{Value: sum / exposure}
	if sum == 0 {
		e.High = distuv.ChiSquared{K: 2}.Quantile(0.975) / 2 / exposure
		return e
	}
	square := 0.0
	for i, c := range counts {
		d := c - e.Value*exposures[i]
		square += d * d
	}
	variance := 1 / sum // Poisson's, where one thing tells no spread
	if n > 1 {
		variance = max(variance, square*n/(n-1)/(sum*sum))
	}
	half := distuv.UnitNormal.Quantile(0.975) * math.Sqrt(variance)
	e.Low, e.High = e.Value*math.Exp(-half), e.Value*math.Exp(half)
	return e
}

// Words tell a state in one sentence of counts.
func (s State) Words() string {
	return fmt.Sprintf("%d looked for: %d there, %d with nothing there, %d that cannot be told, %d not looked at", s.Things, s.There, s.Nothing, s.Unclear, s.NotLooked)
}

// combined is one value of a page for a trace, over its parts and looks: of grades and
// of yes or no the highest part's median (the lower one of two), of counts the sum of
// the parts' means. NaN where no look can tell.
func combined(t *Trace, parts map[string][]float64) float64 {
	out := math.NaN()
	for _, part := range slices.Sorted(maps.Keys(parts)) {
		values := slices.Sorted(slices.Values(parts[part]))
		v := values[(len(values)-1)/2]
		if t.Kind == mixed.Counts {
			sum := 0.0
			for _, x := range values {
				sum += x
			}
			v = sum / float64(len(values))
		}
		switch {
		case math.IsNaN(out):
			out = v
		case t.Kind == mixed.Counts:
			out += v
		default:
			out = max(out, v)
		}
	}
	return out
}
