package demo

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"
)

// TraceTruth is what hands and candles did to the pages, and how two observers saw it.
// Effects on rubbing are log odds of a higher grade, those on wax logarithms of rates.
type TraceTruth struct {
	Observers []string  // who looked
	Severity  []float64 // by how much each gives higher grades, log odds
	Days      []string  // on which each looked …
	Again     string    // … and on which what was coded twice was seen the second time
	Twice     int       // one picture in so many is coded by both
	Unclear   float64   // share of looks that cannot tell

	Grades     []string
	Thresholds []float64          // between grades
	Parts      []string           // of pictures
	Part       map[string]float64 // effect of each part
	Wear       float64            // effect of a page's wear, for each density
	Book, Page float64            // standard deviations between books and between pictures
	Drift      float64            // by which the second observer's severity grows from the first picture of each book to the last, log odds
	Blur       float64            // standard deviation of an observer's eye from look to look
	Addressed  []string           // subjects whom a prayer beside them addresses

	WaxBase float64 // expected logarithm of the number of drops on a page
	WaxDead float64 // … more in the office of the dead
	WaxSize float64 // of the negative binomial: variance μ + μ²/size
	WaxOver int     // one page in so many is looked at by both
	Print   float64 // chance that wax leaves a drop on the facing page
}

// A look is one row of traces.csv.
type look struct{ book, page, part, trace, grade, count, present, exposure, unclear, observer, date, excluded, note string }

// looks draws all looks. Each picture and each text page is given to one observer by
// chance, and some to both.
func (s *Scenario) looks(layouts []*layout, seed uint64) []look {
	var out []look
	for b, l := range layouts {
		rng := draws(seed, traceStream, b)
		out = append(out, s.rubbing(l, rng)...)
		out = append(out, s.wax(l, draws(seed, waxStream, b))...)
	}
	return out
}

func (s *Scenario) rubbing(l *layout, rng *rand.Rand) []look {
	t := s.Traces
	var out []look
	level := t.Book * rng.NormFloat64()
	pictures := 0
	pages := l.truth().Pages
	for i, p := range pages {
		if !p.Picture || !p.Measured {
			continue
		}
		pictures++
		page := level + t.Page*rng.NormFloat64() + t.Wear*(p.Wear-typicalWear)
		if p.Addressed {
			page += l.book.Touch
		}
		first := rng.IntN(len(t.Observers))
		for _, part := range t.Parts {
			depth := page + t.Part[part] + logistic(rng)
			drift := [2]float64{0, t.Drift * float64(i) / float64(len(pages))}
			out = append(out, t.seen(rng, l.book.ID, p.Label, part, first, t.Days[first], depth+drift[first]))
			if pictures%t.Twice == t.Twice/2 {
				out = append(out, t.seen(rng, l.book.ID, p.Label, part, 1-first, t.Again, depth+drift[1-first]))
			}
		}
	}
	if len(out) > 0 && l.book.Touch > 0 {
		spoilt := out[0]
		spoilt.date, spoilt.excluded = "2026-05-08", "coded before the grades were agreed on"
		out = append([]look{spoilt}, out...)
	}
	return out
}

// typicalWear is the density at which the wear of a page has no effect on rubbing.
const typicalWear = 0.2

func logistic(rng *rand.Rand) float64 {
	u := rng.Float64()
	return math.Log(u / (1 - u))
}

// seen is one look at a part whose paint is gone to some depth.
func (t *TraceTruth) seen(rng *rand.Rand, book, page, part string, observer int, day string, depth float64) look {
	out := look{book: book, page: page, part: part, trace: "rubbing", observer: t.Observers[observer], date: day}
	depth += t.Severity[observer] + t.Blur*rng.NormFloat64()
	grade := 0
	for _, threshold := range t.Thresholds {
		if depth > threshold {
			grade++
		}
	}
	if rng.Float64() < t.Unclear {
		out.unclear = []string{"repainted", "under a stain"}[rng.IntN(2)]
		return out
	}
	out.grade = t.Grades[grade]
	return out
}

// waxed are the kinds of text whose pages were looked at for wax.
var waxed = []string{"hours", "office of the dead"}

func (s *Scenario) wax(l *layout, rng *rand.Rand) []look {
	t := s.Traces
	pages := l.truth().Pages
	drops := make([]int, len(pages))
	for i, p := range pages {
		if !slices.Contains(waxed, p.Kind) {
			continue
		}
		rate := t.WaxBase
		if p.Kind == "office of the dead" {
			rate += t.WaxDead
		}
		gamma := distuv.Gamma{Alpha: t.WaxSize, Beta: t.WaxSize, Src: rng}
		drops[i] = int(distuv.Poisson{Lambda: math.Exp(rate) * gamma.Rand(), Src: rng}.Rand())
	}
	own := slices.Clone(drops)
	for i, p := range pages { // a drop prints on the page that it was closed against
		if p.verso && i+1 < len(pages) && pages[i+1].leaf == p.leaf+1 {
			if own[i] > 0 && rng.Float64() < t.Print {
				drops[i+1]++
			}
			if own[i+1] > 0 && rng.Float64() < t.Print {
				drops[i]++
			}
		}
	}
	var out []look
	n := 0
	for i, p := range pages {
		if !slices.Contains(waxed, p.Kind) || !p.Measured {
			continue
		}
		n++
		first := rng.IntN(len(t.Observers))
		row := look{book: l.book.ID, page: p.Label, trace: "wax", count: strconv.Itoa(drops[i]), observer: t.Observers[first], date: t.Days[first]}
		out = append(out, row)
		if n%t.WaxOver == t.WaxOver/2 {
			row.observer, row.date = t.Observers[1-first], t.Again
			if drops[i] > 0 && rng.Float64() < t.Unclear*4 {
				row.count, row.note = strconv.Itoa(drops[i]-1), "two runs taken for one"
			}
			out = append(out, row)
		}
	}
	return out
}

func lookRows(looks []look) *rows {
	r := columns("book", "page", "part", "trace", "grade", "count", "present", "exposure", "unclear", "observer", "date", "excluded", "note")
	for _, k := range looks {
		r.add(k.book, k.page, k.part, k.trace, k.grade, k.count, k.present, k.exposure, k.unclear, k.observer, k.date, k.excluded, k.note)
	}
	return r
}

// check tells whether the truth of traces holds together.
func (t *TraceTruth) check() error {
	if len(t.Observers) != 2 || len(t.Severity) != 2 || len(t.Days) != 2 || len(t.Thresholds) != len(t.Grades)-1 || t.Twice < 2 || t.WaxOver < 2 {
		return fmt.Errorf("the written truth of traces wants two observers, each with a severity and a day, one threshold fewer than grades, and every second or later picture coded twice")
	}
	return nil
}
