package dropoff

import (
	"fmt"
	"math"

	"thumbed/models/student"
	"thumbed/models/wording"
)

// A Saturation states how the density of a thumbed page follows how often it was
// handled: D = S·(1 − exp(−h)), h the handling in a unit of its own. Each handling adds
// to what is still clean, and density nears S. It is the scholar's own calibration;
// the zero value is none. Intervals take the law as given: they hold the errors of wear
// and of S, and not that density may follow handling otherwise.
type Saturation struct {
	Density float64 `json:"density" unit:"density"` // S, the density that ever more handling nears
	SE      float64 `json:"se" unit:"density"`      // its standard error
	Source  string  `json:"source"`                 // where it comes from, in the scholar's words
}

// handling is that of a density below S, with its derivatives by the density and by S.
func (s Saturation) handling(density float64) (h, byDensity, byS float64) {
	x := density / s.Density
	return -math.Log1p(-x), 1 / (s.Density * (1 - x)), -x / (s.Density * (1 - x))
}

// ratio is how often a later office was handled, the first 1, with Fieller's (1954)
// interval of its handling over the first's, t standard errors either way: their
// covariance, with the error of S that they share, is by the delta method.
func (s Saturation) ratio(later, first OfficeShare, covariance, t float64) (ratio, bool) {
	a, aD, aS := s.handling(later.Wear)
	b, bD, bS := s.handling(first.Wear)
	square := func(v float64) float64 { return v * v }
	return fieller(a, b, square(aD*later.SE)+square(aS*s.SE), square(bD*first.SE)+square(bS*s.SE), aD*bD*covariance+aS*bS*s.SE*s.SE, t)
}

// A Handling is what a stated calibration makes of the offices' wear; see
// [OfficeShare.Handled].
type Handling struct {
	Calibration Saturation `json:"calibration"` // of handling against density, as the study states it
	Refused     string     `json:"refused"`     // why nothing is told of how often pages were handled, a sentence; else empty
}

// A Handled is how often the pages of an office were handled, those of the first
// office 1.
type Handled struct {
	Share float64 `json:"share"` // how often they were handled, those of the first office 1
	Low   float64 `json:"low"`   // lower end of the 95 % interval of share
	High  float64 `json:"high"`  // upper end of it
}

// mostSaturated is the share of S above which nothing is told of handling: what an
// interval takes as given is the law, and small departures from it count there (common
// practice, no source).
const mostSaturated = 0.7

// handle tells how often the offices were handled, where a calibration is stated.
func (c *Decline) handle(a *adjustment, s *Saturation) {
	if s == nil {
		return
	}
	c.Handling = &Handling{Calibration: *s}
	for _, o := range c.Offices {
		if reach := clearlyAbove * math.Hypot(o.SE, s.SE); o.Wear+reach >= s.Density {
			c.refuseHandling(fmt.Sprintf("%s is worn %s, within the errors of the density at which the stated calibration saturates, %s: how often its pages were handled cannot be told. Compare the offices' wear as it is, or find the saturation more precisely.",
				o.Office, wording.Fixed(o.Wear, wording.DensityDecimals), wording.Fixed(s.Density, wording.DensityDecimals)))
			return
		}
		if o.Wear > mostSaturated*s.Density {
			c.refuseHandling(fmt.Sprintf("%s is worn %s, more than %s of the density at which the stated calibration saturates, %s: so near to it the share handled depends on the exact form of that law, which nobody measured. Compare the offices' wear as it is.",
				o.Office, wording.Fixed(o.Wear, wording.DensityDecimals), wording.Percent(mostSaturated), wording.Fixed(s.Density, wording.DensityDecimals)))
			return
		}
	}
	first := c.Offices[0]
	for i := range c.Offices {
		o := &c.Offices[i]
		o.Handled = &Handled{1, 1, 1}
		if i == 0 {
			continue
		}
		r, ok := s.ratio(*o, first, a.covariance(first.Office, o.Office), student.Half(shareLevel, o.df))
		if !ok {
			c.refuseHandling(fmt.Sprintf("With the error of the stated calibration, %s may hardly have been handled, so that a share of its handling means nothing. Compare the offices' wear as it is, or find the saturation more precisely.", first.Office))
			return
		}
		*o.Handled = Handled{max(r.value, 0), max(r.low, 0), max(r.high, 0)}
	}
}

// refuseHandling says why nothing is told of how often pages were handled.
func (c *Decline) refuseHandling(why string) {
	c.Handling.Refused = why
	for i := range c.Offices {
		c.Offices[i].Handled = nil
	}
}

// HandlingSentence tells how often pages of the last office were handled against those
// of the first, by the stated calibration; empty without one.
func (c *Decline) HandlingSentence() string {
	switch {
	case c.Handling == nil:
		return ""
	case c.Handling.Refused != "":
		return c.Handling.Refused
	}
	first, last := c.Offices[0], c.Offices[len(c.Offices)-1]
	s := c.Handling.Calibration
	error := ""
	if s.SE > 0 {
		error = ", standard error " + wording.Fixed(s.SE, wording.DensityDecimals)
	}
	return fmt.Sprintf("By the stated calibration, pages of %v were handled %s as often as those of %v. It has density near %s with ever more handling%s (%s); no other habit is supposed.",
		last.Office, wording.PercentEstimate(last.Handled.Share, last.Handled.Low, last.Handled.High), first.Office,
		wording.Fixed(s.Density, wording.DensityDecimals), error, s.Source)
}
