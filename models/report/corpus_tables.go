package report

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"thumbed/models/dropoff/readers"
	"thumbed/models/mixed"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// Tables are all tables of the corpus by file name without extension.
func (c *Corpus) Tables() map[string]*table.Table {
	out := map[string]*table.Table{}
	for _, s := range c.sheets() {
		out[s.name] = s.table
	}
	return out
}

func (c *Corpus) sheets() []sheet {
	whole := c.whole()
	return []sheet{
		c.sentenceSheet(), whole.answerSheet(), c.bookSheet(), c.failureSheet(),
		c.readerSheet(), c.readerOfficeSheet(), c.kindSheet(), c.gapSheet(),
		whole.modelSheet(), whole.fixedSheet(), whole.randomSheet(),
	}
}

func (c *Corpus) sentenceSheet() sheet {
	m := newSheet("sentences", "The answers in words", c.Sentences())
	m.label("topic", "question, stopped or sure", func(s Sentence) string { return string(s.Topic) })
	m.label("text", "the sentence", func(s Sentence) string { return s.Text })
	return m.sheet()
}

func (c *Corpus) bookSheet() sheet {
	profiled := func(of func(CorpusBook) float64) func(CorpusBook) float64 {
		return func(b CorpusBook) float64 {
			if !b.Profiled {
				return math.NaN()
			}
			return of(b)
		}
	}
	m := newSheet("books", "The books", c.Books)
	m.label("book", "the book's id", func(b CorpusBook) string { return b.ID })
	m.label("folder", "where its tables are, from the folder of the corpus file", func(b CorpusBook) string { return b.Folder })
	m.label("title", "as books.csv has it", func(b CorpusBook) string { return b.Title })
	m.label("owner", "as books.csv has it", func(b CorpusBook) string { return b.Owner })
	m.count("leaves", "leaves, lost ones counted", func(b CorpusBook) int { return b.Leaves })
	m.count("lost", "of these, lost", func(b CorpusBook) int { return b.Lost })
	m.count("readings", "readings of its pages and their zeros, those left out with a reason counted", func(b CorpusBook) int { return b.Readings })
	m.count("measured", "pages with wear, those at an instrument's limit counted", func(b CorpusBook) int { return b.Measured })
	m.count("at_limit", "of these, at an instrument's limit", func(b CorpusBook) int { return b.AtLimit })
	m.number("wear", "mean wear of the pages measured within the limits, density", func(b CorpusBook) float64 { return b.Wear })
	m.number("scatter", "standard deviation of pages about the wear curve, density", profiled(func(b CorpusBook) float64 { return b.Scatter }))
	m.number("picture", "what a picture adds to its page, density; with picture_se 0 where the book does not tell", profiled(func(b CorpusBook) float64 { return b.Picture }))
	m.number("picture_se", "its standard error", profiled(func(b CorpusBook) float64 { return b.PictureSE }))
	m.number("standouts", "pages that stand out of the wear curve", profiled(func(b CorpusBook) float64 { return float64(b.Standouts) }))
	m.label("most_worn", "the section with the most wear a page", func(b CorpusBook) string { return b.Most })
	m.number("most_worn_wear", "its wear a page, density; empty where no section was measured", func(b CorpusBook) float64 { return sectionNumber(b, b.MostWear) })
	m.number("most_worn_se", "standard error of that", func(b CorpusBook) float64 { return sectionNumber(b, b.MostSE) })
	return m.sheet("book")
}

func sectionNumber(b CorpusBook, v float64) float64 {
	if b.Most == "" {
		return math.NaN()
	}
	return v
}

func (c *Corpus) failureSheet() sheet {
	m := newSheet("failures", "What failed and why", c.Failures)
	m.label("folder", "from the folder of the corpus file", func(f CorpusFailure) string { return f.Folder })
	m.label("book", "the book's id; empty where the whole folder could not be used", func(f CorpusFailure) string { return f.Book })
	m.label("stage", "tables, wear, profile, offices, names or program", func(f CorpusFailure) string { return f.Stage })
	m.label("place", "file, line and column", func(f CorpusFailure) string { return f.Place })
	m.label("problem", "what was found and what was expected", func(f CorpusFailure) string { return f.Problem })
	m.label("remedy", "how to mend it", func(f CorpusFailure) string { return f.Remedy })
	return m.sheet()
}

// share is a share of the reader's, missing where none is given.
func (r CorpusReader) share(of func(last int) float64) float64 {
	if last := len(r.Offices) - 1; last >= 0 && r.Refused == "" {
		return of(last)
	}
	return math.NaN()
}

func (c *Corpus) readerSheet() sheet {
	m := newSheet("readers", "The readers", c.Readers)
	m.label("book", "the book's id", func(r CorpusReader) string { return c.Books[r.Book].ID })
	m.label("set", "which set of hours", func(r CorpusReader) string { return r.Set })
	m.count("offices", "offices measured", func(r CorpusReader) int { return len(r.Offices) })
	m.number("carried", "share of readings carried on from the first office measured to the last", func(r CorpusReader) float64 { return r.share(func(k int) float64 { return r.Offices[k].Share }) })
	m.number("carried_low", "lower end of its 95 % interval", func(r CorpusReader) float64 { return r.share(func(k int) float64 { return r.Offices[k].Low }) })
	m.number("carried_high", "upper end", func(r CorpusReader) float64 { return r.share(func(k int) float64 { return r.Offices[k].High }) })
	m.yesNo("compared", "whether the curve's shape was compared with others'", func(r CorpusReader) bool { return r.Shape != nil })
	m.label("group", "group of readers; empty where none is borne out", func(r CorpusReader) string { return r.Letter })
	m.number("kept", "share of the draws with errors of measuring in which the reader stayed in the group", func(r CorpusReader) float64 { return r.Kept })
	m.number("place", "where the reader stands on the axis along which readers differ most, from the mean of all", func(r CorpusReader) float64 { return r.Place })
	m.number("place_low", "lower end of its 95 % interval", func(r CorpusReader) float64 { return r.PlaceLow })
	m.number("place_high", "upper end", func(r CorpusReader) float64 { return r.PlaceHigh })
	m.label("why", "why there are no shares, or no comparison", func(r CorpusReader) string {
		if r.Why != "" {
			return wording.Sentence(r.Why)
		}
		return wording.Sentence(r.Refused)
	})
	return m.sheet("book", "set")
}

// A readerOffice is one office of one reader.
type readerOffice struct {
	reader *CorpusReader
	k      int // into Offices
	at     int // into Shape; −1 where it is not compared
}

func (c *Corpus) readerOfficeSheet() sheet {
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
	m := newSheet("reader_offices", "The readers' curves along the offices", rows)
	m.label("book", "the book's id", func(r readerOffice) string { return c.Books[r.reader.Book].ID })
	m.label("set", "which set of hours", func(r readerOffice) string { return r.reader.Set })
	m.label("office", "the office of the day", func(r readerOffice) string { return r.reader.Offices[r.k].Office.String() })
	m.count("office_order", "from Matins 1 to Compline 8", func(r readerOffice) int { return r.reader.Offices[r.k].Office.Order() })
	m.count("pages", "pages measured", func(r readerOffice) int { return r.reader.Offices[r.k].Pages })
	m.number("wear", "mean wear on a plain page, density", func(r readerOffice) float64 { return r.reader.Offices[r.k].Wear })
	m.number("wear_se", "its standard error", func(r readerOffice) float64 { return r.reader.Offices[r.k].SE })
	m.number("share", "of the first office measured", func(r readerOffice) float64 {
		return r.reader.share(func(int) float64 { return r.reader.Offices[r.k].Share })
	})
	m.number("shape", "wear relative to the mean over the offices compared", shape(func(r *CorpusReader) []float64 { return r.Shape }))
	m.number("shape_se", "its standard error", shape(func(r *CorpusReader) []float64 { return r.ShapeSE }))
	return m.sheet("book", "set", "office")
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

func (c *Corpus) kindSheet() sheet {
	m := newSheet("groups", "The groups of readers that were tried", c.kinds())
	m.label("group", "its letter: A falls away first along the offices", func(k readers.Cluster) string { return k.Letter })
	m.label("middle", "id of the book that stands for it", func(k readers.Cluster) string { return k.Medoid })
	m.count("readers", "in it", func(k readers.Cluster) int { return k.Readers })
	m.number("similar_other_readers", "mean Jaccard similarity to the most similar group where other readers are drawn", func(k readers.Cluster) float64 { return k.Sampling })
	m.number("similar_measured_again", "the same where the curves are drawn again with their errors", func(k readers.Cluster) float64 { return k.Measuring })
	m.yesNo("comes_out_again", "whether both are high enough and readers of one kind would seldom part as clearly", func(k readers.Cluster) bool { return k.Holds })
	for j, office := range c.Compared.Offices {
		m.number("mean_"+fileName(office.String()), "mean shape of the group at "+office.String(), func(k readers.Cluster) float64 { return k.Mean[j] })
	}
	return m.sheet("group")
}

func (c *Corpus) gapSheet() sheet {
	m := newSheet("gaps", "How many groups: the gap statistic", c.gaps())
	m.count("groups", "tried", func(g readers.Gap) int { return g.Groups })
	m.number("log_w", "logarithm of the sum of squares within the groups", func(g readers.Gap) float64 { return g.LogW })
	m.number("expected", "its mean over clouds without groups", func(g readers.Gap) float64 { return g.Expected })
	m.number("gap", "expected less log_w", func(g readers.Gap) float64 { return g.Gap })
	m.number("gap_se", "its standard error", func(g readers.Gap) float64 { return g.SE })
	m.yesNo("chosen", "the number of groups by the gap statistic", func(g readers.Gap) bool { return g.Groups == c.Compared.Grouping.Chosen })
	return m.sheet("groups")
}

// An eachTerm is one fixed effect of a model that is fitted in each book.
type eachTerm struct {
	Model, Term         string
	Books, Above, Below int     // fitted; of these, with the whole interval above or below zero
	Low, Median, High   float64 // a tenth of the books, half and nine tenths have less
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
			if f.Low > 0 {
				e.Above++
			}
			if f.High < 0 {
				e.Below++
			}
		}
		slices.Sort(values)
		e.Low, e.Median, e.High = stat.Quantile(0.1, stat.LinInterp, values, nil), stat.Quantile(0.5, stat.LinInterp, values, nil), stat.Quantile(0.9, stat.LinInterp, values, nil)
		out = append(out, e)
	}
	return out
}
