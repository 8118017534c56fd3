package profile

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/codex"
)

// An Area is the wear of one section: the area under its pages' wear.
//
// What is estimated is the sum of the true wear over all pages of the section
// that are still in the book, measured or not; lost pages are no part of it.
// The pages that were not measured are taken to be such as the section's
// measured ones (drawn from it without regard to their wear), and each is
// filled with the measured pages' mean. With n of N pages measured, mean ȳ,
// variance s² between the measured values and mean squared standard error m²
// of measuring, the total is Nȳ and its variance
//
//	(N²/n) ((1 − n/N) s² + (n/N) m²)
//
// (Cochran 1977, Sampling Techniques, theorems 2.2 and 13.9: sampling without
// replacement, and error of measuring). With all pages measured only the error
// of measuring is left. s² is moderated over the book's sections (lender in
// scatter.go). The interval is Student's t on Satterthwaite's (1946) degrees of
// freedom of the two parts; the error of measuring counts as one estimate, for
// all pages share the pooled repeatability. What the pages share of the errors of
// days, observers and instruments is a third part.
type Area struct {
	Section     int     `json:"-"`                                 // index into the book's Sections
	Pages       int     `json:"pages"`                             // pages present
	Measured    int     `json:"measured"`                          // pages measured
	AtLimit     int     `json:"at_limit"`                          // of those, at an instrument's limit
	Total       float64 `json:"total" unit:"density × pages"`      // area under the pages' wear
	TotalSE     float64 `json:"total_se" unit:"density × pages"`   // its standard error
	TotalLow    float64 `json:"total_low" unit:"density × pages"`  // lower end of its 95 % interval
	TotalHigh   float64 `json:"total_high" unit:"density × pages"` // upper end of its 95 % interval
	PerPage     float64 `json:"per_page" unit:"density"`           // wear per page
	PerPageSE   float64 `json:"per_page_se" unit:"density"`        // its standard error
	PerPageLow  float64 `json:"per_page_low" unit:"density"`       // lower end of its 95 % interval
	PerPageHigh float64 `json:"per_page_high" unit:"density"`      // upper end of its 95 % interval
	DF          float64 `json:"df"`                                // degrees of freedom of the standard errors

	shared []load // of PerPage
}

// areasOf gives the area of every section with a measured page, where values
// at a limit have been replaced by their expectation.
func areasOf(b *codex.Book, pages []measured) ([]Area, []string) {
	held := sectionPages(b, pages)
	own := make([]scatter, len(b.Sections))
	for i, h := range held {
		if len(h) > 1 {
			own[i] = scatter{variance: stat.Variance(values(h), nil), df: float64(len(h) - 1)}
		}
	}
	lender := learn(own)
	var areas []Area
	var notes []string
	for i, section := range b.Sections {
		h := held[i]
		if len(h) == 0 {
			continue
		}
		shared := lender.lend(own[i])
		if len(h) < len(section.Pages) && shared.df == 0 {
			notes = append(notes, fmt.Sprintf("%s: 1 of %d pages is measured and no section of the book has two, so how much its pages differ is not known and no area is given; measure more pages of it.", section.Name, len(section.Pages)))
			continue
		}
		areas = append(areas, areaOf(i, len(section.Pages), h, shared))
		notes = append(notes, oneEnded(b, section, h)...)
	}
	return areas, notes
}

// areaOf gives one section's area from its measured pages and the scatter
// between them.
func areaOf(section, present int, h []measured, s scatter) Area {
	a := Area{Section: section, Pages: present, Measured: len(h)}
	pages, n := float64(present), float64(len(h))
	errors, errorDF := 0.0, math.Inf(1)
	for _, p := range h {
		errors += p.variance / n
		errorDF = math.Min(errorDF, p.df)
		if p.limit != "" {
			a.AtLimit++
		}
	}
	sampling := (1 - n/pages) * s.variance / n
	measuring := errors / pages
	a.PerPage, a.shared = stat.Mean(values(h), nil), meanLoad(h)
	variance, df := widened(sampling+measuring, satterthwaite([]scatter{{sampling, s.df}, {measuring, errorDF}}), a.shared)
	a.PerPageSE, a.DF = math.Sqrt(variance), df
	half := quantile(a.DF) * a.PerPageSE
	a.PerPageLow, a.PerPageHigh = a.PerPage-half, a.PerPage+half
	a.Total, a.TotalSE = pages*a.PerPage, pages*a.PerPageSE
	a.TotalLow, a.TotalHigh = pages*a.PerPageLow, pages*a.PerPageHigh
	return a
}

// satterthwaite gives the degrees of freedom of a sum of independent variance
// estimates (Satterthwaite 1946, Biometrics Bull. 2, 110–114, equation 17).
func satterthwaite(parts []scatter) float64 {
	sum, below := 0.0, 0.0
	for _, p := range parts {
		sum += p.variance
		if p.variance > 0 {
			below += p.variance * p.variance / p.df
		}
	}
	if below == 0 {
		return math.Inf(1)
	}
	return sum * sum / below
}

// sectionPages lists the measured pages of each section.
func sectionPages(b *codex.Book, pages []measured) [][]measured {
	at := make([]int, len(b.Pages)) // place in pages, from 1
	for i, p := range pages {
		at[p.page] = i + 1
	}
	held := make([][]measured, len(b.Sections))
	for i, section := range b.Sections {
		for _, page := range section.Pages {
			if at[page] > 0 {
				held[i] = append(held[i], pages[at[page]-1])
			}
		}
	}
	return held
}

func values(pages []measured) []float64 {
	out := make([]float64, len(pages))
	for i, p := range pages {
		out[i] = p.value
	}
	return out
}

// fewOneEnded and leastOneEnded say when unmeasured pages at one end of a
// section are worth a warning.
const (
	fewOneEnded   = 3
	leastOneEnded = 0.1 // of the section
)

// oneEnded warns where the pages not measured all lie at one end of a section,
// for a reader who stops half-way leaves them unlike the others.
func oneEnded(b *codex.Book, section codex.Section, h []measured) []string {
	missing := len(section.Pages) - len(h)
	if missing < fewOneEnded || float64(missing) < leastOneEnded*float64(len(section.Pages)) {
		return nil
	}
	first, last := h[0].page, h[len(h)-1].page
	before, after := 0, 0
	for _, page := range section.Pages {
		switch position := b.Pages[page].Position; {
		case position < b.Pages[first].Position:
			before++
		case position > b.Pages[last].Position:
			after++
		}
	}
	where := ""
	switch missing {
	case before:
		where = "before " + nameOf(b, first)
	case after:
		where = "after " + nameOf(b, last)
	default:
		return nil
	}
	return []string{fmt.Sprintf("%s: its %d pages not measured all lie %s; its area takes them to be like the measured ones, which fails if reading grew or fell off there: measure some of them.", section.Name, missing, where)}
}
