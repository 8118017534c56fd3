package hypotheses

import (
	"math"
	"slices"

	"thumbed/models/mixed"
	"thumbed/models/readings"
)

// Sharing is a model with the errors that pages share by day, observer and
// instrument, where its outcome is the pages' wear: those of known spread, and not
// those that the model states itself. Offsets are densities, so that a model on the
// log scale has none.
func Sharing(model mixed.Model, sources []readings.Source) mixed.Model {
	if model.Outcome != "wear" || model.Scale == "log" {
		return model
	}
	model.Residual.Offsets = slices.Clone(model.Residual.Offsets)
	for _, source := range sources {
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
