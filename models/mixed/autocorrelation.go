package mixed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// ResidualAutocorrelation tells whether rows next to each other are more alike than the fit
// explains.
type ResidualAutocorrelation struct {
	Along string `json:"along"`
	// Correlation is that of the standardised residuals of rows next to each
	// other along the column, inside groups; Expected what simulated outcomes of
	// the fitted model show on average (below zero, since fitted groups take
	// their rows' mean away).
	Correlation float64 `json:"correlation"`
	Expected    float64 `json:"expected"`
	P           float64 `json:"p"` // share of simulated outcomes whose neighbours are at least as alike
	Sentence    string  `json:"sentence"`
}

// ResidualAutocorrelation compares the correlation of neighbouring rows' residuals with that
// in outcomes simulated from the fitted model, each fitted anew. t is the table
// that was fitted, along its column of positions, within the column of groups
// inside which rows are neighbours (empty: all rows are one). It fails where t
// lacks them, where rows are only bounds, and where ctx ends.
func (f *Fit) ResidualAutocorrelation(ctx context.Context, t *table.Table, along, within string, simulations int, seed uint64) (*ResidualAutocorrelation, error) {
	pairs, err := f.neighbourPairs(t, along, within)
	if err != nil {
		return nil, err
	}
	if simulations == 0 {
		simulations = usualSimulations
	}
	if simulations < fewestSimulations {
		return nil, fmt.Errorf("%d simulations are too few to compare with; give at least %d", simulations, fewestSimulations)
	}
	if f.d.errors.bounded() {
		return nil, errors.New("where rows are only bounds they have no residuals to compare: add along to the model's residual and look at its estimate instead")
	}
	f.like.criterion(f.phi)
	out := &ResidualAutocorrelation{Along: along, Correlation: pairCorrelation(f.like.standardise(f.like.leftOver(), f.sigma), pairs)}
	simulated := make([]float64, simulations)
	err = f.replicate(ctx, Bootstrapping{Replicates: simulations, Seed: seed}, func() replicator {
		r := f.Refitter()
		return func(k int, outcome []float64) error {
			refit, err := r.Refit(outcome)
			if err != nil {
				return err
			}
			simulated[k] = pairCorrelation(r.like.standardise(r.like.leftOverOf(r.left), refit.Sigma/f.d.fixed.scale), pairs)
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	as := 0
	for _, v := range simulated {
		out.Expected += v / float64(simulations)
		if v >= out.Correlation {
			as++
		}
	}
	out.P = float64(1+as) / float64(1+simulations)
	out.say(f.model.Residual.Along == along)
	return out, nil
}

func (n *ResidualAutocorrelation) say(modelled bool) {
	numbers := fmt.Sprintf("correlation %s, expected %s, %s", decimals(n.Correlation, 2), decimals(n.Expected, 2), pIs(n.P))
	switch {
	case n.P > departing:
		n.Sentence = fmt.Sprintf("Rows next to each other along %s are no more alike than the model explains (%s).", n.Along, numbers)
	case modelled:
		n.Sentence = fmt.Sprintf("Rows next to each other along %s are still more alike than the model's autocorrelation explains (%s): add a curve along %s.", n.Along, numbers, n.Along)
	default:
		n.Sentence = fmt.Sprintf("Rows next to each other along %s are more alike than the model explains (%s), so that its standard errors are too small: add along = %q to the residual, or a curve along %s.", n.Along, numbers, n.Along, n.Along)
	}
}

// neighbourPairs finds the rows used that are next to each other.
func (f *Fit) neighbourPairs(t *table.Table, along, within string) ([][2]int, error) {
	c := t.Column(along)
	switch {
	case f.d.rows[len(f.d.rows)-1] >= t.Rows():
		return nil, fmt.Errorf("the table has %s, fewer than the one that was fitted: give that one", wording.Plain(t.Rows(), "row", "rows"))
	case c == nil || !c.IsNumber():
		return nil, fmt.Errorf("the table has no column of numbers %q: name the column of positions", along)
	case within != "" && t.Column(within) == nil:
		return nil, fmt.Errorf("the table has no column %q: name the column of groups, or leave it empty", within)
	}
	var order []int
	for k, i := range f.d.rows {
		if finite(c.Number(i)) {
			order = append(order, k)
		}
	}
	group := func(k int) string {
		if within == "" {
			return ""
		}
		return t.Column(within).Label(f.d.rows[k])
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if ga, gb := group(a), group(b); ga != gb {
			if ga < gb {
				return -1
			}
			return 1
		}
		x, y := c.Number(f.d.rows[a]), c.Number(f.d.rows[b])
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	var pairs [][2]int
	for k := 1; k < len(order); k++ {
		if group(order[k]) == group(order[k-1]) {
			pairs = append(pairs, [2]int{order[k-1], order[k]})
		}
	}
	if len(pairs) < 3 {
		return nil, fmt.Errorf("only %s of rows next to each other along %s: too few to compare", wording.Plain(len(pairs), "pair", "pairs"), along)
	}
	return pairs, nil
}

// pairCorrelation is the correlation of values at pairs, around zero.
func pairCorrelation(values []float64, pairs [][2]int) float64 {
	product, a, b := 0.0, 0.0, 0.0
	for _, p := range pairs {
		x, y := values[p[0]], values[p[1]]
		product += x * y
		a += x * x
		b += y * y
	}
	if a*b == 0 {
		return 0
	}
	return product / math.Sqrt(a*b)
}

// Text writes what the comparison shows.
func (n *ResidualAutocorrelation) Text(w io.Writer) error {
	_, err := fmt.Fprintln(w, wording.Wrapped(n.Sentence))
	return err
}
