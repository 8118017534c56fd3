package dropoff

import (
	"cmp"
	"fmt"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// An OfficeShare is the deposit of one office relative to the first.
type OfficeShare struct {
	Office codex.Office `json:"-"`
	Pages  int          `json:"pages"`                  // pages measured
	Wear   float64      `json:"wear" unit:"density"`    // mean wear of its pages, adjusted
	SE     float64      `json:"wear_se" unit:"density"` // its standard error
	Share  float64      `json:"share"`                  // its wear as a share of that of the first office
	Low    float64      `json:"low"`                    // lower end of the 95 % interval of share
	High   float64      `json:"high"`                   // upper end of the 95 % interval of share
	// Handled is how often its pages were handled; nil without a calibration of handling
	// against density.
	Handled *Handled `json:"handled"` // how often its pages were handled against those of the first office, by the stated calibration; null without one

	df float64 // degrees of freedom that the interval of share rests on
}

// A Decline sets the wear of the offices of one set of hours of one book against that
// of the first.
type Decline struct {
	Book    int           `json:"-"`   // index into the study's books
	Set     string        `json:"set"` // which set of hours
	Offices []OfficeShare `json:"-"`
	Share   float64       `json:"share"` // wear of the last office as a share of that of the first
	// Low and High are the ends of its interval, which alone misses with chance Level: a
	// study's own, so that it holds beside all else that is found unasked. Where the first
	// office is not clear enough for that, it is the 95 % interval by itself.
	Low      float64        `json:"low"`      // lower end of its interval, from which alone it is claimed that the last office is worn more or less
	High     float64        `json:"high"`     // upper end of it
	Level    float64        `json:"level"`    // chance that the interval alone misses: so small that with all else that is found unasked nothing false is claimed in 95 % of studies
	Less     bool           `json:"-"`        // the last office is worn less than the first: High is below 1 at that level
	More     bool           `json:"-"`        // … more
	Adjusted []string       `json:"adjusted"` // features whose effect was removed first
	Removed  mixed.Model    `json:"-"`        // what they were removed by; its zero value where nothing was fitted
	Series   Series         `json:"-"`        // the pages of the hours in the order of the offices, adjusted
	Offs     []codex.Office `json:"-"`        // office of each row of Series
	Pages    []int          `json:"-"`        // index into the book's Pages of each row of Series
	Curve    *Curve         `json:"-"`        // the shares as a curve that never rises; nil where none can be given
	Changes  *Changes       `json:"changes"`  // where the series changes; null where the pages are too few or too alike
	Breaks   []string       `json:"-"`        // known breaks among these pages: "before 57r (a second scribe begins), between Terce and Sext"
	Notes    []string       `json:"notes"`    // plain sentences on what should be known before the numbers are used
	Handling *Handling      `json:"handling"` // what the stated calibration makes of the shares; null without one
	Refused  string         `json:"refused"`  // why no share is given; else empty

	parts      [][]float64   // see [hours.parts]
	covariance *mat.SymDense // of the offices' wear
	df         float64       // degrees of freedom of differences between offices
}

// shareLevel is the confidence of each office's share by itself.
const shareLevel = 0.95

// DeclineOf sets the offices of one set of hours in one book against the first: the
// wear of each office on a plain page, relative to the first office measured, and where
// along the offices the level of wear changes.
//
// The offices' means come from a mixed model of the pages' wear with known
// standard errors, in which pictures, pictures on the facing page, incipit
// pages, the outermost leaves of the book (1 over 1 + leaves from the nearer
// end) and quires have effects of their own; they are for a page that has none
// of these. The intervals of shares are Fieller's (1954), which hold however
// near to nothing an office is; below 0 they are cut off. Where the first
// office's own wear is not clearly above nothing, no share is given and Refused
// says so. Pages censored below the instrument's floor or above its
// ceiling enter the model as such; in the series half the floor stands for the
// former, the ceiling for the latter.
// An office with such pages alone is left out, and an effect that such
// pages alone tell stays in, with a note. The series leaves out pages that alone
// tell an effect: nothing of their own is left once it is removed.
//
// At a known break of the book the level of the series may differ anyway, and in
// a stretch that holds no change none is placed ([codex.Known]); shares are given as
// they are, with a note where a break lies among the offices.
//
// Wear of other books is passed over; where there are many books, hand over the
// book's own alone ([readings.Result.OfBook]), so that time stays in proportion
// to them.
//
// It fails where the book or the set does not exist or the model cannot be
// fitted.
//
// among tells what the study shares: errors of days, observers and instruments, which
// enter the model and the changes, and the level at which changes are claimed.
func DeclineOf(books []*codex.Book, book int, set string, wear []readings.Wear, among ...Among) (*Decline, error) {
	c, a, h, err := sharesOf(books, book, set, wear, first(among))
	if err != nil || a == nil {
		return c, err
	}
	var rows, apart []int
	var notes []string
	c.Series, rows, apart, notes = a.series(h)
	c.Notes = append(append(c.Notes, notes...), h.apartNotes(h.pagesOf(apart))...)
	c.Pages = h.pagesOf(rows)
	for _, i := range rows {
		c.Offs = append(c.Offs, h.rows[i].office)
	}
	o := h.options(rows)
	o.Adjust = a.adjusting(rows)
	c.Changes, err = Segment(c.Series, o)
	if err != nil {
		c.Notes = append(c.Notes, "No changes were looked for along the offices: "+err.Error()+".")
	}
	return c, nil
}

// SharesOf is [DeclineOf] without the series of pages and the changes along it,
// which take most of its time: for many books at once.
func SharesOf(books []*codex.Book, book int, set string, wear []readings.Wear, among ...Among) (*Decline, error) {
	c, _, _, err := sharesOf(books, book, set, wear, first(among))
	return c, err
}

// sharesOf gives the shares, with the model that they come from; nil where they
// are refused.
func sharesOf(books []*codex.Book, book int, set string, wear []readings.Wear, among Among) (*Decline, *adjustment, *hours, error) {
	h, err := newHours(books, book, set, wear, among)
	if err != nil {
		return nil, nil, nil, err
	}
	c := &Decline{Book: book, Set: set}
	if c.Refused = h.refusal(); c.Refused == "" {
		h.leaveUnbounded()
		c.Refused = h.refusal()
	}
	c.Notes = h.officeNotes()
	if c.Refused != "" {
		return c, nil, nil, nil
	}
	a, err := h.adjust()
	if err != nil {
		return nil, nil, nil, err
	}
	c.Breaks, c.parts = h.knownAmong(), h.parts(a.offices)
	c.Notes = append(append(append(c.Notes, a.notes...), h.limitNotes()...), knownNotes(c.Breaks)...)
	c.Adjusted, c.Removed = a.adjusted(), a.fit.Model()
	if err := c.share(a, h); err != nil {
		return nil, nil, nil, err
	}
	return c, a, h, nil
}

// Covariance is that of the errors of the offices' wear, one row an office of
// Offices, density squared; nil where there are none.
func (c *Decline) Covariance() mat.Symmetric {
	if c.covariance == nil {
		return nil
	}
	return c.covariance
}

// refusal says why offices cannot be compared at all; empty where they can.
func (h *hours) refusal() string {
	measured := h.measured()
	switch {
	case len(measured) == 0:
		return "No page of these hours was measured: measure pages of the first and of the last office at least."
	case len(measured) == 1 && len(h.beyond) > 0:
		return fmt.Sprintf("Only of %s was a page measured within the instrument's limits: measure another office with an instrument that reaches farther, so that there is something to compare.", measured[0])
	case len(measured) == 1:
		return fmt.Sprintf("Only pages of %s were measured: measure pages of another office too, so that there is something to compare.", measured[0])
	case h.limited() > len(h.rows)/2:
		return fmt.Sprintf("%d of the %d pages measured are at the instrument's floor or ceiling: too few are numbers to compare offices by. Measure with a finer instrument.", h.limited(), len(h.rows))
	case len(h.rows)-h.limited() < len(measured)+2:
		return fmt.Sprintf("%s in %s leave nothing to judge the scatter by: measure at least two pages of most offices.",
			wording.Capital(count(len(h.rows), "page")), count(len(measured), "office"))
	}
	return ""
}

// share gives every office its mean and its share of the first.
func (c *Decline) share(a *adjustment, h *hours) error {
	for _, office := range a.offices {
		mean, err := a.mean(office)
		if err != nil {
			return err
		}
		out := OfficeShare{Office: office, Pages: h.pages(office), Wear: mean.Estimate, SE: mean.SE, Share: 1, Low: 1, High: 1}
		if office != a.offices[0] {
			r, ok, err := a.ratio(office, shareLevel)
			if err != nil {
				return err
			}
			if !ok {
				c.refuse(a, r.df)
			}
			out.Share, out.Low, out.High, out.df = max(r.value, 0), max(r.low, 0), max(r.high, 0), r.df
		}
		c.Offices = append(c.Offices, out)
	}
	if err := c.spread(a); err != nil {
		return err
	}
	if c.Refused != "" {
		for i := range c.Offices {
			c.Offices[i].Share, c.Offices[i].Low, c.Offices[i].High = 0, 0, 0
		}
		return nil
	}
	last := c.Offices[len(c.Offices)-1]
	if err := c.compareLast(a, last, h.among); err != nil {
		return err
	}
	c.handle(a, h.among.Saturation)
	var err error
	if c.Curve, err = a.curve(c.Offices); err != nil {
		return err
	}
	if c.Curve == nil {
		c.Notes = append(c.Notes, fmt.Sprintf("%s is not worn clearly enough for a curve with bands over all offices at once; the shares hold one by one.", a.offices[0]))
	}
	return nil
}

// compareLast sets the last office against the first, and claims from that interval.
func (c *Decline) compareLast(a *adjustment, last OfficeShare, among Among) error {
	c.Share, c.Low, c.High, c.Level = last.Share, last.Low, last.High, usualLevel
	level := cmp.Or(among.Level, usualLevel)
	r, ok, err := a.ratio(last.Office, 1-level)
	if err != nil || !ok || last.Office == a.offices[0] {
		return err
	}
	c.Low, c.High, c.Level = max(r.low, 0), max(r.high, 0), level
	c.Less, c.More = c.High < 1, c.Low > 1
	return nil
}

// spread keeps what comparisons between books need.
func (c *Decline) spread(a *adjustment) error {
	c.covariance = mat.NewSymDense(len(a.offices), nil)
	c.df = inf
	for i, one := range a.offices {
		for j := range i + 1 {
			c.covariance.SetSym(i, j, a.covariance(one, a.offices[j]))
		}
		if i > 0 {
			df, err := a.df(one)
			if err != nil {
				return err
			}
			c.df = min(c.df, max(df, leastContrastDF))
		}
	}
	return nil
}

// clearlyAbove is how many standard errors above nothing an office is that
// would be worn beyond doubt, were its standard error known.
const clearlyAbove = 1.96

// refuse says that the first office cannot be divided by, and why: for its
// little wear, or since too little tells its standard error.
func (c *Decline) refuse(a *adjustment, df float64) {
	first := c.Offices[0]
	if first.Wear > clearlyAbove*first.SE {
		c.Refused = fmt.Sprintf("%s itself is worn (%.3g, standard error %.2g), but few pages and quires tell its standard error (%.1f degrees of freedom), so that its wear may still be next to nothing and a share of it anything. "+
			"Measure pages of it in more quires, or compare the offices' wear as it is.", a.offices[0], first.Wear, first.SE, df)
		return
	}
	c.Refused = fmt.Sprintf("%s itself is hardly worn (%.3g, standard error %.2g): a share of next to nothing means nothing. "+
		"Measure more pages of it, or compare the offices' wear as it is.", a.offices[0], first.Wear, first.SE)
}

// limited is how many pages are censored.
func (h *hours) limited() int {
	n := 0
	for _, row := range h.rows {
		if row.wear.Limit != readings.Measured {
			n++
		}
	}
	return n
}

func (h *hours) pages(office codex.Office) int {
	n := 0
	for _, row := range h.rows {
		if row.office == office {
			n++
		}
	}
	return n
}
