package mixed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/wording"
)

// Bootstrapping says how a parametric bootstrap is run.
type Bootstrapping struct {
	Replicates int     // how many outcomes are drawn; 999 where 0
	Seed       uint64  // of the first random number
	Level      float64 // of the intervals; 0.95 where 0
	// Progress, where given, is told how many replicates are done, from one
	// goroutine at a time.
	Progress func(done, of int)

	first int // number of the first outcome drawn
}

const (
	usualReplicates = 999
	usualLevel      = 0.95
	fewestSucceeded = 20 // replicates below which no interval is given
)

func (o *Bootstrapping) complete() error {
	if o.Replicates == 0 {
		o.Replicates = usualReplicates
	}
	if o.Level == 0 {
		o.Level = usualLevel
	}
	if o.Replicates < fewestSucceeded || !(o.Level > 0 && o.Level < 1) {
		return fmt.Errorf("a bootstrap of %d replicates at level %g; expected at least %d replicates and a level between 0 and 1", o.Replicates, o.Level, fewestSucceeded)
	}
	return nil
}

// A Bootstrap is what came of a parametric bootstrap.
type Bootstrap struct {
	Replicates int     `json:"replicates"`
	Failed     int     `json:"failed"` // refits that did not converge; left out of everything else
	Seed       uint64  `json:"seed"`
	Level      float64 `json:"level"`
	// Parameters are in the order of [Fit.Parameters].
	Parameters []BootstrapParameter `json:"parameters"`
	Notes      []string             `json:"notes"`

	f      *Fit
	values [][]float64 // by replicate that converged
	errors [][]float64 // of its fixed effects, variances held
}

// A BootstrapParameter is one parameter, or contrast, over the replicates.
type BootstrapParameter struct {
	Parameter
	Mean float64 `json:"mean"` // over the replicates
	SD   float64 `json:"sd"`   // over the replicates: the bootstrap's standard error
	Bias float64 `json:"bias"` // mean less the estimate
	// Low and High are the percentile interval, BasicLow and BasicHigh the
	// basic one, 2·estimate less its ends (Davison and Hinkley 1997, chapter 5).
	Low       float64 `json:"low"`
	High      float64 `json:"high"`
	BasicLow  float64 `json:"basic_low"`
	BasicHigh float64 `json:"basic_high"`
	// StudentLow and StudentHigh are the studentised interval of a fixed effect:
	// the estimate less the quantiles of (estimate − drawn from)/standard error,
	// times the standard error (the same, section 5.2).
	StudentLow  float64 `json:"student_low"`
	StudentHigh float64 `json:"student_high"`
}

// Bootstrap draws outcomes from the fitted model and refits the model to each
// (parametric bootstrap: Efron and Tibshirani 1993, section 6.5). Replicates run
// in parallel; each has random numbers of its own seed, so that the result does
// not depend on how many cores there are. It fails where the model cannot be
// refitted to other outcomes (bounds told row by row), where ctx ends, or where
// nearly all refits fail.
func (f *Fit) Bootstrap(ctx context.Context, o Bootstrapping) (*Bootstrap, error) {
	if err := o.complete(); err != nil {
		return nil, err
	}
	places := f.d.parameterPlaces()
	values, errs := make([][]float64, o.Replicates), make([][]float64, o.Replicates)
	refused := make([]error, o.Replicates)
	err := f.replicate(ctx, o, func() replicator {
		r := f.Refitter()
		scale := f.d.fixed.scale
		return func(k int, outcome []float64) error {
			refit, err := r.Refit(outcome)
			if refused[k] = err; err == nil && refit.Converged {
				values[k] = r.like.values(places, refit.Phi, refit.Sigma/scale, refit.Fixed)
				errs[k] = slices.Clone(refit.SE)
			}
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	b := &Bootstrap{Replicates: o.Replicates, Seed: o.Seed, Level: o.Level, Notes: []string{}, f: f}
	for k, v := range values {
		if v == nil {
			b.Failed++
			continue
		}
		b.values, b.errors = append(b.values, v), append(b.errors, errs[k])
	}
	if len(b.values) == 0 && refused[0] != nil {
		return nil, refused[0]
	}
	if len(b.values) < fewestSucceeded {
		return nil, fmt.Errorf("only %d of %d refits converged, so that no interval can be given: simplify the model's random terms", len(b.values), o.Replicates)
	}
	if b.Failed > 0 {
		b.Notes = append(b.Notes, fmt.Sprintf("%d of %d refits did not converge and are left out.", b.Failed, o.Replicates))
	}
	for i, p := range f.Parameters() {
		summary := b.summarise(p, func(v []float64) float64 { return v[i] })
		if i < len(f.Fixed) {
			b.studentise(&summary, i)
		}
		b.Parameters = append(b.Parameters, summary)
	}
	return b, nil
}

// A replicator does replicate k with the outcome drawn for it.
type replicator func(k int, outcome []float64) error

// replicate draws outcomes and hands them to one replicator for each worker.
func (f *Fit) replicate(ctx context.Context, o Bootstrapping, newReplicator func() replicator) error {
	var lock sync.Mutex
	done := 0
	tell := func() {
		lock.Lock()
		defer lock.Unlock()
		if done++; o.Progress != nil {
			o.Progress(done, o.Replicates)
		}
	}
	return shareOut(ctx, o.Replicates, func() func(int) error {
		draw, work, outcome := f.newSimulator(), newReplicator(), make([]float64, f.d.n)
		return func(k int) error {
			defer tell()
			draw.Draw(rand.New(rand.NewPCG(o.Seed, uint64(o.first+k))), outcome)
			return work(k, outcome)
		}
	})
}

// summarise gathers one number of each replicate.
func (b *Bootstrap) summarise(p Parameter, of func(values []float64) float64) BootstrapParameter {
	values := make([]float64, len(b.values))
	for k, v := range b.values {
		values[k] = of(v)
	}
	return SummariseReplicates(p, values, b.Level)
}

// SummariseReplicates tells what a parameter's values over the replicates of a
// bootstrap say of it; the values are sorted.
func SummariseReplicates(p Parameter, values []float64, level float64) BootstrapParameter {
	out := BootstrapParameter{Parameter: p}
	out.Mean, out.SD = stat.MeanStdDev(values, nil)
	out.Bias = out.Mean - p.Value
	slices.Sort(values)
	out.Low, out.High = orderStatistic(values, (1-level)/2), orderStatistic(values, (1+level)/2)
	out.BasicLow, out.BasicHigh = 2*p.Value-out.High, 2*p.Value-out.Low
	if p.Kind == GroupDeviation || p.Kind == CurveDeviation || p.Kind == ResidualDeviation {
		out.BasicLow = math.Max(out.BasicLow, 0)
	}
	return out
}

// studentise fills in the studentised interval of fixed effect i.
func (b *Bootstrap) studentise(p *BootstrapParameter, i int) {
	pivots := make([]float64, len(b.values))
	for k, v := range b.values {
		pivots[k] = (v[i] - p.Value) / b.errors[k][i]
	}
	weights := make([]float64, len(b.f.Fixed))
	weights[i] = 1
	c, _, _ := b.f.plainContrast(p.Name, weights)
	p.Studentise(pivots, c.SE, b.Level)
}

// Studentise fills in the studentised interval by the pivots (estimate − drawn
// from)/standard error over the replicates, which are sorted.
func (p *BootstrapParameter) Studentise(pivots []float64, se, level float64) {
	slices.Sort(pivots)
	p.StudentLow = p.Value - orderStatistic(pivots, (1+level)/2)*se
	p.StudentHigh = p.Value - orderStatistic(pivots, (1-level)/2)*se
}

// orderStatistic is the (R+1)·share-th of R sorted values, between them by
// straight lines (Davison and Hinkley 1997, chapter 5).
func orderStatistic(sorted []float64, share float64) float64 {
	at := share*float64(len(sorted)+1) - 1
	low := min(max(int(math.Floor(at)), 0), len(sorted)-1)
	high := min(low+1, len(sorted)-1)
	part := math.Max(0, math.Min(1, at-float64(low)))
	return sorted[low] + part*(sorted[high]-sorted[low])
}

// Contrast gives a weighted sum of fixed effects over the replicates; weights
// as in [Fit.Contrast].
func (b *Bootstrap) Contrast(name string, weights map[string]float64) (BootstrapParameter, error) {
	c, err := b.f.Contrast(name, weights)
	if err != nil {
		return BootstrapParameter{}, err
	}
	w, err := b.f.contrastWeights(name, weights)
	if err != nil {
		return BootstrapParameter{}, err
	}
	// the fixed effects come first among the parameters
	return b.summarise(Parameter{Name: name, Kind: FixedEffect, Value: c.Estimate}, func(v []float64) float64 { return inner(w, v) }), nil
}

// Text writes the bootstrap for reading.
func (b *Bootstrap) Text(w io.Writer) error {
	var out strings.Builder
	fmt.Fprintf(&out, "Parametric bootstrap, %s drawn from the fitted model (seed %d).\n\n", wording.Plain(b.Replicates, "outcome", "outcomes"), b.Seed)
	rows := newRows(&out)
	rows.add("", "estimate", fmt.Sprintf("%.4g %% interval", 100*b.Level), "standard error", "bias")
	for _, p := range b.Parameters {
		places := placesFor(p.SD)
		rows.add(p.Name, decimals(p.Value, places), decimals(p.Low, places)+" to "+decimals(p.High, places), decimals(p.SD, places), decimals(p.Bias, places))
	}
	rows.end()
	for _, note := range b.Notes {
		fmt.Fprintf(&out, "\n%s\n", wording.Wrapped("Note. "+note))
	}
	_, err := io.WriteString(w, out.String())
	return err
}

// BootstrapRatio tests a smaller model against a larger one by the
// likelihood-ratio statistics of outcomes drawn from the smaller, so that no
// mixture of χ² distributions is needed: p = (1 + how many are at least as
// large) / (1 + replicates) (Davison and Hinkley 1997, section 4.2). It fails
// where [Fit.RatioTest] or [Fit.Bootstrap] does.
func (small *Fit) BootstrapRatio(ctx context.Context, large *Fit, o Bootstrapping) (RatioTest, error) {
	out, err := small.RatioTest(large)
	if err != nil {
		return out, err
	}
	if err := o.complete(); err != nil {
		return out, err
	}
	statistics := make([]float64, o.Replicates)
	err = small.replicate(ctx, o, func() replicator {
		a, b := small.Refitter(), large.Refitter()
		return func(k int, outcome []float64) error {
			one, errOne := a.Refit(outcome)
			two, errTwo := b.Refit(outcome)
			if !one.Converged || !two.Converged {
				statistics[k] = math.NaN()
				return errors.Join(errOne, errTwo)
			}
			statistics[k] = one.MinusTwiceLogLik - two.MinusTwiceLogLik
			return nil
		}
	})
	if err != nil {
		return out, err
	}
	larger, kept := 0, 0
	for _, v := range statistics {
		if math.IsNaN(v) {
			continue
		}
		kept++
		// equal but for where both descents stop
		if v >= out.Statistic-1e-6 {
			larger++
		}
	}
	if kept < fewestSucceeded {
		return out, fmt.Errorf("only %d of %d refits converged, so that no test can be made: simplify the models' random terms", kept, o.Replicates)
	}
	out.P = float64(1+larger) / float64(1+kept)
	out.Cautious = false
	out.Mixture = nil
	out.Note = fmt.Sprintf("p is from %d outcomes drawn from the smaller model (seed %d).", kept, o.Seed)
	if kept < o.Replicates {
		out.Note += fmt.Sprintf(" %d more did not converge and are left out.", o.Replicates-kept)
	}
	return out, nil
}
