package readings

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Precision is what the log says of the measuring itself, in the sense of
// ISO 5725-1:1994: standard deviations of density. What nothing in the log tells is NaN;
// degrees of freedom are +Inf where the study states the spread. Repeatability is pooled
// over cells: readings of one target by one observer with one instrument on one day;
// cells with a reading at a limit are left out. BetweenDays is an intermediate precision
// in the sense of ISO 5725-3:1994.
type Precision struct {
	Repeatability   float64 `json:"repeatability" unit:"density"`   // standard deviation of placings repeated under the same conditions (ISO 5725)
	DF              float64 `json:"df"`                             // its degrees of freedom; none where the source of all readings states it
	Cells           int     `json:"cells"`                          // groups of repeated placings that it rests on
	OnPage          float64 `json:"on_page" unit:"density"`         // repeatability on the thumbed place
	OnPageDF        float64 `json:"on_page_df"`                     // its degrees of freedom
	OnZero          float64 `json:"on_zero" unit:"density"`         // repeatability on the zero
	OnZeroDF        float64 `json:"on_zero_df"`                     // its degrees of freedom
	Between         float64 `json:"between" unit:"density"`         // standard deviation between observers or instruments (ISO 5725)
	Reproducibility float64 `json:"reproducibility" unit:"density"` // standard deviation of single determinations by different observers or instruments (ISO 5725)
	// BetweenUpper is the upper 95 % limit of Between, as the pages that two or more
	// measured tell it; NaN likewise. That nothing is seen between them is no proof that
	// nothing is.
	BetweenUpper float64 `json:"between_upper" unit:"density"`
	Levels       int     `json:"levels"` // pages that two or more of them measured
	// standard deviation between days of one observer with one instrument on one page,
	// beyond repeatability; null where no page was measured again
	BetweenDays  float64  `json:"between_days" unit:"density"`
	Again        int      `json:"again"`                      // pages measured again on another day
	Groups       []string `json:"groups"`                     // observers with their instruments
	SpotSpread   float64  `json:"spot_spread" unit:"density"` // standard deviation between single readings on spots of one page
	SpotSpreadDF float64  `json:"spot_spread_df"`             // its degrees of freedom
	Spots        int      `json:"spots"`                      // spots logged one by one that tell it; 0 where the study gives it
	TileSD       float64  `json:"tile_sd" unit:"density"`     // standard deviation of readings of the tile about their day's drift line
	TileDF       float64  `json:"tile_df"`                    // its degrees of freedom
	Placing      float64  `json:"placing" unit:"density"`     // standard deviation of placing the instrument anew at another sitting, beyond repeatability
	PlacingDF    float64  `json:"placing_df"`                 // its degrees of freedom; none where the study states it
	Twice        int      `json:"measured_again"`             // pages measured in two sittings or more that tell it
}

// A determination is the result of one laboratory (in ISO 5725: one observer
// with one instrument) for one level (here: one page).
type determination struct {
	value    float64
	variance float64 // under repeatability
}

// betweenPool gathers, level by level, what the laboratories differ by.
type betweenPool struct {
	excess float64 // Σ p (y − ȳ)² less its expectation under repeatability, p = 1/variance
	weight float64 // Σp − Σp²/Σp
	df     float64 // determinations less levels
	levels int
}

// add puts in the determinations of a level; one alone says nothing.
func (b *betweenPool) add(level []determination) {
	if len(level) < 2 {
		return
	}
	sum, squares, mean := 0.0, 0.0, 0.0
	for _, d := range level {
		p := 1 / d.variance
		sum += p
		squares += p * p
		mean += p * d.value
	}
	mean /= sum
	for _, d := range level {
		b.excess += (d.value - mean) * (d.value - mean) / d.variance
	}
	b.excess -= float64(len(level) - 1)
	b.df += float64(len(level) - 1)
	b.weight += sum - squares/sum
	b.levels++
}

// variance is s_L² of ISO 5725-2:1994, 7.4.5.4 (equations 20 to 22): the
// variance of the laboratories' means over that which repeatability explains,
// by the one-way analysis, with 1/variance in the place of the number of
// results so that the zero's own error counts too; pooled over levels. It may
// be negative, which stands for none.
func (b *betweenPool) variance() float64 {
	if b.weight == 0 {
		return math.NaN()
	}
	return b.excess / b.weight
}

// upper is the upper 95 % limit of the standard deviation: that at which so small a sum
// of squares has a chance of 5 % (the Q-profile of Viechtbauer 2007, Stat. Med. 26,
// 37–52, section 3.3, with the determinations' weights held).
func (b *betweenPool) upper() float64 {
	if b.weight == 0 || b.df == 0 {
		return math.NaN()
	}
	least := distuv.ChiSquared{K: b.df}.Quantile(0.05)
	return math.Sqrt(math.Max(0, ((b.excess+b.df)/least-1)*b.df/b.weight))
}

func (w *weighing) precision() Precision {
	p := Precision{
		Repeatability: w.repeat.sd(), DF: w.repeat.freedom(), Cells: w.repeat.cells,
		OnPage: w.onPage.sd(), OnPageDF: w.onPage.freedom(), OnZero: w.onZero.sd(), OnZeroDF: w.onZero.freedom(),
		Between: math.NaN(), BetweenUpper: w.between.upper(), Reproducibility: math.NaN(), Levels: w.between.levels, Groups: w.groups(),
		SpotSpread: w.spots.spread, SpotSpreadDF: w.spots.df, Spots: w.spots.logged,
		BetweenDays: math.NaN(), Again: w.again.levels,
		TileSD: math.NaN(), TileDF: math.NaN(),
	}
	p.Placing, p.PlacingDF, p.Twice = math.NaN(), math.NaN(), w.shared.again
	if w.shared.placed {
		p.Placing, p.PlacingDF = math.Sqrt(w.shared.placing), w.shared.placingDF
	}
	if again := w.again.variance(); !math.IsNaN(again) {
		p.BetweenDays = math.Sqrt(math.Max(0, again))
	}
	if w.stated {
		p.DF = math.Inf(1)
	}
	if w.drift.own {
		p.TileSD, p.TileDF = math.Sqrt(w.drift.variance), w.drift.df
	}
	if between := w.between.variance(); !math.IsNaN(between) {
		p.Between = math.Sqrt(math.Max(0, between))
		p.Reproducibility = math.Hypot(p.Between, p.Repeatability)
	}
	return p
}

func (w *weighing) groups() []string {
	seen := map[sitting]bool{}
	var names []string
	for _, p := range w.kept {
		group := sitting{instrument: p.Instrument, observer: p.Observer}
		if !seen[group] {
			seen[group] = true
			names = append(names, w.groupName(group))
		}
	}
	sort.Strings(names)
	return names
}

// compare puts the page into the comparison of observers and instruments, and
// each of these into that of its days.
func (w *weighing) compare(sittings [][]entry, blocks int) {
	if len(sittings) < 2 {
		return
	}
	groups := parted(sittings, func(s sitting) sitting { return sitting{instrument: s.instrument, observer: s.observer} })
	w.between.add(determinations(groups, blocks))
	for _, group := range groups {
		w.again.add(determinations(parted(group, func(s sitting) sitting { return sitting{day: s.day} }), blocks))
	}
}

// bySitting cuts a page's entries where the sitting changes: those of a sitting follow
// each other.
func bySitting(entries []entry) (sittings [][]entry) {
	for start := 0; start < len(entries); {
		end := start + 1
		for end < len(entries) && entries[end].sitting == entries[start].sitting {
			end++
		}
		sittings = append(sittings, entries[start:end])
		start = end
	}
	return sittings
}

// parted parts the entries of sittings by a key, the keys in their order of appearance,
// which is that of the sorted log.
func parted(sittings [][]entry, key func(sitting) sitting) (parts [][][]entry) {
	at := map[sitting]int{}
	for _, entries := range sittings {
		k := key(entries[0].sitting)
		place, known := at[k]
		if !known {
			place = len(parts)
			at[k], parts = place, append(parts, nil)
		}
		parts[place] = append(parts[place], entries)
	}
	return parts
}

// each gives every sitting as a part of its own.
func each(sittings [][]entry) [][][]entry {
	parts := make([][][]entry, len(sittings))
	for k := range sittings {
		parts[k] = sittings[k : k+1]
	}
	return parts
}

// determinations gives the wear of a page by each part of its entries; none
// where a reading stands at a limit, or where two parts share a zero and so do
// not speak for themselves.
func determinations(parts [][][]entry, blocks int) []determination {
	if len(parts) < 2 {
		return nil
	}
	type place struct{ part, block int } // both counted from 1: the part that has a block, and its number there
	places := make([]place, blocks)
	var level []determination
	var data []datum
	for k, part := range parts {
		data = data[:0]
		own := 0 // blocks of the part
		for _, entries := range part {
			for i := range entries {
				e := &entries[i]
				at := &places[e.block]
				if at.part == 0 {
					own++
					*at = place{k + 1, own}
				}
				if e.limit != Measured || at.part != k+1 {
					return nil
				}
				d := e.datum
				d.block = at.block - 1
				data = append(data, d)
			}
		}
		if e, ok := solve(data, own); ok {
			d := determination{value: e.wear}
			for _, share := range e.share {
				d.variance += share
			}
			level = append(level, d)
		}
	}
	return level
}

// groupName names an observer with an instrument.
func (w *weighing) groupName(s sitting) string {
	instrument := w.log.Instruments[s.instrument].ID
	if s.observer == "" {
		return instrument
	}
	return s.observer + " with " + instrument
}
