package mixed

import (
	"fmt"
	"slices"
	"strings"
)

// An Inference is what a model asks of its fit besides its effects, for outcomes of
// every kind. [Inferences] is what comes of it.
type Inference struct {
	Intervals      string `toml:"intervals,omitempty" json:"intervals,omitempty" words:"profile / bootstrap"`        // intervals of every parameter besides those by standard errors: by profile likelihood, or by parametric bootstrap
	Replicates     int    `toml:"replicates,omitempty" json:"replicates,omitempty"`                                  // how many outcomes a bootstrap draws; 999 where not given
	Means          []Term `toml:"means,omitempty" json:"means,omitempty" kind:"list of texts, or of lists of texts"` // columns of labels among the fixed effects, or lists of several, whose adjusted means are wanted: the rows as they are otherwise
	Tests          bool   `toml:"tests,omitempty" json:"tests,omitempty"`                                            // whether all coefficients of each fixed term are tested jointly
	Predictions    bool   `toml:"predictions,omitempty" json:"predictions,omitempty"`                                // whether rows that have no outcome but all else are predicted, such as pages not yet read
	VarianceShares bool   `toml:"variance_shares,omitempty" json:"variance_shares,omitempty"`                        // whether the outcome's variance is divided among the fixed effects, the random terms and the residual
	Compare        string `toml:"compare,omitempty" json:"compare,omitempty"`                                        // another model to compare with by the likelihood ratio: a model file, from the folder of this one, or in a study the name of another of its models
}

// Ways to intervals.
const (
	ByProfile   = "profile"
	ByBootstrap = "bootstrap"
)

var inferenceKeys = []string{"intervals", "replicates", "means", "tests", "predictions", "variance_shares", "compare"}

// inference reads the keys of an [Inference].
func (r reader) inference(tree map[string]any) Inference {
	var out Inference
	if _, present := tree["intervals"]; present {
		out.Intervals = r.word(tree, "", "intervals", ByProfile, ByBootstrap)
	}
	if value, present := tree["replicates"]; present {
		n, ok := value.(int64)
		switch {
		case !ok || n < fewestSucceeded || n > mostReplicates:
			r.problem("replicates", value, fmt.Sprintf("a whole number from %d to %d", fewestSucceeded, mostReplicates), "write replicates = 999, or leave it out")
		case out.Intervals != ByBootstrap:
			r.problem("replicates", value, `intervals = "bootstrap" beside replicates`, `add it, or delete replicates`)
		}
		out.Replicates = int(n)
	}
	if value, present := tree["means"]; present {
		out.Means = r.terms("means", value)
	}
	out.Tests, out.Predictions, out.VarianceShares = r.yes(tree, "", "tests"), r.yes(tree, "", "predictions"), r.yes(tree, "", "variance_shares")
	out.Compare = r.text(tree, "", "compare", false)
	return out
}

// mostReplicates is how many outcomes a bootstrap may draw.
const mostReplicates = 1_000_000

// checkInference reports adjusted means that cannot be given.
func (l *layer) checkInference() {
	fixed := slices.Concat(l.model.Fixed...)
	for _, term := range l.model.Means {
		for k, name := range term {
			_, label := l.used[name]
			if label && slices.Contains(fixed, name) && !slices.Contains(term[:k], name) {
				continue
			}
			var labels []string
			for _, other := range fixed {
				if _, label := l.used[other]; label && !slices.Contains(labels, other) {
					labels = append(labels, other)
				}
			}
			remedy := "these are " + strings.Join(labels, ", ")
			if len(labels) == 0 {
				remedy = "there is none in this model: delete means, or add the column to fixed"
			}
			l.problem(name, "means of "+name, "columns of labels among the fixed effects, each once", remedy)
		}
	}
}
