package power

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// TestSmoothPower: two groups of 20, a difference of one standard deviation, a
// two-sided test at 5 %: 0.8689528 is the power that R's documentation of
// power.t.test works out (example n = 20, delta = 1, sd = 1).
func TestSmoothPower(t *testing.T) {
	const se, df = 0.31622776601683794, 38
	s := &Setting{Effect: 1}
	one := CampaignResult{SE: se, DF: df, Width: 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975) * se}
	if got := s.smoothPower([]CampaignResult{one, one}); math.Abs(got-0.8689528) > 2e-4 {
		t.Errorf("the power is %.7f; want 0.8689528", got)
	}
	if got := s.smoothPower([]CampaignResult{one, {Failed: "no page"}}); math.Abs(got-0.8689528/2) > 1e-4 {
		t.Errorf("where every second campaign gives no answer the power is %.7f", got)
	}
}

// TestTheSpreadThatMatters: of two spreads the one that standard errors go with is
// named, and the band holds the power in eight of ten sets.
func TestTheSpreadThatMatters(t *testing.T) {
	s := &Setting{Effect: 0.1, Replicates: 40, Spreads: []string{"idle", "decisive"}}
	var campaigns []Campaign
	var powers []float64
	for k := range 20 {
		at := (float64(k) + 0.5) / 20
		s.Draws = append(s.Draws, Draw{At: []float64{float64(k*7%20) / 20, at}})
		o := CampaignResult{SE: 0.02 + 0.04*at, DF: 1e6}
		o.Width = 2 * 1.96 * o.SE
		campaigns = append(campaigns, Campaign{There: o}, Campaign{There: o})
		powers = append(powers, s.smoothPower([]CampaignResult{o}))
	}
	band, matters := s.band(campaigns)
	if matters != "decisive" {
		t.Errorf("%q is named", matters)
	}
	inside := 0
	for _, p := range powers {
		if band.Low <= p && p <= band.High {
			inside++
		}
	}
	if inside < 15 || inside > 17 { // the band's ends lie between sets
		t.Errorf("%d of 20 sets lie in the band %+v", inside, band)
	}
}
