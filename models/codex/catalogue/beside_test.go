package catalogue_test

import (
	"fmt"
	"testing"

	"thumbed/models/codex/catalogue"
)

// Titles that name several texts, as summary catalogues of liturgical books write
// them (common practice, no source); places invented.
func TestNamedBeside(t *testing.T) {
	for _, c := range []struct {
		words  string
		placed bool
		want   string
	}{
		{"Hours of the Cross and the Holy Ghost (fol. 14)", true, "Hours of the Cross: Hours of the Holy Ghost f. 14r"},
		{"Penitential Psalms with litany (fol. 78v)", true, "Penitential Psalms: litany f. 78v"},
		{"Penitential (fol. 73) and Gradual (fol. 88) Psalms with the litany (fol. 101).", false, "Penitential Psalms: Penitential Psalms f. 73r; Gradual Psalms f. 88r; litany f. 101r"},
		{"Office of the dead (fol. 85) and commendation (fol. 98v)", false, "Office of the dead: Office of the dead f. 85r; commendation f. 98v"},
		{"Mass of the Virgin (fol. 113), of the holy Ghost (fol. 115v), of the dead (fol. 117v)", false, "Mass of the Virgin: Mass of the Virgin f. 113r; Mass of the holy Ghost f. 115v; Mass of the dead f. 117v"},
		{"Office of the Virgin (fol. 37) with the Hours of the Cross worked in", false, "Office of the Virgin: Office of the Virgin f. 37r"},
		{"Calendar (fol. 3)", true, ": "},
		{"Penitential psalms and the litany (fol. 26), followed (fol. 28) by an invocation", true, "Penitential psalms: litany f. 26r; invocation f. 28r"},
		{"Office of the dead, followed by some antiphons and responsories (fol. 255)", true, "Office of the dead: antiphons and responsories f. 255r"},
		{"Chapters, divided into temporale (fol. 94) and sanctorale (fol. 114)", true, ": "},
		{"Prayers of St. Anne and St. John (fol. 9)", true, "Prayers of St. Anne: Prayers of St. John f. 9r"},
	} {
		title, texts := catalogue.NamedBeside(c.words, c.placed)
		got := title + ": "
		for i, text := range texts {
			if i > 0 {
				got += "; "
			}
			got += fmt.Sprint(text.Title, " ", text.Locus.First().String())
		}
		if got != c.want {
			t.Errorf("%q names %q, not %q", c.words, got, c.want)
		}
	}
}
