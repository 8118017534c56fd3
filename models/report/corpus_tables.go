package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/dropoff"
	"thumbed/models/dropoff/readers"
	"thumbed/models/mixed"
	"thumbed/models/readings"
	"thumbed/models/report/grid"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// Tables are all tables of the corpus by file name without extension.
func (c *Corpus) Tables() map[string]*table.Table {
	out := map[string]*table.Table{}
	for _, s := range c.sheets() {
		out[s.Name], _ = s.Disk()
	}
	return out
}

func (c *Corpus) sheets() []grid.Grid {
	whole := c.whole()
	sheets := []grid.Grid{
		c.sentenceSheet(), whole.answerSheet(), c.bookSheet(), c.failureSheet(),
		c.readerSheet(), c.readerOfficeSheet(), c.kindTable(), c.gapTable(),
		whole.modelSheet(), whole.fixedSheet(), whole.randomSheet(), precisionTable(c.precisionRows()),
	}
	if c.Pages != nil {
		sheets = append(sheets, grid.OnDisk("pages", "Every page with its wear and the columns that models need: a model is fitted to those that have a value in each of its columns", c.Pages, readings.JoinedSchema(c.Pages)))
	}
	if t := c.Traces; t != nil {
		sheets = append(sheets, t.codingSheet(), t.stateSheet(), t.agreementSheet(), t.gradeSheet(), t.confusionSheet(), t.traceModelSheet(), t.effectSheet(), t.meanSheet(), t.expectedSheet(), whole.toldSheet())
	}
	return sheets
}

func (c *Corpus) sentenceSheet() grid.Grid {
	m := grid.Of("sentences", "The answers in words", c.Sentences())
	m.Label("topic", "question, stopped or sure", func(s Sentence) string { return string(s.Topic) })
	m.Label("text", "the sentence", func(s Sentence) string { return s.Text })
	return m.Made()
}

func (c *Corpus) bookSheet() grid.Grid { return bookTable("books", "The books", c.Books) }

func bookTable(name, title string, rows []CorpusBook) grid.Grid {
	profiled := func(of func(CorpusBook) float64) func(CorpusBook) float64 {
		return func(b CorpusBook) float64 {
			if !b.Profiled {
				return math.NaN()
			}
			return of(b)
		}
	}
	known := func(can func(CorpusBook) bool, of func(CorpusBook) grid.Cell) func(CorpusBook) grid.Cell {
		return func(b CorpusBook) grid.Cell {
			if !b.Profiled || !can(b) {
				return grid.Instead("–")
			}
			return of(b)
		}
	}
	always := func(CorpusBook) bool { return true }
	m := grid.Of(name, title, rows)
	m.Show("Book", func(b CorpusBook) grid.Cell { return grid.Words(b.name()) })
	m.Label("book", "the book's id", func(b CorpusBook) string { return b.ID })
	m.Label("folder", "where its tables are, from the folder of the corpus file", func(b CorpusBook) string { return b.Folder }).As("Folder")
	m.Label("title", "as books.csv has it", func(b CorpusBook) string { return b.Title })
	m.Label("owner", "as books.csv has it", func(b CorpusBook) string { return b.Owner })
	m.Count("leaves", "leaves, lost ones counted", func(b CorpusBook) int { return b.Leaves })
	m.Count("lost", "of these, lost", func(b CorpusBook) int { return b.Lost })
	m.Count("readings", "readings of its pages and their zeros, those left out with a reason counted", func(b CorpusBook) int { return b.Readings })
	m.Count("measured", "pages with wear, those at an instrument's limit counted", func(b CorpusBook) int { return b.Measured }).As("Pages", 0)
	m.Count("at_limit", "of these, at an instrument's limit", func(b CorpusBook) int { return b.AtLimit })
	m.Number("wear", "mean wear of the pages measured within the limits, density", func(b CorpusBook) float64 { return b.Wear }).As("Wear", wording.DensityDecimals)
	m.Number("repeatability", "standard deviation between placings on one spot, of all books of the folder (s_r, ISO 5725-2), density", func(b CorpusBook) float64 { return b.Repeatability })
	m.Number("repeatability_df", "its degrees of freedom", func(b CorpusBook) float64 { return b.RepeatabilityDF })
	m.Number("scatter", "standard deviation of pages about the wear curve, density", profiled(func(b CorpusBook) float64 { return b.Scatter }))
	m.Number("picture", "what a picture adds to its page, density; with picture_se 0 where the book does not tell", profiled(func(b CorpusBook) float64 { return b.Picture }))
	m.Number("picture_se", "its standard error", profiled(func(b CorpusBook) float64 { return b.PictureSE }))
	m.Number("standouts", "pages that stand out of the wear curve", profiled(func(b CorpusBook) float64 { return float64(b.Standouts) }))
	m.Show("Scatter#", known(always, func(b CorpusBook) grid.Cell { return grid.Density(b.Scatter) }))
	m.Show("A picture adds#", known(func(b CorpusBook) bool { return b.PictureSE > 0 }, func(b CorpusBook) grid.Cell { return grid.Density(b.Picture) }))
	m.Show("Pages that stand out#", known(always, func(b CorpusBook) grid.Cell { return grid.Whole(b.Standouts) }))
	m.Label("most_worn", "the section with the most wear a page", func(b CorpusBook) string { return b.Most })
	m.Show("Most worn", func(b CorpusBook) grid.Cell {
		if len(b.MostDivided) > 0 {
			return grid.Words(fmt.Sprintf("%s, or what %s differ by", b.Most, groupWords(nil, b.MostDivided)))
		}
		return grid.Words(b.Most)
	})
	m.Number("most_worn_wear", "its wear a page, density; empty where no section was measured", func(b CorpusBook) float64 { return sectionNumber(b, b.MostWear) })
	m.Number("most_worn_se", "standard error of that", func(b CorpusBook) float64 { return sectionNumber(b, b.MostSE) })
	m.Label("most_worn_divided", "day, observer or instrument, where less than half of the measurements of it and of another section are by the same and nobody knows what these differ by", func(b CorpusBook) string { return strings.Join(b.MostDivided, "; ") })
	return m.Made("book")
}

func sectionNumber(b CorpusBook, v float64) float64 {
	if b.Most == "" {
		return math.NaN()
	}
	return v
}

func (c *Corpus) failureSheet() grid.Grid {
	return failureTable("failures", "What failed and why", c.Failures)
}

func failureTable(name, title string, rows []CorpusFailure) grid.Grid {
	m := grid.Of(name, title, rows)
	m.Label("folder", "from the folder of the corpus file", func(f CorpusFailure) string { return f.Folder }).As("Folder")
	m.Label("book", "the book's id; empty where the whole folder could not be used", func(f CorpusFailure) string { return f.Book }).As("Book")
	m.Label("stage", "tables, wear, profile, offices, names or program", func(f CorpusFailure) string { return f.Stage }).As("Stage")
	m.Label("place", "file, line and column", func(f CorpusFailure) string { return f.Place })
	m.Label("problem", "what was found and what was expected", func(f CorpusFailure) string { return f.Problem })
	m.Show("Where", func(f CorpusFailure) grid.Cell { return grid.Words(f.inside()) })
	m.Show("What was found", func(f CorpusFailure) grid.Cell { return grid.Words(wording.Typeset(wording.Sentence(f.Problem))) })
	m.Show("How to mend it", func(f CorpusFailure) grid.Cell { return grid.Words(wording.Typeset(wording.Sentence(f.Remedy))) })
	m.Label("remedy", "how to mend it", func(f CorpusFailure) string { return f.Remedy })
	return m.Made()
}

// share is a share of the reader's, missing where none is given.
func (r CorpusReader) share(of func(last int) float64) float64 {
	if last := len(r.Offices) - 1; last >= 0 && r.Refused == "" {
		return of(last)
	}
	return math.NaN()
}

func (c *Corpus) readerSheet() grid.Grid { return c.readerTable("readers", "The readers", c.Readers) }

func (c *Corpus) readerTable(name, title string, rows []CorpusReader) grid.Grid {
	last := func(of func(dropoff.OfficeShare) grid.Cell) func(CorpusReader) grid.Cell {
		return func(r CorpusReader) grid.Cell {
			if k := len(r.Offices) - 1; k >= 0 && r.Refused == "" {
				return of(r.Offices[k])
			}
			return grid.Instead("–")
		}
	}
	why := func(r CorpusReader) string { return wording.Sentence(cmp.Or(r.Why, r.Refused)) }
	m := grid.Of(name, title, rows)
	m.Show("Book", func(r CorpusReader) grid.Cell { return grid.Words(c.Books[r.Book].name()) })
	m.Show("Hours", func(r CorpusReader) grid.Cell { return grid.Words(setName(r.Set)) })
	m.Show("Share of the first office’s wear#", last(func(o dropoff.OfficeShare) grid.Cell { return grid.Percent(o.Share) }))
	m.Show(interval95+"#", last(func(o dropoff.OfficeShare) grid.Cell { return grid.PercentInterval(o.Low, o.High) }))
	m.Label("book", "the book's id", func(r CorpusReader) string { return c.Books[r.Book].ID })
	m.Label("set", "which set of hours", func(r CorpusReader) string { return r.Set })
	m.Count("offices", "offices measured", func(r CorpusReader) int { return len(r.Offices) })
	m.Number("carried", "wear of the last office measured as a share of that of the first", func(r CorpusReader) float64 { return r.share(func(k int) float64 { return r.Offices[k].Share }) })
	m.Number("carried_low", "lower end of its 95 % interval", func(r CorpusReader) float64 { return r.share(func(k int) float64 { return r.Offices[k].Low }) })
	m.Number("carried_high", "upper end", func(r CorpusReader) float64 { return r.share(func(k int) float64 { return r.Offices[k].High }) })
	m.YesNo("compared", "whether the curve's shape was compared with others'", func(r CorpusReader) bool { return r.Shape != nil })
	m.Label("group", "group of readers; empty where none is borne out", func(r CorpusReader) string { return r.Letter }).As("Group")
	m.Number("kept", "share of the draws with errors of measuring in which the reader stayed in the group", func(r CorpusReader) float64 { return r.Kept })
	m.Show("Stays in it#", func(r CorpusReader) grid.Cell {
		if !finite(r.Kept) {
			return grid.Instead("–")
		}
		return grid.Percent(r.Kept)
	})
	m.Number("place", "where the reader stands on the axis along which readers differ most, from the mean of all", func(r CorpusReader) float64 { return r.Place })
	m.Number("place_low", "lower end of its 95 % interval", func(r CorpusReader) float64 { return r.PlaceLow })
	m.Number("place_high", "upper end", func(r CorpusReader) float64 { return r.PlaceHigh })
	placed := func(of func(CorpusReader) grid.Cell) func(CorpusReader) grid.Cell {
		return func(r CorpusReader) grid.Cell {
			if r.Shape == nil || !finite(r.Place) {
				return grid.Instead("–")
			}
			return of(r)
		}
	}
	m.Show("Place on the scale#", placed(func(r CorpusReader) grid.Cell { return grid.Number(r.Place, 2) }))
	m.Show(interval95+"#", placed(func(r CorpusReader) grid.Cell { return grid.Interval(r.PlaceLow, r.PlaceHigh, 2) }))
	m.Label("why", "why there are no shares, or no comparison", why)
	m.Show("Remarks", func(r CorpusReader) grid.Cell { return grid.Words(wording.Typeset(why(r))) })
	return m.Made("book", "set")
}

// A readerOffice is one office of one reader.
type readerOffice struct {
	reader *CorpusReader
	k      int // into Offices
	at     int // into Shape; −1 where it is not compared
}

func (c *Corpus) readerOfficeSheet() grid.Grid {
	var rows []readerOffice
	for i := range c.Readers {
		for k, o := range c.Readers[i].Offices {
			at := -1
			if c.Readers[i].Shape != nil {
				at = slices.Index(c.Compared.Offices, o.Office)
			}
			rows = append(rows, readerOffice{&c.Readers[i], k, at})
		}
	}
	shape := func(of func(*CorpusReader) []float64) func(readerOffice) float64 {
		return func(r readerOffice) float64 {
			if r.at < 0 {
				return math.NaN()
			}
			return of(r.reader)[r.at]
		}
	}
	m := grid.Of("reader_offices", "The readers' curves along the offices", rows)
	m.Label("book", "the book's id", func(r readerOffice) string { return c.Books[r.reader.Book].ID })
	m.Label("set", "which set of hours", func(r readerOffice) string { return r.reader.Set })
	m.Label("office", "the office of the day", func(r readerOffice) string { return r.reader.Offices[r.k].Office.String() })
	m.Count("office_order", "from Matins 1 to Compline 8", func(r readerOffice) int { return r.reader.Offices[r.k].Office.Order() })
	m.Count("pages", "pages measured", func(r readerOffice) int { return r.reader.Offices[r.k].Pages })
	m.Number("wear", "mean wear on a plain page, density", func(r readerOffice) float64 { return r.reader.Offices[r.k].Wear })
	m.Number("wear_se", "its standard error", func(r readerOffice) float64 { return r.reader.Offices[r.k].SE })
	m.Number("share", "of the first office measured", func(r readerOffice) float64 {
		return r.reader.share(func(int) float64 { return r.reader.Offices[r.k].Share })
	})
	m.Number("shape", "wear relative to the mean over the offices compared", shape(func(r *CorpusReader) []float64 { return r.Shape }))
	m.Number("shape_se", "its standard error", shape(func(r *CorpusReader) []float64 { return r.ShapeSE }))
	return m.Made("book", "set", "office")
}

// kinds are the groups tried; none where there is no grouping.
func (c *Corpus) kinds() []readers.Cluster {
	if c.Compared.Grouping == nil {
		return nil
	}
	return c.Compared.Grouping.Clusters
}

func (c *Corpus) gaps() []readers.Gap {
	if c.Compared.Grouping == nil {
		return nil
	}
	return c.Compared.Grouping.Gaps
}

func (c *Corpus) kindTable() grid.Grid {
	m := grid.Of("groups", "The groups of readers that were tried", c.kinds())
	m.Note = "Similarities are of a group to the most similar one of a new draw, from 0 to 1 for the same."
	m.Label("group", "its letter: A falls away first along the offices", func(k readers.Cluster) string { return k.Letter }).As("Group")
	m.Label("middle", "id of the book that stands for it", func(k readers.Cluster) string { return k.Medoid })
	m.Count("readers", "in it", func(k readers.Cluster) int { return k.Readers }).As("Readers", 0)
	m.Show("In its middle", func(k readers.Cluster) grid.Cell { return grid.Words(c.bookNamed(k.Medoid)) })
	m.Number("similar_other_readers", "mean Jaccard similarity to the most similar group where other readers are drawn", func(k readers.Cluster) float64 { return k.Sampling }).As("With other readers", 2)
	m.Number("similar_measured_again", "the same where the curves are drawn again with their errors", func(k readers.Cluster) float64 { return k.Measuring }).As("Measured again", 2)
	m.YesNo("comes_out_again", "whether both are high enough and readers of one kind would seldom part as clearly", func(k readers.Cluster) bool { return k.Holds }).As("Comes out again")
	for j, office := range c.Compared.Offices {
		m.Number("mean_"+fileName(office.String()), "mean shape of the group at "+office.String(), func(k readers.Cluster) float64 { return k.Mean[j] })
	}
	return m.Made("group")
}

func (c *Corpus) gapTable() grid.Grid {
	chosen := func(g readers.Gap) bool { return g.Groups == c.Compared.Grouping.Chosen }
	m := grid.Of("gaps", "How many groups: the gap statistic", c.gaps())
	m.Count("groups", "tried", func(g readers.Gap) int { return g.Groups }).As("Groups", 0)
	m.Show("Gap (standard error)#", func(g readers.Gap) grid.Cell { return grid.Number(g.Gap, 3).InBrackets(grid.Number(g.SE, 3)) })
	m.Number("log_w", "logarithm of the sum of squares within the groups", func(g readers.Gap) float64 { return g.LogW }).As("Observed", 3)
	m.Number("expected", "its mean over clouds without groups", func(g readers.Gap) float64 { return g.Expected }).As("Reference", 3)
	m.Number("gap", "expected less log_w", func(g readers.Gap) float64 { return g.Gap })
	m.Number("gap_se", "its standard error", func(g readers.Gap) float64 { return g.SE })
	m.YesNo("chosen", "the number of groups by the gap statistic", chosen).As("Chosen")
	return m.Made("groups")
}

// An eachTerm is one fixed effect of a model that is fitted in each book.
type eachTerm struct {
	Model  string  `json:"model"`                             // name of the model
	Term   string  `json:"term"`                              // the fixed effect
	Books  int     `json:"books"`                             // books in which it was estimated
	Above  int     `json:"above"`                             // of them, those with the whole interval above zero
	Below  int     `json:"below"`                             // of them, those with the whole interval below zero
	Low    float64 `json:"tenth" unit:"of the outcome"`       // estimate below which a tenth of the books lie
	Median float64 `json:"median" unit:"of the outcome"`      // estimate in the middle
	High   float64 `json:"nine_tenths" unit:"of the outcome"` // estimate above which a tenth of the books lie
}

// eachTerms sum up the models that are fitted book by book.
func (c *Corpus) eachTerms() []eachTerm {
	type key struct{ model, term string }
	var order []key
	found := map[key][]mixed.Coefficient{}
	for _, m := range c.Models {
		if m.Book == "" || m.Fit == nil {
			continue
		}
		for _, f := range m.Fit.Fixed {
			k := key{m.Name, f.Term}
			if found[k] == nil {
				order = append(order, k)
			}
			found[k] = append(found[k], f)
		}
	}
	var out []eachTerm
	for _, k := range order {
		e := eachTerm{Model: k.model, Term: k.term, Books: len(found[k])}
		var values []float64
		for _, f := range found[k] {
			values = append(values, f.Estimate)
			switch {
			case len(f.LeavesOut) > 0: // too short an interval to count
			case f.Low > 0:
				e.Above++
			case f.High < 0:
				e.Below++
			}
		}
		slices.Sort(values)
		e.Low, e.Median, e.High = stat.Quantile(0.1, stat.LinInterp, values, nil), stat.Quantile(0.5, stat.LinInterp, values, nil), stat.Quantile(0.9, stat.LinInterp, values, nil)
		out = append(out, e)
	}
	return out
}

// term is the effect in words.
func (c *Corpus) term(e eachTerm) string {
	whole := c.whole()
	i := slices.IndexFunc(whole.Models, func(m ModelResult) bool { return m.Name == e.Model })
	return whole.term(whole.Models[i], e.Term)
}
