package report

import (
	"math"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
)

// The parts of results.json that speak of several books and of whole books.

type fallingNumbers struct {
	Offices    []fallingPoint `json:"offices"`
	Median     string         `json:"median"`      // last office to which half of the readings or more were carried on
	MedianLow  string         `json:"median_low"`  // by the bands
	MedianHigh string         `json:"median_high"` // by the bands
	ToEnd      bool           `json:"to_end"`      // where the median reading stopped is not seen
	Sentence   string         `json:"sentence"`
}

type fallingPoint struct {
	Office string  `json:"office"`
	Order  int     `json:"order"`
	Share  float64 `json:"share"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

func fallingNumbersOf(c *dropoff.Curve) *fallingNumbers {
	if c == nil {
		return nil
	}
	out := &fallingNumbers{Median: c.Median.String(), MedianLow: c.MedianLow.String(), MedianHigh: c.MedianHigh.String(), ToEnd: c.ToEnd, Sentence: c.Sentence()}
	for _, p := range c.Points {
		out.Offices = append(out.Offices, fallingPoint{p.Office.String(), p.Office.Order(), p.Share, p.Low, p.High})
	}
	return out
}

type habitNumbers struct {
	Adjusted          []string         `json:"adjusted"`
	Pages             []string         `json:"pages"`
	Values            []float64        `json:"values"`
	SE                []float64        `json:"se"`
	Changes           *dropoff.Changes `json:"changes"`
	ChangeProbability []float64        `json:"each_probability"`
	Nearest           []nearestNumbers `json:"borders"`
	Agrees            bool             `json:"agrees"` // whether agreement and chance have a meaning
	Agreement         float64          `json:"agreement"`
	Chance            float64          `json:"chance"`
	Notes             []string         `json:"notes"`
	Refused           string           `json:"refused"`
}

type nearestNumbers struct {
	Section string `json:"section"`
	Pages   int    `json:"pages"`
	Holds   bool   `json:"holds"`
}

func habitNumbersOf(b *codex.Book, h *dropoff.Habits) *habitNumbers {
	if h == nil {
		return nil
	}
	out := &habitNumbers{Adjusted: h.Adjusted, Values: h.Series.Values, SE: h.Series.SE, Changes: h.Changes,
		Agrees: h.Agrees, Agreement: h.Agreement, Chance: h.Chance, Notes: h.Notes, Refused: h.Refused}
	if h.Changes != nil {
		out.ChangeProbability = h.Changes.ChangeProbability
	}
	for _, page := range h.Pages {
		out.Pages = append(out.Pages, pageLabel(b, page))
	}
	for _, border := range h.Nearest {
		out.Nearest = append(out.Nearest, nearestNumbers{border.Section, border.Pages, border.Holds})
	}
	return out
}

type sharedNumbers struct {
	Set    string         `json:"set"`
	After  string         `json:"after"`
	Places []placeNumbers `json:"places"`
	None   float64        `json:"none"`
	Books  []dropNumbers  `json:"books"`
	Failed string         `json:"failed"`
}

type placeNumbers struct {
	After       string  `json:"after"`
	Order       int     `json:"order"`
	Probability float64 `json:"probability"`
}

type dropNumbers struct {
	Book    string         `json:"book"`
	Drop    float64        `json:"drop"`
	Low     float64        `json:"low"`
	High    float64        `json:"high"`
	Has     bool           `json:"has"`
	Reason  string         `json:"reason"` // why there is no interval; else empty
	Alone   []placeNumbers `json:"alone"`  // probabilities of places from this book alone
	NoDrop  float64        `json:"alone_none"`
	LeftOut bool           `json:"left_out"`
}

func placeNumbersOf(places []dropoff.SharedPlace) []placeNumbers {
	var out []placeNumbers
	for _, p := range places {
		out = append(out, placeNumbers{p.After.String(), p.After.Order(), p.Probability})
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
			d := dropNumbers{Book: row.book.ID, Reason: row.reason, LeftOut: row.drop == nil}
			for _, value := range []struct {
				to *float64
				of func(*dropoff.BookDrop) float64
			}{
				{&d.Drop, func(b *dropoff.BookDrop) float64 { return b.Drop }},
				{&d.Low, func(b *dropoff.BookDrop) float64 { return b.Low }},
				{&d.High, func(b *dropoff.BookDrop) float64 { return b.High }},
			} {
				*value.to = row.value(value.of)
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
	One      readerNumbers       `json:"one"`
	Other    readerNumbers       `json:"other"`
	F        float64             `json:"f"`
	DF1      float64             `json:"df1"`
	DF2      float64             `json:"df2"`
	P        float64             `json:"p"`
	Adjusted float64             `json:"p_adjusted"`
	Together int                 `json:"together"`
	Asked    bool                `json:"asked"`
	Offices  []differenceNumbers `json:"offices"`
	Failed   string              `json:"failed"`
}

type readerNumbers struct {
	Book string `json:"book"`
	Set  string `json:"set"`
}

type differenceNumbers struct {
	Office     string  `json:"office"`
	Order      int     `json:"order"`
	Difference float64 `json:"difference"`
	Low        float64 `json:"low"`
	High       float64 `json:"high"`
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
				n.Offices = append(n.Offices, differenceNumbers{o.Office.String(), o.Office.Order(), o.Difference, o.Low, o.High})
			}
		}
		out = append(out, n)
	}
	return out
}
