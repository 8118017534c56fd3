package report

import (
	"math"

	"thumbed/models/hypotheses"
)

// The shape of a corpus's results.json. Its keys are a promise.

type corpusNumbers struct {
	Program   string                 `json:"program"`
	Title     string                 `json:"title"`
	Author    string                 `json:"author"`
	Note      string                 `json:"note"`
	Invented  bool                   `json:"invented"`
	Sentences []Sentence             `json:"sentences"`
	Answers   []hypotheses.Answer    `json:"answers"`
	Seal      *Seal                  `json:"seal,omitempty"`
	Folders   int                    `json:"folders"`
	Readings  int                    `json:"readings"`
	Books     []corpusBookNumbers    `json:"books"`
	Failures  []corpusFailureNumbers `json:"failures"`
	Readers   []corpusReaderNumbers  `json:"readers"`
	Compared  comparedNumbers        `json:"compared"`
	Models    []modelNumbers         `json:"models"`
	OverBooks []eachNumbers          `json:"over_books"` // of models fitted in each book by itself
	Notes     []string               `json:"notes"`
}

type eachNumbers struct {
	Model  string  `json:"model"`
	Term   string  `json:"term"`
	Books  int     `json:"books"`
	Above  int     `json:"above"` // books with the whole interval above zero
	Below  int     `json:"below"`
	Low    float64 `json:"tenth"`
	Median float64 `json:"median"`
	High   float64 `json:"nine_tenths"`
}

type corpusBookNumbers struct {
	ID        string   `json:"id"`
	Folder    string   `json:"folder"`
	Title     string   `json:"title"`
	Owner     string   `json:"owner"`
	Leaves    int      `json:"leaves"`
	Lost      int      `json:"lost"`
	Readings  int      `json:"readings"`
	Measured  int      `json:"measured"`
	AtLimit   int      `json:"at_limit"`
	Wear      *float64 `json:"wear"`
	Scatter   *float64 `json:"scatter"`
	Picture   *float64 `json:"picture"`
	PictureSE *float64 `json:"picture_se"`
	Standouts int      `json:"standouts"`
	Most      string   `json:"most_worn"`
	MostWear  *float64 `json:"most_worn_wear"`
	MostSE    *float64 `json:"most_worn_se"`
}

type corpusFailureNumbers struct {
	Folder  string `json:"folder"`
	Book    string `json:"book"`
	Stage   string `json:"stage"`
	Place   string `json:"place"`
	Problem string `json:"problem"`
	Remedy  string `json:"remedy"`
}

type corpusReaderNumbers struct {
	Book       string          `json:"book"`
	Set        string          `json:"set"`
	Offices    []officeNumbers `json:"offices"`
	Covariance []float64       `json:"covariance"` // of the offices' wear, row after row
	Refused    string          `json:"refused"`
	Shape      []float64       `json:"shape"`
	ShapeSE    []float64       `json:"shape_se"`
	Why        string          `json:"why"`
	Group      string          `json:"group"`
	Kept       *float64        `json:"kept"`
	Place      *float64        `json:"place"`
	PlaceLow   *float64        `json:"place_low"`
	PlaceHigh  *float64        `json:"place_high"`
}

type comparedNumbers struct {
	Set     string       `json:"set"`
	Offices []string     `json:"offices"`
	Readers int          `json:"readers"`
	Refused string       `json:"refused"`
	Seed    uint64       `json:"seed"`
	Gaps    []gapNumbers `json:"gaps"`
	Chosen  int          `json:"chosen"`
	OneKind *float64     `json:"one_kind_p"`
	Gapped  []float64    `json:"no_gap_p"`
	Axis    []float64    `json:"axis"`
	SD      *float64     `json:"axis_sd"`
	Share   *float64     `json:"axis_share"`
	Groups  []kindNumber `json:"groups"`
	Verdict string       `json:"verdict"`
	Words   string       `json:"words"`
}

type gapNumbers struct {
	Groups   int     `json:"groups"`
	LogW     float64 `json:"log_w"`
	Expected float64 `json:"expected"`
	Gap      float64 `json:"gap"`
	SE       float64 `json:"gap_se"`
}

type kindNumber struct {
	Letter    string    `json:"group"`
	Medoid    string    `json:"middle"`
	Readers   int       `json:"readers"`
	Mean      []float64 `json:"mean"`
	Sampling  float64   `json:"similar_other_readers"`
	Measuring float64   `json:"similar_measured_again"`
	Holds     bool      `json:"comes_out_again"`
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
		Sentences: c.Sentences(), Answers: c.Answers, Seal: c.Seal, Folders: c.Folders, Readings: c.readings(), Models: c.whole().modelNumbers(), Notes: c.Notes,
	}
	for _, b := range c.Books {
		n := corpusBookNumbers{ID: b.ID, Folder: b.Folder, Title: b.Title, Owner: b.Owner, Leaves: b.Leaves, Lost: b.Lost, Readings: b.Readings, Measured: b.Measured, AtLimit: b.AtLimit,
			Wear: known(b.Wear), Standouts: b.Standouts, Most: b.Most, MostWear: known(sectionNumber(b, b.MostWear)), MostSE: known(sectionNumber(b, b.MostSE))}
		if b.Profiled {
			n.Scatter, n.Picture, n.PictureSE = &b.Scatter, &b.Picture, &b.PictureSE
		}
		out.Books = append(out.Books, n)
	}
	for _, f := range c.Failures {
		out.Failures = append(out.Failures, corpusFailureNumbers(f))
	}
	for _, r := range c.Readers {
		n := corpusReaderNumbers{Book: c.Books[r.Book].ID, Set: r.Set, Covariance: r.Covariance, Refused: r.Refused, Shape: r.Shape, ShapeSE: r.ShapeSE, Why: r.Why, Group: r.Letter, Kept: known(r.Kept),
			Place: known(r.Place), PlaceLow: known(r.PlaceLow), PlaceHigh: known(r.PlaceHigh)}
		for _, o := range r.Offices {
			n.Offices = append(n.Offices, officeNumbersOf(o))
		}
		out.Readers = append(out.Readers, n)
	}
	for _, e := range c.eachTerms() {
		out.OverBooks = append(out.OverBooks, eachNumbers(e))
	}
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
	for _, gap := range g.Gaps {
		out.Gaps = append(out.Gaps, gapNumbers(gap))
	}
	for _, k := range g.Clusters {
		out.Groups = append(out.Groups, kindNumber(k))
	}
	return out
}
