package readings

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"thumbed/models/student"
	"thumbed/models/wording"
)

// mostNamed is how many pages a note names before it counts the rest.
const mostNamed = 12

// fewDF is the number of degrees of freedom below which the repeatability is
// called little known: the 95 % factor of Student's t is then above 2.3.
const fewDF = 8

// notes says in plain sentences what was assumed, corrected or left out.
func (w *weighing) notes(r *Result) []string {
	notes := slices.Clone(w.log.Notes)
	notes = append(notes, w.precisionNotes(r.Precision)...)
	for _, a := range r.Agreement {
		notes = append(notes, a.Sentence())
	}
	notes = append(notes, w.drift.notes(r.Drift, w.repeat)...)
	if w.options.Drift != DriftNone && w.odd.beyondTiles > 0 {
		notes = append(notes, fmt.Sprintf("%s before the first or after the last tile reading of the day; the drift line was carried on to them. Begin and end each day with the tile.",
			wording.Plain(w.odd.beyondTiles, "reading was taken", "readings were taken")))
	}
	notes = append(notes, r.eitherNotes(w.repeat)...)
	notes = append(notes, w.spots.notes(w.odd)...)
	notes = append(notes, w.limitNotes(r)...)
	if n := w.odd.sharedZeros; n > 0 {
		notes = append(notes, fmt.Sprintf("On %s an observer took no zero; those of the same day and instrument by other observers stand in.", wording.Plain(n, "page", "pages")))
	}
	if n := w.odd.noPlacing; n > 0 {
		notes = append(notes, fmt.Sprintf("%s no kept reading on the page beside the zero, and so no wear.", wording.Plain(n, "page has", "pages have")))
	}
	return append(notes, w.coverageNotes(r.Wear)...)
}

func (w *weighing) precisionNotes(p Precision) []string {
	var notes []string
	if p.DF < fewDF {
		notes = append(notes, fmt.Sprintf("The repeatability rests on %s of freedom only, so that every interval is wide for want of repeated placings rather than for want of care; repeat placings on more pages.", wording.Plain(int(p.DF), "degree", "degrees")))
	}
	finest := math.Inf(1)
	for _, in := range w.log.Instruments {
		finest = math.Min(finest, in.Resolution)
	}
	if p.Repeatability < finest/math.Sqrt(12) {
		notes = append(notes, fmt.Sprintf("Readings repeat more closely (%.4f) than the instrument's last digit can show (%g); the rounding, which repeating does not average out, is counted in every standard error.", p.Repeatability, finest))
	}
	notes = append(notes, w.scatterNotes()...)
	return append(notes, w.sharedNotes(p)...)
}

// sharedNotes tell what sittings differ by and what was done about it.
func (w *weighing) sharedNotes(p Precision) []string {
	var notes []string
	s := &w.shared
	again := wording.Plain(s.again, "page", "pages")
	switch {
	case s.placed && s.placing == 0 && s.again > 0:
		notes = append(notes, fmt.Sprintf("Placing the instrument anew at another sitting adds nothing to what repeatability explains (%s measured again).", again))
	case s.placed && math.IsInf(s.placingDF, 1):
		notes = append(notes, fmt.Sprintf("Placing the instrument anew at another sitting is taken to vary by %.4f, as the study states (%s); every standard error holds it.", math.Sqrt(s.placing), w.options.Spreads.From))
	case s.placed:
		notes = append(notes, fmt.Sprintf("Placing the instrument anew at another sitting varies by %.4f beyond repeatability (%s measured again, %s of freedom); every standard error holds it.", math.Sqrt(s.placing), again, degrees(s.placingDF)))
	default:
		notes = append(notes, "No page was measured in two sittings, so nothing tells how far the wear of a page varies when the instrument is placed anew on another day, and no standard error holds it. Measure a tenth of the pages again on another day, or state placing_spread under [measuring] with its source.")
	}
	corrected := false
	for _, source := range s.sources {
		switch {
		case len(source.Levels) < 2:
		case !source.Known:
			notes = append(notes, source.Why)
		case source.From == Stated:
			notes = append(notes, fmt.Sprintf("What %ss read too high or too low on a page against its zero is taken to differ by a standard deviation of %.4f, as the study states (%s).", source.By, source.SD, w.options.Spreads.From))
			corrected = corrected || s.solved
		default:
			most := fmt.Sprintf(", and of %.4f at most (upper 95 %% limit; ", source.Upper())
			if source.SpreadDF < 3 {
				most = " (of which no useful upper limit is known: "
			}
			notes = append(notes, fmt.Sprintf("What %ss read too high or too low on a page against its zero differs by a standard deviation of about %.4f%s%s of freedom, from %s measured again).", source.By, source.SD, most, degrees(source.SpreadDF), again))
			corrected = corrected || s.solved
		}
	}
	if corrected {
		notes = append(notes, "The wear is adjusted for what the pages measured again tell of each day, observer and instrument; what stays unknown of them is shared by the pages of a sitting, and every model, curve and answer counts it.")
	}
	if s.many {
		notes = append(notes, fmt.Sprintf("More than %d days, observers and instruments are linked by pages measured again. Their spread is estimated from those with most such pages, and no day's own offset is subtracted from the wear.", mostLinked))
	}
	return notes
}

// degrees writes degrees of freedom in words.
func degrees(df float64) string { return wording.Plain(int(math.Round(df)), "degree", "degrees") }

// scatterNotes point out where one repeatability does not fit all.
func (w *weighing) scatterNotes() []string {
	var notes []string
	for _, c := range []struct {
		wide, close         *pool
		wideName, closeName string
	}{{&w.onPage, &w.onZero, "the thumbed places", "the zeros"}, {&w.onZero, &w.onPage, "the zeros", "the thumbed places"}} {
		if c.close.df > 0 && exceeds(c.wide.variance(), c.wide.freedom(), c.close.variance(), c.close.freedom()) < oddity {
			notes = append(notes, fmt.Sprintf("Readings repeat less well on %s (%.4f) than on %s (%.4f); the standard errors rest on one repeatability for both, %.4f.",
				c.wideName, c.wide.sd(), c.closeName, c.close.sd(), w.repeat.sd()))
		}
	}
	if outlying := w.outlying(); len(outlying) > 0 {
		notes = append(notes, fmt.Sprintf("Repeated readings scatter far more than elsewhere ('t Lam's form of Cochran's test, 1 %% over all cells) on %s. Look there for a slip of the pen or a moved probe; if there was one, give the reading a reason in the column excluded.", named(outlying)))
	}
	return notes
}

// named lists names, and counts those beyond the first few.
func named(names []string) string {
	if len(names) <= mostNamed {
		return wording.List(names)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:mostNamed], ", "), len(names)-mostNamed)
}

func (s *spotPlan) notes(odd oddities) []string {
	var notes []string
	if s.mixed {
		notes = append(notes, "Some pages were read on a fixed spot and others on their darkest spot. The two are not the same quantity, the darkest being darker by its choice; compare pages of one kind only (the column spot tells which).")
	}
	if odd.otherKind > 0 {
		notes = append(notes, fmt.Sprintf("%s read on both a fixed and the darkest spot; their wear is that of the kind commoner in their book, without the other's %s.",
			wording.Plain(odd.otherKindPages, "page was", "pages were"), wording.Plain(odd.otherKind, "reading", "readings")))
	}
	if s.reference == 0 {
		return notes
	}
	switch {
	case s.logged > 0 && s.offered > 0:
		notes = append(notes, fmt.Sprintf("The spread between spots of a page is %.4f, from %d spots logged one by one (%g degrees of freedom); the %.4f that the study gives was not needed. Of such spots the darkest is used.", s.spread, s.logged, s.df, s.offered))
	case s.logged > 0:
		notes = append(notes, fmt.Sprintf("The spread between spots of a page is %.4f, from %d spots logged one by one (%g degrees of freedom); of such spots the darkest is used.", s.spread, s.logged, s.df))
	case s.given:
		notes = append(notes, fmt.Sprintf("The spread between spots of a page is taken as %.4f, as the study gives it.", s.spread))
	case s.searches.df > 0:
		notes = append(notes, fmt.Sprintf("The darkest of %s was read on every page, so that pages compare without correction. Its standard error is from searches repeated in one sitting, and holds only if each was made afresh; log the spots of some pages one by one to know.", wording.Plain(s.reference, "spot", "spots")))
	default:
		notes = append(notes, fmt.Sprintf("The darkest of %s was read on every page, so that pages compare without correction; but nothing in the log tells the spread between spots, and the standard errors leave out how the darkest spot varies by the choice of spots. Log the spots of some pages one by one.", wording.Plain(s.reference, "spot", "spots")))
	}
	if s.unequal {
		notes = append(notes, fmt.Sprintf("The darkest of many spots is darker than the darkest of few. Different numbers were tried, so each page is brought to the commonest number, %d, by the expected largest of so many normal values times the spread between spots (Harter 1961); the standard errors hold the error of this correction.", s.reference))
	}
	return notes
}

func (w *weighing) limitNotes(r *Result) []string {
	var notes []string
	above, below, some := 0, 0, 0
	for _, page := range r.Wear {
		switch {
		case page.Limit == Above:
			above++
		case page.Limit == Below:
			below++
		case page.AtLimit > 0:
			some++
		}
	}
	if above > 0 {
		notes = append(notes, fmt.Sprintf("On %s the readings stand at the end of the instrument's scale, and the wear is censored: at least the value given.", wording.Plain(above, "page", "pages")))
	}
	if below > 0 {
		notes = append(notes, fmt.Sprintf("On %s the readings stand at the instrument's floor, and the wear is censored: at most the value given.", wording.Plain(below, "page", "pages")))
	}
	if some > 0 {
		notes = append(notes, fmt.Sprintf("On %s some readings stand at a limit of the scale and others do not; the wear is estimated by maximum likelihood with the former as limits (Tobin 1958, Cohen 1959).", wording.Plain(some, "page", "pages")))
	}
	if len(w.odd.unclear) > 0 {
		notes = append(notes, fmt.Sprintf("Page and zero both stand at the instrument's floor, so that nothing can be said of the wear of %s; use an instrument that reads lower.", named(w.odd.unclear)))
	}
	return notes
}

// reversed names the pages with wear below 0, at a level of 1 % over all pages
// (Bonferroni).
func (w *weighing) reversed(wear []Wear) []string {
	var names []string
	for _, page := range wear {
		if page.Limit == Above || page.Density >= 0 {
			continue
		}
		if student.CDF(page.Density/page.SE, page.DF) < oddity/float64(len(wear)) {
			names = append(names, w.log.books[page.Book].PageCalled(w.log.pageLabel(page.Book, page.Page)))
		}
	}
	return names
}

func (w *weighing) coverageNotes(wear []Wear) []string {
	solid := w.options.Solid
	negative, full := 0, 0
	for _, page := range wear {
		if page.Density < 0 {
			negative++
		}
		if page.Density > solid {
			full++
		}
	}
	notes := []string{fmt.Sprintf("Area coverage is by the Murray–Davies equation with a solid density of %g.", solid)}
	if negative > 0 {
		notes = append(notes, fmt.Sprintf("%s no darker in the thumbed place than on the zero; the wear stays as it is, below 0, and the coverage stops at 0.", wording.Plain(negative, "page is", "pages are")))
	}
	if reversed := w.reversed(wear); len(reversed) > 0 {
		notes = append(notes, fmt.Sprintf("The thumbed place is lighter than the zero, beyond measuring error, on %s. Perhaps the two were exchanged in the log, the zero was taken on a stain, or the corner has been cleaned.", named(reversed)))
	}
	if full > 0 {
		notes = append(notes, fmt.Sprintf("%s darker than the solid density; the coverage stops at 1. Perhaps the solid density of the study is too low.", wording.Plain(full, "page is", "pages are")))
	}
	return notes
}
