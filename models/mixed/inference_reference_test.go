package mixed_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"thumbed/models/mixed"
)

// An inferenceReference is what testdata/reference/mixed/make-inference.R
// writes of one fit.
type inferenceReference struct {
	Profile struct {
		Names     []string
		Low, High numbers
	}
	Joint   jointReference
	Product jointReference `json:"joint.product"`
	Uneven  jointReference `json:"unbalanced"`
	Modes   struct {
		Factor, Term, Group []string
		Value, SD           numbers
	}
	R2      struct{ Fixed, Random, Residual, Marginal, Conditional float64 }
	Predict struct {
		Population    numbers
		PopulationSE  numbers `json:"population.se"`
		Conditional   numbers
		ConditionalSE numbers `json:"conditional.se"`
	}
	Ratio      ratioReference
	RatioFixed ratioReference `json:"ratio.fixed"`
	Means      struct{ Estimate, SE, DF numbers }
}

type ratioReference struct{ Chisq, DF, P float64 }

type jointReference struct {
	Satterthwaite, KenwardRoger fReference
}

type fReference struct{ F, Num, DF, P float64 }

func (j *jointReference) UnmarshalJSON(data []byte) error {
	var raw struct {
		S fReference `json:"satterthwaite"`
		K fReference `json:"kenward.roger"`
	}
	err := json.Unmarshal(data, &raw)
	j.Satterthwaite, j.KenwardRoger = raw.S, raw.K
	return err
}

func loadInference(t *testing.T, name string) inferenceReference {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(references, "inference", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var out inferenceReference
	if err := json.Unmarshal(data, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// A modelled is a model of make-inference.R in our words.
type modelled struct{ data, text string }

const (
	byBatch = `[[random]]
by = ["batch", "cask"]
terms = ["intercept"]
[[random]]
by = "batch"
terms = ["intercept"]
`
	oatsText = `outcome = "yield"
fixed = ["nitro", "Variety", ["nitro", "Variety"]]
[levels]
Variety = ["Golden Rain", "Marvellous", "Victory"]
[[random]]
by = ["Block", "Variety"]
terms = ["intercept"]
[[random]]
by = "Block"
terms = ["intercept"]
`
	cakeText = `outcome = "angle"
fixed = ["recipe", "temp", ["recipe", "temp"]]
[levels]
recipe = ["A", "B", "C"]
temp = ["175", "185", "195", "205", "215", "225"]
[[random]]
by = ["recipe", "replicate"]
terms = ["intercept"]
`
	machinesText = `outcome = "score"
fixed = ["Machine"]
[levels]
Machine = ["A", "B", "C"]
[[random]]
by = ["Worker", "Machine"]
terms = ["intercept"]
[[random]]
by = "Worker"
terms = ["intercept"]
`
	sleepText = `outcome = "Reaction"
fixed = ["Days"]
[[random]]
by = "Subject"
terms = ["intercept", "Days"]
correlated = true
`
	penicillinText = `outcome = "diameter"
fixed = []
[[random]]
by = "plate"
terms = ["intercept"]
[[random]]
by = "sample"
terms = ["intercept"]
`
	orthodontText = `outcome = "distance"
fixed = ["age", "Sex", ["age", "Sex"]]
[levels]
Sex = ["Male", "Female"]
[[random]]
by = "Subject"
terms = ["intercept", "age"]
correlated = true
`
)

var inferenceModels = map[string]modelled{
	"sleepstudy-correlated":   {"sleepstudy.csv", sleepText},
	"sleepstudy-uncorrelated": {"sleepstudy.csv", "outcome = \"Reaction\"\nfixed = [\"Days\"]\n[[random]]\nby = \"Subject\"\nterms = [\"intercept\", \"Days\"]\n"},
	"Penicillin":              {"Penicillin.csv", penicillinText},
	"Pastes":                  {"Pastes.csv", "outcome = \"strength\"\nfixed = []\n" + byBatch},
	"Oats":                    {"Oats.csv", oatsText},
	"cake":                    {"cake.csv", cakeText},
	"Orthodont":               {"Orthodont.csv", orthodontText},
	"Machines":                {"Machines.csv", machinesText},
}

// satterthwaite is the fit by restricted likelihood whose degrees of freedom are
// Satterthwaite's.
func (m modelled) satterthwaite(t *testing.T) *mixed.Fit {
	t.Helper()
	return fitted(t, parse(t, satterthwaiteText+m.text), loadTable(t, m.data))
}

const satterthwaiteText = "df = \"Satterthwaite\"\n"

func (m modelled) fit(t *testing.T, estimate string) *mixed.Fit {
	t.Helper()
	return fitted(t, parse(t, "estimate = \""+estimate+"\"\n"+m.text), loadTable(t, m.data))
}
