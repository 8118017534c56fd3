package mixed

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// Inferences are what a fit of any kind of outcome says besides its effects: its notes,
// what the model's [Inference] asks for, and unasked what must be known before the
// effects are used.
type Inferences struct {
	Notes       []string        `json:"notes"`                     // plain sentences on what should be known before the numbers are used
	Intervals   *Intervals      `json:"intervals,omitempty"`       // intervals of every parameter by profile likelihood or bootstrap, where asked for
	Deviations  []Interval      `json:"deviations,omitempty"`      // 95 % intervals of the standard deviations by Satterthwaite's method, where the model asks for no others; without ends, and with the reason, where there is none
	Tests       []JointTest     `json:"tests,omitempty"`           // joint tests of each fixed term, where asked for
	Adjusted    []AdjustedMean  `json:"means,omitempty"`           // adjusted means, where asked for; of grades, yes or no and counts always
	Predictions []RowPrediction `json:"predictions,omitempty"`     // predictions of the rows that have no outcome, where asked for
	Shares      *RSquared       `json:"variance_shares,omitempty"` // how the outcome's variance divides, where asked for
	Comparison  *Comparison     `json:"comparison,omitempty"`      // likelihood-ratio test against another model, where asked for
	// Diagnosed are sentences on what may be wrong with the fit, or rests on one
	// group; empty where nothing was found.
	Diagnosed []string `json:"diagnosis,omitempty"` // sentences on what may be wrong with the fit, or which group an effect rests on; only where something was found
}

// Intervals are of every parameter, by one method.
type Intervals struct {
	Method     string     `json:"method"`     // how they came about
	Parameters []Interval `json:"parameters"` // the fixed effects, then the spreads
}

// An AdjustedMean is what the model expects where columns have some levels, all rows
// used as they are otherwise, averaged over them and over the groups of the random
// terms (books not seen among them), with its 95 % interval: a mean in the outcome's
// own unit, a probability, or a rate.
type AdjustedMean struct {
	Column string  `json:"column"` // the column, or several joined by ×
	Level  string  `json:"level"`  // its level
	Of     string  `json:"of"`     // the outcome's level whose probability it is; count, for each unit of exposure; mean for measures
	Mean   float64 `json:"mean"`   // the mean, probability or rate
	Low    float64 `json:"low"`    // lower end of its 95 % interval
	High   float64 `json:"high"`   // upper end of its 95 % interval
}

// Where is the mean as that where columns have some levels.
func (m AdjustedMean) Where(columns, levels []string) AdjustedMean {
	m.Column, m.Level = strings.Join(columns, productSign), strings.Join(levels, productSign)
	return m
}

// A RowPrediction is what is expected of a row of the table that has no outcome.
type RowPrediction struct {
	Row   int      `json:"row"`   // row of the table, from 1
	Where string   `json:"where"` // the row in words
	Known []string `json:"known"` // the groups whose random effects enter; of others the average is told
	Of    string   `json:"of"`    // as in means
	// Mean, Low and High are of such rows on average; RowLow and RowHigh hold one
	// such row, in 95 of 100; measures only.
	Mean    float64  `json:"mean"`               // what is expected of such rows on average
	Low     float64  `json:"low"`                // lower end of its 95 % interval
	High    float64  `json:"high"`               // upper end of its 95 % interval
	RowLow  *float64 `json:"row_low,omitempty"`  // lower end of the 95 % interval of one such row; measures only
	RowHigh *float64 `json:"row_high,omitempty"` // upper end of the 95 % interval of one such row; measures only
}

// A Comparison is a likelihood-ratio test of the fit against that of another model.
type Comparison struct {
	With   string `json:"with"`   // the other model
	Larger bool   `json:"larger"` // whether this model is the larger of the two
	RatioTest
}

// Inferring says how a fit's inferences are made.
type Inferring struct {
	Table *table.Table // that was fitted
	// Simulate asks for the checks that need refits to simulated outcomes.
	Simulate bool
	// Where names a row of the table (from 0) in words; nil: by its line.
	Where func(row int) string
	// Group names a group by its columns and their labels in words; nil: by these.
	Group func(by, labels []string) string
}

// GroupWords are a group, its labels joined as in [Influence], in words.
func (o Inferring) GroupWords(by []string, group string) string {
	labels := strings.Split(group, groupSign)
	if len(labels) != len(by) { // a label holds the sign itself
		return strings.Join(by, ", ") + " " + group
	}
	if o.Group != nil {
		return o.Group(by, labels)
	}
	var parts []string
	for i, column := range by {
		parts = append(parts, strings.ReplaceAll(column, "_", " ")+" "+labels[i])
	}
	return strings.Join(parts, ", ")
}

// Place is a row of the table in words.
func (o Inferring) Place(row int) string {
	if o.Where != nil {
		return o.Where(row)
	}
	return fmt.Sprintf("line %d", o.Table.Line(row))
}

// Of intervals that a model asks for.
const (
	InferenceLevel = 0.95
	InferenceSeed  = 1
)

// Ways are how the fit of one kind of outcome makes what can be asked of it.
type Ways struct {
	Profile     func() (method string, intervals []Interval, err error)
	Deviations  func() []Interval // of the standard deviations, where the model asks for no intervals
	Bootstrap   func(replicates int) (parameters []BootstrapParameter, notes []string, err error)
	Tests       func() ([]JointTest, error)
	Means       func(columns Term) ([]AdjustedMean, error)
	Unasked     func() ([]AdjustedMean, error) // means where the model names none; nil where there are none then
	Predictions func() ([]RowPrediction, error)
	Shares      func() (*RSquared, error)
}

// Answer makes what is asked for, but for the comparison. What cannot be given is told
// in Notes.
func (x *Inferences) Answer(ask Inference, by Ways) {
	*x = Inferences{Notes: x.Notes}
	var err error
	if x.Intervals, err = x.intervals(ask, by); err != nil {
		x.Refuse("intervals by "+ask.Intervals, err)
	}
	if x.Intervals == nil {
		x.Deviations = by.Deviations()
	}
	if ask.Tests {
		if x.Tests, err = by.Tests(); err != nil {
			x.Refuse("joint tests", err)
		}
	}
	if len(ask.Means) == 0 && by.Unasked != nil {
		if x.Adjusted, err = by.Unasked(); err != nil {
			x.Refuse("adjusted means", err)
		}
	}
	for _, term := range ask.Means {
		means, err := by.Means(term)
		if err != nil {
			x.Refuse("adjusted means of "+strings.Join(term, " and "), err)
		}
		x.Adjusted = append(x.Adjusted, means...)
	}
	if ask.Predictions {
		if x.Predictions, err = by.Predictions(); err != nil {
			x.Refuse("predictions", err)
		}
	}
	if ask.VarianceShares {
		if x.Shares, err = by.Shares(); err != nil {
			x.Refuse("shares of variance", err)
		}
	}
}

// intervals are those that are asked for; nil where none are.
func (x *Inferences) intervals(ask Inference, by Ways) (*Intervals, error) {
	switch ask.Intervals {
	case ByProfile:
		method, all, err := by.Profile()
		if err != nil {
			return nil, err
		}
		return &Intervals{Method: method, Parameters: all}, nil
	case ByBootstrap:
		replicates := cmp.Or(ask.Replicates, usualReplicates)
		parameters, notes, err := by.Bootstrap(replicates)
		if err != nil {
			return nil, err
		}
		x.Notes = append(x.Notes, notes...)
		return bootstrapIntervals(parameters, replicates), nil
	}
	return nil, nil
}

// bootstrapIntervals are the intervals that a bootstrap gives: studentised where there
// are standard errors to do so, else by quantiles.
func bootstrapIntervals(parameters []BootstrapParameter, replicates int) *Intervals {
	out := &Intervals{Method: fmt.Sprintf("parametric bootstrap, %d outcomes drawn from the fit (seed %d): of effects and thresholds by (estimate − drawn from)/standard error, of the others by quantiles", replicates, InferenceSeed)}
	for _, p := range parameters {
		i := Interval{Parameter: p.Parameter, Level: InferenceLevel, Low: p.Low, High: p.High}
		if p.StudentHigh > p.StudentLow {
			i.Low, i.High = p.StudentLow, p.StudentHigh
		}
		out.Parameters = append(out.Parameters, i)
	}
	return out
}

// Refuse notes what was asked for and cannot be given.
func (x *Inferences) Refuse(what string, err error) {
	x.Notes = append(x.Notes, "No "+what+": "+strings.TrimSuffix(err.Error(), ".")+".")
}

// Compared takes a comparison with another model over.
func (x *Inferences) Compared(c Comparison) { x.Comparison = &c }

// Infer makes what the model's [Inference] asks for, but for the comparison, and
// looks for what must be known unasked. What cannot be given is told in Notes. It
// fails where ctx ends.
func (f *Fit) Infer(ctx context.Context, o Inferring) error {
	f.Answer(f.model.Inference, Ways{
		Profile: func() (string, []Interval, error) {
			method := "profile likelihood"
			if f.Estimate == "restricted" {
				method = "profile likelihood, of the fixed effects by the full likelihood, of the spreads by the restricted one"
			}
			all, err := f.Profile(InferenceLevel)
			return method, all, err
		},
		Bootstrap: func(replicates int) ([]BootstrapParameter, []string, error) {
			b, err := f.Bootstrap(ctx, Bootstrapping{Replicates: replicates, Seed: InferenceSeed, Level: InferenceLevel})
			if err != nil {
				return nil, nil, err
			}
			return b.Parameters, b.Notes, nil
		},
		Deviations:  f.deviations,
		Tests:       f.TermTests,
		Means:       f.adjustedMeans,
		Predictions: func() ([]RowPrediction, error) { return f.predictUnread(o) },
		Shares: func() (*RSquared, error) {
			shares := f.RSquared()
			return &shares, nil
		},
	})
	var err error
	f.Diagnosed, err = f.diagnosed(ctx, o)
	return errors.Join(err, ctx.Err())
}

// adjustedMeans are the means of a combination of columns in the outcome's own unit.
func (f *Fit) adjustedMeans(columns Term) ([]AdjustedMean, error) {
	means, err := f.MarginalMeans(columns, RowWeights, nil)
	if err != nil {
		return nil, err
	}
	own := means.OutcomeMeans()
	var out []AdjustedMean
	for k, m := range means.Means {
		out = append(out, AdjustedMean{Of: "mean", Mean: own[k].Estimate, Low: own[k].Low, High: own[k].High}.Where(columns, m.Levels))
	}
	return out, nil
}

// predictUnread predicts the rows that have no outcome but all that the model needs.
func (f *Fit) predictUnread(o Inferring) ([]RowPrediction, error) {
	rows, err := f.d.unread(o.Table)
	if err != nil {
		return nil, err
	}
	predictions, err := f.Predict(o.Table.Select(rows), Predicting{Level: InferenceLevel})
	if err != nil {
		return nil, err
	}
	out := make([]RowPrediction, len(rows))
	for k, p := range predictions {
		out[k] = RowPrediction{Row: rows[k] + 1, Where: o.Place(rows[k]), Known: p.Known, Of: "mean", Mean: p.Outcome.Estimate, Low: p.Outcome.Low, High: p.Outcome.High,
			RowLow: &p.OutcomeRow.Low, RowHigh: &p.OutcomeRow.High}
	}
	return out, nil
}

// unread are the rows of the table without an outcome that have all columns of which
// predictions are made, at levels that the fit knows.
func (d *design) unread(t *table.Table) ([]int, error) {
	columns := d.featureColumns()
	if name := d.model.Residual.Levels; name != "" {
		columns = append(columns, name)
	}
	var out []int
	for i := range t.Rows() {
		if !t.Column(d.model.Outcome).Missing(i) {
			continue
		}
		if !slices.ContainsFunc(columns, func(name string) bool {
			c := t.Column(name)
			levels, label := d.levels[name]
			return c.Missing(i) || label && !slices.Contains(levels, c.Label(i)) || !label && !finite(c.Number(i))
		}) {
			out = append(out, i)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("no row lacks its %s and has all else that the model needs (%s): give the rows to predict in the table, their %s empty", d.model.Outcome, strings.Join(columns, ", "), d.model.Outcome)
	}
	return out, nil
}

const (
	mostInfluence = 10_000_000 // groups × rows of which influence is looked at unasked
	mostSimulated = 2_000      // rows of which simulated outcomes are fitted unasked
	oddShare      = 0.01       // share of simulated outcomes that depart as much, at which it is told
)

// diagnosed are the sentences on what may be wrong, told where something is.
func (f *Fit) diagnosed(ctx context.Context, o Inferring) ([]string, error) {
	var out []string
	for _, c := range f.Collinear() {
		out = append(out, nearlyDetermined(f.model.Words(c.Term), c.Inflation))
	}
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		if fac.spline != nil || f.d.errors.bounded() || len(fac.groups)*f.N > mostInfluence {
			continue
		}
		influence, err := f.Influence(ctx, fac.by...)
		if err != nil {
			return nil, err
		}
		out = append(out, influence.decisive(f, o)...)
	}
	if !o.Simulate || f.N > mostSimulated || f.model.CanRefit() != nil || f.d.errors.bounded() {
		return out, nil
	}
	envelopes, err := f.Envelopes(ctx, 0, InferenceSeed)
	if err != nil {
		return out, ctx.Err()
	}
	for _, e := range envelopes {
		if e.P <= oddShare {
			out = append(out, e.Sentence)
		}
	}
	return out, nil
}

// decisive tells of each fixed effect on which group it rests.
func (n *Influence) decisive(f *Fit, o Inferring) []string {
	groups := make([]string, len(n.Groups))
	var out []string
	for g, group := range n.Groups {
		groups[g] = o.GroupWords(n.By, group.Group)
		switch {
		case group.lost != "":
			out = append(out, groups[g]+": "+lostWords(f.model.Words(group.lost))+".")
		case group.Note != "":
			out = append(out, groups[g]+": "+group.Note+".")
		}
	}
	for j, c := range f.Fixed {
		if c.Term == interceptName {
			continue
		}
		without := make([]float64, len(n.Groups))
		for g, group := range n.Groups {
			if without[g] = math.NaN(); group.Note == "" {
				without[g] = group.Without[j]
			}
		}
		if sentence := RestsOn(f.model.Words(c.Term), c.Estimate, c.Low, c.High, groups, without); sentence != "" {
			out = append(out, sentence)
		}
	}
	return out
}

// mostNamed is how many groups a sentence names.
const mostNamed = 3

// RestsOn is the sentence on groups without which the 95 % interval of an effect
// would hold zero where it does not, or would not where it does; empty where there is
// none. without are the estimates without each group, NaN where not known; the
// interval is moved with the estimate, its width held.
func RestsOn(term string, estimate, low, high float64, groups []string, without []float64) string {
	holds := func(shift float64) bool { return low+shift <= 0 && high+shift >= 0 }
	now := holds(0)
	var found []int
	for g, v := range without {
		if finite(v) && holds(v-estimate) != now {
			found = append(found, g)
		}
	}
	if len(found) == 0 {
		return ""
	}
	slices.SortStableFunc(found, func(a, b int) int {
		switch da, db := math.Abs(without[a]-estimate), math.Abs(without[b]-estimate); {
		case da > db:
			return -1
		case da < db:
			return 1
		}
		return 0
	})
	places := wording.Decimals((high - low) / 4)
	var names []string
	for _, g := range found[:min(len(found), mostNamed)] {
		names = append(names, fmt.Sprintf("%s (about %s)", groups[g], wording.Fixed(without[g], places)))
	}
	if more := len(found) - len(names); more > 0 {
		names = append(names, fmt.Sprintf("any of %s", wording.Count(more, "other", "others")))
	}
	would := "hold zero too"
	if now {
		would = "not hold zero"
	}
	list := strings.Join(names, ", or without ")
	return fmt.Sprintf("What is said of %s, %s, rests on single groups: its interval would %s without %s.", term, wording.Fixed(estimate, places), would, list)
}
