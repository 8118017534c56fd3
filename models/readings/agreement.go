package readings

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/student"
)

// An Agreement is how two instruments agree on the pages that both measured.
type Agreement struct {
	One        string    `json:"one"`                        // an instrument’s id
	Other      string    `json:"other"`                      // the other’s
	Pages      int       `json:"pages"`                      // pages, or spots of the table of paired readings
	Paired     bool      `json:"paired"`                     // of paired readings: densities of spots, not wear of pages
	Books      int       `json:"books"`                      // that the pages or spots are of
	ByBook     bool      `json:"by_book"`                    // intervals are by books, else by pages or spots
	Ratio      float64   `json:"ratio"`                      // of the error variances, other over one
	RatioTold  bool      `json:"ratio_told"`                 // spots read twice tell the ratio; else it is taken as 1
	Freedom    float64   `json:"df"`                         // degrees of freedom of the intervals
	X          []float64 `json:"x" unit:"density"`           // by one
	Y          []float64 `json:"y" unit:"density"`           // the same by the other
	Slope      float64   `json:"slope"`                      // of the line other = offset + slope · one through the true wear, by Deming’s regression
	SlopeLow   float64   `json:"slope_low"`                  // lower end of its 95 % interval
	SlopeHigh  float64   `json:"slope_high"`                 // upper end
	Offset     float64   `json:"offset" unit:"density"`      // of that line
	OffsetLow  float64   `json:"offset_low" unit:"density"`  // lower end of its 95 % interval
	OffsetHigh float64   `json:"offset_high" unit:"density"` // upper end
	Difference float64   `json:"difference" unit:"density"`  // mean of other less one
	SD         float64   `json:"sd" unit:"density"`          // standard deviation of the differences; of single placings where spots were read twice
	Low        float64   `json:"low" unit:"density"`         // lower limit of agreement: 95 % of differences are expected between the two
	High       float64   `json:"high" unit:"density"`        // upper limit of agreement
}

// leastAgreeing is the number of pages from which a line between two instruments is
// told (common practice, no source: the jackknife needs some).
const leastAgreeing = 10

// deming gives slope and offset of y = offset + slope · x where both are measured with
// error, the variance of y's over that of x's being ratio (Linnet 1993, Clinical
// Chemistry 39, 424–432). NaN where x and y do not vary together.
func deming(x, y []float64, ratio float64) (slope, offset float64) {
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
// slope and offset are by the jackknife over books where there are leastBooks or more,
// since what differs between books is shared by their pages, else over pages (Linnet
// 1993), by Student's t. The limits of agreement are those of Bland and Altman (1986,
// Lancet i, 307–310); their standard deviation is that of a difference drawn from any
// book, between books and within by the analysis of variance (Bland and Altman 2007,
// Journal of Biopharmaceutical Statistics 17, 571–582, section 3).
func agreement(x, y []float64, cluster []int, ratio float64) Agreement {
	a := Agreement{Pages: len(x), Ratio: ratio, X: x, Y: y}
	a.Slope, a.Offset = deming(x, y, ratio)
	groups := slices.Compact(slices.Sorted(slices.Values(cluster)))
	books := cluster
	a.Books = len(groups)
	if a.ByBook = len(groups) >= leastBooks; !a.ByBook {
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
		slope, offset := deming(px, py, ratio)
		slopes, offsets = append(slopes, n*a.Slope-(n-1)*slope), append(offsets, n*a.Offset-(n-1)*offset)
	}
	a.Freedom = n - 1
	t := student.Half(0.95, a.Freedom)
	half := t * stat.StdDev(slopes, nil) / math.Sqrt(n)
	a.SlopeLow, a.SlopeHigh = a.Slope-half, a.Slope+half
	half = t * stat.StdDev(offsets, nil) / math.Sqrt(n)
	a.OffsetLow, a.OffsetHigh = a.Offset-half, a.Offset+half
	differences := make([]float64, len(x))
	for i := range x {
		differences[i] = y[i] - x[i]
	}
	a.Difference = stat.Mean(differences, nil)
	a.spread(anyBook(differences, books))
	return a
}

// spread sets the standard deviation of the differences and the limits of agreement.
func (a *Agreement) spread(sd float64) {
	a.SD, a.Low, a.High = sd, a.Difference-1.96*sd, a.Difference+1.96*sd
}

// leastBooks is the number of books from which intervals are by books (common practice,
// no source: fewer hardly tell what differs between them).
const leastBooks = 5

// anyBook is the standard deviation of a value of any book: what the analysis of variance
// tells between books and within them, between taken as nothing where it comes out below.
func anyBook(values []float64, books []int) float64 {
	of := map[int][]float64{}
	for i, b := range books {
		of[b] = append(of[b], values[i])
	}
	n := float64(len(values))
	if k := float64(len(of)); k < 2 || k == n {
		return stat.StdDev(values, nil)
	}
	mean, within, between, squares := stat.Mean(values, nil), 0.0, 0.0, 0.0
	for _, b := range slices.Sorted(maps.Keys(of)) {
		size, own := float64(len(of[b])), stat.Mean(of[b], nil)
		between += size * (own - mean) * (own - mean)
		squares += size * size
		for _, v := range of[b] {
			within += (v - own) * (v - own)
		}
	}
	k := float64(len(of))
	within /= n - k
	between = (between/(k-1) - within) / ((n - squares/n) / (k - 1))
	return math.Sqrt(within + math.Max(0, between))
}

// agreements compares all pairs of instruments that measured pages in common, each by a
// sitting of its own, in the order of their names; the first sitting of each with a page
// counts. Repeatability is pooled over the instruments, so that their variances are as
// their numbers of placings have it, alike on most pages: their ratio is taken as 1.
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
		sittings := bySitting(entries)
		level := determinations(each(sittings), blocks)
		of := map[int]float64{}
		var instruments []int
		for i, d := range level {
			instrument := sittings[i][0].sitting.instrument
			if _, has := of[instrument]; !has {
				of[instrument] = d.value
				instruments = append(instruments, instrument)
			}
		}
		slices.SortFunc(instruments, func(a, b int) int { return strings.Compare(w.log.Instruments[a].ID, w.log.Instruments[b].ID) })
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
	for key, p := range pairs {
		if len(p.x) < leastAgreeing || stat.Variance(p.x, nil) == 0 {
			continue
		}
		books := make([]int, len(p.book))
		for i, book := range p.book {
			books[i] = int(book)
		}
		found := agreement(p.x, p.y, books, 1)
		found.One, found.Other = w.log.Instruments[key[0]].ID, w.log.Instruments[key[1]].ID
		if !math.IsNaN(found.Slope) {
			out = append(out, found)
		}
	}
	slices.SortFunc(out, func(a, b Agreement) int {
		return cmp.Or(strings.Compare(a.One, b.One), strings.Compare(a.Other, b.Other))
	})
	return out
}

// Sentence tells the agreement in words.
func (a Agreement) Sentence() string {
	of, what := "pages that both measured", "wear"
	if a.Paired {
		of, what = "paired spots that both read", "density"
	}
	by := "books"
	if !a.ByBook {
		by = "pages, of too few books to be told apart by them"
		if a.Paired {
			by = "spots, of too few books to be told apart by them"
		}
	}
	ratio := "taken to err alike"
	if a.RatioTold {
		ratio = fmt.Sprintf("error variances in the ratio %.2f by spots read twice", a.Ratio)
	}
	them := "them"
	if a.RatioTold {
		them = "single placings"
	}
	text := fmt.Sprintf("On the %d %s, %s by %s is %s plus %.3f times that by %s (95 %% intervals: offset %s to %s, slope %.3f to %.3f; Deming's regression, %s, intervals over %s). They differ by %s on the mean, and 95 %% of "+them+" by %s to %s (limits of agreement after Bland and Altman).",
		a.Pages, of, what, a.Other, signed(a.Offset, 3), a.Slope, a.One, signed(a.OffsetLow, 3), signed(a.OffsetHigh, 3), a.SlopeLow, a.SlopeHigh, ratio, by,
		signed(a.Difference, 3), signed(a.Low, 3), signed(a.High, 3))
	if a.SlopeLow > 1 || a.SlopeHigh < 1 {
		text += " Their scales differ: what one reads is not what the other reads plus a constant, and an offset does not bring them together."
	}
	return text
}
