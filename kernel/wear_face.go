package kernel

import (
	"slices"

	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/report"
	"thumbed/models/study"
)

// measuringFaces shows what the log says of the measuring, and the wear of
// every page.
func measuringFaces(s *study.Study, r *readings.Result) ([]Output, error) {
	drift, err := figureFaces(report.ShowDrift(r.Drift))
	if err != nil {
		return nil, err
	}
	return slices.Concat(textFaces(r.Text()), drift, wearFaces(s, r.Wear)), nil
}

// wearFaces shows the wear of pages, as many tables as there are books.
func wearFaces(s *study.Study, wear []readings.Wear) []Output {
	var out []Output
	for i, b := range s.Books {
		if g := report.ShowWear(b, ofBook(wear, i)); g.Count() > 0 {
			out = append(out, tableOutput(g))
		}
	}
	return out
}

func ofBook(wear []readings.Wear, book int) []readings.Wear {
	var out []readings.Wear
	for _, w := range wear {
		if w.Book == book {
			out = append(out, w)
		}
	}
	return out
}

// profileFaces shows the profile of a book: the wear along it, its texts by wear,
// and the pages that stand out.
func profileFaces(s *study.Study, p *profile.Profile) ([]Output, error) {
	wear, err := s.Wear()
	if err != nil {
		return nil, err
	}
	return shownFaces(report.ShowProfile(s.Books[p.Book], p, ofBook(wear.Wear, p.Book)))
}
