package mixed

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// An Envelope compares sorted residuals, or conditional modes, with those of
// outcomes simulated from the fitted model, each fitted anew (Atkinson 1985,
// section 4.2), so that what fitting does to them is allowed for.
type Envelope struct {
	About  string          `json:"about"` // "residuals", or the random term
	Points []EnvelopePoint `json:"points"`
	// P is the share of simulated outcomes that depart at least as much: the
	// largest departure of a point from the simulations' mean in units of their
	// standard deviation (Myllymäki, Mrkvička, Grabarnik, Seijo and Hahn 2017).
	P        float64 `json:"p"`
	Sentence string  `json:"sentence"`
}

// An EnvelopePoint is one of the sorted values.
type EnvelopePoint struct {
	Normal float64 `json:"normal"` // the standard normal quantile of its rank
	Value  float64 `json:"value"`
	Low    float64 `json:"low"` // the middle 95 % of the simulated ones
	High   float64 `json:"high"`
}

const (
	usualSimulations  = 199
	fewestSimulations = 39
	mostPoints        = 400 // of an envelope; longer ones are thinned evenly
	fewestGroups      = 6   // of a random term, for an envelope of its modes
)

// Envelopes gives the envelope of the residuals and of each column of each
// random term that has enough groups, from simulations (199 where 0). It fails
// where the model cannot be refitted to other outcomes, or has bounds, and where
// ctx ends.
func (f *Fit) Envelopes(ctx context.Context, simulations int, seed uint64) ([]Envelope, error) {
	if simulations == 0 {
		simulations = usualSimulations
	}
	if simulations < fewestSimulations {
		return nil, fmt.Errorf("%d simulations are too few for an envelope; give at least %d", simulations, fewestSimulations)
	}
	if f.d.errors.bounded() {
		return nil, errors.New("rows that are only bounds have no residuals, so that no envelope can be drawn: see instead whether the answers stay the same on the other scale, identity or log")
	}
	sets := f.envelopeSets()
	f.like.criterion(f.phi)
	observed := sortedSets(sets, f.like, f.sigma)
	simulated := make([][][]float64, simulations) // by simulation and set
	err := f.replicate(ctx, Bootstrapping{Replicates: simulations, Seed: seed}, func() replicator {
		r := f.Refitter()
		return func(k int, outcome []float64) error {
			refit, err := r.Refit(outcome)
			if err != nil {
				return err
			}
			if refit.Converged {
				simulated[k] = sortedSetsOf(sets, r, refit)
			}
			return nil
		}
	})
	if err != nil {
		return nil, err
	}
	simulated = slices.DeleteFunc(simulated, func(v [][]float64) bool { return v == nil })
	if len(simulated) < fewestSimulations {
		return nil, fmt.Errorf("only %d of %d refits converged, too few for an envelope: simplify the model's random terms", len(simulated), simulations)
	}
	out := make([]Envelope, len(sets))
	for k, set := range sets {
		others := make([][]float64, len(simulated))
		for i := range simulated {
			others[i] = simulated[i][k]
		}
		out[k] = newEnvelope(set.about, observed[k], others)
	}
	return out, nil
}

// An envelopeSet is a set of values that an envelope is drawn of.
type envelopeSet struct {
	about          string
	residuals      bool
	factor, column int
}

func (f *Fit) envelopeSets() []envelopeSet {
	sets := []envelopeSet{{about: "residuals", residuals: true}}
	f.like.set(f.phi)
	for _, p := range f.d.parameterPlaces() {
		if p.kind != GroupDeviation || len(f.d.factors[p.factor].groups) < fewestGroups {
			continue
		}
		if row := f.like.lambdaRow(p.factor, p.a); inner(row, row) < nearZero*nearZero {
			continue // all modes are zero
		}
		fac := f.d.factors[p.factor]
		sets = append(sets, envelopeSet{about: fac.z[p.a].name + fac.words(), factor: p.factor, column: p.a})
	}
	return sets
}

// sortedSets are the values of each set, sorted, where criterion was last
// computed.
func sortedSets(sets []envelopeSet, l *likelihood, sigma float64) [][]float64 {
	left := l.remainder()
	return sortedFrom(sets, l, left, sigma)
}

// sortedSetsOf are the values of each set for a refit.
func sortedSetsOf(sets []envelopeSet, r *Refitter, refit Refit) [][]float64 {
	return sortedFrom(sets, r.like, r.left, refit.Sigma/r.f.d.fixed.scale)
}

func sortedFrom(sets []envelopeSet, l *likelihood, left []float64, sigma float64) [][]float64 {
	beta := make([]float64, l.s.p)
	l.trial.Coefficients(beta)
	effects := l.trial.Modes(beta)
	out := make([][]float64, len(sets))
	for k, set := range sets {
		if set.residuals {
			out[k] = l.standardise(l.leftOverOf(left), sigma)
		} else {
			s := l.s
			for g := range s.factors[set.factor].groups {
				out[k] = append(out[k], effects[s.First(set.factor, g)+set.column]/sigma)
			}
		}
		slices.Sort(out[k])
		out[k] = thinned(out[k])
	}
	return out
}

// thinned keeps at most mostPoints of sorted values, evenly.
func thinned(sorted []float64) []float64 {
	if len(sorted) <= mostPoints {
		return sorted
	}
	out := make([]float64, mostPoints)
	for k := range out {
		out[k] = sorted[k*(len(sorted)-1)/(mostPoints-1)]
	}
	return out
}

func newEnvelope(about string, observed []float64, simulated [][]float64) Envelope {
	out := Envelope{About: about}
	n, m := len(observed), len(simulated)
	departures := make([]float64, m+1) // the observed one last
	where := 0
	column := make([]float64, m)
	for i, value := range observed {
		mean, spread := 0.0, 0.0
		for k := range simulated {
			column[k] = simulated[k][i]
			mean += column[k]
		}
		mean = (mean + value) / float64(m+1)
		for _, v := range column {
			spread += (v - mean) * (v - mean)
		}
		spread = math.Sqrt((spread + (value-mean)*(value-mean)) / float64(m+1))
		if spread > 0 {
			for k, v := range column {
				departures[k] = math.Max(departures[k], math.Abs(v-mean)/spread)
			}
			if d := math.Abs(value-mean) / spread; d > departures[m] {
				departures[m], where = d, i
			}
		}
		slices.Sort(column)
		out.Points = append(out.Points, EnvelopePoint{Value: value, Low: orderStatistic(column, 0.025), High: orderStatistic(column, 0.975),
			Normal: distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(n))})
	}
	as := 0
	for _, d := range departures[:m] {
		if d >= departures[m] {
			as++
		}
	}
	out.P = float64(1+as) / float64(1+m)
	out.Sentence = out.say(where)
	return out
}

// departing is the p from which an envelope counts as one that holds.
const departing = 0.05

// say tells what the envelope shows, where being the point that departs most.
func (e *Envelope) say(where int) string {
	what := "The residuals"
	if e.About != "residuals" {
		what = "The groups' departures (" + e.About + ")"
	}
	if e.P > departing {
		return fmt.Sprintf("%s are as those of simulated outcomes are: nothing speaks against a normal distribution (%s).", what, pIs(e.P))
	}
	p := e.Points[where]
	end := "in the middle of their range"
	switch share := float64(where) / float64(len(e.Points)); {
	case share < 0.25:
		end = "at the low end"
	case share > 0.75:
		end = "at the high end"
	}
	way := "higher"
	if p.Value < p.Low {
		way = "lower"
	}
	remedy := "look at those rows, and see whether scale = \"log\" or another spread for some level (residual levels) makes it go away"
	if e.About != "residuals" {
		remedy = "look at those groups, and at what they have in common that the model does not name"
	}
	return fmt.Sprintf("%s depart from a normal distribution (%s), most %s, where they are %s than simulated ones: %s. Estimates bear this better than intervals for single groups and new rows do.",
		what, pIs(e.P), end, way, remedy)
}
