package study

import (
	"math"
	"slices"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/readings"
)

// sharedIn is a model with the errors that pages share by day, observer and
// instrument, where its outcome is the pages' wear: those of known spread, and not
// those that the model states itself.
func (s *Study) sharedIn(model mixed.Model) mixed.Model {
	if s.wear == nil {
		return model // the inquiry of a corpus, whose folders are campaigns of their own
	}
	wear, err := s.Wear()
	if err != nil || model.Outcome != "wear" || model.Scale == "log" {
		return model // a log that gives no wear is told elsewhere; offsets are densities
	}
	model.Residual.Offsets = slices.Clone(model.Residual.Offsets)
	for _, source := range wear.Shared {
		stated := slices.ContainsFunc(model.Residual.Offsets, func(o mixed.Offset) bool { return o.By == source.Column() || o.By == source.By })
		if source.Known && source.SD > 0 && !stated {
			model.Residual.Offsets = append(model.Residual.Offsets, mixed.Offset{By: source.Column(), SD: source.SD, DF: exact(source)})
		}
	}
	return model
}

// exact is the degrees of freedom of a source as a model states them: 0 for a spread
// taken as known.
func exact(source readings.Source) float64 {
	if math.IsInf(source.DF, 1) {
		return 0
	}
	return source.DF
}

// unknown are the sources of errors that pages share which a model does not take as
// errors of known spread: those of which no spread is known, and all where its outcome
// is made of wear on another scale.
func (s *Study) unknown(model mixed.Model) []hypotheses.Unknown {
	if s.wear == nil || model.Outcome != "wear" && model.Outcome != "coverage" {
		return nil
	}
	wear, err := s.Wear()
	if err != nil {
		return nil
	}
	var out []hypotheses.Unknown
	for _, source := range wear.Shared {
		switch taken := model.Outcome == "wear" && model.Scale != "log"; {
		case !source.Known:
			out = append(out, hypotheses.Unknown{By: source.By, Why: source.Why})
		case !taken && source.SD > 0:
			out = append(out, hypotheses.Unknown{By: source.By, Why: "It is known for densities only: ask this of wear itself."})
		}
	}
	return out
}
