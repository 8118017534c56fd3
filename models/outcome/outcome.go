// Package outcome answers: what is it that a model explains, in which unit, on which
// scale and by which likelihood?
//
// What the readings give, wear and the coverage made of it, is known here; any other
// column is an outcome of the scholar's own. No other room asks what an outcome is
// called.
package outcome

import (
	"cmp"

	"thumbed/models/mixed"
)

// Wear is the column of a page's wear.
const Wear = "wear"

// Logarithm is the unit of effects on a natural logarithm, which are told as factors.
const Logarithm = "natural logarithm"

// OnLink is the unit of effects on the scale of a link of probabilities.
const OnLink = "on the scale of the link"

const logScale = "log"

// An Outcome is what a model explains.
type Outcome struct {
	Column     string // of the table
	Unit       string // of effects: "density", Logarithm, OnLink; empty where none is named
	Log        bool   // it is modelled on the scale of its natural logarithm
	Likelihood string // the kind of outcome: mixed.Measure, mixed.Grades, mixed.YesNo, mixed.Counts

	measured quantity
}

// A quantity is made of the instrument's readings.
type quantity struct {
	column, unit string
	as           string // names it as a choice
	read         bool   // it is what is read, and not computed of that
}

// quantities are all that the readings give.
var quantities = []quantity{
	{column: "coverage", as: "as area coverage"},
	{column: Wear, unit: "density", as: "as density", read: true},
}

// Of is what a model explains.
func Of(m mixed.Model) Outcome {
	o := Outcome{Column: m.Outcome, Log: m.Scale == logScale, Likelihood: cmp.Or(m.Kind, mixed.Measure)}
	for _, q := range quantities {
		if q.column == m.Outcome {
			o.measured, o.Unit = q, q.unit
		}
	}
	switch {
	case o.Log || o.Likelihood == mixed.Counts:
		o.Unit = Logarithm
	case o.Likelihood != mixed.Measure:
		o.Unit = OnLink
	}
	return o
}

// Measured tells whether the outcome is made of the instrument's readings.
func (o Outcome) Measured() bool { return o.measured.column != "" }

// Read tells whether it is what the instrument reads, on any scale, so that a campaign
// can be drawn for it.
func (o Outcome) Read() bool { return o.measured.read }

// SharesErrors tells whether errors that readings share by day, observer and
// instrument are errors of the outcome as they stand: it is read, on the scale of the
// readings.
func (o Outcome) SharesErrors() bool { return o.Read() && !o.Log }

// UnitOf is the unit of effects, with the outcome where it is needed to say what they
// are: "natural logarithm of wear"; the outcome itself where no unit is named.
func (o Outcome) UnitOf() string {
	if o.Unit == Logarithm {
		return Logarithm + " of " + o.Column
	}
	return cmp.Or(o.Unit, o.Column)
}

// A Scale is another way to model the same measurement.
type Scale struct {
	Words    string             // names it as a choice
	Positive bool               // only rows above zero have a value on it
	Change   func(*mixed.Model) // puts a model on it; spreads of shared errors, which are densities, are left out
}

// Scales are the other ways to model what was measured; none for other outcomes.
func (o Outcome) Scales() (out []Scale) {
	if !o.Measured() {
		return nil
	}
	for _, q := range quantities {
		if q.column == o.Column && !(q.read && o.Log) {
			continue
		}
		out = append(out, Scale{Words: q.as, Change: func(m *mixed.Model) {
			if m.Residual.KnownSD != "" {
				m.Residual.KnownSD = q.column + "_se"
			}
			m.Outcome, m.Scale, m.Residual.Offsets = q.column, "", nil
		}})
	}
	if !o.Log {
		out = append(out, Scale{Words: "on a logarithmic scale", Positive: true, Change: func(m *mixed.Model) {
			m.Scale, m.Residual.KnownSD, m.Residual.Offsets = logScale, "", nil
		}})
	}
	return out
}
