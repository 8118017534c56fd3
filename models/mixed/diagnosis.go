package mixed

import (
	"context"
	"fmt"
	"io"
	"math"
	"strings"

	"thumbed/models/table"
	"thumbed/models/wording"
)

// A Diagnosis is what a fit should be asked before it is believed. Every part
// tells in a plain sentence what it found and what to do.
type Diagnosis struct {
	Singular                []Singular               `json:"singular"`
	NonConvergence          *NonConvergence          `json:"stopped,omitempty"` // nil where the fit converged
	Collinear               []Collinear              `json:"collinear"`
	Influence               []*Influence             `json:"influence"`
	ResidualAutocorrelation *ResidualAutocorrelation `json:"neighbours,omitempty"`
	Envelopes               []Envelope               `json:"envelopes"`
	// NotDone tells which parts could not be looked at, and why.
	NotDone []string `json:"not_done"`
}

// A Singular is a random term whose covariance matrix is at the edge of its
// range.
type Singular struct {
	Term     string `json:"term"` // as in [Fit.Boundary]
	Sentence string `json:"sentence"`
}

// A NonConvergence tells where a fit that did not converge ended.
type NonConvergence struct {
	Gradient []float64 `json:"gradient"` // of the criterion by the variance parameters
	Sentence string    `json:"sentence"`
}

// A Collinear is a fixed effect that others nearly determine. (Those that they
// determine wholly are a problem of the model, told when it is fitted.)
type Collinear struct {
	Term string `json:"term"`
	// Inflation is the variance inflation factor: how many times the variance of
	// its estimate, by least squares, is what it would be without the others
	// (Belsley, Kuh and Welsch 1980, section 3.1).
	Inflation float64 `json:"inflation"`
	Sentence  string  `json:"sentence"`
}

// Diagnosing says what is looked at.
type Diagnosing struct {
	Simulations int    // of envelopes and neighbours; 199 where 0
	Seed        uint64 // of the simulations
	// Table is the table that was fitted, Along and Within its columns of
	// positions and of the groups inside which rows are neighbours; without
	// Along neighbours are not looked at.
	Table         *table.Table
	Along, Within string
}

// Diagnose looks at everything: singular random terms, convergence, collinear
// columns, influential groups of every random term, neighbouring rows, and
// normality. Parts that a model does not admit are told in NotDone. It fails
// only where ctx ends.
func (f *Fit) Diagnose(ctx context.Context, o Diagnosing) (*Diagnosis, error) {
	out := &Diagnosis{Singular: f.Singular(), NonConvergence: f.NonConvergence(), Collinear: f.Collinear(), Influence: []*Influence{}, Envelopes: []Envelope{}, NotDone: []string{}}
	notDone := func(what string, err error) {
		out.NotDone = append(out.NotDone, what+": "+err.Error()+".")
	}
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		if fac.spline != nil {
			continue
		}
		influence, err := f.Influence(ctx, fac.by...)
		if err != nil {
			notDone("influence", err)
			continue
		}
		out.Influence = append(out.Influence, influence)
	}
	if o.Along != "" && o.Table != nil {
		neighbours, err := f.ResidualAutocorrelation(ctx, o.Table, o.Along, o.Within, o.Simulations, o.Seed)
		if err != nil {
			notDone("neighbours", err)
		}
		out.ResidualAutocorrelation = neighbours
	}
	envelopes, err := f.Envelopes(ctx, o.Simulations, o.Seed)
	if err != nil {
		notDone("normality", err)
	} else {
		out.Envelopes = envelopes
	}
	return out, ctx.Err()
}

// Singular tells which random terms are at the edge of their range.
func (f *Fit) Singular() []Singular {
	out := []Singular{}
	f.like.set(f.phi)
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		if fac.spline != nil {
			continue
		}
		for _, v := range fac.blocks {
			g := &Fit{}
			g.noteBoundary(fac, v, f.like.trial.Lambda[k])
			for i, term := range g.Boundary {
				out = append(out, Singular{Term: term, Sentence: g.Notes[i]})
			}
		}
	}
	return out
}

// NonConvergence tells where a fit that did not converge ended; nil where it converged.
func (f *Fit) NonConvergence() *NonConvergence {
	if f.Converged {
		return nil
	}
	worst := 0
	for i, v := range f.slope {
		if math.Abs(v) > math.Abs(f.slope[worst]) {
			worst = i
		}
	}
	what := "the residual's structure"
	if worst < len(f.like.parameters) {
		p := f.like.parameters[worst]
		fac := &f.d.factors[p.factor]
		what = "the variance of " + fac.z[p.entries[0][0]].name
	}
	return &NonConvergence{Gradient: f.slope, Sentence: fmt.Sprintf("The fit did not converge: where it stopped, the criterion still changes by %.2g for a unit change of %s. "+
		"Do not use its numbers; take out random terms, beginning with that one, or bring its column to a size like the others'.", math.Abs(f.slope[worst]), what)}
}

// muchInflated is the variance inflation from which a column is told as nearly
// collinear (common practice: Marquardt 1970).
const muchInflated = 10

// Collinear tells which fixed effects others nearly determine.
func (f *Fit) Collinear() []Collinear {
	out := []Collinear{}
	fixed := &f.d.fixed
	inverse := fixed.inverseTriangle()
	for j := 1; j < fixed.p; j++ {
		own, spread := 0.0, 0.0
		for k := j; k < fixed.p; k++ {
			own += inverse.At(j, k) * inverse.At(j, k)
		}
		for k := 1; k <= j; k++ { // the intercept's direction is the mean
			spread += fixed.r[k*fixed.p+j] * fixed.r[k*fixed.p+j]
		}
		if inflation := own * spread; inflation > muchInflated {
			out = append(out, Collinear{Term: fixed.names[j], Inflation: inflation, Sentence: nearlyDetermined(fixed.names[j], inflation)})
		}
	}
	return out
}

func nearlyDetermined(effect string, inflation float64) string {
	return fmt.Sprintf("%s is nearly determined by the other fixed effects: its standard error is about %s times what it would be by itself. "+
		"Its estimate stands, but says little; ask for a contrast of what the columns tell together, measure a column from its mean where it is part of a product, or leave one out.",
		effect, decimals(math.Sqrt(inflation), 1))
}

// Text writes the diagnosis for reading, one paragraph a finding.
func (d *Diagnosis) Text(w io.Writer) error {
	var sentences []string
	for _, s := range d.Singular {
		sentences = append(sentences, s.Sentence)
	}
	if d.NonConvergence != nil {
		sentences = append(sentences, d.NonConvergence.Sentence)
	}
	for _, c := range d.Collinear {
		sentences = append(sentences, c.Sentence)
	}
	for _, n := range d.Influence {
		if len(n.Notes) == 0 {
			sentences = append(sentences, fmt.Sprintf("No single group by %s moves a fixed effect much.", strings.Join(n.By, " and ")))
		}
		sentences = append(sentences, n.Notes...)
	}
	if d.ResidualAutocorrelation != nil {
		sentences = append(sentences, d.ResidualAutocorrelation.Sentence)
	}
	for _, e := range d.Envelopes {
		sentences = append(sentences, e.Sentence)
	}
	for _, n := range d.NotDone {
		sentences = append(sentences, "Not looked at: "+n)
	}
	for _, s := range sentences {
		if _, err := fmt.Fprintf(w, "%s\n\n", wording.Wrapped(s)); err != nil {
			return err
		}
	}
	return nil
}
