package kernel

import (
	"strings"

	"thumbed/models/dropoff"
	"thumbed/models/report"
	"thumbed/models/study"
)

// carriedFaces shows how far readings were carried on through the hours of a
// book, and where they changed.
func carriedFaces(s *study.Study, c *dropoff.Carried) ([]Output, error) {
	b := s.Books[c.Book]
	g := grid{caption: strings.TrimSpace("The hours "+c.Set) + " in " + b.ID + ", office by office", none: "No office was measured.",
		heads: heads("Office", "Pages#", "Wear (density)#", "Standard error#", "Share of the first#", "95 % interval#")}
	for _, o := range c.Offices {
		share, interval := "not given", "not given"
		if c.Refused == "" {
			share, interval = report.Percent(o.Share), report.Interval(100*o.Low, 100*o.High, 0)+" %"
		}
		g.add(o.Office.String(), report.Whole(o.Pages), report.Density(o.Wear), report.Fixed(o.SE, spreadDecimals), share, interval)
	}
	said := c.Refused
	if said == "" {
		said = "Carried on to the end of the day: " + report.PercentEstimate(c.Share, c.Low, c.High) + " of the wear of the first office."
	}
	plain, page := said+"\n\n"+g.plain(), paragraphs(said)+g.html()
	if c.Changes != nil {
		text, err := written(c.Changes.Text)
		if err != nil {
			return nil, err
		}
		plain += "\n" + text
		page += changeGrid(c.Changes).html()
	}
	for _, note := range c.Notes {
		plain += "– " + note + "\n"
	}
	out := []Output{{Plain: plain, HTML: page + noteList(c.Notes)}}

	results := &report.Results{Books: make([]report.BookResult, len(s.Books))}
	for i := range s.Books {
		results.Books[i].Book = s.Books[i]
	}
	results.Books[c.Book].Carried = []*dropoff.Carried{c}
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
		decimals := report.Decimals(l.SE)
		levels.add(rowName(c, l.From), rowName(c, l.To), report.Whole(l.To-l.From+1), report.Fixed(l.Mean, decimals), report.Fixed(l.SE, decimals))
	}
	return []Output{{Plain: text, HTML: changeGrid(c).html() + levels.html() + noteList(c.Notes)}}, nil
}

func changeGrid(c *dropoff.Changes) grid {
	g := grid{caption: "Changes of level in " + report.Count(c.N, "row", "rows"), none: "No change of level was found.",
		heads: heads("After", "95 % interval of the place", "Probability#", "Step#", "95 % interval#")}
	for _, change := range c.Changes {
		decimals := report.Decimals((change.SizeHigh - change.SizeLow) / 4) // about its standard error
		g.add(rowName(c, change.After), rowName(c, change.Low)+" to "+rowName(c, change.High), report.Probability(change.Probability),
			report.Fixed(change.Size, decimals), report.Interval(change.SizeLow, change.SizeHigh, decimals))
	}
	return g
}

// rowName is the label of row i of a segmented series, from 1.
func rowName(c *dropoff.Changes, i int) string { return dropoff.Series{Labels: c.Labels}.Label(i) }
