package kernel

import (
	"strings"

	"thumbed/models/dropoff"
	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

func changesFaces(c *dropoff.Changes) ([]Output, error) {
	text, err := written(c.Text)
	if err != nil {
		return nil, err
	}
	levels := grid.Grid{Title: "Levels", Empty: "There is none.", Heads: grid.Heads("From", "To", "Rows#", "Mean#", "Standard error#")}
	for _, l := range c.Levels {
		decimals := wording.Decimals(l.SE)
		levels.AddTexts(rowName(c, l.From), rowName(c, l.To), wording.Whole(l.To-l.From+1), wording.Fixed(l.Mean, decimals), wording.Fixed(l.SE, decimals))
	}
	return []Output{{Plain: text, HTML: changeGrid(c).Notebook() + knownHTML(c) + levels.Notebook() + noteList(c.Notes)}}, nil
}

func changeGrid(c *dropoff.Changes) grid.Grid {
	g := grid.Grid{Title: "Changes of level in " + wording.Count(c.N, "row", "rows"), Empty: "No change of level was found.",
		Heads: grid.Heads("After", "95 % interval of the place", "Probability#", "Step#", "95 % interval#")}
	for _, change := range c.Changes {
		decimals := wording.Decimals((change.SizeHigh - change.SizeLow) / 4) // about its standard error
		g.AddTexts(rowName(c, change.After), rowName(c, change.Low)+" to "+rowName(c, change.High), wording.Probability(change.Probability),
			wording.Fixed(change.Size, decimals), wording.Interval(change.SizeLow, change.SizeHigh, decimals))
	}
	return g
}

// knownHTML is the table of the known breaks; empty where there are none.
func knownHTML(c *dropoff.Changes) string {
	if len(c.Known) == 0 {
		return ""
	}
	g := grid.Grid{Title: "Breaks known beforehand, not found", Heads: grid.Heads("Before", "Reason", "Step#", "95 % interval#")}
	for _, k := range c.Known {
		decimals := wording.Decimals((k.SizeHigh - k.SizeLow) / 4)
		g.AddTexts(k.Before, k.Reason, wording.Fixed(k.Size, decimals), wording.Interval(k.SizeLow, k.SizeHigh, decimals))
	}
	return g.Notebook()
}

// rowName is the label of row i of a segmented series, from 1.
func rowName(c *dropoff.Changes, i int) string { return dropoff.Series{Labels: c.Labels}.Label(i) }

// sharedFaces shows a drop-off looked for in several books, which it knows by
// number.
func sharedFaces(s *dropoff.SharedChange) []Output {
	places := grid.Grid{Title: "The place of the drop, all books together", Empty: "There is none.", Heads: grid.Heads("After", "Probability#")}
	for _, p := range s.Places {
		places.AddTexts(p.After.String(), wording.Probability(p.Probability))
	}
	places.AddTexts("no drop", wording.Probability(s.None))
	books := grid.Grid{Title: "By how much each book is worn less after " + s.After.String(), Empty: "There is none.",
		Heads: grid.Heads("Book", "Less by#", "95 % interval, all books at once#", "Has it")}
	for _, b := range s.Books {
		drop, interval, has := wording.Percent(b.Drop), wording.Interval(100*b.Low, 100*b.High, 0)+" %", "no"
		switch {
		case b.Refused != "":
			drop, interval, has = "not given", "not given", b.Refused
		case b.Has:
			has = "yes"
		}
		books.AddTexts("number "+wording.Whole(b.Decline+1), drop, interval, has)
	}
	var left []string
	for _, l := range s.Left {
		left = append(left, "Number "+wording.Whole(l.Decline+1)+" was left out. "+l.Why)
	}
	plain := s.Sentence + "\n\n" + places.Text() + "\n" + books.Text()
	for _, note := range left {
		plain += "– " + note + "\n"
	}
	return []Output{{Plain: plain, HTML: paragraphs(s.Sentence) + places.Notebook() + books.Notebook() + noteList(left)}}
}

// differenceFaces shows how two readers differ.
func differenceFaces(d *dropoff.Difference) []Output {
	g := grid.Grid{Title: "Share of wear of the first reader less that of the second", Empty: "There is none.", Heads: grid.Heads("Office", "Difference#", "95 % interval#")}
	for _, o := range d.Offices {
		g.AddTexts(o.Office.String(), wording.Percent(o.Difference), wording.Interval(100*o.Low, 100*o.High, 0)+" %")
	}
	test := "F = " + wording.Fixed(d.F, 2) + " with " + wording.DF(d.DF1) + " and " + wording.DF(d.DF2) + " degrees of freedom, " + wording.P(d.P) + "."
	return []Output{{Plain: d.Sentence + "\n" + test + "\n\n" + g.Text(), HTML: paragraphs(d.Sentence, test) + g.Notebook()}}
}

// comparisonFaces shows which account of a series is to be given.
func comparisonFaces(c *dropoff.Comparison) []Output {
	g := grid.Grid{Title: "Accounts of the series", Empty: "There is none.", Heads: grid.Heads("Account", "Criterion, less that of no change#", "Probability#")}
	for _, a := range c.Candidates {
		g.AddTexts(a.Name, wording.Fixed(a.Criterion, 1), wording.Probability(a.Probability))
	}
	return []Output{{Plain: c.Sentence + "\n\n" + g.Text(), HTML: paragraphs(c.Sentence) + g.Notebook()}}
}

// shapedFaces shows a series in pieces of one shape: the changes with their sizes,
// then the pieces.
func shapedFaces(s *dropoff.Shaped) ([]Output, error) {
	text, err := written(s.Text)
	if err != nil {
		return nil, err
	}
	changes := grid.Grid{Title: "Changes of " + string(s.Shape), Empty: "None is claimed.",
		Heads: grid.Heads("After row#", "95 % interval of the place#", "Probability#", "What changes", "By#", "95 % interval#")}
	for _, b := range s.Bends {
		for _, size := range b.Sizes {
			decimals := wording.Decimals((size.High - size.Low) / 4) // about its standard error
			changes.AddTexts(wording.Whole(b.After), wording.Whole(b.Low)+" to "+wording.Whole(b.High), wording.Probability(b.Probability),
				size.Of, wording.Fixed(size.Value, decimals), wording.Interval(size.Low, size.High, decimals))
		}
	}
	pieces := grid.Grid{Title: "Pieces: " + string(s.Shape), Empty: "There is none.", Heads: grid.Heads("From row#", "To row#", "At its start#", "At its end#", "Scatter#")}
	lines := s.Shape != dropoff.LevelAndScatter
	if lines {
		pieces.Heads = append(pieces.Heads, grid.Heads("Slope#", "95 % interval#")...)
	}
	for _, p := range s.Pieces {
		decimals := wording.Decimals(p.Scatter)
		cells := []string{wording.Whole(p.From), wording.Whole(p.To), wording.Fixed(p.Start, decimals), wording.Fixed(p.End, decimals), wording.Fixed(p.Scatter, decimals)}
		if lines {
			decimals = wording.Decimals((p.SlopeHigh - p.SlopeLow) / 4)
			cells = append(cells, wording.Fixed(p.Slope, decimals), wording.Interval(p.SlopeLow, p.SlopeHigh, decimals))
		}
		pieces.AddTexts(cells...)
	}
	said, _, _ := strings.Cut(text, "\n")
	return []Output{{Plain: text, HTML: paragraphs(said) + changes.Notebook() + pieces.Notebook() + noteList(s.Notes)}}, nil
}
