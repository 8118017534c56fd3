package mixed

import (
	"errors"
	"fmt"
	"math"

	"thumbed/models/table"
)

// knownErrors are errors of measurement whose standard deviations a column has.
type knownErrors struct {
	silent
	column string
	values []float64 // n: variances, in the outcome's unit of [fixedPart]
}

func (k *knownErrors) asked() bool                       { return k.column != "" }
func (k *knownErrors) needs(add func(name, role string)) { add(k.column, "number") }
func (k *knownErrors) fixesScale() bool                  { return true }
func (k *knownErrors) begin(s *residualState)            { s.known = k.values }

func (k *knownErrors) lay(l *layer, d *design) bool {
	k.values = l.values(k.column)
	some := false
	for i, v := range k.values {
		if v < 0 {
			l.ps.Add(table.Problem{File: l.table.File, Line: l.table.Line(l.rows[i]), Column: k.column, Value: fmt.Sprint(v),
				Expected: "a standard deviation, zero or more", Remedy: "correct the value"})
		}
		some = some || v > 0
		if l.model.logarithmic() {
			v /= math.Exp(d.outcome[i]) // to first order, the error of a logarithm
		}
		k.values[i] = v * v
	}
	if !some {
		l.problem(k.column, "zero in every row", "known standard deviations", "take known_sd out of the model: it says that nothing is known of the measuring error")
	}
	return true
}

func (k *knownErrors) rescale(unit float64) {
	for i := range k.values {
		k.values[i] /= unit * unit
	}
}

func (k *knownErrors) step(larger structure, _ *ratioStep) error {
	if k.column != larger.(*knownErrors).column {
		return errors.New("the models take different measuring errors as known (known_sd): neither holds the other")
	}
	return nil
}
