package profile

import (
	"math"
	"slices"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/student"
)

// A Curve is the expected wear of pages without a picture along the physical
// book, one value a page of a present leaf, in order: the slices down to High
// have the same length.
//
// It is the sum of a smooth along the physical pages and a level of each
// section, so that it may jump where one section ends and another begins. The
// levels are drawn towards the smooth as far as their number and their pages
// allow: the standard deviation between them is that of the greatest restricted
// likelihood, and a section of one page is drawn further than one of thirty.
// Where the readings tell of no such levels, Between is zero and the curve is
// the smooth by itself. Pages outside all sections have a level a stretch; that
// of a section of which no page is measured is known only to be like those of
// the others, and the interval is as wide there.
//
// The curve is the level that a page shares with its neighbours and its
// section, not the wear of the single page: page i reads level + Picture where it
// has one + scatter of the page + error of measuring. All measured pages are in
// it but for single pages of text far apart from those on either side ([Outliers]),
// which Notes name, those with pictures less what a picture adds in this book, which is one
// number for all of them, found together with the curve: so the curve runs
// through the pages of text where a book was opened for looking too. Pages with
// a picture scatter about level + Picture, and by more where some pictures drew
// the hand and others did not; Standouts name them, and models tell what drew it.
//
// What a picture adds is told where pages with a picture and pages without one
// are measured (bounds do not count). Where all the measured pages have a picture
// or none has, Picture and PictureSE are zero and the curve is the level of the
// pages measured, with pictures or without.
//
// Low and High hold that level with 95 % confidence, read across the book
// (Nychka 1988): of all pages about 95 % have their level inside. They are
// Bayesian intervals (Wahba 1983; Silverman 1985, section 6) with Student's t on
// the pages measured less Smooth; they take the smoothing and Between as given.
// In simulations they held 94 to 97 % of the pages, whether sections differ or
// not, and with pictures on none, a few or half of the pages; and 94 to 98 % of
// those in sections of one or two pages, but 90 % of these where sections differ
// by less than pages do and 92 % where what pictures add differs between them by
// twice the scatter; and 91 % of the pages where wear falls once, for good, by
// seven times the scatter. Picture ± the same t times PictureSE held what
// pictures add in 94 to 96 % of the books.
type Curve struct {
	Position []int     `json:"position"`                // places along the book, from 1
	Estimate []float64 `json:"estimate" unit:"density"` // the curve there
	SE       []float64 `json:"se" unit:"density"`       // its standard error
	Low      []float64 `json:"low" unit:"density"`      // lower end of the 95 % interval
	High     []float64 `json:"high" unit:"density"`     // upper end of the 95 % interval
	// numbers, from 0, of the values at which the curve is drawn anew: leaves are lost
	// before, or another section begins
	Breaks  []int   `json:"breaks"`
	Smooth  float64 `json:"effective_df"`                    // degrees of freedom of the curve, those of the sections' levels and of picture among them; 2 is a straight line
	Between float64 `json:"between_sections" unit:"density"` // standard deviation of the levels of sections about the smooth; 0: none
	Scatter float64 `json:"scatter" unit:"density"`          // standard deviation of pages about the curve, without the error of measuring
	DF      float64 `json:"df"`                              // degrees of freedom of the intervals
	LogLik  float64 `json:"loglik"`                          // logarithm of the restricted likelihood

	Picture   float64 `json:"picture" unit:"density"`    // what a picture adds; zero with picture_se where the book does not tell
	PictureSE float64 `json:"picture_se" unit:"density"` // its standard error
}

// curveOf smooths the pages of a book but for those stained. It also gives all pages
// with those at a limit replaced by what the curve lets one expect of them, and
// which are stained.
func curveOf(b *codex.Book, pages []measured) (c Curve, expected []measured, out []bool, err error) {
	first, last := presentPositions(b)
	stretches := stretchesOf(b, first, last)
	out = stained(b, pages, stretches, first)
	var points []point
	numbers := 0
	for i, p := range pages {
		if out[i] {
			continue
		}
		page := b.Pages[p.page]
		points = append(points, point{at: page.Position - first, value: p.value, variance: p.variance, limit: p.limit, picture: page.Picture, shared: p.shared})
		if p.limit == readings.Measured {
			numbers++
		}
	}
	s, err := smooth(points, stretches)
	if err != nil {
		return Curve{}, nil, nil, err
	}
	c = Curve{
		Smooth: s.edf, Scatter: s.scatter, Between: s.between, LogLik: s.logLik, DF: math.Max(1, float64(numbers)-s.edf),
		Picture: s.picture,
	}
	ofPicture, _ := widened(s.ofPicture, c.DF, s.sharedPicture)
	c.PictureSE = math.Sqrt(ofPicture)
	before, half := -1, quantiles{}
	for _, page := range b.Pages {
		if page.Lost {
			continue
		}
		i := page.Position - first
		if before >= 0 && (i > before+1 || c.Between > 0 && stretches[i] != stretches[before]) {
			c.Breaks = append(c.Breaks, len(c.Position))
		}
		before = i
		variance, df := s.variance[i], c.DF
		if s.sharedLevel != nil {
			variance, df = widened(variance, df, s.sharedLevel[i])
		}
		level, se, t := s.level[i], math.Sqrt(variance), half.of(df)
		c.Position = append(c.Position, page.Position)
		c.Estimate = append(c.Estimate, level)
		c.SE = append(c.SE, se)
		c.Low = append(c.Low, level-t*se)
		c.High = append(c.High, level+t*se)
	}
	return c, expectations(b, pages, out, first, s), out, nil
}

// stretchesOf numbers, for every position from the first to the last, what
// shares a level there: its section, or the pages outside all sections between
// two of them.
func stretchesOf(b *codex.Book, first, last int) []int {
	stretches := make([]int, last-first+1)
	outside, open := len(b.Sections)-1, false
	for _, page := range b.Pages {
		if page.Position < first || page.Position > last {
			continue
		}
		section := page.Section
		if section < 0 {
			if !open {
				outside++
			}
			section = outside
		}
		open = page.Section < 0
		stretches[page.Position-first] = section
	}
	return stretches
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
// beyond the bound, given the curve, what a picture adds where they have one,
// and the scatter. Those left out of the curve, which begins at position first, are
// without a picture.
func expectations(b *codex.Book, pages []measured, left []bool, first int, s *smoothed) []measured {
	out := slices.Clone(pages)
	k := 0 // among the points of the curve
	for i, p := range pages {
		at := b.Pages[p.page].Position - first
		page, spread := s.level[at], s.variance[at]
		if !left[i] {
			page, spread = s.page[k], s.spread[k]
			k++
		}
		if p.limit != readings.Measured {
			spread += s.scatter*s.scatter + p.variance
			out[i].value, out[i].variance = beyond(p.limit, p.value, page, math.Sqrt(spread))
		}
	}
	return out
}

// quantile is the 97.5 % point of Student's t, the normal one where df is
// infinite.
func quantile(df float64) float64 {
	return student.Half(0.95, df)
}

// quantiles keeps those found: many pages have the same degrees of freedom.
type quantiles map[float64]float64

func (q quantiles) of(df float64) float64 {
	t, known := q[df]
	if !known {
		t = quantile(df)
		q[df] = t
	}
	return t
}
