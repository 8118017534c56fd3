package kernel

import (
	"fmt"
	"math"
	"slices"

	"github.com/go-gota/gota/series"
	"github.com/kniren/gota/dataframe"

	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/study"
)

// Readings is all that the log says of one page, given as the book's name and the
// page's label ("11r"): a row a reading, in the order of the log.
func Readings(s *study.Study, book, page string) dataframe.DataFrame {
	b := Must(s.Book(book))
	at := slices.Index(s.Books, b)
	var day, time, instrument, target, spot, left []string
	var density []float64
	for _, r := range s.Log.Readings {
		if r.Book != at || b.Pages[r.Page].Label.String() != page {
			continue
		}
		minutes := int(math.Round(r.Hour * 60))
		day, time = append(day, r.Day), append(time, fmt.Sprintf("%02d:%02d", minutes/60, minutes%60))
		instrument, target, spot = append(instrument, s.Log.Instruments[r.Instrument].ID), append(target, string(r.Target)), append(spot, string(r.Spot))
		density, left = append(density, r.Density), append(left, r.Excluded)
	}
	if len(day) == 0 {
		Check(fmt.Errorf("the log has no reading of page %s of %s; a page is named as in the table of leaves, for example %s", page, book, b.Pages[0].Label))
	}
	return dataframe.New(series.New(day, series.String, "date"), series.New(time, series.String, "time"), series.New(instrument, series.String, "instrument"),
		series.New(target, series.String, "target"), series.New(spot, series.String, "spot"), series.New(density, series.Float, "density"), series.New(left, series.String, "excluded"))
}

// Wear is the wear of every measured page, with the report on the measuring
// ([study.Study.Wear]); where it cannot be computed, the cell ends with why.
func Wear(s *study.Study) *readings.Result { return Must(s.Wear()) }

// ShowAlong shows the wear along one book, given by its name: what stands out, by
// text, and the chart ([profile.Of]).
func ShowAlong(s *study.Study, book string) {
	at := slices.Index(s.Books, Must(s.Book(book)))
	ShowIn(s, Must(profile.Of(s.Books, at, Wear(s).Wear)))
}
