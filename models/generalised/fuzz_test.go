package generalised

import (
	"errors"
	"math"
	"testing"

	"thumbed/models/mixed"
	"thumbed/models/table"
)

const fuzzTable = "paint,touched,drops,area,looked,part,book\nwhole,no,0,1,3,face,A\ndulled,yes,2,2,4,hand,A\nbare,yes,1,1.5,2,face,B\nwhole,no,4,1,3,hand,B\ndulled,no,0,3,5,face,C\nbare,yes,7,1,2,hand,C\nwhole,yes,0,2,3,hand,A\ndulled,no,1,2,4,face,B\n"

// Whatever a model's text says, it is fitted, with finite numbers, or refused in
// words.
func FuzzFit(f *testing.F) {
	f.Add("outcome = \"paint\"\nkind = \"grades\"\nthresholds = \"equal\"\nfixed = [\"part\"]\n[levels]\npaint = [\"whole\", \"dulled\", \"bare\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n")
	f.Add("outcome = \"touched\"\nkind = \"yes or no\"\nlink = \"complementary log-log\"\npoints = 5\nfixed = []\n[levels]\ntouched = [\"no\", \"yes\"]\n[[random]]\nby = \"book\"\nterms = [\"intercept\"]\n")
	f.Add("outcome = \"drops\"\nkind = \"counts\"\nspread = \"negative binomial\"\nexposure = \"area\"\nzero_inflation = [\"part\"]\nfixed = [[\"part\", \"book\"]]\n")
	f.Add("outcome = \"drops\"\nkind = \"yes or no\"\ntrials = \"looked\"\nby_threshold = [\"part\"]\nfixed = []\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := mixed.ParseModel("model.toml", []byte(text))
		if err != nil || m.IsMeasure() {
			return
		}
		var ps table.Problems
		fit, err := FitModel(m, table.Read("table.csv", []byte(fuzzTable), &ps))
		if err != nil {
			var fault *table.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("not a fault: %v", err)
			}
			return
		}
		for _, c := range fit.(*Fit).Fixed {
			if math.IsNaN(c.Estimate+c.SE+c.Low+c.High+c.P) || math.IsInf(c.Estimate+c.SE+c.Low+c.High, 0) {
				t.Fatalf("%+v", c)
			}
		}
	})
}
