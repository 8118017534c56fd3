package generalised

import (
	"fmt"
	"slices"

	"thumbed/models/mixed"
)

// Compare tests the smaller of two fits of the same rows against the larger. Where the
// larger has one variance parameter more, which is zero in the smaller, the statistic
// is half χ² with one degree of freedom and half zero (Self and Liang 1987, Journal of
// the American Statistical Association 82, 605–610); with more of them χ² overstates
// p, and the method says so. Fits of unlike approximations are refused, and so are
// penalised ones.
func Compare(smaller, larger *Fit) (mixed.RatioTest, error) {
	var out mixed.RatioTest
	switch {
	case smaller.apart != nil || larger.apart != nil:
		return out, fmt.Errorf("one of the fits is of a penalised likelihood; expected two likelihoods: take out the terms that the data bound on one side only")
	case smaller.Approximation != larger.Approximation && smaller.d.random.q > 0:
		return out, fmt.Errorf("the fits are by unlike approximations (%s; %s), whose likelihoods cannot be compared: fit both by the same", smaller.Approximation, larger.Approximation)
	case smaller.N != larger.N || smaller.model.Outcome != larger.model.Outcome || smaller.model.Kind != larger.model.Kind || smaller.model.Link != larger.model.Link:
		return out, fmt.Errorf("the fits are of unlike rows, outcomes or links; expected the same: fit both to rows in which every column of the larger model has a value")
	}
	effects := larger.d.size - smaller.d.size
	spreads := len(larger.d.random.entries) - len(smaller.d.random.entries)
	missing := func(names, among []string) string {
		for _, name := range names {
			if !slices.Contains(among, name) {
				return name
			}
		}
		return ""
	}
	if name := missing(smaller.d.parameterNames(), larger.d.parameterNames()); name != "" && larger.model.Thresholds == smaller.model.Thresholds && len(larger.model.ByThreshold) == len(smaller.model.ByThreshold) {
		return out, fmt.Errorf("the larger model has no %s, which the smaller has: they are not nested", name)
	}
	if effects < 0 || spreads < 0 || effects+spreads == 0 {
		return out, fmt.Errorf("the second model has not more parameters than the first; expected the smaller first")
	}
	out.Statistic = max(0, 2*(larger.LogLik-smaller.LogLik))
	switch spreads {
	case 0:
		out.Mix(effects, 1)
		out.Note = "The p-value is by the χ² distribution."
	case 1:
		out.Mix(effects, 0.5)
		out.Mix(effects+1, 0.5)
		out.Note = "The p-value is by half each of χ² with and without the variance, which is zero in the smaller model."
	default:
		out.Mix(effects+spreads, 1)
		out.Cautious = true
		out.Note = "The p-value is by the χ² distribution, which is cautious with several variances that are zero in the smaller model."
	}
	return out, nil
}
