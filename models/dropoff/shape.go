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
	From    int     `json:"from"`
	To      int     `json:"to"`
	Start   float64 `json:"start"`   // expected at its first row
	End     float64 `json:"end"`     // expected at its last row
	Scatter float64 `json:"scatter"` // standard deviation of rows about it, their own standard errors taken off
}

// A Bend is a place between two pieces.
type Bend struct {
	After       int     `json:"after"` // last row before it, from 1; of joined lines the row at which they meet
	At          string  `json:"at"`    // label of that row
	Low         int     `json:"low"`   // 95 % interval of After
	High        int     `json:"high"`
	Probability float64 `json:"probability"` // of a change inside the interval; of joined lines given the other bends
}

// Shaped is a series in pieces of one shape. Its JSON keys are a promise.
type Shaped struct {
	N         int     `json:"n"`
	Shape     Shape   `json:"shape"`
	Criterion string  `json:"criterion"`
	Bends     []Bend  `json:"changes"`
	Pieces    []Piece `json:"pieces"`
	Path      []Step  `json:"-"` // the best for each number of bends
	// FalseAlarm is how often a series in one piece, with noise like this one's,
	// looks as much like several; 0 where not asked.
	FalseAlarm float64  `json:"false_alarm"`
	Notes      []string `json:"notes"`

	labels []string
}

// mostShaped is the longest series that is segmented by shape: time grows with
// the square of its rows.
const mostShaped = 3000

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
// noise, look as much like them in at most 4 of 100 cases. The noise's
// correlation is the one given, or that of 0, 0.2, 0.4 and 0.6 that suits best.
//
// Breaks, no-change zones, the minimum length (at least 3 rows here) and the
// number of changes are as in [Options]. It fails where [Segment] does and for
// more than 3,000 rows.
func SegmentBy(shape Shape, s Series, o Options) (*Shaped, error) {
	if _, err := ShapeNamed(string(shape)); err != nil {
		return nil, err
	}
	o.MinLength = max(o.MinLength, 3)
	o, where, err := prepare(s, o)
	if err != nil {
		return nil, err
	}
	n := len(s.Values)
	if n > mostShaped {
		return nil, fmt.Errorf("the series has %d rows: %s is looked for in up to %d; segment it by level, or a part of it by %s", n, shape, mostShaped, shape)
	}
	if shape == JoinedLines && where.breaks > 0 {
		return nil, fmt.Errorf("lines that are joined do not go with known breaks: segment the parts between breaks one by one")
	}
	return newShapedContest(shape, s, o, where).describe(shape, s, o, where)
}

// newShaped lays a shape over a series whose noise has the correlation given.
func newShaped(shape Shape, rho float64, s Series, o Options, where places) shapedFit {
	v := robustNoise(s, rho)
	l := newLineup(s, v, search{newRows(s, v), where, o.MinLength})
	switch shape {
	case LevelAndSlope:
		return shapedFit{l, &slopes{lineup: l, sums: l.prefix()}}
	case JoinedLines:
		return shapedFit{l, newJoints(l)}
	}
	return shapedFit{l, &scatters{lineup: l}}
}

// A shapedFit is a shape laid over a series.
type shapedFit struct {
	lineup
	model shaped
}

// A shapedContest is a shape with no change and with some, up to shapedChanges,
// each with the correlation of the noise that suits it best.
type shapedContest struct {
	none, some           shapedFit
	noneScore, someScore float64
}

func newShapedContest(shape Shape, s Series, o Options, where places) shapedContest {
	c := shapedContest{noneScore: -inf, someScore: -inf}
	for _, rho := range o.likenesses() {
		f := newShaped(shape, rho, s, o, where)
		cost := likenessCost(rho, f.n)
		f.model.path(func(k int, places []int) bool {
			score, _ := f.model.score(places)
			score -= cost
			switch {
			case k == 0 && score > c.noneScore:
				c.noneScore, c.none = score, f
			case k > 0 && score > c.someScore:
				c.someScore, c.some = score, f
			}
			return k < shapedChanges
		})
	}
	return c
}

// gain is how much better some changes are than none.
func (c shapedContest) gain() float64 { return c.someScore - c.noneScore }

// best is the fit to be described: with changes where these are better.
func (c shapedContest) best() shapedFit {
	if c.gain() > 0 {
		return c.some
	}
	return c.none
}

// shapedChanges bounds the number of changes in the contest.
const shapedChanges = 2

// mostShapedDrawn is the longest series for which others without change are
// drawn to judge a shape by.
const mostShapedDrawn = 200

// alarm is how often series of one piece, with the noise of this one about that
// piece, look as much like a change of the shape. Drawing ends early once it is
// clear that the rate is above alarmAsked.
func (c shapedContest) alarm(shape Shape, s Series, o Options, where places) float64 {
	f := c.none
	piece := f.model.pieces(nil)[0]
	about := s
	about.Values = make([]float64, f.n)
	for i := range about.Values {
		about.Values[i] = s.Values[i] - piece.Start - (piece.End-piece.Start)*f.at[i+1]
	}
	d := newDrawing(about, o)
	clear := int(2 * alarmAsked * (alarmDraws + 1))
	asLarge, draws := 1, 1
	for draws <= alarmDraws && asLarge <= clear {
		if newShapedContest(shape, d.draw(uint64(draws)), o, where).gain() >= c.gain() {
			asLarge++
		}
		draws++
	}
	return float64(asLarge) / float64(draws)
}

// A shaped model gives the best segmentation for each number of changes and
// what it says of it.
type shaped interface {
	// path calls more with the best places for each number of changes, as long
	// as it returns true.
	path(more func(k int, places []int) bool)
	// score is the criterion and misfit of a segmentation.
	score(places []int) (criterion, misfit float64)
	// pieces describes the segments.
	pieces(places []int) []Piece
	// alone is the posterior of place j, the others as found, by rows after the
	// place before it; some is the probability that there is a change there.
	alone(places []int, j int) (where spot, some float64)
}

// describe chooses the number of changes and tells the result.
func (c shapedContest) describe(shape Shape, s Series, o Options, where places) (*Shaped, error) {
	f := c.best()
	out := &Shaped{N: f.n, Shape: shape, Criterion: "likelihood integrated over the pieces (after Zhang and Siegmund 2007)", Bends: []Bend{}, Notes: slices.Clone(s.Notes), labels: s.Labels}
	best, most := 0, o.mostChanges(f.n)
	f.model.path(func(k int, places []int) bool {
		criterion, misfit := f.model.score(places)
		out.Path = append(out.Path, Step{Changes: k, Places: places, RSS: misfit, Criterion: criterion})
		if criterion > out.Path[best].Criterion {
			best = k
		}
		return k < most && (o.Number != nil || k < best+patience(best))
	})
	switch {
	case o.Number != nil:
		if *o.Number >= len(out.Path) {
			return nil, tooMany(*o.Number, f.n, o.MinLength)
		}
		best = *o.Number
	case best > 0 && f.n <= mostShapedDrawn:
		if out.FalseAlarm = c.alarm(shape, s, o, where); out.FalseAlarm > alarmAsked {
			out.Notes = append(out.Notes, fmt.Sprintf("The likelihood alone would place %s; but %.0f of 100 series in one piece, with noise like this one's, look as much like it, so none is claimed.",
				count(best, "change"), 100*out.FalseAlarm))
			best = 0
			f = c.none
		} else {
			out.Notes = append(out.Notes, fmt.Sprintf("Series in one piece, with noise like this one's, look as much like several in %s of 100 cases.", perHundred(out.FalseAlarm)))
		}
	case best > 0:
		out.Notes = append(out.Notes, fmt.Sprintf("The series is too long to draw others without change for comparison (more than %d rows).", mostShapedDrawn))
	}
	if f.n < fewRows {
		out.Notes = append(out.Notes, fmt.Sprintf("There are only %d rows: nothing but a very large change can show. Measure more pages before leaning on this.", f.n))
	}
	none := out.Path[0].Criterion
	for k := range out.Path {
		out.Path[k].Criterion -= none
	}
	out.bend(f, out.Path[best].Places, s)
	return out, nil
}

// bend tells the pieces and the places between them.
func (out *Shaped) bend(f shapedFit, places []int, s Series) {
	out.Pieces = f.model.pieces(places)
	for j, after := range places {
		if f.forced[after] {
			continue
		}
		where, some := f.model.alone(places, j)
		from, _ := neighbours(places, j, f.n)
		low, high := where.interval(after - from)
		out.Bends = append(out.Bends, Bend{After: after, At: s.Label(after), Low: from + low, High: from + high, Probability: some * floats.Sum(where[low:high+1])})
	}
	if len(out.Bends) > 1 {
		out.Notes = append(out.Notes, "Places are judged one by one, their neighbours taken as found.")
	}
}

// neighbours are the places before and after place j, 0 and n at the ends.
func neighbours(places []int, j, n int) (before, after int) {
	before, after = 0, n
	if j > 0 {
		before = places[j-1]
	}
	if j+1 < len(places) {
		after = places[j+1]
	}
	return before, after
}

// prefix are the moments of rows 1 to i.
func (l lineup) prefix() []moments {
	out := make([]moments, l.n+1)
	for i := 1; i <= l.n; i++ {
		out[i] = out[i-1]
		out[i].add(l.columns(i))
	}
	return out
}

func (m moments) minus(o moments) moments {
	return moments{m.cc - o.cc, m.cp - o.cp, m.cv - o.cv, m.pp - o.pp, m.pv - o.pv, m.vv - o.vv}
}

// byCost is the best segmentation for each number of changes when segments cost
// cost(s, t) each, rows s+1 to t, by dynamic programming (Auger and Lawrence
// 1989, Bulletin of Mathematical Biology 51, 39–54).
func (q search) byCost(cost func(s, t int) float64, more func(k int, places []int) bool) {
	var starts [][]int32
	before := filled(q.n+1, inf)
	for k := 0; ; k++ {
		now, from := filled(q.n+1, inf), make([]int32, q.n+1)
		for t := q.minLength; t <= q.n; t++ {
			base := int(q.barrier[t])
			for s := base; s <= t-q.minLength; s++ {
				start := before[s]
				switch {
				case s == 0 && k == 0:
					start = 0
				case s == 0:
					continue
				case q.forced[s]:
					start = now[s]
				case !q.free[s]:
					continue
				}
				if start == inf {
					continue
				}
				if c := start + cost(s, t); c < now[t] {
					now[t], from[t] = c, int32(s)
				}
			}
		}
		if now[q.n] == inf {
			return
		}
		starts = append(starts, from)
		if !more(k, q.trace(starts)) {
			return
		}
		before = now
	}
}

// unit is the logarithm of a row's mean precision: the unit in which coefficients
// are flat beforehand.
func (l lineup) unit() float64 { return math.Log(l.weight / float64(l.n)) }
