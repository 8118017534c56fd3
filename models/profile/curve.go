package profile

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"thumbed/models/codex"
	"thumbed/models/readings"
)

// A Curve is the smooth of wear along the physical book, one value a page of a
// present leaf, in order: all slices have the same length.
//
// The curve is the level that neighbouring pages share, not the wear of the
// single page: page i reads level + scatter of the page + error of measuring.
// Low and High hold that level with 95 % confidence, read across the book
// (Nychka 1988): of all pages about 95 % have their level inside. They are
// Bayesian intervals (Wahba 1983; Silverman 1985, section 6) with Student's t on
// the pages measured less Smooth; they take the smoothing as given.
type Curve struct {
	Position []int     // codex.Page.Position
	Estimate []float64 // density
	SE       []float64 // density
	Low      []float64 // 95 % pointwise interval, density
	High     []float64
	Smooth   float64 // effective degrees of freedom; 2 is a straight line
	Scatter  float64 // standard deviation of pages about the curve, measuring error taken off
	DF       float64 // degrees of freedom of the intervals
	LogLik   float64 // restricted log likelihood
}

// curveOf smooths the pages of a book. It also gives the pages with those at a
// limit replaced by what the curve lets one expect of them.
func curveOf(b *codex.Book, pages []measured) (Curve, []measured, error) {
	first, last := presentPositions(b)
	points := make([]point, len(pages))
	for i, p := range pages {
		points[i] = point{at: b.Pages[p.page].Position - first, value: p.value, variance: p.variance, limit: p.limit}
	}
	s, err := smooth(points, last-first+1)
	if err != nil {
		return Curve{}, nil, err
	}
	numbers := 0
	for _, p := range pages {
		if p.limit == readings.Measured {
			numbers++
		}
	}
	c := Curve{Smooth: s.edf, Scatter: s.scatter, LogLik: s.logLik, DF: math.Max(1, float64(numbers)-s.edf)}
	t := quantile(c.DF)
	for _, page := range b.Pages {
		if page.Lost {
			continue
		}
		i := page.Position - first
		level, se := s.level[i], math.Sqrt(s.variance[i])
		c.Position = append(c.Position, page.Position)
		c.Estimate = append(c.Estimate, level)
		c.SE = append(c.SE, se)
		c.Low = append(c.Low, level-t*se)
		c.High = append(c.High, level+t*se)
	}
	return c, expectations(points, pages, s), nil
}

// presentPositions are the first and the last position with a page still in
// the book.
func presentPositions(b *codex.Book) (first, last int) {
	first = math.MaxInt
	for _, page := range b.Pages {
		if !page.Lost {
			first, last = min(first, page.Position), max(last, page.Position)
		}
	}
	return first, last
}

// expectations replaces the pages at a limit by their expectation and variance
// beyond the bound, given the curve and the scatter about it.
func expectations(points []point, pages []measured, s *smoothed) []measured {
	out := make([]measured, len(pages))
	for i, p := range pages {
		out[i] = p
		if p.limit == readings.Measured {
			continue
		}
		i2 := points[i].at
		spread := s.variance[i2] + s.scatter*s.scatter + p.variance
		out[i].value, out[i].variance = beyond(p.limit, p.value, s.level[i2], math.Sqrt(spread))
	}
	return out
}

// quantile is the 97.5 % point of Student's t, the normal one where df is
// infinite.
func quantile(df float64) float64 {
	if math.IsInf(df, 1) {
		return distuv.UnitNormal.Quantile(0.975)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975)
}
