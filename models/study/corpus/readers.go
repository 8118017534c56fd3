package corpus

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/dropoff/readers"
	"thumbed/models/report"
)

// common is the share of readers in whom an office must be measured to be
// compared, where the scholar names none (common practice, no source): an office
// that a tenth lack would cost more readers than it tells of.
const common = 0.9

// compare compares the readers of one set of hours on the same offices and
// groups them.
func (c *Corpus) compare(out *report.Corpus) {
	r, compared := out.Readers, &out.Compared
	if compared.Set, compared.Refused = c.chooseSet(r); compared.Refused != "" {
		return
	}
	if compared.Offices = c.chooseOffices(r, compared.Set); len(compared.Offices) < 2 {
		compared.Refused = "No two offices were measured in nine of ten readers: name the offices to compare under [readers]."
		return
	}
	var shapes []readers.Shape
	at := map[string]int{}
	for i := range r {
		if r[i].Set != compared.Set {
			r[i].Why = "Other hours are compared."
			continue
		}
		shape, why := shapeOf(out.Books[r[i].Book].ID, &r[i], compared.Offices)
		if r[i].Why = why; why != "" {
			continue
		}
		r[i].Shape = shape.Values
		for j := range shape.Values {
			r[i].ShapeSE = append(r[i].ShapeSE, math.Sqrt(shape.Covariance.At(j, j)))
		}
		at[shape.Name] = i
		shapes = append(shapes, shape)
	}
	compared.Readers = len(shapes)
	g, err := readers.Group(shapes, readers.Options{Most: c.Readers.Most, Draws: c.Readers.Draws, Seed: c.Readers.Seed})
	if err != nil {
		compared.Refused = "Readers are not grouped: " + err.Error() + "."
		return
	}
	compared.Grouping = g
	for _, m := range g.Members {
		of := &r[at[m.Name]]
		of.Letter, of.Kept = m.Letter, m.Kept
		if g.Continuum != nil {
			of.Place, of.PlaceLow, of.PlaceHigh = m.Place, m.PlaceLow, m.PlaceHigh
		}
	}
}

// chooseSet is the set of hours to compare: the scholar's, or that of most
// readers.
func (c *Corpus) chooseSet(all []report.CorpusReader) (set, refused string) {
	count := map[string]int{}
	for _, r := range all {
		count[r.Set]++
	}
	sets := slices.Sorted(maps.Keys(count))
	if len(sets) == 0 {
		return "", "No book has hours whose pages were measured, so that there are no readers to compare."
	}
	if set = c.Readers.Set; set != "" {
		if count[set] == 0 {
			return "", fmt.Sprintf("No book has the hours “%s”; there are %s.", set, strings.Join(sets, ", "))
		}
		return set, ""
	}
	for i, s := range sets {
		if i == 0 || count[s] > count[set] {
			set = s
		}
	}
	return set, ""
}

func (c *Corpus) chooseOffices(all []report.CorpusReader, set string) []codex.Office {
	var out []codex.Office
	if len(c.Readers.Offices) > 0 {
		for _, name := range c.Readers.Offices {
			office, err := codex.ParseOffice(name)
			if err == nil { // else reported when the file was read
				out = append(out, office)
			}
		}
		slices.Sort(out)
		return out
	}
	count, total := map[codex.Office]int{}, 0
	for _, r := range all {
		if r.Set == set && r.Covariance != nil {
			total++
			for _, o := range r.Offices {
				count[o.Office]++
			}
		}
	}
	for _, office := range codex.Offices() {
		if n := count[office]; n > 0 && float64(n) >= common*float64(total) {
			out = append(out, office)
		}
	}
	return out
}

// shapeOf is the shape of a reader's curve on the offices; why says why it has
// none.
func shapeOf(name string, r *report.CorpusReader, offices []codex.Office) (s readers.Shape, why string) {
	if r.Covariance == nil {
		return s, r.Refused
	}
	var lacking []string
	var at []int
	for _, office := range offices {
		k := slices.IndexFunc(r.Offices, func(o dropoff.OfficeShare) bool { return o.Office == office })
		if k < 0 {
			lacking = append(lacking, office.String())
		}
		at = append(at, k)
	}
	if lacking != nil {
		return s, "No page of " + strings.Join(lacking, " or ") + " was measured within the instrument’s limits."
	}
	wear, covariance := make([]float64, len(at)), mat.NewSymDense(len(at), nil)
	for i, a := range at {
		wear[i] = r.Offices[a].Wear
		for j, b := range at {
			covariance.SetSym(i, j, r.Covariance[a*len(r.Offices)+b])
		}
	}
	s, err := readers.ShapeOf(name, wear, covariance)
	if err != nil {
		return s, err.Error()
	}
	return s, ""
}
