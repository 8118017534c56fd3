package report

import (
	"fmt"
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/readings"
	"thumbed/models/wording"
)

// The tables of the page. Each shows rows that are also on disk as CSV.

func (r *Results) sectionGrid(i int) Grid {
	b := r.Books[i]
	g := Grid{ID: "sections-of-" + r.bookFile(b.Book), Caption: "Sections of " + r.quotedName(b.Book) + ", the most worn by the page first (density)",
		Heads: heads("Section", "Extent", "Pages measured#", "Wear per page#", "95"+wording.Narrow+"% interval#", "Wear in all#", "95"+wording.Narrow+"% interval#"),
		Empty: "No section of this book was measured."}
	for _, a := range byWear(b.Profile.Areas) {
		s := b.Book.Sections[a.Section]
		g.add(words(sectionName(s)), words(s.Extent.Written), shown(float64(a.Measured), measuredOf(a)),
			density(a.PerPage), interval(a.PerPageLow, a.PerPageHigh, wording.DensityDecimals),
			number(a.Total, 2), interval(a.TotalLow, a.TotalHigh, 2))
	}
	return g
}

func (r *Results) standoutGrid(i int) Grid {
	b := r.Books[i]
	g := Grid{ID: "standouts-of-" + r.bookFile(b.Book), Caption: "Pages of " + r.quotedName(b.Book) + " that stand above the text pages of their own section (density)",
		Heads: heads("Page", "What is on it", "Section", "Above by#", "95"+wording.Narrow+"% interval#", "p, adjusted#"),
		Empty: "No page stands out at this rate."}
	for _, o := range b.Profile.Standouts {
		row := standoutRow{b.Book, o}
		g.add(words(folio(b.Book, o.Page)), words(pageContent(row.page())), words(row.sectionName()),
			density(o.Excess), interval(o.Low, o.High, wording.DensityDecimals), shown(o.Q, wording.PValue(o.Q)))
	}
	return g
}

func pageContent(p codex.Page) string {
	switch {
	case p.Subject != "":
		return p.Subject
	case p.Picture:
		return "a picture"
	case p.Incipit:
		return "text, the opening page"
	}
	return "text"
}

func (r *Results) officeGrid(b *codex.Book, c *dropoff.Decline) Grid {
	g := Grid{ID: "offices-of-" + r.setFile(b, c), Caption: "The " + setName(c.Set) + " in " + r.quotedName(b) + ", office by office",
		Heads: heads("Office", "Pages#", "Wear (density)#", "Standard error#", "Share of the first#", "95"+wording.Narrow+"% interval#", "Falling curve#", "95"+wording.Narrow+"% band, all offices at once#")}
	for k, o := range c.Offices {
		share, reach := shown(o.Share, wording.Percent(o.Share)), percentInterval(o.Low, o.High)
		curve, band := curveCells(c, o.Office)
		switch {
		case c.Refused != "":
			share, reach = instead("not given"), instead("not given")
		case k == 0:
			reach, band = instead("by definition"), instead("by definition")
		}
		g.add(words(o.Office.String()), whole(o.Pages), density(o.Wear), number(o.SE, 4), share, reach, curve, band)
	}
	return g
}

func (r *Results) changeGrid(b *codex.Book, c *dropoff.Decline) Grid {
	g := Grid{ID: "changes-of-" + r.setFile(b, c), Caption: "Changes of level along the " + setName(c.Set) + " in " + r.quotedName(b),
		Heads: heads("After page", "95"+wording.Narrow+"% interval of the place", "Probability#", "Change of level (density)#", "95"+wording.Narrow+"% interval#"),
		Empty: "No change of level was found."}
	if c.Changes == nil {
		return g
	}
	for _, change := range c.Changes.Changes {
		g.add(words("f."+wording.NoBreak+change.At), words(changeInterval(c, change)), shown(change.Probability, wording.Probability(change.Probability)),
			density(change.Size), interval(change.SizeLow, change.SizeHigh, wording.DensityDecimals))
	}
	return g
}

// title names a fit: its model, and the book where it is fitted book by book.
func (m ModelResult) title(r *Results) string {
	name := "the model “" + m.Name + "”"
	if m.Book != "" {
		name += " in " + r.quotedNameByID(m.Book)
	}
	return name
}

func (r *Results) fixedGrid(m ModelResult) Grid {
	g := Grid{ID: "fixed-of-" + r.fitFile(m), Caption: "Fixed effects of " + m.title(r) + " (" + r.outcomeUnit(m.Name) + ")",
		Heads: heads("Effect", "Estimate#", "95"+wording.Narrow+"% interval#", "Standard error#", "t (degrees of freedom)#", "p#", "Drawn")}
	from, to := 0.0, 0.0
	for _, c := range m.Fit.Fixed {
		if c.Term != interceptTerm && finite(c.Low) && finite(c.High) {
			from, to = min(from, c.Low), max(to, c.High)
		}
	}
	for _, c := range m.Fit.Fixed {
		decimals := wording.Decimals(c.SE)
		drawn := words("")
		if c.Term != interceptTerm {
			drawn = bar(c.Estimate, c.Low, c.High, from, to)
		}
		t := number(c.T, 2)
		t.Parts = append(t.Parts, wordPart(" ("), Part{wording.DF(c.DF), c.DF}, wordPart(")"))
		g.add(words(wording.Capital(r.term(m, c.Term))), number(c.Estimate, decimals), interval(c.Low, c.High, decimals), number(c.SE, decimals),
			t, shown(c.P, wording.PValue(c.P)), drawn)
	}
	return g
}

// randomGrid is one row an effect that varies between groups.
func (r *Results) randomGrid(m ModelResult) Grid {
	g := Grid{ID: "random-of-" + r.fitFile(m), Caption: "What varies between groups in " + m.title(r) + " (" + r.outcomeUnit(m.Name) + ")",
		Heads: heads("Effect", "Varies between", "Groups#", "Standard deviation#")}
	for _, row := range r.randomRows() {
		if row.model.Name == m.Name && row.model.Book == m.Book && row.with == "" && row.by != residualRow {
			g.add(words(wording.Capital(r.varying(m, row.term))), words(r.Labels.Groups(row.groupsBy)), whole(row.groups), number(row.sd, 4))
		}
	}
	return g
}

// varying names what varies between groups.
func (r *Results) varying(m ModelResult, term string) string {
	if term == interceptTerm {
		return "the level"
	}
	return r.term(m, term)
}

// variationSentences tell what the table of random effects does not: the residual, and
// how effects are correlated.
func (r *Results) variationSentences(m ModelResult) []string {
	var out []string
	for _, row := range r.randomRows() {
		switch {
		case row.model.Name != m.Name || row.model.Book != m.Book:
		case row.with != "":
			out = append(out, fmt.Sprintf("Between %s, %s and %s are correlated by %s.", r.Labels.Groups(row.groupsBy), r.varying(m, row.with), r.varying(m, row.term), wording.Fixed(row.correlation, 2)))
		case row.by == residualRow:
			out = append(out, fmt.Sprintf("Single pages scatter about all this with a standard deviation of %s (the residual, %s).", wording.Fixed(row.sd, 4), wording.Count(row.groups, "page", "pages")))
		}
	}
	if rho := m.Fit.Residual.Rho; rho != 0 && !math.IsNaN(rho) {
		out = append(out, fmt.Sprintf("Neighbouring pages have residuals correlated by %s.", wording.Fixed(rho, 2)))
	}
	return out
}

// precisionGrid shows each value beside its degrees of freedom.
func (r *Results) precisionGrid() Grid {
	g := Grid{ID: "precision", Caption: "The measuring: repeatability (standard deviations of density) and tallies", Heads: heads("What", "Value#", "Degrees of freedom#")}
	for _, p := range r.precisionRows() {
		value, freedom := number(p.value, 4), words("")
		if p.value == math.Trunc(p.value) {
			value = number(p.value, 0)
		}
		if p.df != noDF && finite(p.value) {
			freedom = shown(p.df, wording.DF(p.df))
		}
		g.add(words(wording.Capital(wording.Typeset(p.about))), value, freedom)
	}
	return g
}

func (r *Results) driftGrid() Grid {
	g := Grid{ID: "drift", Caption: "Drift of the instruments: the reference tile’s departure from its certified density",
		Heads: heads("Day", "Instrument", "Tile readings#", "As the day began#", "As it ended#", "Standard error#", "Correction"),
		Empty: "The log holds no readings of a reference tile, so drift could not be corrected."}
	for _, d := range r.Readings.Drift {
		g.add(words(d.Day), words(d.Instrument), whole(d.Readings), number(d.Start, 4), number(d.End, 4), number(d.SE, 4), words(string(d.Correction)))
	}
	return g
}

func (r *Results) excludedGrid() Grid {
	g := Grid{ID: "excluded", Caption: "Readings left out, with the reason given", Heads: heads("Where", "Book", "Page", "Density#", "Reason"),
		Empty: "No reading was left out."}
	for _, e := range r.Readings.Excluded {
		g.add(words(e.File+", line "+wording.Whole(e.Line)), words(e.Book), words(e.Page), number(e.Density, 2), words(e.Reason))
	}
	return g
}

func (r *Results) wearGrid(i int) Grid {
	b := r.Books[i]
	g := Grid{ID: "pages-of-" + r.bookFile(b.Book), Caption: "Wear of every measured page of " + r.quotedName(b.Book) + " (density)", Long: true,
		Heads: heads("Page", "Text", "Picture", "Wear#", "Standard error#", "Curve#", "95"+wording.Narrow+"% interval#", "Placings#"),
		Empty: "No page of this book was measured."}
	for _, w := range r.wearRowsOf(i) {
		section, picture := "", ""
		if s, ok := w.section(); ok {
			section = sectionName(s)
		}
		if w.page().Picture {
			picture = "picture"
			if subject := w.page().Subject; subject != "" {
				picture = subject
			}
		}
		value := density(w.wear.Density)
		switch w.wear.Limit {
		case readings.Below:
			value = value.after("at most ")
		case readings.Above:
			value = value.after("at least ")
		}
		g.add(words(pageLabel(b.Book, w.wear.Page)), words(section), words(picture), value, number(w.wear.SE, 4),
			density(w.curve), interval(w.low, w.high, wording.DensityDecimals), whole(w.wear.Placings))
	}
	return g
}
