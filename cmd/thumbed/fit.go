package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/table"
)

func init() { register(newFitCommand) }

const fitLong = `Fits one model to one table: fixed effects, random terms that vary between books
or quires, and the residual. The model is a TOML file:

  outcome  = "wear"
  scale    = "identity"          # or "log"
  estimate = "restricted"        # or "full": which likelihood
  fixed    = ["picture", "office_order", ["picture", "office_order"]]
  [levels]                       # the first level is the baseline
  picture  = ["no", "yes"]
  [[random]]
  by    = "book"                 # or ["book", "quire"]: the quire within the book
  terms = ["intercept", "picture"]
  correlated = true
  [residual]
  known_sd = "wear_se"           # the rows' own standard errors
  limits   = "limit"             # says below or above where the outcome is only a bound

  [labels]                       # words of your columns in sentences
  "half=second" = "the second half"

An inner list in fixed is a product: how the effect of one column changes with
another. A column named under levels or by is a label, even where it looks like
a number. An outcome that no instrument measured has a kind of its own:

  kind = "grades"                # or "yes or no", "counts"; "measure" where not given
  [levels]
  paint = ["whole", "dulled", "bare"]   # the outcome's own, in rising order

with, where wanted, link, thresholds and by_threshold for grades; link and trials
for yes or no; spread, exposure and zero_inflation for counts; points for
quadrature. Standard errors and degrees of freedom of measures are those of
Kenward and Roger wherever these can be computed; df = "Satterthwaite" asks for
the others. Of every kind of outcome a model may ask for more:

  intervals       = "profile"    # of every parameter; or "bootstrap", with replicates = 999
  means           = ["picture"]  # adjusted means of columns of labels; inner lists for combinations
  tests           = true         # joint tests of terms with several coefficients
  predictions     = true         # of the rows whose outcome is empty
  variance_shares = true
  compare         = "other.toml" # by the likelihood ratio, with another model file`

const fitExample = `  Read the answer:
    thumbed fit pictures.toml --data wear.csv

  For another program:
    thumbed fit pictures.toml --data wear.csv --json`

func newFitCommand() *cobra.Command {
	var data string
	var asJSON bool
	c := &cobra.Command{
		Use:     "fit MODEL.toml --data TABLE.csv [--json]",
		Short:   "Fit a mixed model to a table",
		Long:    fitLong,
		Example: fitExample,
		Args:    exactly("MODEL.toml"),
		RunE: func(c *cobra.Command, args []string) error {
			if data == "" {
				return usagef("%s needs --data TABLE.csv, the table to fit the model to", c.CommandPath())
			}
			model, t, err := readModelAndTable(args[0], data)
			if err != nil {
				return err
			}
			fit, err := generalised.FitModel(model, t)
			if err != nil {
				return fmt.Errorf("the model %s cannot be fitted to %s:\n%w", args[0], data, err)
			}
			if model.Compare != "" {
				if err := compareWith(fit, args[0], t); err != nil {
					return err
				}
			}
			if !asJSON {
				fmt.Fprint(c.OutOrStdout(), report.FitText(fit))
				return nil
			}
			out := json.NewEncoder(c.OutOrStdout())
			out.SetEscapeHTML(false)
			out.SetIndent("", "  ")
			return out.Encode(fit)
		},
	}
	flags := c.Flags()
	flags.StringVar(&data, "data", "", "`TABLE.csv` with the model's columns")
	flags.BoolVar(&asJSON, "json", false, "print one JSON object")
	return c
}

// largestText is the size of a model file or a notebook, in bytes, beyond which
// it is surely something else.
const largestText = 256 << 20

// readModelAndTable reads both files and gathers what is wrong with either.
func readModelAndTable(modelPath, dataPath string) (mixed.Model, *table.Table, error) {
	var ps table.Problems
	model, err := readModel(modelPath, &ps)
	if err != nil {
		return model, nil, err
	}
	t := table.ReadFile(dataPath, &ps)
	return model, t, ps.Err()
}

// readModel reads a model file.
func readModel(path string, ps *table.Problems) (mixed.Model, error) {
	text, err := table.Content(path, largestText)
	if err != nil {
		ps.Add(table.Problem{File: path, Value: path, Expected: "a model file that can be read",
			Remedy: fmt.Sprintf("check its name (the system says: %v)", errors.Unwrap(err))})
		return mixed.Model{}, nil
	}
	model, err := mixed.ParseModel(path, text)
	var fault *table.Fault
	if errors.As(err, &fault) {
		ps.Add(fault.Problems...)
		return model, nil
	}
	return model, err
}

// compareWith compares a fit with that of the model file which its model names.
func compareWith(fit generalised.Result, path string, t *table.Table) error {
	name := fit.Model().Compare
	if !filepath.IsAbs(name) {
		name = filepath.Join(filepath.Dir(path), name)
	}
	var ps table.Problems
	other, err := readModel(name, &ps)
	if err = errors.Join(err, ps.Err()); err != nil {
		return fmt.Errorf("the model that %s is to be compared with:\n%w", path, err)
	}
	comparison, err := generalised.CompareModels(fit.Model(), other, fit.Model().Compare, t)
	if err != nil {
		fit.Refuse("comparison with "+fit.Model().Compare, err)
		return nil
	}
	fit.Compared(comparison)
	return nil
}
