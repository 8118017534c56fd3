package dropoff

// A Full is a segmented series with all that is known of it, for other programs:
// the keys of [Changes] and more beside them.
type Full struct {
	*Changes
	Scatter           float64         `json:"scatter"` // as the fields of Changes of the same names
	DF                float64         `json:"df"`
	Correlation       float64         `json:"correlation"`
	FalseAlarm        float64         `json:"false_alarm"`
	Tentative         bool            `json:"tentative"`
	ChangeProbability []float64       `json:"each_probability"`
	CountProbability  []float64       `json:"number_probability"`
	Compared          *Comparison     `json:"compared"` // null where not compared
	Path              []PenalisedStep `json:"path"`
}

// A PenalisedStep is the best segmentation with one number of changes, and the
// penalties for each change at which that number is best: PenaltyHigh is null
// where there is no upper bound, both are where it is best for none.
type PenalisedStep struct {
	Step
	PenaltyLow  *float64 `json:"penalty_low"`
	PenaltyHigh *float64 `json:"penalty_high"`
}

// Full gives everything.
func (c *Changes) Full() Full {
	return Full{Changes: c, Scatter: c.Scatter, DF: c.DF, Correlation: c.Correlation, FalseAlarm: c.FalseAlarm, Tentative: c.Tentative,
		ChangeProbability: c.ChangeProbability, CountProbability: c.CountProbability, Compared: c.Compared, Path: penalised(c.Path)}
}

// A FullShaped is a series in pieces with all that is known of it, for other
// programs.
type FullShaped struct {
	*Shaped
	Path []PenalisedStep `json:"path"`
}

// Full gives everything.
func (out *Shaped) Full() FullShaped { return FullShaped{out, penalised(out.Path)} }

// penalised lays the penalties beside the path.
func penalised(path []Step) []PenalisedStep {
	out := make([]PenalisedStep, len(path))
	at := map[int]int{}
	for k, step := range path {
		out[k] = PenalisedStep{Step: step}
		at[step.Changes] = k
	}
	for _, s := range penalties(path) {
		step := &out[at[s.Changes]]
		low, high := s.Low, s.High
		if step.PenaltyLow = &low; high != inf {
			step.PenaltyHigh = &high
		}
	}
	return out
}
