package digits

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
)

// A Comparison is how the numbers of a run now stand to those recorded.
type Comparison struct {
	Compared int        `json:"compared"`  // numbers that both have
	LastBits int        `json:"last_bits"` // of them, those that differ by less than 1e-7 of the larger of their size and their standard error
	Moved    []Moved    `json:"moved"`     // of them, those that differ
	Gone     []string   `json:"gone"`      // places of numbers that only the record has
	New      []string   `json:"new"`       // places of numbers that only the run has
	Verdicts []Reworded `json:"verdicts"`  // answers that change
	Words    []Reworded `json:"words"`     // other texts that change
}

// Moved is a number that is not what it was. A value that is no finite number
// is given as written: null where it is not known, true or false.
type Moved struct {
	Place string   `json:"place"` // where the number stands in results.json
	From  string   `json:"from"`  // the number recorded, at full precision
	To    string   `json:"to"`    // the number now
	By    *float64 `json:"by"`    // to less from; null where one of them is no number
}

// Reworded is a text that is not what it was.
type Reworded struct {
	Place string `json:"place"` // where the text stands in results.json
	From  string `json:"from"`  // the text recorded
	To    string `json:"to"`    // the text now
}

// Agree tells whether every number recorded is there again and the same, and
// every answer too. Words beside them may differ, and there may be more numbers.
func (c *Comparison) Agree() bool {
	return len(c.Moved) == 0 && len(c.Gone) == 0 && len(c.Verdicts) == 0
}

// Compare holds the numbers of a run against those recorded, both as JSON (see
// report.Results.JSON). With loosely, numbers agree where they differ by less than
// [Part] of the larger of their size and their standard error, since another
// processor family may move a last bit; else to the last.
func Compare(recorded, now []byte, loosely bool) (*Comparison, error) {
	then, err := gather(recorded)
	if err != nil {
		return nil, err
	}
	later, err := gather(now)
	if err != nil {
		return nil, err
	}
	c := &Comparison{}
	for _, place := range then.places {
		from := then.values[place]
		to, there := later.values[place]
		c.hold(place, from, to, there, then.allowed(place, loosely))
	}
	for _, place := range later.places {
		if _, known := then.values[place]; !known && !isText(later.values[place]) {
			c.New = append(c.New, place)
		}
	}
	return c, nil
}

func (c *Comparison) hold(place string, from, to any, there bool, allowed func(a, b float64) bool) {
	switch {
	case isText(from) || there && isText(to):
		if from != to {
			c.reword(place, from, to)
		}
	case !there && strings.HasPrefix(place, "sentences"+step): // a copy of a number that is compared where it stands
		c.Words = append(c.Words, Reworded{Place: place, From: written(from)})
	case !there:
		c.Gone = append(c.Gone, place)
	default:
		c.Compared++
		c.weigh(place, from, to, allowed)
	}
}

func (c *Comparison) reword(place string, from, to any) {
	r := Reworded{place, text(from), text(to)}
	if strings.HasPrefix(place, "answers"+step) && strings.HasSuffix(place, step+"verdict") {
		c.Verdicts = append(c.Verdicts, r)
		return
	}
	c.Words = append(c.Words, r)
}

func (c *Comparison) weigh(place string, from, to any, allowed func(a, b float64) bool) {
	if from == to {
		return
	}
	m := Moved{Place: place, From: written(from), To: written(to)}
	a, known := float(from)
	b, still := float(to)
	if known && still {
		if a == b {
			return // written otherwise
		}
		if allowed(a, b) {
			c.LastBits++
			return
		}
		by := b - a
		m.By = &by
	}
	c.Moved = append(c.Moved, m)
}

// Part is how far numbers may be apart between families of processors, as a part of
// the larger of their size and their standard error: no page prints as many digits.
const Part = 1e-7

// allowed tells of two numbers at a place whether they agree.
func (s *sheaf) allowed(place string, loosely bool) func(a, b float64) bool {
	if !loosely {
		return func(a, b float64) bool { return false }
	}
	const nothing = 1e-12 // of a number that is nothing but for rounding
	se := s.errors[place]
	return func(a, b float64) bool {
		return math.Abs(a-b) <= math.Max(nothing, Part*max(math.Abs(a), math.Abs(b), se))
	}
}

func isText(value any) bool {
	_, ok := value.(string)
	return ok
}

func float(value any) (float64, bool) {
	n, ok := value.(json.Number)
	if !ok {
		return 0, false
	}
	v, err := n.Float64()
	return v, err == nil
}

func written(value any) string {
	switch v := value.(type) {
	case nil:
		return "not known"
	case json.Number:
		return v.String()
	case bool:
		if v {
			return "yes"
		}
		return "no"
	}
	return fmt.Sprint(value)
}
