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
// the zero value is none.
type Saturation struct {
	Density float64 `json:"density" unit:"density"` // S, the density that ever more handling nears
	SE      float64 `json:"se" unit:"density"`      // its standard error
	Source  string  `json:"source"`                 // where it comes from, in the scholar's words
}

// handling is that of a density below S.
func (s Saturation) handling(density float64) float64 { return -math.Log1p(-density / s.Density) }

// wornAs is the density of a page handled ratio times as often as one of some density,
// with its derivatives by that density and by S.
func (s Saturation) wornAs(ratio, density float64) (worn, byDensity, byS float64) {
	x := density / s.Density
	left := math.Pow(1-x, ratio) // what is still clean
	return s.Density * (1 - left), ratio * left / (1 - x), 1 - left - ratio*x*left/(1-x)
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
	High  float64 `json:"high"`  // upper end of it; null where it has none
}

// handle tells how often the offices were handled, where a calibration is stated. The
// interval holds all ratios r for which the later office's wear is not further from
// that of pages handled r times as often as the first's than t standard errors, those
// of S among them (delta method): Fieller's (1954) for S without bound.
func (c *Decline) handle(a *adjustment, s *Saturation) error {
	if s == nil || c.Refused != "" {
		return nil
	}
	c.Handling = &Handling{Calibration: *s}
	for _, o := range c.Offices {
		if reach := clearlyAbove * math.Hypot(o.SE, s.SE); o.Wear+reach >= s.Density {
			c.Handling.Refused = fmt.Sprintf("%s is worn %s, within the errors of the density at which the stated calibration saturates, %s: how often its pages were handled cannot be told. Compare the offices' wear as it is, or find the saturation more precisely.",
				o.Office, wording.Fixed(o.Wear, wording.DensityDecimals), wording.Fixed(s.Density, wording.DensityDecimals))
			return nil
		}
	}
	first := c.Offices[0]
	for i := range c.Offices {
		o := &c.Offices[i]
		o.Handled = &Handled{1, 1, 1}
		if i == 0 {
			continue
		}
		r, _, err := a.ratio(o.Office, shareLevel)
		if err != nil {
			return err
		}
		o.Handled.Share = max(0, s.handling(o.Wear)/s.handling(first.Wear))
		o.Handled.Low, o.Handled.High = s.interval(*o, first, a.covariance(first.Office, o.Office), student.Half(shareLevel, r.df))
	}
	return nil
}

// interval holds the ratios of handling of a later office to the first that agree with
// their wear, t standard errors either way.
func (s Saturation) interval(later, first OfficeShare, covariance, t float64) (low, high float64) {
	apart := func(ratio float64) float64 { // in standard errors
		worn, byFirst, byS := s.wornAs(ratio, first.Wear)
		variance := later.SE*later.SE - 2*byFirst*covariance + byFirst*byFirst*first.SE*first.SE + byS*byS*s.SE*s.SE
		return (later.Wear - worn) / math.Sqrt(variance)
	}
	return crossing(apart, t), crossing(apart, -t)
}

// mostHandling is the largest ratio of handling that is looked at.
const mostHandling = 1e6

// crossing is the ratio at which a function that falls from above comes to a level;
// 0 where it begins below.
func crossing(apart func(ratio float64) float64, level float64) float64 {
	if apart(0) <= level {
		return 0
	}
	low, high := 0.0, 1.0
	for apart(high) > level {
		if low, high = high, 2*high; high > mostHandling {
			return math.Inf(1)
		}
	}
	for range 60 {
		if middle := (low + high) / 2; apart(middle) > level {
			low = middle
		} else {
			high = middle
		}
	}
	return high
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
