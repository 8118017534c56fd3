package claims

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Rate is a share with its 99 % Monte Carlo interval.
type Rate struct {
	Share     float64
	Low, High float64
	N         float64 // independent trials that the interval counts
}

// confidence of Monte Carlo intervals.
const confidence = 0.99

// clopperPearson is the exact interval of a share of n trials (Clopper and
// Pearson 1934, Biometrika 26, 404–413); n need not be whole.
func clopperPearson(share, n float64) Rate {
	r := Rate{Share: share, Low: 0, High: 1, N: n}
	hits, alpha := share*n, (1-confidence)/2
	if hits > 0 {
		r.Low = mathext.InvRegIncBeta(hits, n-hits+1, alpha)
	}
	if hits < n {
		r.High = mathext.InvRegIncBeta(hits+1, n-hits, 1-alpha)
	}
	return r
}

// clustered is the interval of a share whose trials come in studies and are
// alike within one: hits and trials of each study. It is the exact interval for
// as many trials as would be as precise were they independent (Korn and Graubard
// 1998, Survey Methodology 24, 193–201, with their correction for few clusters).
func clustered(hits, trials []float64) Rate {
	sumHits, sumTrials, clusters := 0.0, 0.0, 0.0
	for i := range hits {
		sumHits += hits[i]
		sumTrials += trials[i]
		if trials[i] > 0 {
			clusters++
		}
	}
	if sumTrials == 0 {
		return Rate{Share: math.NaN(), Low: 0, High: 1}
	}
	share := sumHits / sumTrials
	if clusters < 2 {
		return clopperPearson(share, 1)
	}
	squares := 0.0
	for i := range hits {
		rest := hits[i] - share*trials[i]
		squares += rest * rest
	}
	n := sumTrials
	if variance := squares * clusters / (clusters - 1) / (sumTrials * sumTrials); variance > 0 {
		n = math.Min(n, share*(1-share)/variance)
	}
	n *= square(quantile(sumTrials-1) / quantile(clusters-1))
	return clopperPearson(share, n)
}

// quantile is the end of Student's t on so many degrees of freedom.
func quantile(df float64) float64 {
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile((1 + confidence) / 2)
}

func square(x float64) float64 { return x * x }

// A Tally is what all studies of a cell came to.
type Tally struct {
	Cell     Cell
	Outcomes []*Outcome // of studies that could be run
	Failed   []*Outcome // that could not
}

// tallies sorts outcomes by cell, in the order of the cells; cells without any
// are left out.
func tallies(outcomes []*Outcome) []Tally {
	var out []Tally
	for _, c := range allCells() {
		t := Tally{Cell: c}
		for _, o := range outcomes {
			switch {
			case o.Cell != c.Name:
			case o.Failed != "":
				t.Failed = append(t.Failed, o)
			default:
				t.Outcomes = append(t.Outcomes, o)
			}
		}
		if len(t.Outcomes)+len(t.Failed) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// over is the clustered rate of something counted in each study.
func (t Tally) over(count func(o *Outcome) (hits, trials float64)) Rate {
	hits, trials := make([]float64, len(t.Outcomes)), make([]float64, len(t.Outcomes))
	for i, o := range t.Outcomes {
		hits[i], trials[i] = count(o)
	}
	return clustered(hits, trials)
}

// anyFalse is the share of studies with any false claim among some.
func (t Tally) anyFalse(among func(o *Outcome) map[string]*Count) Rate {
	return t.over(func(o *Outcome) (float64, float64) {
		if total(among(o)).False > 0 {
			return 1, 1
		}
		return 0, 1
	})
}

// misled is the share of studies in which the oracle's answers are not all true.
func (t Tally) misled() Rate {
	return t.over(func(o *Outcome) (float64, float64) { return math.Min(1, float64(o.Misled)), 1 })
}

// falseShare is the share of false ones among all claims.
func (t Tally) falseShare(among func(o *Outcome) map[string]*Count) Rate {
	return t.over(func(o *Outcome) (float64, float64) {
		sum := total(among(o))
		return float64(sum.False), float64(sum.Made)
	})
}

func answers(o *Outcome) map[string]*Count { return o.Answers }
func found(o *Outcome) map[string]*Count   { return o.Found }

// only is one kind of claim.
func only(kind string, among func(o *Outcome) map[string]*Count) func(o *Outcome) map[string]*Count {
	return func(o *Outcome) map[string]*Count {
		if c := among(o)[kind]; c != nil {
			return map[string]*Count{kind: c}
		}
		return nil
	}
}

// covered is the share of intervals of a kind that hold the truth.
func (t Tally) covered(kind string) Rate {
	return t.over(func(o *Outcome) (float64, float64) {
		if c := o.Intervals[kind]; c != nil {
			return float64(c.Held), float64(c.All)
		}
		return 0, 0
	})
}

// width is how many times as wide as the oracle's the intervals of a kind are, a
// geometric mean; NaN where there is none.
func (t Tally) width(kind string) float64 {
	sum, n := 0.0, 0
	for _, o := range t.Outcomes {
		if c := o.Intervals[kind]; c != nil {
			sum += c.Wider
			n += c.Beside
		}
	}
	return math.Exp(sum / float64(n))
}

// said is the share of things of a kind that were said of those that could have
// been, that of the oracle and that of the ceiling.
func (t Tally) said(kind string) (own, oracle, ceiling Rate) {
	count := func(of func(p *Power) int) Rate {
		return t.over(func(o *Outcome) (float64, float64) {
			if p := o.Power[kind]; p != nil {
				return float64(of(p)), float64(p.There)
			}
			return 0, 0
		})
	}
	return count(func(p *Power) int { return p.Found }), count(func(p *Power) int { return p.Oracle }), count(func(p *Power) int { return p.Ceiling })
}
