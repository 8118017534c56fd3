package study

import (
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
)

// sharedIn is a model of wear with the errors that the study's pages share.
func (s *Study) sharedIn(model mixed.Model) mixed.Model {
	if s.wear == nil {
		return model // the inquiry of a corpus, whose folders are campaigns of their own
	}
	wear, err := s.Wear()
	if err != nil {
		return model // a log that gives no wear is told elsewhere
	}
	return hypotheses.Sharing(model, wear.Shared)
}

// unknown are the sources of errors that pages share which a model does not take as
// errors of known spread: those of which no spread is known, and all where its outcome
// is made of wear on another scale.
func (s *Study) unknown(model mixed.Model) []hypotheses.Unknown {
	of := outcome.Of(model)
	if s.wear == nil || !of.Measured() {
		return nil
	}
	wear, err := s.Wear()
	if err != nil {
		return nil
	}
	var out []hypotheses.Unknown
	for _, source := range wear.Shared {
		switch {
		case !source.Known:
			out = append(out, hypotheses.Unknown{By: source.By, Why: source.Why})
		case !of.SharesErrors() && source.SD > 0:
			out = append(out, hypotheses.Unknown{By: source.By, Why: "It is known for densities only: ask this of wear itself."})
		}
	}
	return out
}
