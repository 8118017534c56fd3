package study

import (
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
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
