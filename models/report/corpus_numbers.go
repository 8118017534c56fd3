package report

import (
	"math"

	"thumbed/models/dropoff/readers"
	"thumbed/models/hypotheses"
)

// The shape of a corpus's results.json. Its keys are a promise.

type corpusNumbers struct {
	Program   string                `json:"program"`          // name and version of the program
	Title     string                `json:"title"`            // title of the corpus
	Author    string                `json:"author"`           // who asks
	Note      string                `json:"note"`             // a sentence or two on the corpus
	Invented  bool                  `json:"invented"`         // whether the books and readings are invented
	Sentences []Sentence            `json:"sentences"`        // what was found, in words, with the numbers of each sentence
	Answers   []hypotheses.Answer   `json:"answers"`          // the answers to the questions
	Seal      *Seal                 `json:"seal,omitempty"`   // the seal of questions and models, where there is one
	Folders   int                   `json:"folders"`          // folders looked at
	Readings  int                   `json:"readings"`         // readings used
	Precision pooledNumbers         `json:"precision"`        // how placings on one spot repeat, over all folders
	Books     []corpusBookNumbers   `json:"books"`            // each book in brief
	Failures  []CorpusFailure       `json:"failures"`         // what went wrong, book by book
	Readers   []corpusReaderNumbers `json:"readers"`          // the readers that could be compared, or why not
	Compared  comparedNumbers       `json:"compared"`         // what came of comparing them
	Models    []ModelResult         `json:"models"`           // the models that were fitted once
	Traces    *TraceResults         `json:"traces,omitempty"` // the traces of use, where some were looked for; observers agree over all books
	OverBooks []eachTerm            `json:"over_books"`       // the models that were fitted in each book by itself, over all books
	Notes     []string              `json:"notes"`            // plain sentences on what could not be done, and why
}

type pooledNumbers struct {
	Repeatability *float64 `json:"repeatability" unit:"density"` // standard deviation between placings on one spot (ISO 5725-2), pooled over the folders' logs; null where nothing was read twice
	DF            float64  `json:"df"`                           // its degrees of freedom
	Folders       int      `json:"folders"`                      // folders with placings on one spot
}

type corpusBookNumbers struct {
	ID              string   `json:"id"`                            // the book's id
	Folder          string   `json:"folder"`                        // its folder
	Title           string   `json:"title"`                         // the book with its shelfmark
	Owner           string   `json:"owner"`                         // who owned and used it
	Leaves          int      `json:"leaves"`                        // leaves, lost ones among them
	Lost            int      `json:"lost"`                          // leaves that are lost
	Readings        int      `json:"readings"`                      // readings of it
	Measured        int      `json:"measured"`                      // pages measured
	AtLimit         int      `json:"at_limit"`                      // of them, at an instrument's limit
	Wear            *float64 `json:"wear" unit:"density"`           // mean wear of its measured pages; null where none is known
	Repeatability   *float64 `json:"repeatability" unit:"density"`  // standard deviation between placings on one spot of its folder (ISO 5725-2); null where nothing was read twice
	RepeatabilityDF float64  `json:"repeatability_df"`              // its degrees of freedom
	Scatter         *float64 `json:"scatter" unit:"density"`        // standard deviation of pages about the curve; null where there is none
	Picture         *float64 `json:"picture" unit:"density"`        // what a picture adds; null where there is no curve
	PictureSE       *float64 `json:"picture_se" unit:"density"`     // its standard error
	Standouts       int      `json:"standouts"`                     // pages that stand out
	Most            string   `json:"most_worn"`                     // the section most worn
	MostWear        *float64 `json:"most_worn_wear" unit:"density"` // its wear per page
	MostSE          *float64 `json:"most_worn_se" unit:"density"`   // its standard error
	MostDivided     []string `json:"most_worn_divided,omitempty"`   // day, observer or instrument, where less than half of the measurements of it and of another section are by the same and nobody knows what these differ by: it may come first by that alone
}

type corpusReaderNumbers struct {
	Book       string          `json:"book"`                       // the book's id
	Set        string          `json:"set"`                        // which set of hours
	Offices    []officeNumbers `json:"offices"`                    // wear of each office, and its share of that of the first
	Covariance []float64       `json:"covariance" unit:"density²"` // covariances of the offices' wear, row after row
	Refused    string          `json:"refused"`                    // why no shares are given; else empty
	Shape      []float64       `json:"shape"`                      // the shape of the reader's wear over the offices compared
	ShapeSE    []float64       `json:"shape_se"`                   // its standard errors
	Why        string          `json:"why"`                        // why the reader is not compared; else empty
	Group      string          `json:"group"`                      // letter of the group; empty where in none
	Kept       *float64        `json:"kept"`                       // share of draws in which the reader stays in the group; null where there are none
	// where the reader stands on the axis along which readers differ most, from the mean
	// of all, in the unit of shape; null where not compared
	Place     *float64 `json:"place"`
	PlaceLow  *float64 `json:"place_low"`  // lower end of its 95 % interval, by the errors of the reader's own curve
	PlaceHigh *float64 `json:"place_high"` // upper end
}

type comparedNumbers struct {
	Set     string        `json:"set"`        // the hours compared
	Offices []string      `json:"offices"`    // the offices compared
	Readers int           `json:"readers"`    // readers compared
	Refused string        `json:"refused"`    // why they are not grouped; else empty
	Seed    uint64        `json:"seed"`       // seed of the draws
	Gaps    []readers.Gap `json:"gaps"`       // the gap statistic of each number of groups
	Chosen  int           `json:"chosen"`     // number of groups chosen by it
	OneKind *float64      `json:"one_kind_p"` // chance that readers of one kind part as clearly; null where one group was chosen
	// for 2, 3 … kinds, the chance that readers without so many gaps between them show
	// as many (Silverman's test); ends with the first above 0.05; null where groups were
	// ruled out before
	Gapped []float64 `json:"no_gap_p"`
	// direction along which readers differ most once errors of measuring are taken out,
	// one number an office, of length 1; null where all have one shape
	Axis    []float64         `json:"axis"`
	SD      *float64          `json:"axis_sd"`    // standard deviation of readers' places along it, without their errors, in the unit of shape
	Share   *float64          `json:"axis_share"` // share of all that readers differ by, beyond their errors, that lies along it
	Groups  []readers.Cluster `json:"groups"`     // the groups
	Verdict string            `json:"verdict"`    // what came of it, in one word or two
	Words   string            `json:"words"`      // … and in sentences
}

// known is a number that is there; nil for one that is none.
func known(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

// JSON is every number of the corpus as one JSON object; see [Results.JSON].
func (c *Corpus) JSON() ([]byte, error) { return writeJSON(c.numbers()) }

func (c *Corpus) numbers() corpusNumbers {
	out := corpusNumbers{
		Program: c.Meta.Program, Title: c.Meta.Title, Author: c.Meta.Author, Note: c.Meta.Note, Invented: c.Meta.Invented,
		Sentences: c.Sentences(), Answers: c.Answers, Seal: c.Seal, Folders: c.Folders, Readings: c.readings(), Models: timeless(c.Models), Traces: c.Traces, Notes: c.Notes,
	}
	sd, df, folders := c.repeatability()
	out.Precision = pooledNumbers{known(sd), df, folders}
	for _, b := range c.Books {
		n := corpusBookNumbers{ID: b.ID, Folder: b.Folder, Title: b.Title, Owner: b.Owner, Leaves: b.Leaves, Lost: b.Lost, Readings: b.Readings, Measured: b.Measured, AtLimit: b.AtLimit,
			Wear: known(b.Wear), Repeatability: known(b.Repeatability), RepeatabilityDF: b.RepeatabilityDF, Standouts: b.Standouts, Most: b.Most, MostWear: known(sectionNumber(b, b.MostWear)), MostSE: known(sectionNumber(b, b.MostSE)), MostDivided: b.MostDivided}
		if b.Profiled {
			n.Scatter, n.Picture, n.PictureSE = &b.Scatter, &b.Picture, &b.PictureSE
		}
		out.Books = append(out.Books, n)
	}
	out.Failures = c.Failures
	for _, r := range c.Readers {
		n := corpusReaderNumbers{Book: c.Books[r.Book].ID, Set: r.Set, Covariance: r.Covariance, Refused: r.Refused, Shape: r.Shape, ShapeSE: r.ShapeSE, Why: r.Why, Group: r.Letter, Kept: known(r.Kept),
			Place: known(r.Place), PlaceLow: known(r.PlaceLow), PlaceHigh: known(r.PlaceHigh)}
		for _, o := range r.Offices {
			n.Offices = append(n.Offices, officeNumbersOf(o))
		}
		out.Readers = append(out.Readers, n)
	}
	out.OverBooks = c.eachTerms()
	out.Compared = c.Compared.numbers()
	return out
}

func (x *Compared) numbers() comparedNumbers {
	out := comparedNumbers{Set: x.Set, Readers: x.Readers, Refused: x.Refused}
	for _, office := range x.Offices {
		out.Offices = append(out.Offices, office.String())
	}
	g := x.Grouping
	if g == nil {
		return out
	}
	out.Seed, out.Chosen, out.OneKind, out.Verdict, out.Words = g.Options.Seed, g.Chosen, known(g.OneCluster), string(g.Verdict), g.Words
	out.Gapped = g.Gapped
	if s := g.Continuum; s != nil {
		out.Axis, out.SD, out.Share = s.Axis, &s.SD, &s.Share
	}
	out.Gaps, out.Groups = g.Gaps, g.Clusters
	return out
}
