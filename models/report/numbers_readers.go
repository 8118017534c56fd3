package report

import (
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
)

// The parts of results.json that speak of several books and of whole books.

type fallingNumbers struct {
	Offices    []fallingPoint `json:"offices"`     // the curve, office by office
	Median     string         `json:"median"`      // last office with half of the first office's wear or more
	MedianLow  string         `json:"median_low"`  // the earliest that the intervals allow
	MedianHigh string         `json:"median_high"` // the latest that the intervals allow
	ToEnd      bool           `json:"to_end"`      // whether the last office measured has half of it or more, so that where wear falls below half is not seen
	Sentence   string         `json:"sentence"`    // the curve in words
}

type fallingPoint struct {
	Office string `json:"office"` // the office of the day
	Order  int    `json:"order"`  // its place in the day, Matins 1
	dropoff.CurvePoint
}

func fallingNumbersOf(c *dropoff.Curve) *fallingNumbers {
	if c == nil {
		return nil
	}
	out := &fallingNumbers{Median: c.Median.String(), MedianLow: c.MedianLow.String(), MedianHigh: c.MedianHigh.String(), ToEnd: c.ToEnd, Sentence: c.Sentence()}
	for _, p := range c.Points {
		out.Offices = append(out.Offices, fallingPoint{p.Office.String(), p.Office.Order(), p})
	}
	return out
}

type habitNumbers struct {
	dropoff.Habits
	Pages             []string  `json:"pages"`                 // labels of the pages of the series
	Values            []float64 `json:"values" unit:"density"` // their wear, adjusted
	SE                []float64 `json:"se" unit:"density"`     // its standard errors
	ChangeProbability []float64 `json:"each_probability"`      // for each row, the probability that a change follows it
}

func habitNumbersOf(b *codex.Book, h *dropoff.Habits) *habitNumbers {
	if h == nil {
		return nil
	}
	out := &habitNumbers{Habits: *h, Values: h.Series.Values, SE: h.Series.SE}
	if h.Changes != nil {
		out.ChangeProbability = h.Changes.ChangeProbability
	}
	for _, page := range h.Pages {
		out.Pages = append(out.Pages, pageLabel(b, page))
	}
	return out
}

type sharedNumbers struct {
	Set    string         `json:"set"`    // which set of hours
	After  string         `json:"after"`  // last office before the drop, at its most probable place
	Places []placeNumbers `json:"places"` // probability of each place of it
	None   float64        `json:"none"`   // probability that there is no shared drop
	Books  []dropNumbers  `json:"books"`  // each book
	Failed string         `json:"failed"` // why the books could not be taken together; else empty
}

type placeNumbers struct {
	After string `json:"after"` // the office that the drop follows
	Order int    `json:"order"` // its place in the day, Matins 1
	dropoff.SharedPlace
}

type dropNumbers struct {
	Book    string         `json:"book"`       // the book's id
	Drop    float64        `json:"drop"`       // share of the earlier offices' wear that is missing in the later ones
	Low     float64        `json:"low"`        // lower end of its interval, with 95 % confidence for all books at once
	High    float64        `json:"high"`       // upper end of that interval
	Has     bool           `json:"has"`        // whether the interval lies above 0
	Reason  string         `json:"reason"`     // why no share can be given; else empty
	Alone   []placeNumbers `json:"alone"`      // probability of each place from this book alone
	NoDrop  float64        `json:"alone_none"` // probability from this book alone that there is no drop
	LeftOut bool           `json:"left_out"`   // whether the book was left out
}

func placeNumbersOf(places []dropoff.SharedPlace) []placeNumbers {
	var out []placeNumbers
	for _, p := range places {
		out = append(out, placeNumbers{p.After.String(), p.After.Order(), p})
	}
	return out
}

func (r *Results) sharedNumbers() []sharedNumbers {
	var out []sharedNumbers
	for _, s := range r.Shared {
		n := sharedNumbers{Set: s.Set, Failed: s.Failed}
		if s.Shared != nil {
			n.After, n.Places, n.None = s.Shared.After.String(), placeNumbersOf(s.Shared.Places), s.Shared.None
		}
		for _, row := range r.sharedBooks(s) {
			d := dropNumbers{Book: row.book.ID, Reason: row.reason, LeftOut: row.drop == nil, Drop: math.NaN(), Low: math.NaN(), High: math.NaN()}
			if row.reason == "" {
				d.Drop, d.Low, d.High = row.drop.Drop, row.drop.Low, row.drop.High
			}
			if row.drop != nil {
				d.Has, d.Alone, d.NoDrop = row.drop.Has, placeNumbersOf(row.drop.Places), row.drop.None
			}
			n.Books = append(n.Books, d)
		}
		out = append(out, n)
	}
	return out
}

type pairNumbers struct {
	One      readerNumbers       `json:"one"`        // one reader
	Other    readerNumbers       `json:"other"`      // the other
	F        float64             `json:"f"`          // F statistic of the same shares in both
	DF1      float64             `json:"df1"`        // its degrees of freedom above the line
	DF2      float64             `json:"df2"`        // its degrees of freedom below the line
	P        float64             `json:"p"`          // its p-value
	Adjusted float64             `json:"p_adjusted"` // p adjusted over the pairs compared (Holm)
	Together int                 `json:"together"`   // pairs compared
	Asked    bool                `json:"asked"`      // whether the study file asks for the pair
	Offices  []differenceNumbers `json:"offices"`    // how they differ, office by office
	Failed   string              `json:"failed"`     // why they could not be compared; else empty
}

type readerNumbers struct {
	Book string `json:"book"` // the book's id
	Set  string `json:"set"`  // which set of hours
}

type differenceNumbers struct {
	Office string `json:"office"` // the office of the day
	Order  int    `json:"order"`  // its place in the day, Matins 1
	dropoff.OfficeDifference
}

func (r *Results) pairNumbers() []pairNumbers {
	var out []pairNumbers
	for _, p := range r.Pairs {
		n := pairNumbers{
			One: readerNumbers{r.Books[p.One.Book].Book.ID, p.One.Set}, Other: readerNumbers{r.Books[p.Other.Book].Book.ID, p.Other.Set},
			F: math.NaN(), DF1: math.NaN(), DF2: math.NaN(), P: p.P(), Adjusted: p.Adjusted, Together: p.Together, Asked: p.Asked, Failed: p.Failed,
		}
		if d := p.Difference; d != nil {
			n.F, n.DF1, n.DF2 = d.F, d.DF1, d.DF2
			for _, o := range d.Offices {
				n.Offices = append(n.Offices, differenceNumbers{o.Office.String(), o.Office.Order(), o})
			}
		}
		out = append(out, n)
	}
	return out
}
