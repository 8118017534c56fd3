package dropoff

import (
	"fmt"
	"math"

	"thumbed/models/codex"
)

// A Curve is the wear of each office as a share of the first's, as a curve that
// never rises: who reads an office has read those before it.
type Curve struct {
	Points []CurvePoint
	// Median is the last office that is worn at least half as much as the first;
	// MedianLow and MedianHigh are the offices between which it
	// lies, by the bands. Each is the last office measured where half or more
	// is left to the end.
	Median, MedianLow, MedianHigh codex.Office
	// ToEnd says that the last office measured is worn half as much as the first or more,
	// so that where wear falls below half is not seen.
	ToEnd bool
}

// A CurvePoint is the curve at one office, with its band: with 95 % confidence
// the true curve lies inside the bands at all offices at once.
type CurvePoint struct {
	Office codex.Office `json:"-"`
	Share  float64      `json:"share"` // wear as a share of the first office's, never rising
	Low    float64      `json:"low"`   // lower end of the band that holds the curve at all offices at once with 95 % confidence
	High   float64      `json:"high"`  // upper end of that band
}

// bandLevel is the confidence of the bands, over all offices at once.
const bandLevel = 0.95

// curve pools the offices' means into a falling curve, weighted by their
// precision, and divides it by its beginning. The bands start from Fieller's
// intervals of the shares as measured, each at the level 0.95^(1/k) for k
// shares (Šidák 1967, Journal of the American Statistical Association 62,
// 626–633), and use that the true curve falls: no later office can be higher
// than an earlier one's band, nor an earlier lower than a later one's. It is nil
// where the first office is not clear enough for such intervals.
func (a *adjustment) curve(offices []OfficeShare) (*Curve, error) {
	means, weights := make([]float64, len(offices)), make([]float64, len(offices))
	for i, o := range offices {
		means[i], weights[i] = o.Wear, 1/(o.SE*o.SE)
	}
	c := &Curve{}
	level := math.Pow(bandLevel, 1/float64(len(offices)-1))
	pooled := falling(means, weights)
	for i, mean := range pooled {
		point := CurvePoint{Office: offices[i].Office, Share: 1, Low: 1, High: 1}
		if i > 0 {
			r, ok, err := a.ratio(offices[i].Office, level)
			if err != nil || !ok {
				return nil, err
			}
			point.Share = max(mean, 0) / pooled[0]
			point.Low, point.High = within(r.low), within(r.high)
		}
		c.Points = append(c.Points, point)
	}
	c.narrow()
	c.median()
	return c, nil
}

// within cuts a share to what a share can be.
func within(share float64) float64 { return min(max(share, 0), 1) }

// narrow makes the bands fall as the curve does.
func (c *Curve) narrow() {
	for i := 1; i < len(c.Points); i++ {
		c.Points[i].High = min(c.Points[i].High, c.Points[i-1].High)
	}
	for i := len(c.Points) - 2; i >= 0; i-- {
		c.Points[i].Low = max(c.Points[i].Low, c.Points[i+1].Low)
	}
	for i := range c.Points {
		p := &c.Points[i]
		// Pooling may move the curve past the band of an office that stands
		// out of order; the band then reaches to it.
		p.Low, p.High = min(p.Low, p.Share), max(p.High, p.Share)
	}
}

// median finds the last office with half of the first's wear or more.
func (c *Curve) median() {
	for _, p := range c.Points {
		if p.Share >= 0.5 {
			c.Median = p.Office
		}
		if p.Low >= 0.5 {
			c.MedianLow = p.Office
		}
		if p.High >= 0.5 {
			c.MedianHigh = p.Office
		}
	}
	c.ToEnd = c.Median == c.Points[len(c.Points)-1].Office
}

// Sentence tells to which office at least half of the first's wear is left.
func (c *Curve) Sentence() string {
	last := c.Points[len(c.Points)-1].Office
	between := fmt.Sprintf("it may be any from %s to %s", c.MedianLow, c.MedianHigh)
	if c.MedianLow == c.MedianHigh {
		between = "the bands leave no other"
	}
	if c.ToEnd {
		if c.MedianLow == last {
			return fmt.Sprintf("Even %s, the last office measured, bears at least half of the wear of the first.", last)
		}
		return fmt.Sprintf("It seems that even %s, the last office measured, bears half of the first’s wear or more; but it may fall below half after %s.", last, c.MedianLow)
	}
	return fmt.Sprintf("Offices up to %s bear half of the first’s wear or more, and none after it: %s.", c.Median, between)
}
