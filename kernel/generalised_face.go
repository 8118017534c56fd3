package kernel

import (
	"strings"

	"thumbed/models/generalised"
	"thumbed/models/mixed"
	"thumbed/models/wording"
)

// generalisedFaces shows a fitted model of grades, of yes or no or of counts: its
// effects, thresholds, what varies between groups, means and notes.
func generalisedFaces(f *generalised.Fit) ([]Output, error) {
	text, err := written(f.Text)
	if err != nil {
		return nil, err
	}
	head, _, _ := strings.Cut(text, "\n\n")
	html := paragraphs(strings.ReplaceAll(head, "\n", " ")) + linkGrid("Effects on the scale of the link", f.Fixed).html()
	if len(f.Thresholds) > 0 {
		g := grid{caption: "Thresholds between grades", heads: heads("Between", "Estimate#", "Standard error#")}
		for _, t := range f.Thresholds {
			places := wording.Decimals(t.SE)
			g.add(t.Below+" and "+t.Above, wording.Fixed(t.Estimate, places), wording.Fixed(t.SE, places))
		}
		html += g.html()
	}
	if len(f.ZeroInflation) > 0 {
		html += linkGrid("Zeros besides: effects on the logit of their probability", f.ZeroInflation).html()
	}
	if len(f.Random) > 0 {
		g := grid{caption: "What varies between groups (standard deviations on the scale of the link)", heads: heads("Between", "What varies", "Groups#", "Standard deviation#", "Correlation with those above#")}
		for _, r := range f.Random {
			for k, term := range r.Terms {
				var with []string
				for _, v := range r.Correlation[k][:k] {
					with = append(with, wording.Fixed(v, 2))
				}
				g.add(strings.Join(r.By, " and "), term, wording.Whole(r.Groups), wording.Fixed(r.SD[k], 3), strings.Join(with, ", "))
			}
		}
		html += g.html()
	}
	if len(f.Adjusted) > 0 {
		html += meanGrid(f.Model(), f.Adjusted).html()
	}
	return []Output{{Plain: text, HTML: html + noteList(f.Notes)}}, nil
}

func linkGrid(caption string, effects []generalised.Coefficient) grid {
	g := grid{caption: caption, none: "There is none.", heads: heads("Effect", "Estimate#", "95 % interval#", "Standard error#", "p#")}
	for _, c := range effects {
		places := wording.Decimals(c.SE)
		g.add(c.Term, wording.Fixed(c.Estimate, places), wording.Interval(c.Low, c.High, places), wording.Fixed(c.SE, places), wording.PValue(c.P))
	}
	return g
}

func meanGrid(m mixed.Model, means []generalised.Mean) grid {
	g := grid{caption: "Probabilities, averaged over the rows as they are otherwise and over the groups", heads: heads("Where", "Of", "Mean#", "95 % interval#")}
	if m.Kind == mixed.Counts {
		g.caption = "Expected counts, averaged over the rows as they are otherwise and over the groups"
	}
	for _, v := range means {
		mean, interval := wording.Percent(v.Mean), wording.Percent(v.Low)+" to "+wording.Percent(v.High)
		if m.Kind == mixed.Counts {
			places := wording.Decimals((v.High - v.Low) / 4)
			mean, interval = wording.Fixed(v.Mean, places), wording.Interval(v.Low, v.High, places)
		}
		g.add(v.Column+"="+v.Level, v.Of, mean, interval)
	}
	return g
}
