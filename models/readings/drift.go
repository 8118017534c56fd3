package readings

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/student"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// A Drift says how tile readings correct the others of their measuring day.
type Drift string

// The drift corrections: none; an offset added to every density; a scale that
// multiplies it; or either, where nobody knows which it was: half as the one and half
// as the other, with an error that holds both.
const (
	DriftNone   Drift = "none"
	DriftOffset Drift = "offset"
	DriftScale  Drift = "scale"
	DriftEither Drift = "either"
)

// DriftWords lists the drift corrections.
const DriftWords = "none, offset, scale or either"

// Known tells whether it is one of the drift corrections.
func (d Drift) Known() bool {
	return d == DriftNone || d == DriftOffset || d == DriftScale || d == DriftEither
}

// scale is the part of the tile's departure that is taken as one of scale.
func (d Drift) scale() float64 {
	switch d {
	case DriftScale:
		return 1
	case DriftEither:
		return 0.5
	}
	return 0
}

// driftWorth is the drift over a day, in repeatability standard deviations, at
// and above which it is pointed out (common practice, no source).
const driftWorth = 1.0

// A DayDrift is the drift of one instrument on one measuring day: the straight
// line, by least squares along time, through the departures of its tile
// readings from the tile's certified density. With all tile readings at one
// time the line is level, and drift cannot be seen.
type DayDrift struct {
	Day        string  `json:"day"`                                               // the day
	Instrument string  `json:"instrument"`                                        // name of the instrument
	Readings   int     `json:"readings"`                                          // readings of the tile
	From       float64 `json:"from" unit:"h"`                                     // first time of day, since midnight
	To         float64 `json:"to" unit:"h"`                                       // last time of day, since midnight
	Start      float64 `json:"start" unit:"density"`                              // the drift line at the beginning: departure from the certified density
	End        float64 `json:"end" unit:"density"`                                // the drift line at the end
	Slope      float64 `json:"slope" unit:"density / h"`                          // change in an hour
	SlopeSE    float64 `json:"slope_se" unit:"density / h"`                       // its standard error
	P          float64 `json:"p"`                                                 // p-value against no slope, two-sided
	SE         float64 `json:"se" unit:"density"`                                 // standard error of the correction in the middle of the day
	DF         float64 `json:"df"`                                                // degrees of freedom of se and p
	Correction Drift   `json:"correction" words:"none / offset / scale / either"` // how the day was corrected

	Break     bool      `json:"-"` // the tile jumped after this part of the day, which has a line of its own
	Jump      float64   `json:"-"` // p of that jump, over all places of all days looked at
	Suspects  []Suspect `json:"-"`
	Certified float64   `json:"-"` // density of the tile
	Zeros     string    `json:"-"` // what the pages' zeros tell of the jump after this part; empty where nothing
	Times     int       `json:"-"` // at which the tile was read on the whole day
	Misfit    float64   `json:"-"` // p, by the F test, of the tile readings' bending away from the line by chance; 1 where it cannot be seen
}

// A Suspect is a tile reading that does not fit its day's line and is left out of it.
type Suspect struct {
	Hour    float64 // hours since midnight
	Density float64
	Off     float64 // density; from the line through the others
}

// A driftLine is the line of one instrument on one day through the departures of
// its tile readings from the certified density, and how it corrects that day's
// readings: of a departure of a + g × certified, an offset a and a scale of 1 + g.
type driftLine struct {
	day        string
	instrument int
	correction Drift
	certified  float64
	readings   int
	from, to   float64 // hours
	centre     float64 // mean hour of the tile readings
	level      float64 // of the line at centre
	slope      float64 // an hour
	spread     float64 // sum of squared hours about centre; 0 where the line is level
	residual   float64 // sum of squared residuals, density²
	residualDF int

	dayFrom, dayTo float64 // hours: of the tile readings of the whole day
	until          float64 // hours: the end of this part of the day; +Inf for its last
	suspects       []Suspect
	jump           float64 // p of the jump after this part, over all places looked at
	times          int     // at which the tile was read on the day
	misfit         float64 // p of the tile readings' bending away from the line
}

// fitDrift fits the line to tile readings, given in any order.
func fitDrift(tile []Reading, certified float64, correction Drift) driftLine {
	line := driftLine{day: tile[0].Day, instrument: tile[0].Instrument, correction: correction, certified: certified,
		readings: len(tile), from: math.Inf(1), to: math.Inf(-1), until: math.Inf(1)}
	hours, departures := make([]float64, len(tile)), make([]float64, len(tile))
	for i, r := range tile {
		hours[i] = r.Hour
		departures[i] = r.Density - certified
		line.from, line.to = math.Min(line.from, r.Hour), math.Max(line.to, r.Hour)
	}
	line.centre = stat.Mean(hours, nil)
	for i := range hours {
		hours[i] -= line.centre
	}
	line.residualDF = len(tile) - 1
	if line.to > line.from {
		line.level, line.slope = stat.LinearRegression(hours, departures, nil, false)
		line.residualDF--
		for _, h := range hours {
			line.spread += h * h
		}
	} else {
		line.level = stat.Mean(departures, nil)
	}
	line.dayFrom, line.dayTo = line.from, line.to
	for i, h := range hours {
		e := departures[i] - line.level - line.slope*h
		line.residual += e * e
	}
	return line
}

// departure is the tile's departure from its certified density.
func (d *driftLine) departure(hour float64) float64 { return d.level + d.slope*(hour-d.centre) }

// gain is what densities are multiplied by at an hour, in so far as the departure is one
// of scale.
func (d *driftLine) gain(hour float64) float64 {
	return 1 + d.correction.scale()*d.departure(hour)/d.certified
}

// correct takes the drift off a density read at an hour.
func (d *driftLine) correct(density, hour float64) float64 {
	if d.correction == DriftNone {
		return density
	}
	return (density - (1-d.correction.scale())*d.departure(hour)) / d.gain(hour)
}

// gradient is how a corrected density moves with the line's level and slope, and with
// the part of the departure that is taken as one of scale.
func (d *driftLine) gradient(corrected, hour float64) (level, slope, scale float64) {
	if d.correction == DriftNone {
		return 0, 0, 0
	}
	of, gain := d.correction.scale(), d.gain(hour)
	level = -(1 - of + of*corrected/d.certified) / gain
	return level, level * (hour - d.centre), d.departure(hour) * (1 - corrected/d.certified) / gain
}

// variance is the variance, density², of a combination of corrected densities
// that moves with the line as given; tileVariance is that of one tile reading.
func (d *driftLine) variance(level, slope, tileVariance float64) float64 {
	v := level * level / float64(d.readings)
	if d.spread > 0 {
		v += slope * slope / d.spread
	}
	return v * tileVariance
}

// A driftTable is the drift of every instrument and day.
type driftTable struct {
	lines    []driftLine // by day, then instrument
	variance float64     // of one tile reading, density²
	df       float64     // degrees of freedom of variance
	own      bool        // variance is from the tile readings, not from the pages
}

// fitDrifts fits a line to each instrument and day that has tile readings, and
// pools what the tile readings scatter about them.
func (l *Log) fitDrifts(correction Drift) driftTable {
	tiles := map[dayKey][]Reading{}
	for r := range l.left() {
		if r.Target == OnTile && r.Excluded == "" {
			tiles[r.dayKey()] = append(tiles[r.dayKey()], *r)
		}
	}
	var t driftTable
	noise := pureError(tiles)
	tests := breakTests(tiles)
	for key, readings := range tiles {
		t.lines = append(t.lines, fitDay(readings, l.Instruments[key.instrument], correction, noise, tests)...)
	}
	slices.SortFunc(t.lines, func(a, b driftLine) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.instrument, b.instrument), cmp.Compare(a.from, b.from))
	})
	residual, df := 0.0, 0
	for _, line := range t.lines {
		residual += line.residual
		df += line.residualDF
	}
	if df > 0 {
		t.variance, t.df, t.own = residual/float64(df), float64(df), true
	}
	return t
}

// A dayKey is an instrument on a day.
type dayKey struct {
	day        string
	instrument int
}

func (r *Reading) dayKey() dayKey { return dayKey{r.Day, r.Instrument} }

// index finds the lines of a day and an instrument, by their hours.
func (t *driftTable) index() map[dayKey][]int {
	index := make(map[dayKey][]int, len(t.lines))
	for i, line := range t.lines {
		key := dayKey{line.day, line.instrument}
		index[key] = append(index[key], i)
	}
	return index
}

// lineAt is the line of several that holds at an hour.
func (t *driftTable) lineAt(lines []int, hour float64) int {
	for _, i := range lines {
		if hour <= t.lines[i].until {
			return i
		}
	}
	return lines[len(lines)-1]
}

// settle gives the variance of a tile reading where the tile readings
// themselves cannot tell it, and keeps it from falling below that of rounding.
func (t *driftTable) settle(l *Log, repeat pool) {
	if !t.own {
		t.variance, t.df = repeat.variance(), float64(repeat.df)
	}
	for _, line := range t.lines {
		step := l.Instruments[line.instrument].Resolution
		t.variance = math.Max(t.variance, step*step/12)
	}
}

// missingTiles reports the days on which drift was to be corrected and no tile
// was read.
func (l *Log) missingTiles(lines map[dayKey][]int) error {
	first := map[dayKey]*Reading{}
	for r := range l.left() {
		if _, has := lines[r.dayKey()]; has || r.Excluded != "" || r.Target == OnTile {
			continue
		}
		if known := first[r.dayKey()]; known == nil || r.File == known.File && r.Line < known.Line {
			first[r.dayKey()] = r
		}
	}
	var ps table.Problems
	for key, r := range first {
		ps.Add(table.Problem{File: r.File, Line: r.Line, Column: "target", Value: key.day + ", " + l.Instruments[key.instrument].ID,
			Expected: "a tile reading of this instrument on this day, since drift is to be corrected",
			Remedy:   "add the day's tile readings, or choose drift = \"none\" under [measuring] in the study file"})
	}
	return ps.Err()
}

// report gives each day's drift as the scholar sees it.
func (t *driftTable) report(l *Log) []DayDrift {
	var days []DayDrift
	for i := range t.lines {
		line := &t.lines[i]
		day := DayDrift{Day: line.day, Instrument: l.Instruments[line.instrument].ID, Readings: line.readings,
			From: line.from, To: line.to, Start: line.departure(line.from), End: line.departure(line.to),
			Slope: math.NaN(), SlopeSE: math.NaN(), P: math.NaN(), DF: t.df, Correction: line.correction,
			Break: !math.IsInf(line.until, 1), Jump: line.jump, Suspects: line.suspects, Times: line.times, Misfit: line.misfit, Certified: line.certified}
		day.SE = math.Sqrt(line.variance(1, (line.from+line.to)/2-line.centre, t.variance))
		if line.spread > 0 {
			day.Slope = line.slope
			day.SlopeSE = math.Sqrt(t.variance / line.spread)
			day.P = student.TwoSided(day.Slope/day.SlopeSE, t.df)
		}
		days = append(days, day)
	}
	return days
}

// clock writes hours since midnight as a time of day.
func clock(hours float64) string {
	minutes := int(math.Round(hours * 60))
	return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60)
}

// notes says in words what the tile readings show.
func (t *driftTable) notes(days []DayDrift, repeat pool) []string {
	var notes, drifted, single []string
	for _, day := range days {
		name := fmt.Sprintf("%s (%s)", day.Day, day.Instrument)
		switch drift := day.End - day.Start; {
		case math.IsNaN(day.Slope):
			single = append(single, name)
		case math.Abs(drift) >= driftWorth*repeat.sd():
			drifted = append(drifted, fmt.Sprintf("%s by %s, %.1f times the repeatability (slope %s an hour, standard error %.4f, %s)",
				name, signed(drift, 3), math.Abs(drift)/repeat.sd(), signed(day.Slope, 4), day.SlopeSE, chance(day.P)))
		}
	}
	notes = append(notes, partNotes(days)...)
	if len(drifted) > 0 {
		notes = append(notes, fmt.Sprintf("Between its first and last reading of the day the tile drifted by as much as the repeatability or more on %s: %s; %s.",
			wording.Plain(len(drifted), "day", "days"), strings.Join(drifted, "; "), corrected[days[0].Correction]))
	}
	if len(single) > 0 {
		notes = append(notes, fmt.Sprintf("With tile readings at one time of day only, drift inside the day cannot be seen, and where a correction is asked for it is level along the day: %s. Read the tile at least at the start and at the end of each day.", wording.List(single)))
	}
	if len(t.lines) > 0 && !t.own {
		notes = append(notes, "No day has tile readings to spare beyond its drift line, so the tile is taken to repeat as well as the pages do.")
	}
	if t.own && exceeds(t.variance, t.df, repeat.variance(), repeat.freedom()) < oddity {
		notes = append(notes, fmt.Sprintf("The tile scatters more about its drift lines (%.4f) than readings repeat (%.4f): the drift of a day is not a straight line, or the tile was soiled. Read the tile more often.", math.Sqrt(t.variance), repeat.sd()))
	}
	return notes
}

// signed writes a number with its sign.
func signed(v float64, digits int) string {
	text := strconv.FormatFloat(math.Abs(v), 'f', digits, 64)
	switch {
	case strings.Trim(text, "0.") == "":
		return text
	case v < 0:
		return "−" + text
	}
	return "+" + text
}

// chance writes the p of a test.
func chance(p float64) string {
	if p < 0.001 {
		return "p < 0.001"
	}
	return fmt.Sprintf("p = %.2g", p)
}

// corrected says what was done about a drift.
var corrected = map[Drift]string{
	DriftNone:   "no correction was asked for, so that it stays in the wear",
	DriftOffset: "each day's readings are corrected by its line, as an offset",
	DriftScale:  "each day's readings are corrected by its line, as a scale",
	DriftEither: "each day's readings are corrected by its line, half as an offset and half as a scale, with an error that holds both",
}
