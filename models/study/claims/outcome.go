package claims

import "math"

// A Count is how many claims of a kind were made, and how many of them are false.
type Count struct {
	Made  int `json:"made"`
	False int `json:"false,omitempty"`
}

// A Cover is how many intervals of a kind there were, how many hold the truth, and
// how wide those are that an oracle gives too: the logarithms of their widths over
// the oracle's, in sum.
type Cover struct {
	All    int     `json:"all"`
	Held   int     `json:"held"`
	Beside int     `json:"beside,omitempty"` // that the oracle gives too
	Wider  float64 `json:"wider,omitempty"`
}

// A Power is how many things of a kind could have been said, how many were, and
// how many the two oracles would have said; see [oracled].
type Power struct {
	There   int `json:"there"`
	Found   int `json:"found"`
	Oracle  int `json:"oracle"`
	Ceiling int `json:"ceiling"`
}

// An Outcome is what one study came to.
type Outcome struct {
	Cell      string            `json:"cell"`
	Seed      uint64            `json:"seed"`
	Answers   map[string]*Count `json:"answers"` // claims that were asked for: "yes" and "no"
	Found     map[string]*Count `json:"found"`   // claims that were not asked for, by kind
	Intervals map[string]*Cover `json:"intervals"`
	Power     map[string]*Power `json:"power"`
	Misled    int               `json:"misled,omitempty"`  // false answers of the oracle
	Refused   int               `json:"refused,omitempty"` // answers that were not given
	Seconds   float64           `json:"seconds"`
	False     []string          `json:"claims,omitempty"` // the false claims, in words
	Failed    string            `json:"failed,omitempty"` // why the study could not be run; else empty
}

func newOutcome(cell string, seed uint64) *Outcome {
	return &Outcome{Cell: cell, Seed: seed, Answers: map[string]*Count{}, Found: map[string]*Count{},
		Intervals: map[string]*Cover{}, Power: map[string]*Power{}}
}

// at is the value of a key, made where it is not there yet.
func at[T any](m map[string]*T, key string) *T {
	v, there := m[key]
	if !there {
		v = new(T)
		m[key] = v
	}
	return v
}

// claim counts one claim.
func (o *Outcome) claim(of map[string]*Count, kind string, isTrue bool, words string) {
	c := at(of, kind)
	c.Made++
	if !isTrue {
		c.False++
		o.False = append(o.False, kind+": "+words)
	}
}

// interval counts one interval.
func (o *Outcome) interval(kind string, truth, low, high float64) {
	c := at(o.Intervals, kind)
	c.All++
	if low <= truth && truth <= high {
		c.Held++
	}
}

// beside puts the width of an interval beside the oracle's.
func (o *Outcome) beside(kind string, width, oracle float64) {
	c := at(o.Intervals, kind)
	c.Beside++
	c.Wider += math.Log(width / oracle)
}

// total adds up the counts of all kinds.
func total(of map[string]*Count) (sum Count) {
	for _, c := range of {
		sum.Made += c.Made
		sum.False += c.False
	}
	return sum
}
