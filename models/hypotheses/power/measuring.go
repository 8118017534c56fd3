package power

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"thumbed/models/readings"
)

// Measuring is the way from the true wear of a page to what the log says of it.
// Standard deviations are densities.
type Measuring struct {
	Instrument   readings.Instrument `json:"-"`
	OnPage       float64             `json:"on_page" unit:"density"`       // standard deviation of one placing on the thumbed place
	OnZero       float64             `json:"on_zero" unit:"density"`       // standard deviation of one placing on the zero
	Zeros        int                 `json:"zeros"`                        // placings on the zero of each page
	Ground       float64             `json:"ground" unit:"density"`        // density of untouched parchment
	GroundSpread float64             `json:"ground_spread" unit:"density"` // how that differs from page to page, a standard deviation
	Between      float64             `json:"between" unit:"density"`       // standard deviation between observers, beyond repeatability
	Observers    int                 `json:"observers"`                    // observers, who take the days in turn
	BetweenDays  float64             `json:"between_days" unit:"density"`  // standard deviation between days of one observer, beyond repeatability
	Scale        float64             `json:"scale"`                        // standard deviation of the days' scales, as a share of the wear
	// Drift is what the instrument drifts by between the first and the last hour of a day,
	// a standard deviation over days, at the density of its tile: as an offset, or where the
	// study corrects a scale as a scale. OnTile is the standard deviation of one placing on
	// the tile, and Correction how the study takes drift off. They count where pages are
	// measured in the order of a sheet.
	Drift      float64        `json:"drift,omitempty" unit:"density"`                              // standard deviation, over days, of the instrument's drift within a day, at the density of its tile; left out where none is taken
	OnTile     float64        `json:"on_tile,omitempty" unit:"density"`                            // standard deviation of one placing on the tile; left out where there is no tile
	Correction readings.Drift `json:"correction,omitempty" words:"none / offset / scale / either"` // how the study corrects drift by the tile; left out where it does not
}

func (m *Measuring) check() error {
	var faults []error
	for _, sd := range []struct {
		what  string
		value float64
	}{{"placings on pages", m.OnPage}, {"placings on zeros", m.OnZero}, {"untouched places", m.GroundSpread},
		{"observers", m.Between}, {"days", m.BetweenDays}, {"the days' scales", m.Scale},
		{"the drifts of days", m.Drift}, {"placings on the tile", m.OnTile}} {
		if !(sd.value >= 0) || math.IsInf(sd.value, 0) {
			faults = append(faults, fmt.Errorf("the standard deviation between %s is %g: give 0 or more", sd.what, sd.value))
		}
	}
	if min(m.OnPage, m.OnZero) == 0 && m.Instrument.Resolution == 0 {
		faults = append(faults, errors.New("placings repeat exactly and are shown with all digits, which no instrument does: give the repeatability"))
	}
	if m.Zeros < 1 {
		faults = append(faults, fmt.Errorf("%d placings on the zero of each page: at least one is needed, since wear is counted from it", m.Zeros))
	}
	return errors.Join(faults...)
}

// A measured page is what the log says of it.
type measured struct {
	wear, se float64 // NaN where its readings give not even a bound
	limit    readings.Limit
}

// measure takes the readings of pages in their order: on each day so many of
// them (aDay), the observers in turn. An offset of the instrument cancels out, since a
// page and its zero are read within minutes; what days and observers differ by
// is in the wear itself (an intermediate precision in the sense of ISO
// 5725-3:1994).
func (m *Measuring) measure(wear []float64, placings, aDay int, r *rand.Rand) []measured {
	observers := make([]float64, max(1, m.Observers))
	for i := range observers {
		observers[i] = m.Between * r.NormFloat64()
	}
	out := make([]measured, len(wear))
	page, zero := make([]float64, placings), make([]float64, m.Zeros)
	onPage, onZero := m.unrounded(m.OnPage), m.unrounded(m.OnZero)
	sitting := m.Instrument.Determiner(m.OnPage, m.OnZero)
	var shift, scale float64
	for i, truth := range wear {
		if i%aDay == 0 {
			shift = observers[i/aDay%len(observers)] + m.BetweenDays*r.NormFloat64()
			scale = 1 + m.Scale*r.NormFloat64()
		}
		ground := m.Ground + m.GroundSpread*r.NormFloat64()
		for k := range page {
			page[k] = m.Instrument.Show(ground + scale*truth + shift + onPage*r.NormFloat64())
		}
		for k := range zero {
			zero[k] = m.Instrument.Show(ground + onZero*r.NormFloat64())
		}
		out[i] = measured{math.NaN(), math.NaN(), readings.Measured}
		if d, ok := sitting.Of(page, zero); ok {
			out[i] = measured{d.Wear, d.SE, d.Limit}
		}
	}
	return out
}

// unrounded is the standard deviation of placings before the instrument rounds
// them, from that of what it shows (Sheppard 1898: rounding to steps r adds
// r²/12).
func (m *Measuring) unrounded(sd float64) float64 {
	step := m.Instrument.Resolution
	return math.Sqrt(math.Max(0, sd*sd-step*step/12))
}
