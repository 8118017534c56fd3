package mixed

import (
	"fmt"
	"io"

	"thumbed/models/wording"
)

// An RSquared tells how the outcome's variance divides between what the model
// names, on the model's scale (Nakagawa and Schielzeth 2013, Methods in Ecology
// and Evolution 4, 133–142; with random slopes Johnson 2014, the same 5,
// 944–946).
type RSquared struct {
	Fixed     float64 `json:"fixed"`     // variance over the rows of the fixed effects and curves, on the model's scale
	Random    float64 `json:"random"`    // mean variance of the random terms
	Residual  float64 `json:"residual"`  // variance of the residual; of other kinds than measures that of the link's distribution
	Measuring float64 `json:"measuring"` // mean of the known measuring variance
	// Marginal is the fixed part's share of all four, Conditional that of the
	// fixed and random parts together.
	Marginal    float64 `json:"marginal"`    // the fixed effects' share of all
	Conditional float64 `json:"conditional"` // share of the fixed effects and random terms together
}

// RSquared computes the shares of variance.
func (f *Fit) RSquared() RSquared {
	unit := f.sigma * f.d.fixed.scale
	var out RSquared
	out.Fixed = f.curvedVariance()
	total := unit * unit * f.like.relativeVariance(f.phi, f.columnMoments())
	own := unit * unit
	if w := f.like.weighing; w != nil {
		w.state.set(w.parameters, f.phi[len(f.like.parameters):])
		sum := 0.0
		for i := range f.d.n {
			h, _, _ := w.state.row(int32(i))
			sum += h * h
		}
		own *= sum / float64(f.d.n)
	}
	out.Residual = own
	out.Random = total - own
	for _, v := range part[*knownErrors](&f.d.errors).values {
		out.Measuring += v * unit * unit / float64(f.d.n)
	}
	for k := range f.d.offsets {
		for i := range f.d.n {
			out.Measuring += f.d.offsets[k].variance(i) * unit * unit / float64(f.d.n)
		}
	}
	all := out.Fixed + out.Random + out.Residual + out.Measuring
	out.Marginal = out.Fixed / all
	out.Conditional = (out.Fixed + out.Random) / all
	return out
}

// curvedVariance is the variance over the rows of the fixed effects and the
// curves' bends.
func (f *Fit) curvedVariance() float64 {
	mean := f.fixedPart()
	f.like.criterion(f.phi)
	s := f.like.s
	effects := f.like.trial.Modes(f.cov.beta)
	for k := range f.d.factors {
		fac := &f.d.factors[k]
		if fac.spline == nil {
			continue
		}
		for i := range mean {
			b := effects[s.First(k, int(fac.code[i])):]
			for c := range fac.k {
				mean[i] += fac.z[c].at(i) * b[c] * f.d.fixed.scale
			}
		}
	}
	_, spread := meanAndSpread(mean)
	return spread * spread
}

// Text writes the shares for reading.
func (r RSquared) Text(w io.Writer) error {
	_, err := fmt.Fprintln(w, wording.Wrapped(r.sentence()))
	return err
}

func (r RSquared) sentence() string {
	return fmt.Sprintf("Of the outcome's variance, on the model's scale, the fixed effects account for %s and together with the differences between groups for %s.",
		percent(r.Marginal), percent(r.Conditional))
}

func percent(share float64) string { return decimals(100*share, 1) + " %" }
