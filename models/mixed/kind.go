package mixed

import (
	"encoding/json"
	"fmt"
	"slices"
)

// The kinds of outcome, as a model names them.
const (
	Measure = "measure"
	Grades  = "grades"
	YesNo   = "yes or no"
	Counts  = "counts"
)

var kindWords = []string{Measure, Grades, YesNo, Counts}

// IsMeasure tells whether the outcome is a measure, which this package fits.
func (m Model) IsMeasure() bool { return m.Kind == "" || m.Kind == Measure }

// An Inflation lists the terms that a zero's probability beside those of the spread
// depends on: nil where there is none, empty where it is one for all rows.
type Inflation []Term

// IsZero tells whether there is none.
func (z Inflation) IsZero() bool { return z == nil }

// MarshalJSON writes it as the model's TOML has it.
func (z Inflation) MarshalJSON() ([]byte, error) {
	if len(z) > 0 {
		return json.Marshal([]Term(z))
	}
	return json.Marshal(z != nil)
}

// mostQuadrature is the largest number of quadrature points.
const mostQuadrature = 100

// otherKeys are the keys that only models of other kinds than measures have.
var otherKeys = []string{"link", "thresholds", "by_threshold", "trials", "spread", "exposure", "zero_inflation", "points"}

// suits lists the keys that a kind of outcome may have besides those of all.
var suits = map[string][]string{
	Measure: {"scale", "smooth", "df", "residual"},
	Grades:  {"link", "thresholds", "by_threshold", "points"},
	YesNo:   {"link", "trials", "points"},
	Counts:  {"link", "spread", "exposure", "zero_inflation", "points"},
}

// kind reads the kind of outcome and the keys that go with it, and reports keys
// that do not.
func (r reader) kind(tree map[string]any, m *Model) {
	if value, present := tree["kind"]; present {
		m.Kind = r.word(tree, "", "kind", kindWords...)
		if text, ok := value.(string); !ok || !slices.Contains(kindWords, text) {
			return // which keys go with it is not known
		}
	}
	own := suits[m.Kind]
	if m.IsMeasure() {
		own = suits[Measure]
	}
	for _, key := range append([]string{"scale", "smooth", "df", "residual"}, otherKeys...) {
		if value, present := tree[key]; present && !slices.Contains(own, key) {
			if key == "scale" && value == "identity" {
				continue
			}
			r.problem(key, value, "keys that go with kind = "+fmt.Sprintf("%q", kindName(*m)), "delete "+key+", or correct the kind")
		}
	}
	if m.IsMeasure() {
		return
	}
	if tree["estimate"] == "restricted" {
		r.problem("estimate", "restricted", `estimate = "full" for outcomes that are no measures`, "delete estimate: the likelihood of these is the full one")
	}
	m.Scale, m.Estimate = "", "full"
	r.others(tree, m)
}

func kindName(m Model) string {
	if m.IsMeasure() {
		return Measure
	}
	return m.Kind
}

// others reads the keys that only other kinds than measures have.
func (r reader) others(tree map[string]any, m *Model) {
	links := []string{"logit", "probit", "complementary log-log"}
	if m.Kind == Counts {
		links = []string{"log"}
	}
	m.Link = r.word(tree, "", "link", links...)
	switch m.Kind {
	case Grades:
		m.Thresholds = r.word(tree, "", "thresholds", "free", "symmetric", "equal")
		if value, present := tree["by_threshold"]; present {
			m.ByThreshold = r.terms("by_threshold", value)
			if len(m.ByThreshold) > 0 && m.Thresholds != "free" {
				r.problem("by_threshold", value, "free thresholds where terms differ by threshold", "delete thresholds, or by_threshold")
			}
		}
	case YesNo:
		m.Trials = r.text(tree, "", "trials", false)
	case Counts:
		m.Spread = r.word(tree, "", "spread", "Poisson", "negative binomial")
		m.Exposure = r.text(tree, "", "exposure", false)
		switch value := tree["zero_inflation"].(type) {
		case nil:
		case bool:
			if value {
				m.ZeroInflation = Inflation{}
			}
		default:
			m.ZeroInflation = append(Inflation{}, r.terms("zero_inflation", value)...)
		}
	}
	if value, present := tree["points"]; present {
		points, ok := value.(int64)
		if !ok || points < 1 || points > mostQuadrature {
			r.problem("points", value, fmt.Sprintf("a whole number from 1 to %d", mostQuadrature), "write points = 1 for Laplace's approximation, or 9")
		}
		m.Points = int(points)
	}
}
