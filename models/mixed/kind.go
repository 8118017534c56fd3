package mixed

import (
	"encoding/json"
	"fmt"
	"slices"

	"thumbed/models/table/keys"
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

// Other holds the keys that only models of other kinds of outcome than measures
// have.
type Other struct {
	// Link is "logit" (the default), "probit" or "complementary log-log" for
	// grades and yes or no, "log" for counts.
	Link string `toml:"link,omitempty" json:"link,omitempty"`
	// Thresholds are "free" (the default), "symmetric" or "equal" distances;
	// grades only.
	Thresholds string `toml:"thresholds,omitempty" json:"thresholds,omitempty"`
	// ByThreshold are terms that have an effect of its own at each threshold
	// between grades.
	ByThreshold []Term `toml:"by_threshold,omitempty" json:"by_threshold,omitempty"`
	// Trials names the column of the trials of which the outcome counts the
	// successes; yes or no only.
	Trials string `toml:"trials,omitempty" json:"trials,omitempty"`
	// Spread is "Poisson" (the default) or "negative binomial"; counts only.
	Spread string `toml:"spread,omitempty" json:"spread,omitempty"`
	// Exposure names the column that expected counts are proportional to.
	Exposure string `toml:"exposure,omitempty" json:"exposure,omitempty"`
	// ZeroInflation tells whether there are zeros beside those of the spread.
	ZeroInflation Inflation `toml:"zero_inflation,omitempty" json:"zero_inflation,omitzero"`
	// Points is the number of quadrature points; 0 and 1 are Laplace's
	// approximation.
	Points int `toml:"points,omitempty" json:"points,omitempty"`
}

// An Inflation is the part of a model of counts that gives more zeros: none,
// one probability for all rows, or one that depends on terms.
type Inflation struct {
	On    bool
	Terms []Term
}

// IsZero tells whether there is none.
func (z Inflation) IsZero() bool { return !z.On }

// MarshalJSON writes it as the model's TOML has it.
func (z Inflation) MarshalJSON() ([]byte, error) {
	if len(z.Terms) > 0 {
		return json.Marshal(z.Terms)
	}
	return json.Marshal(z.On)
}

// Keys says what the keys of an Other mean.
func (Other) Keys() keys.List {
	return keys.List{
		"link":           {About: "what is linear in the effects: for grades and yes or no the logit where not given, for counts the log", Words: []string{"logit", "probit", "complementary log-log", "log"}},
		"thresholds":     {About: "how the thresholds between grades lie; grades only, free where not given", Words: []string{"free", "symmetric", "equal"}},
		"by_threshold":   {About: "terms whose effect may differ by threshold; grades only", Kind: "list of texts, or of lists of texts"},
		"trials":         {About: "column of the number of trials of which the outcome is the number of successes; yes or no only. Without it each row is one trial"},
		"spread":         {About: "the distribution of counts; Poisson where not given", Words: []string{"Poisson", "negative binomial"}},
		"exposure":       {About: "column of numbers above zero to which the expected count is proportional: an area, a number of pages; counts only"},
		"zero_inflation": {About: "zeros beside those that the spread gives: false (where not given), true for one probability, or the terms that it depends on; counts only", Kind: "true, false, or list of texts, or of lists of texts"},
		"points":         {About: "points of adaptive Gauss–Hermite quadrature, where there is one random term with one column; 1, Laplace's approximation, where not given"},
	}
}

// mostQuadrature is the largest number of quadrature points.
const mostQuadrature = 100

// otherKeys are the keys of an Other.
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
			m.ZeroInflation.On = value
		default:
			m.ZeroInflation = Inflation{On: true, Terms: r.terms("zero_inflation", value)}
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
