package report

import (
	"html/template"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/wording"
)

// The tables of a book's spread.

// sureCell shows whether something is clear, as a shape.
func sureCell(clear bool) Cell {
	said, path := "open", `<path d="M8 1.4a6.6 6.6 0 0 0 0 13.2z" class="full"/>`
	if clear {
		said, path = "clear", `<circle cx="8" cy="8" r="6.6" class="full"/>`
	}
	return Cell{drawing: template.HTML(`<svg class="sure" viewBox="0 0 16 16" width="13" height="13" role="img" aria-label="` + said + `"><circle cx="8" cy="8" r="6.6" class="ring"/>` + path + `</svg>`)}
}

// textGrid ranks every text by its wear a page.
func (r *Results) textGrid(i int) Grid {
	b := r.Books[i]
	g := Grid{ID: "texts-of-" + r.bookFile(b.Book), Caption: "Texts, the most worn first (density a page)",
		Heads: heads("Rank#", "Text", "Pages#", "Wear#", "95"+wording.Narrow+"%#"),
		Empty: "No text of this book was measured."}
	for k, a := range byWear(b.Profile.Areas) {
		g.add(whole(k+1), words(wording.Clipped(sectionName(b.Book.Sections[a.Section]), 44)), shown(float64(a.Measured), measuredOf(a)),
			number(a.PerPage, 2), interval(a.PerPageLow, a.PerPageHigh, 2))
	}
	return g
}

// pictureGrid ranks every picture that was tested by how far it stands above the
// text pages of its own text, whether that is clear or not.
func (r *Results) pictureGrid(i int) Grid {
	b := r.Books[i]
	g := Grid{ID: "pictures-of-" + r.bookFile(b.Book), Caption: "Pictures, by how far each stands above its own text",
		Heads: heads("Rank#", "Picture", "Page", "Above by#", "95"+wording.Narrow+"%#", "Clear")}
	for k, t := range b.pictureTests() {
		subject := b.Book.Pages[t.Page].Subject
		if subject == "" {
			subject = "a picture"
		}
		excess := number(t.Excess, 2)
		if t.AtLeast {
			excess = excess.after("at least ")
		}
		g.add(whole(k+1), words(wording.Clipped(subject, 40)), words(pageLabel(b.Book, t.Page)), excess, interval(t.Low, t.High, 2), sureCell(b.standsOut(t)))
	}
	return g
}

// shareGrid is how worn each office is.
func (r *Results) shareGrid(b *codex.Book, c *dropoff.Decline) Grid {
	g := Grid{ID: "shares-of-" + r.setFile(b, c), Caption: setName(c.Set) + ": each office as a share of the first",
		Heads: heads("Office", "Pages#", "Share#", "95"+wording.Narrow+"%#")}
	for k, o := range c.Offices {
		share, reach := shown(o.Share, wording.Percent(o.Share)), percentInterval(o.Low, o.High)
		switch {
		case c.Refused != "":
			share, reach = instead("not given"), instead("")
		case k == 0:
			reach = instead("")
		}
		g.add(words(o.Office.String()), whole(o.Pages), share, reach)
	}
	return g
}
