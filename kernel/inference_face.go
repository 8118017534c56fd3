package kernel

import (
	"thumbed/models/mixed"
	"thumbed/models/report"
)

// inferenceFaces shows what a fit says besides its effects.
func inferenceFaces(x mixed.Inferences) ([]Output, error) {
	return shownFaces(report.Shown{Said: x.Sentences(), Tables: report.InferenceTables("inference", &x, nil), Notes: x.Notes}, nil)
}
