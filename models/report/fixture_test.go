package report

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/hypotheses"
	"thumbed/models/mixed"
	"thumbed/models/profile"
	"thumbed/models/readings"
	"thumbed/models/table"
)

// fixture is an invented study with every case that a face must show: books
// with lost leaves, bis and supplied folios, pictures, pages that stand out,
// bounds, a set of hours too narrow for names, a refusal, a book without wear, a
// model fitted book by book, one that failed and one on the boundary, numbers
// that are missing or without bound, and names beyond Latin-1.
func fixture(t testing.TB) *Results {
	t.Helper()
	books := fixtureBooks(t)
	rng := rand.New(rand.NewPCG(7, 11))
	r := &Results{
		Meta: Meta{
			Title: "Thumbs at Marrowick", Author: "E. Łasica", Invented: true, Program: "thumbed 0.1.0",
			Note: "A town that never was, and its books: made to try the report.",
		},
		Readings: &readings.Result{
			Precision: readings.Precision{Repeatability: 0.0061, DF: 412, Cells: 420, Between: 0.0032, Reproducibility: 0.0069, Groups: []string{"EL", "TW"}, SpotSpread: math.NaN(), SpotSpreadDF: math.NaN()},
			Counted:   readings.Counted{Readings: 1480, Page: 900, Zero: 520, Tile: 60, Excluded: 2, AtFloor: 9, AtCeiling: 3},
			Drift: []readings.DayDrift{
				{Day: "2026-03-09", Instrument: "R410", Readings: 6, Start: 0.001, End: 0.009, SE: 0.0012, Correction: readings.DriftOffset},
				{Day: "2026-03-10", Instrument: "R410", Readings: 5, Start: -0.002, End: 0.006, SE: 0.0013, Correction: readings.DriftOffset},
				{Day: "2026-03-10", Instrument: "K7", Readings: 4, Start: 0.0, End: -0.004, SE: 0.0015, Correction: readings.DriftOffset},
				{Day: "2026-03-11", Instrument: "K7", Readings: 1, Start: 0.003, End: 0.003, SE: math.NaN(), Correction: readings.DriftNone},
			},
			Excluded: []readings.Excluded{
				{File: "readings-2026-03.csv", Line: 88, Book: "MW1", Page: "14r", Density: 0.92, Reason: "the wax spot, not the corner"},
				{File: "readings-2026-03.csv", Line: 301, Book: "MW2", Page: "7v", Density: 0.11, Reason: "lamp left on"},
			},
			Notes: []string{"Placings on the darkest of several spots were brought to one spot by the expected order statistic."},
		},
		Notes: []string{"The seed of all random numbers is 1."},
	}
	for i, b := range books {
		if b.ID == "MW3" {
			r.Books = append(r.Books, BookResult{Book: b, Failed: []string{"no page of this book was measured: add its readings to the log"}})
			continue
		}
		r.Books = append(r.Books, fixtureBook(rng, r.Readings, i, b))
	}
	r.Books[0].Declines = append(r.Books[0].Declines, &dropoff.Decline{
		Book: 0, Set: "of the Cross", Share: math.NaN(), Low: math.NaN(), High: math.NaN(),
		Refused: "the first office itself is hardly worn, 0.004 density, so that a share of it means nothing: measure more pages of it, or compare levels instead",
	})
	fixtureReaders(r)
	r.Models = fixtureModels()
	r.Answers = fixtureAnswers()
	return r
}

// fixtureReaders adds what books say together: a shared drop with a book left
// out, readers compared, one pair in vain, and habits along one book.
func fixtureReaders(r *Results) {
	one, other := r.Books[0].Declines[0], r.Books[1].Declines[0]
	one.Curve = &dropoff.Curve{Median: codex.Sext, MedianLow: codex.Terce, MedianHigh: codex.None}
	for k, o := range one.Offices {
		share := []float64{1, 1, 0.98, 0.98, 0.9, 0.4, 0.4, 0.35}[k]
		one.Curve.Points = append(one.Curve.Points, dropoff.CurvePoint{Office: o.Office, Share: share, Low: 0.8 * share, High: min(1, 1.2*share)})
	}
	places := func(most float64) (out []dropoff.SharedPlace) {
		for office := codex.Matins; office < codex.Compline; office++ {
			p := dropoff.SharedPlace{After: office, Probability: (0.99 - most) / 6}
			if office == codex.Sext {
				p.Probability = most
			}
			out = append(out, p)
		}
		return out
	}
	third := &dropoff.Decline{Book: 2, Set: "of the Virgin", Refused: "No page of these hours was measured: measure pages of the first and of the last office at least."}
	r.Shared = []SharedDrop{{Set: "of the Virgin", Readers: []*dropoff.Decline{one, other, third}, Shared: &dropoff.SharedChange{
		After: codex.Sext, Places: places(0.96), None: 0.01,
		Books: []dropoff.BookDrop{
			{Decline: 0, Drop: 0.62, Low: 0.48, High: 0.74, Has: true, Places: places(0.9), None: 0.01},
			{Decline: 1, Drop: 0.35, Low: 0.11, High: 0.6, Has: true, Places: places(0.3), None: 0.01},
		},
		Left: []dropoff.LeftOut{{Decline: 2, Why: third.Refused}},
	}}, {Set: "of the Cross", Failed: "a drop-off can only be shared by two books or more with several offices measured: measure more"}}
	pair := func(p float64) *dropoff.Difference {
		d := &dropoff.Difference{F: 4.2, DF1: 7, DF2: 22.4, P: p}
		for office := codex.Lauds; office <= codex.Compline; office++ {
			d.Offices = append(d.Offices, dropoff.OfficeDifference{Office: office, Difference: -0.031 * float64(office), Low: -0.05 * float64(office), High: -0.01 * float64(office)})
		}
		return d
	}
	virgin, cross := Reader{0, "of the Virgin"}, Reader{0, "of the Cross"}
	r.Pairs = []ReaderPair{
		{One: virgin, Other: Reader{1, "of the Virgin"}, Difference: pair(0.004), Adjusted: 0.008, Together: 2, Asked: true},
		{One: virgin, Other: cross, Difference: pair(0.4), Adjusted: 0.4, Together: 2},
		{One: virgin, Other: Reader{2, "of the Virgin"}, Adjusted: math.NaN(), Together: 2, Asked: true, Failed: "two readers can be compared only where two offices or more were measured in both: measure more of the same offices"},
	}
	r.Books[0].Habits = fixtureHabits(r, 0)
	r.Books[1].Habits = &dropoff.Habits{Book: 1, Refused: "10 pages were measured, 0 of them at the instrument's floor or ceiling: too little to find habits in. Measure 20 pages or more, or with a finer instrument."}
}

func fixtureHabits(r *Results, book int) *dropoff.Habits {
	h := &dropoff.Habits{Book: book, Adjusted: []string{"pictures"}, Agrees: true, Agreement: 0.41, Chance: 0.7, Notes: []string{"Sections were not looked at."}}
	for _, w := range r.Readings.OfBook(book) {
		h.Series.Values = append(h.Series.Values, w.Density)
		h.Series.SE = append(h.Series.SE, w.SE)
		h.Series.Labels = append(h.Series.Labels, pageLabel(r.Books[book].Book, w.Page))
		h.Pages = append(h.Pages, w.Page)
	}
	n := len(h.Pages)
	h.Changes = &dropoff.Changes{N: n, Criterion: "modified Bayesian information criterion", ChangeProbability: make([]float64, n), Labels: h.Series.Labels}
	from := 1
	for k, after := range []int{20, 62, 64, 90} {
		h.Changes.Changes = append(h.Changes.Changes, dropoff.Change{After: after, At: h.Series.Labels[after-1], Low: after - k, High: after + k/2, Probability: 0.99 - 0.1*float64(k), Size: 0.1, SizeLow: 0.05, SizeHigh: 0.15})
		h.Changes.Levels = append(h.Changes.Levels, dropoff.Level{From: from, To: after, Mean: 0.1 + 0.05*float64(k), SE: 0.01})
		h.Changes.ChangeProbability[after-1] = 0.9 - 0.1*float64(k)
		h.Nearest = append(h.Nearest, dropoff.NearestSection{Section: []string{"Matins", "Terce", "Sext", "Litany"}[k], Pages: k - 1, Holds: k < 3})
		from = after + 1
	}
	h.Changes.Levels = append(h.Changes.Levels, dropoff.Level{From: from, To: n, Mean: 0.08, SE: 0.02})
	return h
}

// fixtureBooks writes the invented books' tables and reads them back.
func fixtureBooks(t testing.TB) []*codex.Book {
	t.Helper()
	dir := t.TempDir()
	write := func(name string, lines []string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	leaves := []string{"book,leaf,quire,state,conjugate"}
	for _, id := range []string{"MW1", "MW2"} {
		leaves = append(leaves, id+",i,,,", id+",ii,,,")
		for k := 1; k <= 72; k++ {
			state := ""
			label := fmt.Sprint(k)
			switch {
			case id == "MW1" && (k == 23 || k == 24):
				state = "lost"
			case id == "MW2" && k == 41:
				state = "lost"
			case k == 50:
				label = "[50]"
			}
			leaves = append(leaves, fmt.Sprintf("%s,%s,,%s,", id, label, state))
			if k == 30 {
				leaves = append(leaves, id+",30bis,,,")
			}
		}
	}
	for k := 1; k <= 8; k++ {
		leaves = append(leaves, fmt.Sprintf("MW3,%d,,,", k))
	}
	pages := []string{"book,page,picture,subject"}
	for _, p := range []string{"13r,an angel at a well", "21r,two women at a gate", "28r,shepherds", "31v,a king asleep", "36r,the flight", "52r,", "58v,a funeral", "66r,a saint with a loom"} {
		page, subject, _ := strings.Cut(p, ",")
		if page == "52r" || page == "50r" {
			page = "52r"
		}
		pages = append(pages, "MW1,"+page+",yes,"+subject, "MW2,"+page+",yes,"+subject)
	}
	sections := []string{"book,section,kind,set,office,extent"}
	for _, id := range []string{"MW1", "MW2"} {
		sections = append(sections,
			id+",Calendar,calendar,,,ff. 1r–12v",
			id+",Matins,hours,of the Virgin,Matins,ff. 13r–20v", id+",Lauds,hours,of the Virgin,Lauds,ff. 21r–27v",
			id+",Prime,hours,of the Virgin,Prime,ff. 28r–30v", id+",Terce,hours,of the Virgin,Terce,ff. 30bisr–32v",
			id+",Sext,hours,of the Virgin,Sext,ff. 33r–35v", id+",None,hours,of the Virgin,None,ff. 36r–38v",
			id+",Vespers,hours,of the Virgin,Vespers,ff. 39r–43v", id+",Compline,hours,of the Virgin,Compline,ff. 44r–46v")
		for k, o := range []string{"Matins", "Prime", "Terce", "Sext", "None", "Vespers", "Compline"} {
			page := fmt.Sprintf("%d%s", 47+k/2, []string{"r", "v"}[k%2])
			if 47+k/2 == 50 {
				page = "[50]" + []string{"r", "v"}[k%2]
			}
			sections = append(sections, fmt.Sprintf("%s,%s,hours,of the Cross,%s,f. %s", id, o, o, page))
		}
		sections = append(sections, id+",Penitential psalms,psalms,,,ff. 51r–56v", id+",Litany,litany,,,ff. 57r–58r",
			id+",Office of the dead,office of the dead,,,ff. 58v–65v")
		for k := range 6 {
			sections = append(sections, fmt.Sprintf("%s,Suffrage of St Wenna %d,suffrage,,,ff. %dr–%dv", id, k+1, 66+k, 66+k))
		}
	}
	var problems table.Problems
	books := codex.Load(codex.Paths{
		Books: write("books.csv", []string{"book,title,owner,place,date,material,outer",
			"MW1,The hours of Hester Quill,Hester Quill,Marrowick,c. 1460,parchment,hair",
			"MW2,The hours of Tomas Wřel,Tomas Wřel,Marrowick,c. 1480,parchment,hair",
			"MW3,A fragment,,,,,"}),
		Leaves: write("leaves.csv", leaves), Pages: write("pages.csv", pages), Sections: write("sections.csv", sections),
	}, &problems)
	if err := problems.Err(); err != nil {
		t.Fatal(err)
	}
	return books
}

// fixtureLevel is the invented wear of a section.
func fixtureLevel(b *codex.Book, section int) float64 {
	if section < 0 {
		return 0.02
	}
	s := b.Sections[section]
	level := map[string]float64{"calendar": 0.06, "psalms": 0.12, "litany": 0.08, "office of the dead": 0.21, "suffrage": 0.1}[s.Kind]
	if s.Kind == "hours" {
		level = 0.34 - 0.03*float64(s.Office)
		if s.Office >= codex.None {
			level = 0.07
		}
		if s.Set == "of the Cross" {
			level = 0.03
		}
	}
	if b.ID == "MW2" {
		level = 0.3 * level
	}
	return level
}

func fixtureBook(rng *rand.Rand, log *readings.Result, index int, b *codex.Book) BookResult {
	p := &profile.Profile{Book: index, Rate: 0.05, Notes: []string{"The smooth has 11.4 effective degrees of freedom."}}
	if index == 0 {
		p.Curve.Picture, p.Curve.PictureSE = 0.14, 0.008
	}
	out := BookResult{Book: b, Profile: p}
	carried := &dropoff.Decline{Book: index, Set: "of the Virgin", Adjusted: []string{"picture", "incipit", "quire_place"}}
	sums := map[int][]float64{}
	for k, page := range b.Pages {
		if page.Lost {
			continue
		}
		level := fixtureLevel(b, page.Section)
		if n := len(p.Curve.Position); n > 0 && p.Curve.Position[n-1] != page.Position-1 {
			p.Curve.Breaks = append(p.Curve.Breaks, n)
		}
		p.Curve.Position = append(p.Curve.Position, page.Position)
		p.Curve.Estimate = append(p.Curve.Estimate, level)
		p.Curve.SE = append(p.Curve.SE, 0.012)
		p.Curve.Low = append(p.Curve.Low, level-0.024)
		p.Curve.High = append(p.Curve.High, level+0.024)
		if page.Section < 0 || rng.Float64() < 0.06 {
			continue
		}
		w := readings.Wear{Book: index, Page: k, Density: level + 0.02*rng.NormFloat64(), SE: 0.004 + 0.004*rng.Float64(), DF: 412, Coverage: level / 2, CoverageSE: 0.006, Placings: 3, Zeros: 2, Spot: "fixed"}
		if page.Picture && page.Subject != "" {
			w.Density += 0.14
			p.Standouts = append(p.Standouts, profile.Standout{Page: k, Excess: w.Density - level, SE: 0.02, Low: w.Density - level - 0.04, High: w.Density - level + 0.04, P: 1e-7, Q: 3e-6})
		}
		switch {
		case w.Density < 0.01:
			w.Limit, w.Density = readings.Below, 0.01
		case w.Density > 0.43:
			w.Limit, w.Density = readings.Above, 0.43
		default:
			sums[page.Section] = append(sums[page.Section], w.Density)
		}
		log.Wear = append(log.Wear, w)
		p.Measured++
		if s := b.Sections[page.Section]; s.Set == "of the Virgin" && w.Limit == readings.Measured {
			carried.Series.Values = append(carried.Series.Values, w.Density)
			carried.Series.SE = append(carried.Series.SE, w.SE)
			carried.Series.Labels = append(carried.Series.Labels, page.Label.String())
			carried.Offs = append(carried.Offs, s.Office)
			carried.Pages = append(carried.Pages, k)
		}
	}
	p.Tested = p.Measured
	for k, s := range b.Sections {
		values := sums[k]
		if len(values) == 0 {
			continue
		}
		mean, n := 0.0, float64(len(values))
		for _, v := range values {
			mean += v / n
		}
		se := 0.02 / math.Sqrt(n)
		p.Areas = append(p.Areas, profile.Area{Section: k, Pages: len(s.Pages), Measured: len(values), Total: mean * float64(len(s.Pages)), TotalSE: se * n,
			TotalLow: (mean - 2*se) * n, TotalHigh: (mean + 2*se) * n, PerPage: mean, PerPageSE: se, PerPageLow: mean - 2*se, PerPageHigh: mean + 2*se, DF: n + 3.4})
		if s.Set == "of the Virgin" {
			carried.Offices = append(carried.Offices, dropoff.OfficeShare{Office: s.Office, Pages: len(values), Wear: mean, SE: se})
		}
	}
	fixtureCarried(carried)
	out.Declines = []*dropoff.Decline{carried}
	return out
}

func fixtureCarried(c *dropoff.Decline) {
	first := c.Offices[0].Wear
	for i := range c.Offices {
		o := &c.Offices[i]
		o.Share = o.Wear / first
		o.Low, o.High = o.Share-2*o.SE/first, o.Share+2*o.SE/first
	}
	last := c.Offices[len(c.Offices)-1]
	c.Share, c.Low, c.High = last.Share, last.Low, last.High
	c.Less, c.More = c.High < 1, c.Low > 1
	n := len(c.Series.Values)
	after := 0
	for i, o := range c.Offs {
		if o <= codex.Sext {
			after = i + 1
		}
	}
	c.Changes = &dropoff.Changes{
		N: n, Criterion: "modified Bayesian information criterion (Zhang and Siegmund 2007)",
		Changes:           []dropoff.Change{{After: after, At: c.Series.Labels[after-1], Low: after - 2, High: after + 1, Probability: 0.97, Size: -0.12, SizeLow: -0.14, SizeHigh: -0.1}},
		Levels:            []dropoff.Level{{From: 1, To: after, Mean: 0.24, SE: 0.006}, {From: after + 1, To: n, Mean: 0.08, SE: 0.007}},
		ChangeProbability: make([]float64, n),
	}
	for k, chance := range []float64{0.06, 0.22, 0.55, 0.14} {
		c.Changes.ChangeProbability[after-3+k] = chance
	}
}

func fixtureModels() []ModelResult {
	pictures := mixed.Model{Outcome: "wear", Scale: "identity", Estimate: "restricted", Fixed: []mixed.Term{{"picture"}, {"office_order"}, {"picture", "office_order"}},
		Random: []mixed.Random{{By: []string{"book"}, Terms: []string{"intercept", "picture"}, Correlated: true}, {By: []string{"book", "quire"}, Terms: []string{"intercept"}}}}
	fit := &mixed.Fit{N: 268, Estimate: "restricted", LogLik: 402.318, MinusTwiceLogLik: -804.636, Converged: true, Boundary: []string{"picture by book"}, Seconds: 0.018,
		Fixed: []mixed.Coefficient{
			{Term: "intercept", Estimate: 0.2412, SE: 0.0311, DF: 3.2, T: 7.75, P: 0.0034, Low: 0.146, High: 0.337},
			{Term: "picture=yes", Estimate: 0.1013, SE: 0.0124, DF: 214.6, T: 8.17, P: 2.4e-14, Low: 0.0769, High: 0.1257},
			{Term: "office_order", Estimate: -0.0291, SE: 0.0022, DF: 250.1, T: -13.2, P: 1e-30, Low: -0.0334, High: -0.0248},
			{Term: "picture=yes × office_order", Estimate: 0.0017, SE: 0.0031, DF: 249, T: 0.55, P: 0.58, Low: -0.0044, High: 0.0078},
		},
		Random: []mixed.RandomFit{
			{By: []string{"book"}, Terms: []string{"intercept", "picture"}, SD: []float64{0.054, 0}, Correlation: [][]float64{{1, 0}, {0, 1}}, Groups: 2},
			{By: []string{"book", "quire"}, Terms: []string{"intercept"}, SD: []float64{0.011}, Correlation: [][]float64{{1}}, Groups: 19},
		},
		Residual:   mixed.ResidualFit{SD: 0.0214},
		Inferences: mixed.Inferences{Notes: []string{"The variance of picture between books is estimated as zero: two books cannot show how the pull of pictures differs between owners. The answer about pictures holds for these books; measure more books, or leave the term out."}},
	}
	out := []ModelResult{{Name: "pictures", About: "Do pictures attract handling, once the office is allowed for?", Model: pictures, Fit: fit}}
	for i, id := range []string{"MW1", "MW2"} {
		f := &mixed.Fit{N: 130, Estimate: "restricted", LogLik: 200, MinusTwiceLogLik: -400, Converged: i == 0,
			Fixed: []mixed.Coefficient{
				{Term: "intercept", Estimate: 0.3, SE: 0.02, DF: 20, T: 15, P: 1e-9, Low: 0.26, High: 0.34},
				{Term: "office_order", Estimate: -0.04 + 0.035*float64(i), SE: 0.004, DF: 18.2, T: -10, P: 0.2 * float64(i), Low: -0.048 + 0.035*float64(i), High: -0.032 + 0.038*float64(i)},
			},
			Random:   []mixed.RandomFit{{By: []string{"quire"}, Terms: []string{"intercept", "edge"}, SD: []float64{0.01, 0.003}, Correlation: [][]float64{{1, -0.42}, {-0.42, 1}}, Groups: 10}},
			Residual: mixed.ResidualFit{SD: 0.02, Rho: 0.31},
		}
		out = append(out, ModelResult{Name: "evening", About: "Does wear fall along the day?", Book: id, Model: mixed.Model{Outcome: "wear", Scale: "identity", Estimate: "restricted", Fixed: []mixed.Term{{"office_order"}}}, Fit: f})
	}
	return append(out, ModelResult{Name: "languages", About: "Is the vernacular read more?", Model: mixed.Model{Outcome: "wear", Fixed: []mixed.Term{{"language"}}},
		Failed: "the column language has one level only, Latin: there is nothing to compare; leave it out or record the vernacular pages"})
}

func fixtureAnswers() []hypotheses.Answer {
	return []hypotheses.Answer{
		{Question: hypotheses.Question{Words: "Do pictures attract handling?", Model: "pictures", Contrast: map[string]float64{"picture=yes": 1}, Direction: "more", Smallest: 0.02, Asked: "before", Family: "main"},
			Effect:   mixed.Coefficient{Term: "1 × picture=yes", Estimate: 0.1013, SE: 0.0124, DF: 214.6, T: 8.17, P: 1.2e-14, Low: 0.0769, High: 0.1257},
			Adjusted: 2.4e-14, Verdict: "yes", Sentence: "Yes: pages with a picture are worn more by 0.101 density (95 % interval 0.077 to 0.126), at least the 0.02 that would matter"},
		{Question: hypotheses.Question{Words: "Does wear fall along the day?", Model: "evening", Contrast: map[string]float64{"office_order": 1}, Direction: "less", Asked: "after", Family: "main"}, Book: "MW2",
			Effect:   mixed.Coefficient{Term: "office_order", Estimate: -0.005, SE: 0.004, DF: 18.2, T: -1.25, P: 0.11, Low: math.Inf(-1), High: 0.006},
			Adjusted: 0.22, Verdict: "open", Sentence: "Open: the change from one office to the next is −0.005 density; the readings cannot tell it from none"},
	}
}
