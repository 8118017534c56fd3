package power

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/outcome"
	"thumbed/models/student"
)

// A Share is a share of campaigns with its Monte Carlo interval.
type Share struct {
	Value float64 `json:"value"` // share of campaigns, 0 to 1
	Low   float64 `json:"low"`   // lower end of the 95 % Monte Carlo interval (Wilson)
	High  float64 `json:"high"`  // upper end of the 95 % Monte Carlo interval (Wilson)
}

// Wilson is the share of count in n with the interval of [student.Wilson]; n is at
// least 1.
func Wilson(count, n int) Share {
	share := float64(count) / float64(n)
	low, high := student.Wilson(share, float64(n))
	return Share{Value: share, Low: low, High: high}
}

// Tried is what the campaigns of one design came to.
type Tried struct {
	Design
	Campaigns int `json:"campaigns"` // campaigns drawn
	// Failed are campaigns without an answer, with the effect there; Why is the
	// most frequent reason. They count as campaigns that claim nothing.
	Failed int    `json:"failed"`        // campaigns without an answer, with the effect there; they count as claiming nothing
	Why    string `json:"why,omitempty"` // the most frequent reason

	Power    Share   `json:"power"`              // share of campaigns that claim the effect, where it is there
	False    Share   `json:"false"`              // share that claim an effect in the asked direction, where there is none
	Absent   Share   `json:"absent"`             // share that rule out an effect that would matter, where there is none
	Together int     `json:"together,omitempty"` // answers whose intervals hold at once with this one's, it among them; left out where it stands alone
	Alone    float64 `json:"alone,omitempty"`    // mean error rate that this leaves to the answer's own interval
	Boundary Share   `json:"boundary"`           // share that estimate a variance as zero or a correlation as ±1

	// Of campaigns with an answer, with the effect there; 0 where none has one.
	Width       float64 `json:"width" unit:"of the outcome"`        // mean width of the intervals, of looks of the share or rate asked about; 0 where no campaign has an answer
	WidthNinety float64 `json:"width_ninety" unit:"of the outcome"` // width that nine of ten intervals do not exceed
	Bias        float64 `json:"bias" unit:"of the outcome"`         // mean estimate less the effect
	BiasSE      float64 `json:"bias_se" unit:"of the outcome"`      // Monte Carlo standard error of bias

	PagesMean float64 `json:"pages_mean"`       // mean number of pages measured in a campaign
	Placings  float64 `json:"placings"`         // mean number of placings on pages and zeros
	Turns     float64 `json:"turns"`            // mean number of openings turned to
	Hours     float64 `json:"hours" unit:"h"`   // time of measuring, with the tile
	Days      float64 `json:"days" unit:"days"` // days of measuring
	Bounds    float64 `json:"bounds"`           // share of pages of which the instrument gives a bound only

	// Band holds the power within what the pilot allows, and Matters names the
	// spread that most of it hangs on; nil and empty where campaigns were not drawn
	// from what a pilot allows.
	Band    *Band  `json:"band,omitempty"`    // the power in eight of ten sets of spreads that the pilot allows; left out where it is not averaged over them
	Matters string `json:"matters,omitempty"` // the spread on which most of the power hangs, within what the pilot allows

	// Reaches tells whether the design reaches the aim: "yes" where all of the
	// Monte Carlo interval does, "no" where none of it does, "perhaps" else; empty
	// where no aim is stated.
	Reaches string `json:"reaches,omitempty" words:"yes / no / perhaps"` // whether the design reaches the aim, by its Monte Carlo interval; empty where no aim is stated

	looks bool // placings are looks
}

// The answers to whether a design reaches the aim.
const (
	Yes     = "yes"
	No      = "no"
	Perhaps = "perhaps"
)

// A Result is what the designs of a plan came to.
type Result struct {
	Question   hypotheses.Question `json:"question"`                     // what the campaign is to answer
	Effect     float64             `json:"effect" unit:"of the outcome"` // the effect that the power is for
	Unit       string              `json:"unit"`                         // unit of the effect, in words
	Widths     string              `json:"widths,omitempty"`             // unit of widths, where it is not that of the effect: of looks, "as a share" or "as a rate"
	Looks      bool                `json:"looks,omitempty"`              // whether campaigns are of looks at traces: placings are then looks
	Level      float64             `json:"level"`                        // error rate of a claim, two-sided
	Aim        Aim                 `json:"aim"`                          // what a design is chosen by
	Replicates int                 `json:"replicates"`                   // campaigns drawn of each design, with the effect and without
	Seed       uint64              `json:"seed"`                         // begins their random numbers
	Designs    []Tried             `json:"designs"`                      // the designs tried
	// Best is the design of least cost that reaches the aim, an index into
	// Designs; −1 where none does or no aim is stated. Cost is placings on the
	// books, then turns, since these are what harms them.
	Best      int      `json:"best"`      // number of the design of least cost that reaches the aim, from 0; −1 where none does or no aim is stated
	Sentences []string `json:"sentences"` // what came of it, in words
	Notes     []string `json:"notes"`     // plain sentences on what should be known before the numbers are used
}

// Summarise puts the campaigns of all designs together, in the order of
// [Setting.Run]; it fails where they are not as many.
func (s *Setting) Summarise(campaigns []Campaign) (*Result, error) {
	if len(campaigns) != s.Pieces() {
		return nil, fmt.Errorf("%d campaigns were given; the plan has %d", len(campaigns), s.Pieces())
	}
	r := &Result{Question: s.Question, Effect: s.Effect, Unit: outcome.Of(s.Model).Unit, Looks: s.Looks != nil, Level: s.Level, Aim: s.Aim, Replicates: s.Replicates, Seed: s.Seed, Best: -1}
	if shares(campaigns) {
		r.Widths = asShare
		if s.Model.Kind == mixed.Counts {
			r.Widths = asRate
		}
	}
	for k, d := range s.Designs {
		tried := s.summary(d, campaigns[k*s.Replicates:(k+1)*s.Replicates], r.Widths != "")
		tried.Reaches = s.Aim.reached(&tried)
		r.Designs = append(r.Designs, tried)
	}
	for k := range r.Designs {
		if r.Designs[k].Reaches == Yes && (r.Best < 0 || dearer(&r.Designs[r.Best], &r.Designs[k])) {
			r.Best = k
		}
	}
	r.Sentences, r.Notes = r.sentences(), r.notes()
	return r, nil
}

// The units of widths of shares and rates.
const (
	asShare = "as a share"
	asRate  = "as a rate"
)

// shares tells whether every answer of the campaigns is told as a share or a rate.
func shares(campaigns []Campaign) bool {
	told := false
	for _, c := range campaigns {
		if c.There.Failed == "" {
			if c.There.Share == 0 {
				return false
			}
			told = true
		}
	}
	return told
}

// dearer tells whether a costs more than b.
func dearer(a, b *Tried) bool {
	return cmp.Or(cmp.Compare(a.Placings, b.Placings), cmp.Compare(a.Turns, b.Turns), cmp.Compare(a.Books, b.Books)) > 0
}

func (s *Setting) summary(d Design, campaigns []Campaign, shares bool) Tried {
	n := len(campaigns)
	t := Tried{Design: d, Campaigns: n}
	var claimed, wrong, absent, boundary int
	var widths, errors, levels []float64
	reasons := map[string]int{}
	pages, turns, bounds, looks := 0, 0, 0, 0
	for _, c := range campaigns {
		pages, turns, bounds = pages+c.Pages, turns+c.Openings, bounds+c.Bounds
		looks += c.Looks
		count(&claimed, c.There.Claimed)
		count(&wrong, c.None.Claimed)
		count(&absent, c.None.Small)
		count(&boundary, c.There.Boundary)
		if c.There.Failed != "" {
			t.Failed++
			reasons[c.There.Failed]++
			continue
		}
		width := c.There.Width
		if shares {
			width = c.There.Share
		}
		widths, errors = append(widths, width), append(errors, c.There.Estimate-s.Effect)
		levels = append(levels, c.There.Level)
	}
	t.Power, t.False, t.Absent, t.Boundary = Wilson(claimed, n), Wilson(wrong, n), Wilson(absent, n), Wilson(boundary, n)
	t.Why = mostFrequent(reasons)
	if len(widths) > 0 {
		slices.Sort(widths)
		t.Width = stat.Mean(widths, nil)
		t.WidthNinety = stat.Quantile(0.9, stat.Empirical, widths, nil)
		var spread float64
		t.Bias, spread = stat.MeanStdDev(errors, nil)
		if len(errors) > 1 {
			t.BiasSE = spread / math.Sqrt(float64(len(errors)))
		}
	}
	if s.Study != nil {
		t.Together = s.elsewhere(d.Books) + len(s.Study.Asked)
		if len(levels) > 0 {
			t.Alone = stat.Mean(levels, nil)
		}
	}
	measured := float64(n) * float64(s.drawn(d)) / float64(d.Books)
	t.PagesMean, t.Turns = float64(pages)/measured, float64(turns)/measured
	t.Bounds = float64(bounds) / math.Max(1, float64(pages))
	t.Band, t.Matters = s.band(campaigns)
	t.Placings = t.PagesMean * float64(t.Design.Placings+s.Zeros)
	if s.Looks != nil {
		t.Placings, t.looks = float64(looks)/measured, true
	}
	s.price(&t)
	return t
}

func count(n *int, is bool) {
	if is {
		*n++
	}
}

// mostFrequent is the reason met most often, the first in the alphabet among
// equals.
func mostFrequent(reasons map[string]int) string {
	best := ""
	for why, times := range reasons {
		if best == "" || times > reasons[best] || times == reasons[best] && why < best {
			best = why
		}
	}
	return best
}

// price works out what a campaign costs.
func (s *Setting) price(t *Tried) {
	aDay := s.Cost.aDay(int(math.Round(t.Placings/t.PagesMean)), t.Turns/t.PagesMean)
	t.Days = math.Ceil(t.PagesMean / float64(aDay))
	t.Hours = ((t.Placings+t.Days*float64(s.Cost.Tiles))*s.Cost.Placing + t.Turns*s.Cost.Turn) / 3600
}

// reached tells whether a design reaches the aim.
func (a Aim) reached(t *Tried) string {
	if a.Power == 0 && a.Width == 0 {
		return ""
	}
	answer := Yes
	if a.Power > 0 {
		switch {
		case t.Power.High < a.Power:
			return No
		case t.Power.Low < a.Power:
			answer = Perhaps
		}
	}
	if a.Width > 0 {
		if t.Failed*10 > t.Campaigns || t.WidthNinety > a.Width {
			return No
		}
	}
	return answer
}
