package readings

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/student"
)

// One tile tells by how much an instrument departs, and not whether its zero moved or its
// scale changed. A page and its zero share an offset, which cancels in wear, but not a
// scale. Corrected as either, a departure is taken as one of scale by half, and by a
// standard deviation of half, so that an offset and a scale are each one standard
// deviation away.

// ByDrift is a source of shared error: what is not known of the drift of an instrument on
// a day, or on a part of one between jumps.
const ByDrift = "drift"

// eitherSD is the standard deviation of the part of a departure that is one of scale.
const eitherSD = 0.5

// either is that source, with a level for each drift line; none where drift is not
// corrected as either.
func (t *driftTable) either(l *Log) (source Source, has bool) {
	source = Source{By: ByDrift, Known: true, SD: eitherSD, SpreadDF: math.Inf(1), DF: math.Inf(1), From: "assumed"}
	for i := range t.lines {
		source.Levels = append(source.Levels, t.lines[i].name(l))
		has = has || t.lines[i].correction == DriftEither
	}
	return source, has
}

// eitherNotes say what it costs not to know whether drift was an offset or one of scale,
// where that is as much as readings repeat.
func (r *Result) eitherNotes(repeat pool) []string {
	most := 0.0
	for _, w := range r.Wear {
		for _, load := range w.Shared {
			if s := r.Shared[load.Source]; s.By == ByDrift {
				most = math.Max(most, math.Abs(load.Weight)*s.SD)
			}
		}
	}
	if most < driftWorth*repeat.sd() {
		return nil
	}
	return []string{fmt.Sprintf("That the tile's departures from its certificate may be of the instrument's zero or of its scale adds a standard deviation of up to %.4f to the wear of a page, which the pages of a day share. Write drift = \"offset\" or \"scale\" under [measuring] if you know which, set the instrument by its white and its dark standard each morning, or use a tile about as dark as the thumbed pages.", most)}
}

// name names a line by its day and instrument, and its hour where the day goes on in parts.
func (d *driftLine) name(l *Log) string {
	name := d.day + " " + l.Instruments[d.instrument].ID
	if !math.IsInf(d.until, 1) || d.from > d.dayFrom {
		name += " from " + clock(d.from)
	}
	return name
}

// A zeroShift is what the zeros of pages moved by at a jump of the tile.
type zeroShift struct {
	moved, se, df float64 // density; mean of the zeros after less before, page by page within books
	offset        float64 // what an offset would have moved them by
	scale         float64 // what a change of scale would have moved them by
}

// zerosAt compares the zeros of the pages read in two parts of a day that follow each
// other, within books; ok is false where no book has pages in both and one more.
func (w *weighing) zerosAt(before, after int) (z zeroShift, ok bool) {
	type side struct{ zero, departure, scale, hour []float64 } // means of pages
	books := map[int]*[2]side{}
	var order []int
	sameZeros := func(a, b *Reading) bool { return a.Book == b.Book && a.Page == b.Page && a.Day == b.Day }
	runs(w.kept, sameZeros, func(page []placed) {
		for at, line := range [2]int{before, after} {
			var zeros, departures, scales, hours []float64
			for _, p := range page {
				if p.Target == OnZero && p.line == line && p.Limit == Measured {
					d := w.drift.lines[line].departure(p.Hour)
					zeros, departures, hours = append(zeros, p.Density), append(departures, d), append(hours, p.Hour)
					scales = append(scales, d*(p.Density-d)/w.drift.lines[line].certified)
				}
			}
			if len(zeros) == 0 {
				continue
			}
			b := books[page[0].Book]
			if b == nil {
				b = &[2]side{}
				books[page[0].Book], order = b, append(order, page[0].Book)
			}
			s := &b[at]
			s.zero, s.departure = append(s.zero, stat.Mean(zeros, nil)), append(s.departure, stat.Mean(departures, nil))
			s.scale, s.hour = append(s.scale, stat.Mean(scales, nil)), append(s.hour, stat.Mean(hours, nil))
		}
	})
	total, squares, hour := 0.0, 0.0, [2]float64{}
	for _, book := range order {
		b := books[book]
		n := [2]float64{float64(len(b[0].zero)), float64(len(b[1].zero))}
		if n[0] == 0 || n[1] == 0 {
			continue
		}
		weight := n[0] * n[1] / (n[0] + n[1])
		total += weight
		difference := func(of func(side) []float64) float64 { return stat.Mean(of(b[1]), nil) - stat.Mean(of(b[0]), nil) }
		z.moved += weight * difference(func(s side) []float64 { return s.zero })
		z.offset += weight * difference(func(s side) []float64 { return s.departure })
		z.scale += weight * difference(func(s side) []float64 { return s.scale })
		for k := range b {
			hour[k] += weight * stat.Mean(b[k].hour, nil)
			left := make([]float64, len(b[k].zero)) // of the zeros, an offset subtracted
			for i := range left {
				left[i] = b[k].zero[i] - b[k].departure[i]
			}
			mean := stat.Mean(left, nil)
			for _, v := range left {
				squares += (v - mean) * (v - mean)
			}
			z.df += n[k] - 1
		}
	}
	if total == 0 || z.df < 1 {
		return z, false
	}
	z.moved, z.offset, z.scale = z.moved/total, z.offset/total, z.scale/total
	parts := []variancePart{{squares / z.df / total, z.df}}
	for k, at := range [2]int{before, after} {
		line := &w.drift.lines[at]
		parts = append(parts, variancePart{line.variance(1, hour[k]/total-line.centre, w.drift.variance), w.drift.df})
	}
	z.se, z.df = combine(parts)
	return z, z.se > 0
}

// sentence says what the zeros tell of a jump: which of the two is beyond chance.
func (z zeroShift) sentence() string {
	rejected := func(expected float64) bool { return student.TwoSided((z.moved-expected)/z.se, z.df) < 0.05 }
	tells := "which do not tell one from the other"
	switch offset, scale := rejected(z.offset), rejected(z.scale); {
	case offset && scale:
		tells = "which fits neither"
	case scale:
		tells = "which speaks for an offset"
	case offset:
		tells = "which speaks for a change of scale"
	}
	return fmt.Sprintf("the pages' zeros moved by %s (standard error %.4f), an offset would have moved them by %s and a change of scale by %s, %s",
		signed(z.moved, 4), z.se, signed(z.offset, 4), signed(z.scale, 4), tells)
}
