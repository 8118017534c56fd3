package power

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Band holds the power in eight of ten sets of spreads that the pilot allows.
type Band struct {
	Low  float64 `json:"low"`  // lower end, a share of campaigns
	High float64 `json:"high"` // upper end, a share of campaigns
}

// bandShare of the sets lie inside the band.
const bandShare = 0.8

// band gives the band of a design's power, and the spread whose place in what the
// pilot allows is most correlated, by ranks, with it.
func (s *Setting) band(campaigns []Campaign) (*Band, string) {
	if len(s.Draws) == 0 {
		return nil, ""
	}
	of := make([][]CampaignResult, len(s.Draws))
	for number, c := range campaigns {
		k := s.drawOf(number)
		of[k] = append(of[k], c.There)
	}
	powers := make([]float64, len(of))
	for k, outcomes := range of {
		powers[k] = s.smoothPower(outcomes)
	}
	matters, most := "", 0.0
	for j, name := range s.Spreads {
		places := make([]float64, len(s.Draws))
		for k := range places {
			places[k] = s.Draws[k].At[j]
		}
		if r := math.Abs(stat.Correlation(ranks(places), ranks(powers), nil)); r > most {
			matters, most = name, r
		}
	}
	slices.Sort(powers)
	tail := (1 - bandShare) / 2
	return &Band{stat.Quantile(tail, stat.LinInterp, powers, nil), stat.Quantile(1-tail, stat.LinInterp, powers, nil)}, matters
}

// smoothPower is the power of a few campaigns of one truth from their standard
// errors, degrees of freedom and critical values, by the noncentral t: so few claims
// or none would say little. A campaign without an answer claims nothing.
func (s *Setting) smoothPower(outcomes []CampaignResult) float64 {
	squares, critical, freedom, answered := 0.0, 0.0, 0.0, 0.0
	for _, o := range outcomes {
		if o.Failed == "" {
			squares += o.SE * o.SE
			critical += o.Width / (2 * o.SE)
			freedom += 1 / o.DF
			answered++
		}
	}
	if answered == 0 {
		return 0
	}
	t := math.Abs(s.Effect) / math.Sqrt(squares/answered)
	return beyond(t, answered/freedom, critical/answered) * answered / float64(len(outcomes))
}

// beyond is the chance that a noncentral t exceeds a critical value: the normal
// integrated over what the estimated error may be.
func beyond(noncentrality, df, critical float64) float64 {
	if df > 1e6 {
		return distuv.UnitNormal.CDF(noncentrality - critical)
	}
	const points = 200
	chi := distuv.ChiSquared{K: df}
	sum := 0.0
	for i := range points {
		error := math.Sqrt(chi.Quantile((float64(i)+0.5)/points) / df)
		sum += distuv.UnitNormal.CDF(noncentrality - critical*error)
	}
	return sum / points
}

// ranks of values; equal ones share theirs.
func ranks(values []float64) []float64 {
	sorted := slices.Sorted(slices.Values(values))
	out := make([]float64, len(values))
	for i, v := range values {
		first, _ := slices.BinarySearch(sorted, v)
		last := first
		for last < len(sorted) && sorted[last] == v {
			last++
		}
		out[i] = float64(first+last-1) / 2
	}
	return out
}
