package hypotheses

import (
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/profile"
	"thumbed/models/readings"
)

// Sharing is a model with the errors that pages share by day, observer and
// instrument, where its outcome is the pages' wear: those of known spread, and not
// those that the model states itself. Offsets are densities, so that a model on the
// log scale has none.
func Sharing(model mixed.Model, sources []readings.Source) mixed.Model {
	if !outcome.Of(model).SharesErrors() {
		return model
	}
	model.Residual.Offsets = slices.Clone(model.Residual.Offsets)
	for _, s := range sources {
		stated := slices.ContainsFunc(model.Residual.Offsets, func(own mixed.Offset) bool { return own.By == s.By || own.By == s.Column() })
		if !stated {
			model.Residual.Offsets = append(model.Residual.Offsets, profile.Offsets([]readings.Source{s})...)
		}
	}
	return model
}
