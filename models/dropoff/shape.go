package dropoff

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"
)

// A Shape is what is the same inside a segment and changes between segments.
type Shape string

// The shapes. [Segment] is the fuller treatment of changes of level alone.
const (
	LevelAndSlope   Shape = "level and slope"   // a line in each segment, lines not joined
	JoinedLines     Shape = "joined lines"      // a line in each segment, each beginning where the last ends
	LevelAndScatter Shape = "level and scatter" // a level in each segment, and its own scatter about it
)

// ShapeNamed is the shape of that name, its words parted by spaces or hyphens.
func ShapeNamed(name string) (Shape, error) {
	all := []Shape{LevelAndSlope, JoinedLines, LevelAndScatter}
	for _, shape := range all {
		if strings.ReplaceAll(name, "-", " ") == string(shape) {
			return shape, nil
		}
	}
	return "", fmt.Errorf("%q is no shape: choose %s, %s or %s", name, all[0], all[1], all[2])
}

// A Piece is one segment of a shaped series, rows From to To from 1, both in; of
// joined lines the row of a joint is in both.
type Piece struct {
	From    int     `json:"from"`                         // first row, counted from 1
	To      int     `json:"to"`                           // last row
	Start   float64 `json:"start" unit:"of the values"`   // value expected at its first row
	End     float64 `json:"end" unit:"of the values"`     // value expected at its last row
	Scatter float64 `json:"scatter" unit:"of the values"` // standard deviation of rows about it, their own measuring errors in it
	// Slope is what is expected more from one position to the next (from one row
	// to the next where rows have no positions), with its 95 % interval, the places
	// taken as found; 0 throughout where pieces are levels.
	Slope     float64 `json:"slope" unit:"of the values by position"` // what is expected more from one position to the next, of rows without positions from one row to the next; 0 where pieces are levels
	SlopeLow  float64 `json:"slope_low"`                              // lower end of its 95 % interval, the places taken as found
	SlopeHigh float64 `json:"slope_high"`                             // upper end of that interval
}

// A Bend is a place between two pieces.
type Bend struct {
	After       int     `json:"after"`       // last row before it, counted from 1; of joined lines the row at which they meet
	At          string  `json:"at"`          // label of that row
	Low         int     `json:"low"`         // first row of the 95 % interval of the place
	High        int     `json:"high"`        // last row of that interval
	Probability float64 `json:"probability"` // probability of a change inside the interval, given the other changes
	Sizes       []Size  `json:"sizes"`       // in what the pieces on either side differ, and by how much
}

// Shaped is a series in pieces of one shape. Its JSON keys are a promise.
type Shaped struct {
	N         int     `json:"n"`                                                                // rows of the series
	Shape     Shape   `json:"shape" words:"level and slope / joined lines / level and scatter"` // what changes: see --of of thumbed changes
	Criterion string  `json:"criterion"`                                                        // by what the number of changes was chosen
	Bends     []Bend  `json:"changes"`                                                          // the changes, in order
	Pieces    []Piece `json:"pieces"`                                                           // the pieces between them, in order
	Path      []Step  `json:"-"`                                                                // the best for each number of bends
	// FalseAlarm is how often a series in one piece, with noise like this one's,
	// looks as much like several; 0 where not asked.
	FalseAlarm float64  `json:"false_alarm"` // how often a series in one piece, with noise like this one's, looks as much like several; 0 where not asked
	Notes      []string `json:"notes"`       // plain sentences on what should be known before the numbers are used

	labels []string
	per    string // what slopes are by: "a row" or "a position"
}

// mostPathed is the longest series for which the best segmentation is found for
// each number of changes; in longer ones it is found for one penalty.
func (shape Shape) mostPathed() int {
	if shape == JoinedLines {
		return 200
	}
	return 1000
}

// SegmentBy finds the changes of a shape in a series.
//
// For each number of changes the best segmentation is found exactly: of lines
// that are not joined, and of levels with their own scatter, by dynamic
// programming over the places; of joined lines by dynamic programming over the
// place and the height of each joint, keeping for each place the heights at
// which a way to it may still be best (Fearnhead, Maidstone and Letchford 2019,
// Journal of Computational and Graphical Statistics 28, 265–275, section 3). The
// number is the one with the highest likelihood integrated over levels, slopes
// and scatter, flat beforehand in units of the noise (of a piece, for its
// slope), places anywhere: for levels that is the criterion of [Segment]. As
// there, changes are claimed only where series without, drawn with this one's
// noise, look as much like them in at most 3 of 100 cases (4 for
// levels with their own scatter). The noise's
// correlation is the one given, or that of 0, 0.2, 0.4 and 0.6 that suits best.
//
// In series of more than 1,000 rows (200 for joined lines) the best segmentation is
// found for one penalty, which is what a change costs the criterion in that segmentation, and
// beyond 5,000 rows (2,000 for joined lines) places are first looked for on rows
// evenly spread, that many of them, and then each is moved to its best row between
// its neighbours; the correlation is then estimated robustly. Memory grows with
// the rows.
//
// A change has the interval of its place and its probability given the other
// changes, and its sizes (see [Size]). At a known break joined lines may jump, and
// noise begins afresh; it is not counted among the changes. Breaks, no-change
// zones, the minimum length (at least 3 rows here) and the number of changes are
// as in [Options]. It fails where [Segment] does.
func SegmentBy(shape Shape, s Series, o Options) (*Shaped, error) {
	if _, err := ShapeNamed(string(shape)); err != nil {
		return nil, err
	}
	o.MinLength = max(o.MinLength, 3)
	o, where, err := prepare(s, o)
	if err != nil {
		return nil, err
	}
	return newShapedContest(shape, s, o, where).describe(shape, s, o, where)
}

// newShaped lays a shape over a series whose noise has the correlation given.
func newShaped(shape Shape, rho float64, s Series, o Options, where places) shapedFit {
	v := robustNoise(s.levelled(o.breaks()), rho)
	l := newCandidateFits(s, v, search{newRows(s, v), where, o.MinLength})
	switch shape {
	case LevelAndSlope:
		return shapedFit{l, newSlopes(l)}
	case JoinedLines:
		return shapedFit{l, newJoints(l)}
	}
	return shapedFit{l, newScatters(l)}
}

// A shapedFit is a shape laid over a series.
type shapedFit struct {
	candidateFits
	model shaped
}

// A shaped model gives the best segmentations and what it says of them. Places
// are the last rows of all pieces but the last, known breaks among them.
type shaped interface {
	// path calls more with the best places for each number of changes, as long
	// as it returns true.
	path(more func(k int, places []int) bool)
	// cheapest are the best places for a penalty for each change.
	cheapest(penalty float64) []int
	// penalty is what each change of a segmentation costs the criterion, on
	// average, in the unit of cheapest.
	penalty(places []int) float64
	// score is the criterion and misfit of a segmentation.
	score(places []int) (criterion, misfit float64)
	// pieces describes the segments.
	pieces(places []int) []Piece
	// slope is that of piece k, by position.
	slope(places []int, k int) estimate
	// differences tells how the pieces either side of place j differ, one
	// estimate for each name.
	differences(places []int, j int) []estimate
	names() []string
	// alone is the posterior of place j, the others as found, by rows after the
	// place before it; some is the probability that there is a change there.
	alone(places []int, j int) (where spot, some float64)
}

// describe chooses the number of changes and tells the result.
func (c shapedContest) describe(shape Shape, s Series, o Options, where places) (*Shaped, error) {
	f := c.best()
	out := &Shaped{N: f.n, Shape: shape, Criterion: "likelihood integrated over the pieces (after Zhang and Siegmund 2007)", Bends: []Bend{}, Notes: slices.Clone(s.Notes), labels: s.Labels, per: "a row"}
	if s.Position != nil {
		out.per = "a position"
	}
	best := 0
	if f.n > shape.mostPathed() && o.Number == nil {
		out.Path = f.long(shape, c.few)
		best = len(out.Path) - 1
	} else if out.Path, best = f.short(o); o.Number != nil {
		if *o.Number >= len(out.Path) {
			return nil, tooMany(*o.Number, f.n, o.MinLength)
		}
		best = *o.Number
	}
	if best > 0 && o.Number == nil {
		if out.FalseAlarm = c.alarm(shape, s, o, where); out.FalseAlarm > shape.alarmAsked() {
			out.Notes = append(out.Notes, fmt.Sprintf("The likelihood alone would place %s; but %.0f of 100 series in one piece, with noise like this one's, look as much like it, so none is claimed.",
				count(out.Path[best].Changes, "change"), 100*out.FalseAlarm))
			best = 0
			f = c.none
		} else {
			out.Notes = append(out.Notes, fmt.Sprintf("Series in one piece, with noise like this one's, look as much like several in %s of 100 cases.", perHundred(out.FalseAlarm)))
		}
	}
	if f.n < fewRows {
		out.Notes = append(out.Notes, fmt.Sprintf("There are only %d rows: nothing but a very large change can show. Measure more pages before leaning on this.", f.n))
	}
	none := out.Path[0].Criterion
	for k := range out.Path {
		out.Path[k].Criterion -= none
	}
	out.bend(f, c.weigh(f, out.Path[best].Places), out.Path[best].Places, s)
	if note := o.apartNote(s); note != "" {
		out.Notes = append(out.Notes, note)
	}
	return out, nil
}

// short is the path over the numbers of changes, and the best of it.
func (f shapedFit) short(o Options) (path []Step, best int) {
	most := o.mostChanges(f.n)
	f.model.path(func(k int, places []int) bool {
		path = append(path, f.step(places))
		if path[k].Criterion > path[best].Criterion {
			best = k
		}
		return k < most && (o.Number != nil || k < best+patience(best))
	})
	return path, best
}

// long is the segmentation in one piece, and the best for a penalty that is what
// a change costs the criterion in it, where that is better. The first penalty is
// what it costs in a segmentation with a few.
func (f shapedFit) long(shape Shape, few []int) []Step {
	none := f.step(f.known())
	found := f.step(few)
	penalty := f.model.penalty(few)
	for range penaltyRounds {
		last := found.Places
		found = f.step(f.settle(f.model.cheapest(penalty), shape))
		next := f.model.penalty(found.Places)
		if slices.Equal(last, found.Places) || math.Abs(next/penalty-1) < 0.01 {
			break
		}
		penalty = next
	}
	if found.Changes == 0 || found.Criterion <= none.Criterion {
		return []Step{none}
	}
	return []Step{none, found}
}

func (f shapedFit) step(places []int) Step {
	criterion, misfit := f.model.score(places)
	return Step{Changes: len(places) - f.breaks, Places: places, RSS: misfit, Criterion: criterion}
}

// bend tells the pieces and the places between them.
func (out *Shaped) bend(f shapedFit, believed []weighed, places []int, s Series) {
	out.Pieces = f.model.pieces(places)
	for k := range out.Pieces {
		var of mixture
		for _, b := range believed {
			of = append(of, component{b.weight, b.model.slope(places, k)})
		}
		p := &out.Pieces[k]
		if p.Slope = f.model.slope(places, k).value; out.Shape != LevelAndScatter {
			p.SlopeLow, p.SlopeHigh = of.interval(p.Slope)
		}
	}
	for j, after := range places {
		if f.forced[after] {
			continue
		}
		from, _ := neighbours(places, j, f.n)
		where, some, sizes := about(believed, places, j)
		low, high := where.interval(after - from)
		bend := Bend{After: after, At: s.Label(after), Low: from + low, High: from + high, Probability: some * floats.Sum(where[low:high+1])}
		for k, found := range f.model.differences(places, j) {
			size := Size{Of: f.model.names()[k], Value: found.value}
			size.Low, size.High = sizes[k].interval(found.value)
			bend.Sizes = append(bend.Sizes, size)
		}
		out.Bends = append(out.Bends, bend)
	}
	if len(out.Bends) > 0 {
		out.Notes = append(out.Notes, "The intervals of sizes are averaged over the place of the change and over how alike neighbouring rows may be; the other changes are taken as found.")
	}
	if f.breaks > 0 {
		out.Notes = append(out.Notes, fmt.Sprintf("The pieces on either side of %s were left free to differ; that is not counted among the changes.", count(f.breaks, "known break")))
	}
	if len(out.Bends) > 1 {
		out.Notes = append(out.Notes, "Places are judged one by one, their neighbours taken as found.")
	}
}
