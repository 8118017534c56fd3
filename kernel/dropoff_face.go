package kernel

import (
	"slices"
	"strings"

	"thumbed/models/dropoff"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/wording"
)

// carriedFaces shows how far readings were carried on through the hours of a
// book, and where they changed.
func carriedFaces(s *study.Study, c *dropoff.Decline) ([]Output, error) {
	b := s.Books[c.Book]
	g := grid{caption: strings.TrimSpace("The hours "+c.Set) + " in " + b.ID + ", office by office", none: "No office was measured.",
		heads: heads("Office", "Pages#", "Wear (density)#", "Standard error#", "Share of the first#", "95 % interval#", "Falling curve#", "95 % band#")}
	for k, o := range c.Offices {
		share, interval := "not given", "not given"
		if c.Refused == "" {
			share, interval = wording.Percent(o.Share), wording.Interval(100*o.Low, 100*o.High, 0)+" %"
		}
		curve, band := "not given", "not given"
		if c.Curve != nil {
			p := c.Curve.Points[k]
			curve, band = wording.Percent(p.Share), wording.Interval(100*p.Low, 100*p.High, 0)+" %"
		}
		g.add(o.Office.String(), wording.Whole(o.Pages), wording.Density(o.Wear), wording.Fixed(o.SE, spreadDecimals), share, interval, curve, band)
	}
	said := c.Refused
	if said == "" {
		said = "Carried on to the end of the day: " + wording.PercentEstimate(c.Share, c.Low, c.High) + " of the wear of the first office."
	}
	if c.Curve != nil {
		said += " " + c.Curve.Sentence()
	}
	plain, page := said+"\n\n"+g.plain(), paragraphs(said)+g.html()
	if c.Changes != nil {
		text, err := written(c.Changes.Text)
		if err != nil {
			return nil, err
		}
		plain += "\n" + text
		page += changeGrid(c.Changes).html() + knownHTML(c.Changes)
	}
	for _, note := range c.Notes {
		plain += "– " + note + "\n"
	}
	out := []Output{{Plain: plain, HTML: page + noteList(c.Notes)}}

	results := &report.Results{Books: make([]report.BookResult, len(s.Books))}
	for i := range s.Books {
		results.Books[i].Book = s.Books[i]
	}
	results.Books[c.Book].Declines = []*dropoff.Decline{c}
	figures, err := figureFaces(results)
	return append(figures, out...), err
}

func changesFaces(c *dropoff.Changes) ([]Output, error) {
	text, err := written(c.Text)
	if err != nil {
		return nil, err
	}
	levels := grid{caption: "Levels", none: "There is none.", heads: heads("From", "To", "Rows#", "Mean#", "Standard error#")}
	for _, l := range c.Levels {
		decimals := wording.Decimals(l.SE)
		levels.add(rowName(c, l.From), rowName(c, l.To), wording.Whole(l.To-l.From+1), wording.Fixed(l.Mean, decimals), wording.Fixed(l.SE, decimals))
	}
	return []Output{{Plain: text, HTML: changeGrid(c).html() + knownHTML(c) + levels.html() + noteList(c.Notes)}}, nil
}

func changeGrid(c *dropoff.Changes) grid {
	g := grid{caption: "Changes of level in " + wording.Count(c.N, "row", "rows"), none: "No change of level was found.",
		heads: heads("After", "95 % interval of the place", "Probability#", "Step#", "95 % interval#")}
	for _, change := range c.Changes {
		decimals := wording.Decimals((change.SizeHigh - change.SizeLow) / 4) // about its standard error
		g.add(rowName(c, change.After), rowName(c, change.Low)+" to "+rowName(c, change.High), wording.Probability(change.Probability),
			wording.Fixed(change.Size, decimals), wording.Interval(change.SizeLow, change.SizeHigh, decimals))
	}
	return g
}

// knownHTML is the table of the known breaks; empty where there are none.
func knownHTML(c *dropoff.Changes) string {
	if len(c.Known) == 0 {
		return ""
	}
	g := grid{caption: "Breaks known beforehand, not found", heads: heads("Before", "Reason", "Step#", "95 % interval#")}
	for _, k := range c.Known {
		decimals := wording.Decimals((k.SizeHigh - k.SizeLow) / 4)
		g.add(k.Before, k.Reason, wording.Fixed(k.Size, decimals), wording.Interval(k.SizeLow, k.SizeHigh, decimals))
	}
	return g.html()
}

// rowName is the label of row i of a segmented series, from 1.
func rowName(c *dropoff.Changes, i int) string { return dropoff.Series{Labels: c.Labels}.Label(i) }

// habitFaces shows where in a book a different habit may begin.
func habitFaces(s *study.Study, h *dropoff.Habits) ([]Output, error) {
	if h.Changes == nil {
		return []Output{{Plain: h.Refused, HTML: paragraphs(h.Refused)}}, nil
	}
	g := changeGrid(h.Changes)
	g.heads = append(g.heads, heads("Nearest beginning of a section", "Held by the interval")...)
	for i, border := range h.Nearest {
		held := "no"
		if border.Holds {
			held = "yes"
		}
		g.rows[i] = append(g.rows[i], border.Section, held)
	}
	for i := len(h.Nearest); i < len(g.rows); i++ { // a book without sections has no borders
		g.rows[i] = append(g.rows[i], "", "")
	}
	notes := slices.Concat(h.Changes.Notes, h.Notes)
	results := &report.Results{Books: make([]report.BookResult, len(s.Books))}
	for i := range s.Books {
		results.Books[i].Book = s.Books[i]
	}
	results.Books[h.Book].Habits = h
	figures, err := figureFaces(results)
	return append(figures, Output{Plain: g.plain() + "\n– " + strings.Join(notes, "\n– ") + "\n", HTML: g.html() + knownHTML(h.Changes) + noteList(notes)}), err
}

// sharedFaces shows a drop-off looked for in several books, which it knows by
// number.
func sharedFaces(s *dropoff.SharedChange) []Output {
	places := grid{caption: "The place of the drop, all books together", none: "There is none.", heads: heads("After", "Probability#")}
	for _, p := range s.Places {
		places.add(p.After.String(), wording.Probability(p.Probability))
	}
	places.add("no drop", wording.Probability(s.None))
	books := grid{caption: "By how much each book is worn less after " + s.After.String(), none: "There is none.",
		heads: heads("Book", "Less by#", "95 % interval, all books at once#", "Has it")}
	for _, b := range s.Books {
		drop, interval, has := wording.Percent(b.Drop), wording.Interval(100*b.Low, 100*b.High, 0)+" %", "no"
		switch {
		case b.Refused != "":
			drop, interval, has = "not given", "not given", b.Refused
		case b.Has:
			has = "yes"
		}
		books.add("number "+wording.Whole(b.Decline+1), drop, interval, has)
	}
	var left []string
	for _, l := range s.Left {
		left = append(left, "Number "+wording.Whole(l.Decline+1)+" was left out. "+l.Why)
	}
	plain := s.Sentence + "\n\n" + places.plain() + "\n" + books.plain()
	for _, note := range left {
		plain += "– " + note + "\n"
	}
	return []Output{{Plain: plain, HTML: paragraphs(s.Sentence) + places.html() + books.html() + noteList(left)}}
}

// differenceFaces shows how two readers differ.
func differenceFaces(d *dropoff.Difference) []Output {
	g := grid{caption: "Share carried on by the first reader less that by the second", none: "There is none.", heads: heads("Office", "Difference#", "95 % interval#")}
	for _, o := range d.Offices {
		g.add(o.Office.String(), wording.Percent(o.Difference), wording.Interval(100*o.Low, 100*o.High, 0)+" %")
	}
	test := "F = " + wording.Fixed(d.F, 2) + " with " + wording.DF(d.DF1) + " and " + wording.DF(d.DF2) + " degrees of freedom, " + wording.P(d.P) + "."
	return []Output{{Plain: d.Sentence + "\n" + test + "\n\n" + g.plain(), HTML: paragraphs(d.Sentence, test) + g.html()}}
}

// comparisonFaces shows which account of a series is to be given.
func comparisonFaces(c *dropoff.Comparison) []Output {
	g := grid{caption: "Accounts of the series", none: "There is none.", heads: heads("Account", "Criterion, less that of no change#", "Probability#")}
	for _, a := range c.Candidates {
		g.add(a.Name, wording.Fixed(a.Criterion, 1), wording.Probability(a.Probability))
	}
	return []Output{{Plain: c.Sentence + "\n\n" + g.plain(), HTML: paragraphs(c.Sentence) + g.html()}}
}

// shapedFaces shows a series in pieces of one shape: the changes with their sizes,
// then the pieces.
func shapedFaces(s *dropoff.Shaped) ([]Output, error) {
	text, err := written(s.Text)
	if err != nil {
		return nil, err
	}
	changes := grid{caption: "Changes of " + string(s.Shape), none: "None is claimed.",
		heads: heads("After row#", "95 % interval of the place#", "Probability#", "What changes", "By#", "95 % interval#")}
	for _, b := range s.Bends {
		for _, size := range b.Sizes {
			decimals := wording.Decimals((size.High - size.Low) / 4) // about its standard error
			changes.add(wording.Whole(b.After), wording.Whole(b.Low)+" to "+wording.Whole(b.High), wording.Probability(b.Probability),
				size.Of, wording.Fixed(size.Value, decimals), wording.Interval(size.Low, size.High, decimals))
		}
	}
	pieces := grid{caption: "Pieces: " + string(s.Shape), none: "There is none.", heads: heads("From row#", "To row#", "At its start#", "At its end#", "Scatter#")}
	lines := s.Shape != dropoff.LevelAndScatter
	if lines {
		pieces.heads = append(pieces.heads, heads("Slope#", "95 % interval#")...)
	}
	for _, p := range s.Pieces {
		decimals := wording.Decimals(p.Scatter)
		cells := []string{wording.Whole(p.From), wording.Whole(p.To), wording.Fixed(p.Start, decimals), wording.Fixed(p.End, decimals), wording.Fixed(p.Scatter, decimals)}
		if lines {
			decimals = wording.Decimals((p.SlopeHigh - p.SlopeLow) / 4)
			cells = append(cells, wording.Fixed(p.Slope, decimals), wording.Interval(p.SlopeLow, p.SlopeHigh, decimals))
		}
		pieces.add(cells...)
	}
	said, _, _ := strings.Cut(text, "\n")
	return []Output{{Plain: text, HTML: paragraphs(said) + changes.html() + pieces.html() + noteList(s.Notes)}}, nil
}
