package readings

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/student"
	"thumbed/models/table"
)

// PairedSchema describes a table of spots that two instruments or more read: one row a
// placing. A spot that one instrument read twice or more tells how it repeats.
func PairedSchema() table.Schema {
	return table.Schema{
		Fields: []table.Field{
			{Name: "book", Kind: table.String, Title: "Book",
				Description: "what the spot is on: a book's id, or another name of the object; spots of one object are alike", Constraints: &table.Limits{Required: true}},
			{Name: "spot", Kind: table.String, Title: "Spot",
				Description: "the spot's name in its book, the same for all instruments", Constraints: &table.Limits{Required: true}},
			{Name: "instrument", Kind: table.String, Title: "Instrument",
				Description: "its name in instruments.csv", Constraints: &table.Limits{Required: true}},
			{Name: "density", Kind: table.Number, Title: "Density",
				Description: "as the instrument shows it on this spot", Constraints: &table.Limits{Required: true}},
			{Name: "note", Kind: table.String, Title: "Note", Description: "anything else"},
		},
	}
}

// A paired is what instruments read on the same spots.
type paired struct {
	spots []pairedSpot
	// variance is that of one placing of each instrument, from spots that it read twice or
	// more; NaN where none tells.
	variance []float64
}

// A pairedSpot is one spot with the placings of each instrument, by its index.
type pairedSpot struct {
	book   string
	values map[int][]float64
}

// loadPaired reads a table of paired readings.
func loadPaired(path string, instruments []Instrument, ps *table.Problems) *paired {
	t := table.ReadFile(path, ps)
	if t == nil || !PairedSchema().Check(t, ps) {
		return nil
	}
	p := &paired{}
	at := map[[2]string]int{}
	for i := range t.Rows() {
		id := t.Column("instrument").Label(i)
		in := slices.IndexFunc(instruments, func(in Instrument) bool { return in.ID == id })
		if in < 0 {
			var ids []string
			for _, in := range instruments {
				ids = append(ids, in.ID)
			}
			ps.Add(table.Problem{File: t.File, Line: t.Line(i), Column: "instrument", Value: id, Expected: "an instrument of the table of instruments: " + named(ids),
				Remedy: "correct its spelling, or describe it there"})
			continue
		}
		density := t.Column("density").Number(i)
		if instruments[in].Limit(density) != Measured {
			continue // a bound pairs with nothing
		}
		key := [2]string{t.Column("book").Label(i), t.Column("spot").Label(i)}
		k, known := at[key]
		if !known {
			k = len(p.spots)
			at[key], p.spots = k, append(p.spots, pairedSpot{book: key[0], values: map[int][]float64{}})
		}
		p.spots[k].values[in] = append(p.spots[k].values[in], density)
	}
	slices.SortStableFunc(p.spots, func(a, b pairedSpot) int { return strings.Compare(a.book, b.book) })
	for in := range instruments {
		var of pool
		for _, s := range p.spots {
			of.add(s.values[in], 1)
		}
		p.variance = append(p.variance, of.variance())
	}
	return p
}

// compare is how two instruments agree on the spots that both read; ok is false where
// these are too few.
func (p *paired) compare(one, other int, instruments []Instrument) (a Agreement, ok bool) {
	var x, y []float64
	var book []int
	var named []string
	nx, ny := 0.0, 0.0
	for _, s := range p.spots {
		vx, vy := s.values[one], s.values[other]
		if len(vx) == 0 || len(vy) == 0 {
			continue
		}
		at := slices.Index(named, s.book)
		if at < 0 {
			at, named = len(named), append(named, s.book)
		}
		x, y, book = append(x, stat.Mean(vx, nil)), append(y, stat.Mean(vy, nil)), append(book, at)
		nx, ny = nx+1/float64(len(vx)), ny+1/float64(len(vy))
	}
	if len(x) < leastAgreeing || stat.Variance(x, nil) == 0 {
		return a, false
	}
	ratio, told := 1.0, false
	if vx, vy := p.variance[one]*nx, p.variance[other]*ny; vx > 0 && vy > 0 {
		ratio, told = vy/vx, true
	}
	a = agreement(x, y, book, ratio)
	if told { // of single placings, whatever was averaged (Bland and Altman 1986, "measuring agreement using repeated measurements")
		n := float64(len(x))
		a.spread(math.Sqrt(a.SD*a.SD + (1-nx/n)*p.variance[one] + (1-ny/n)*p.variance[other]))
	}
	a.One, a.Other, a.Paired, a.Ratio, a.RatioTold = instruments[one].ID, instruments[other].ID, true, ratio, told
	return a, !math.IsNaN(a.Slope)
}

// A conversion is the way from what one instrument shows to another's scale.
type conversion struct {
	to            int     // index of the instrument converted to
	offset, slope float64 // density there = offset + slope × density here
	slopeSE, df   float64
}

// convert brings the readings of instruments that are converted to the scale of those
// that they are converted to, with what stands in their rows. It refuses readings from
// elsewhere beside others without such a table, and conversions that no table tells.
func (l *Log) convert(p *paired, file string, ps *table.Problems) {
	used := make([]bool, len(l.Instruments))
	for _, r := range l.Readings {
		used[r.Instrument] = used[r.Instrument] || r.Excluded == ""
	}
	several := slices.Index(used, true) >= 0 && slices.Contains(used[slices.Index(used, true)+1:], true)
	l.conversions = make([]conversion, len(l.Instruments))
	for i := range l.Instruments {
		in := &l.Instruments[i]
		refuse := func(column, value, expected, remedy string) {
			ps.Add(table.Problem{File: file, Line: in.line, Column: column, Value: value, Expected: expected, Remedy: remedy})
		}
		if in.ConvertedTo == "" {
			alone := slices.ContainsFunc(l.Instruments, func(o Instrument) bool { return o.ConvertedTo == in.ID })
			if in.StatedSD > 0 && several && used[i] && !alone {
				refuse("converted_to", "", "the instrument to whose scale these readings from elsewhere are converted, since others stand beside them",
					fmt.Sprintf("read %d spots or more with both, name that table as paired under [tables], and the instrument here", leastAgreeing))
			}
			continue
		}
		to := slices.IndexFunc(l.Instruments, func(o Instrument) bool { return o.ID == in.ConvertedTo })
		switch {
		case to < 0 || to == i || l.Instruments[to].ConvertedTo != "":
			refuse("converted_to", in.ConvertedTo, "another instrument of this table that is not converted itself", "name the instrument on whose scale wear is to be")
			continue
		case p == nil:
			refuse("converted_to", in.ConvertedTo, "a table of spots that both instruments read", "name it as paired under [tables] in the study file")
			continue
		}
		a, ok := p.compare(i, to, l.Instruments)
		if !ok {
			refuse("converted_to", in.ConvertedTo, fmt.Sprintf("%d spots or more of different density that both read, in the table of paired readings", leastAgreeing), "read more spots with both")
			continue
		}
		l.conversions[i] = conversion{to: to, offset: a.Offset, slope: a.Slope, slopeSE: (a.SlopeHigh - a.SlopeLow) / 2 / student.Half(0.95, a.Freedom), df: a.Freedom}
	}
	if p != nil {
		for i := range l.Instruments {
			for j := range l.Instruments[:i] {
				one, other := j, i
				if l.conversions[j].slope == 0 && l.conversions[i].slope != 0 {
					one, other = i, j
				}
				if a, ok := p.compare(one, other, l.Instruments); ok {
					l.paired = append(l.paired, a)
				}
			}
		}
	}
	for i := range l.Instruments {
		if c := l.conversions[i]; c.slope != 0 {
			in := &l.Instruments[i]
			at := func(density float64) float64 { return c.offset + c.slope*density }
			in.Floor, in.Ceiling, in.Tile = at(in.Floor), at(in.Ceiling), at(in.Tile)
			in.Resolution, in.StatedSD = math.Abs(c.slope)*in.Resolution, math.Abs(c.slope)*in.StatedSD
			for k := range l.Readings {
				if r := &l.Readings[k]; r.Instrument == i {
					r.Density = at(r.Density)
				}
			}
		}
	}
}

// ByConversion is a source of shared error: the slope of a conversion, in which all pages
// read by the converted instrument share.
const ByConversion = "conversion"

// shareConversions adds the errors of conversions to the pages that were converted. The
// offset cancels between a page and its zero; of the slope's error a page has a share of
// its wear over the slope.
func (r *Result) shareConversions(l *Log) {
	for i, c := range l.conversions {
		if c.slope == 0 || !(c.slopeSE > 0) {
			continue
		}
		id := l.Instruments[i].ID
		source := Source{By: ByConversion, Known: true, SD: c.slopeSE, SpreadDF: c.df, DF: c.df, From: "paired readings", Levels: []string{id}}
		for k := range r.Wear {
			w := &r.Wear[k]
			part := 0.0
			for _, s := range w.Sat {
				if s.Instrument == id {
					part += s.Weight
				}
			}
			if part != 0 {
				w.Shared = append(w.Shared, Loading{Source: len(r.Shared), Weight: part * w.Density / c.slope})
			}
		}
		r.Shared = append(r.Shared, source)
	}
}

// ofReading is the variance of one placing of an instrument: as stated for readings from
// elsewhere, else the pooled repeatability.
func (w *weighing) ofReading(instrument int) float64 {
	if sd := w.log.Instruments[instrument].StatedSD; sd > 0 {
		return sd * sd
	}
	return w.repeat.variance()
}
