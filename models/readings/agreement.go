package readings

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// An Agreement is how two instruments agree on the pages that both measured.
type Agreement struct {
	One, Other string // ids of the instruments
	Pages      int
	// Slope and Offset are those of the line other = Offset + Slope · one through the
	// true wear, by Deming's regression.
	Slope, SlopeLow, SlopeHigh    float64
	Offset, OffsetLow, OffsetHigh float64 // density
	// Difference is the mean of other less one, and Low and High are the limits of
	// agreement, within which 95 % of such differences are expected.
	Difference, SD, Low, High float64 // density
}

// leastAgreeing is the number of pages from which a line between two instruments is
// told (common practice, no source: the jackknife needs some).
const leastAgreeing = 10

// Deming gives slope and offset of y = offset + slope · x where both are measured with
// error, the variance of y's over that of x's being ratio (Linnet 1993, Clinical
// Chemistry 39, 424–432). NaN where x and y do not vary together.
func Deming(x, y []float64, ratio float64) (slope, offset float64) {
	mx, my := stat.Mean(x, nil), stat.Mean(y, nil)
	var u, q, p float64
	for i := range x {
		u += (x[i] - mx) * (x[i] - mx)
		q += (y[i] - my) * (y[i] - my)
		p += (x[i] - mx) * (y[i] - my)
	}
	d := q - ratio*u
	slope = (d + math.Sqrt(d*d+4*ratio*p*p)) / (2 * p)
	if math.IsInf(slope, 0) {
		slope = math.NaN()
	}
	return slope, my - slope*mx
}

// agreement compares paired wear; cluster says which book a pair is from. Intervals of
// slope and offset are by the jackknife over pages (Linnet 1993), or over books where
// there are leastAgreeing or more, by Student's t. The limits of agreement are those of
// Bland and Altman (1986, Lancet i, 307–310).
func agreement(x, y []float64, cluster []int, ratio float64) Agreement {
	a := Agreement{Pages: len(x)}
	a.Slope, a.Offset = Deming(x, y, ratio)
	groups := slices.Compact(slices.Sorted(slices.Values(cluster)))
	if len(groups) < leastAgreeing {
		cluster, groups = nil, nil
		for i := range x {
			cluster, groups = append(cluster, i), append(groups, i)
		}
	}
	var slopes, offsets []float64
	n := float64(len(groups))
	for _, left := range groups {
		var px, py []float64
		for i := range x {
			if cluster[i] != left {
				px, py = append(px, x[i]), append(py, y[i])
			}
		}
		slope, offset := Deming(px, py, ratio)
		slopes, offsets = append(slopes, n*a.Slope-(n-1)*slope), append(offsets, n*a.Offset-(n-1)*offset)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}.Quantile(0.975)
	half := t * stat.StdDev(slopes, nil) / math.Sqrt(n)
	a.SlopeLow, a.SlopeHigh = a.Slope-half, a.Slope+half
	half = t * stat.StdDev(offsets, nil) / math.Sqrt(n)
	a.OffsetLow, a.OffsetHigh = a.Offset-half, a.Offset+half
	differences := make([]float64, len(x))
	for i := range x {
		differences[i] = y[i] - x[i]
	}
	a.Difference, a.SD = stat.MeanStdDev(differences, nil)
	a.Low, a.High = a.Difference-1.96*a.SD, a.Difference+1.96*a.SD
	return a
}

// agreements compares all pairs of instruments that measured pages in common, each by a
// sitting of its own; the first sitting of each with a page counts. Repeatability is
// pooled over the instruments, so that their variances are as their numbers of placings
// have it, alike on most pages: their ratio is taken as 1.
func (w *weighing) agreements() []Agreement {
	type pair struct{ x, y, book []float64 }
	pairs := map[[2]int]*pair{}
	w.eachPage(func(readings []placed) {
		first := readings[0]
		if !slices.ContainsFunc(readings, func(p placed) bool { return p.Instrument != first.Instrument }) {
			return
		}
		kind, _ := w.spots.kindOf(readings)
		if kind == "" {
			return
		}
		entries, blocks, _ := w.entries(readings, kind)
		parts, order := parted(entries, func(s sitting) sitting { return s })
		level := determinations(parts, order, blocks)
		of := map[int]float64{}
		var instruments []int
		for i, d := range level {
			if _, has := of[order[i].instrument]; !has {
				of[order[i].instrument] = d.value
				instruments = append(instruments, order[i].instrument)
			}
		}
		slices.Sort(instruments)
		for i, a := range instruments {
			for _, b := range instruments[i+1:] {
				key := [2]int{a, b}
				if pairs[key] == nil {
					pairs[key] = &pair{}
				}
				p := pairs[key]
				p.x, p.y, p.book = append(p.x, of[a]), append(p.y, of[b]), append(p.book, float64(first.Book))
			}
		}
	})
	var out []Agreement
	for a := range w.log.Instruments {
		for b := range w.log.Instruments {
			p := pairs[[2]int{a, b}]
			if p == nil || len(p.x) < leastAgreeing || stat.Variance(p.x, nil) == 0 {
				continue
			}
			books := make([]int, len(p.book))
			for i, book := range p.book {
				books[i] = int(book)
			}
			found := agreement(p.x, p.y, books, 1)
			found.One, found.Other = w.log.Instruments[a].ID, w.log.Instruments[b].ID
			if !math.IsNaN(found.Slope) {
				out = append(out, found)
			}
		}
	}
	return out
}

// Sentence tells the agreement in words.
func (a Agreement) Sentence() string {
	text := fmt.Sprintf("On the %d pages that both measured, wear by %s is %s plus %.3f times that by %s (95 %% intervals: offset %s to %s, slope %.3f to %.3f; Deming's regression). They differ by %s on the mean, and 95 %% of pages by %s to %s (limits of agreement after Bland and Altman).",
		a.Pages, a.Other, signed(a.Offset, 3), a.Slope, a.One, signed(a.OffsetLow, 3), signed(a.OffsetHigh, 3), a.SlopeLow, a.SlopeHigh,
		signed(a.Difference, 3), signed(a.Low, 3), signed(a.High, 3))
	if a.SlopeLow > 1 || a.SlopeHigh < 1 {
		text += " Their scales differ: what one reads is not what the other reads plus a constant, and an offset does not bring them together."
	}
	return text
}
