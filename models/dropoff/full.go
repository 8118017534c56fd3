package dropoff

// A Full is a segmented series with all that is known of it, for other programs:
// the keys of [Changes] and more beside them.
type Full struct {
	*Changes
	Scatter           float64          `json:"scatter"` // as the fields of Changes of the same names
	DF                float64          `json:"df"`
	Correlation       float64          `json:"correlation"`
	FalseAlarm        float64          `json:"false_alarm"`
	Tentative         bool             `json:"tentative"`
	ChangeProbability []float64        `json:"each_probability"`
	CountProbability  []float64        `json:"number_probability"`
	Compared          *ComparedNumbers `json:"compared"` // null where not compared
	Path              []PathNumbers    `json:"path"`
}

// ComparedNumbers are a [Comparison] without the expected values of its candidates.
type ComparedNumbers struct {
	Best       string             `json:"best"`
	Open       []string           `json:"open"`
	FalseAlarm float64            `json:"false_alarm"`
	Candidates []CandidateNumbers `json:"accounts"`
	Sentence   string             `json:"sentence"`
}

// CandidateNumbers are one candidate of a comparison.
type CandidateNumbers struct {
	Name        string  `json:"name"`
	Criterion   float64 `json:"criterion"`
	Probability float64 `json:"probability"`
	Places      []int   `json:"places"`
}

// PathNumbers are the best segmentation with one number of changes, and the
// penalties for each change at which that number is best: PenaltyHigh is null
// where there is no upper bound, both are where it is best for none.
type PathNumbers struct {
	Changes     int      `json:"changes"`
	Places      []int    `json:"places"`
	RSS         float64  `json:"rss"`
	Criterion   float64  `json:"criterion"`
	PenaltyLow  *float64 `json:"penalty_low"`
	PenaltyHigh *float64 `json:"penalty_high"`
}

// Full gives everything.
func (c *Changes) Full() Full {
	out := Full{Changes: c, Scatter: c.Scatter, DF: c.DF, Correlation: c.Correlation, FalseAlarm: c.FalseAlarm, Tentative: c.Tentative,
		ChangeProbability: c.ChangeProbability, CountProbability: c.CountProbability, Path: pathNumbers(c.Path)}
	if c.Compared != nil {
		compared := &ComparedNumbers{Best: c.Compared.Best, Open: c.Compared.Open, FalseAlarm: c.Compared.FalseAlarm, Sentence: c.Compared.Sentence}
		for _, a := range c.Compared.Candidates {
			compared.Candidates = append(compared.Candidates, CandidateNumbers{a.Name, a.Criterion, a.Probability, a.Places})
		}
		out.Compared = compared
	}
	return out
}

// A FullShaped is a series in pieces with all that is known of it, for other
// programs.
type FullShaped struct {
	*Shaped
	Path []PathNumbers `json:"path"`
}

// Full gives everything.
func (out *Shaped) Full() FullShaped { return FullShaped{out, pathNumbers(out.Path)} }

// pathNumbers lays the penalties beside the path.
func pathNumbers(path []Step) []PathNumbers {
	out := make([]PathNumbers, len(path))
	at := map[int]int{}
	for k, step := range path {
		out[k] = PathNumbers{Changes: step.Changes, Places: step.Places, RSS: step.RSS, Criterion: step.Criterion}
		at[step.Changes] = k
	}
	for _, s := range Penalties(path) {
		step := &out[at[s.Changes]]
		low, high := s.Low, s.High
		if step.PenaltyLow = &low; high != inf {
			step.PenaltyHigh = &high
		}
	}
	return out
}
