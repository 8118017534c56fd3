package hypotheses

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/table"
)

// A Question is asked in words and of a model.
type Question struct {
	Words     string             `toml:"words" json:"words" required:"true"`                                          // the question, in the scholar's words
	Model     string             `toml:"model" json:"model" required:"true"`                                          // name of the model that answers it
	Contrast  map[string]float64 `toml:"contrast" json:"contrast" required:"true"`                                    // weights by the names of fixed effects: what is asked about
	Direction string             `toml:"direction,omitempty" json:"direction,omitempty" words:"more / less / either"` // which way an effect is asked about; either where not given
	Smallest  float64            `toml:"smallest,omitempty" json:"smallest,omitempty" unit:"of the outcome"`          // smallest effect that would matter, without a sign; of models of traces a difference of probabilities or of rates; 0: not stated
	Grade     string             `toml:"grade,omitempty" json:"grade,omitempty"`                                      // of a model of grades: the grade whose probability, or a higher one's, the answer tells; the highest where not given
	Asked     string             `toml:"asked,omitempty" json:"asked,omitempty" words:"before / after"`               // whether it was asked before or after the data were seen
	Family    string             `toml:"family,omitempty" json:"family,omitempty"`                                    // answers of one family are adjusted together; those that name none are one family too
	Shift     int                `toml:"shift,omitempty" json:"shift,omitempty"`                                      // arrangements to draw for an answer by pushing the feature round inside each book; 0: none
	Bootstrap int                `toml:"bootstrap,omitempty" json:"bootstrap,omitempty"`                              // outcomes to draw for an answer by bootstrap; 0: none
	Seed      uint64             `toml:"seed,omitempty" json:"seed,omitempty"`                                        // begins the random numbers of either
}

// Ways are all ways of answering a question once more.
func Ways() []Way { return []Way{byShifting(), byBootstrap()} }

// mostDraws bounds the arrangements, and the outcomes, of one question: more would
// tell nothing that the interval does not.
const mostDraws = 1_000_000

// The directions of a question.
const (
	more   = "more"
	less   = "less"
	either = "either"
)

// direction is the question's direction, either where it names none.
func (q Question) direction() string {
	if q.Direction == "" {
		return either
	}
	return q.Direction
}

// Check gives all that is wrong with a question, each with the key in Column;
// none where it can be asked. models are the names of the study's models, terms
// the fixed effects of the question's model as the fit names them; nil leaves
// either unchecked.
func (q Question) Check(models, terms []string) []table.Problem {
	var ps []table.Problem
	add := func(key, value, expected, remedy string) {
		ps = append(ps, table.Problem{Column: key, Value: value, Expected: expected, Remedy: remedy})
	}
	if strings.TrimSpace(q.Words) == "" {
		add("words", "", "the question in words", `write words = "Do pictures attract handling?"`)
	}
	if models != nil && !slices.Contains(models, q.Model) {
		add("model", q.Model, "the name of one of the models: "+strings.Join(models, ", "), meant(q.Model, models))
	}
	q.checkContrast(terms, add)
	if !slices.Contains([]string{more, less, either}, q.direction()) {
		add("direction", q.Direction, "more, less or either", meant(q.Direction, []string{more, less, either}))
	}
	if !(q.Smallest >= 0) || math.IsInf(q.Smallest, 0) {
		add("smallest", number(q.Smallest), "the smallest effect that would matter, 0 or more, in the outcome's unit", "write it without a sign: direction says which way")
	}
	for _, w := range Ways() {
		w.check(q, add)
	}
	if !slices.Contains([]string{"", "before", "after"}, q.Asked) {
		add("asked", q.Asked, "before or after", "say whether the question was asked before or after the data were seen")
	}
	return ps
}

func (q Question) checkContrast(terms []string, add func(key, value, expected, remedy string)) {
	allZero := true
	for _, term := range sortedTerms(q.Contrast) {
		weight := q.Contrast[term]
		allZero = allZero && weight == 0
		if terms != nil && !slices.Contains(terms, term) {
			add("contrast", term, "a fixed effect of the model: "+strings.Join(terms, ", "), meantTerm(term, terms))
		}
		if math.IsNaN(weight) || math.IsInf(weight, 0) {
			add("contrast", number(weight), "a finite weight for "+term, "write a number, most often 1 or −1")
		}
	}
	if allZero {
		add("contrast", "", "a weight other than 0 by the name of a fixed effect", `write contrast = { "picture=yes" = 1 }`)
	}
}

// meant offers the name that is most like the one given.
func meant(word string, among []string) string {
	if near := table.Nearest(word, among); near != "" {
		return fmt.Sprintf("perhaps %q was meant", near)
	}
	return "use one of these names, written as here"
}

// meantTerm offers the fixed effect that is meant: of a column of labels, each
// level but the baseline has one.
func meantTerm(term string, terms []string) string {
	column, _, level := strings.Cut(term, "=")
	if !level && slices.ContainsFunc(terms, func(t string) bool { return strings.HasPrefix(t, column+"=") }) {
		return fmt.Sprintf("%s holds labels: name the level to set against the baseline, as one of these does", column)
	}
	return meant(term, terms)
}

// effect names the contrast: "picture=yes", "language=English − language=Latin".
func (q Question) effect() string {
	var b strings.Builder
	for i, term := range sortedTerms(q.Contrast) {
		weight := q.Contrast[term]
		switch {
		case i > 0 && weight < 0:
			b.WriteString(" − ")
		case i > 0:
			b.WriteString(" + ")
		case weight < 0:
			b.WriteString("−")
		}
		if size := math.Abs(weight); size != 1 {
			b.WriteString(strconv.FormatFloat(size, 'g', -1, 64) + " · ")
		}
		b.WriteString(term)
	}
	return b.String()
}

// sortedTerms are the terms of a contrast in the order of their names.
func sortedTerms(contrast map[string]float64) []string { return slices.Sorted(maps.Keys(contrast)) }
