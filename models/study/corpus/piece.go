package corpus

import (
	"bytes"
	"encoding/gob"
	"encoding/json"
	"fmt"
	"slices"
	"unique"

	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// A Piece is what is kept of one folder.
type Piece struct {
	Folder   string
	Inputs   []study.FileSum // paths from the folder of corpus.toml
	Books    []bookPiece
	Failures []report.CorpusFailure
	Earlier  int // readings taken before the day of the seal, where there is one
}

// A bookPiece is what is kept of one book.
type bookPiece struct {
	Book    report.CorpusBook
	Readers []report.CorpusReader
	Rows    int      // pages
	Columns []column // of [Corpus.columns] those that the book has
	Fits    []study.Fitted

	States      []traces.State // of traces, where there is a coding book
	Coded       []traces.Coded // what was coded twice of it
	Looks       int            // kept ones
	LookColumns []column       // of [study.Inquiry.LookColumns] those that its looks have

	stumbles study.ModelProblems // where models are looked ahead at
}

// A column is a column of one book's pages: labels as codes, numbers as they are.
type column struct {
	Name    string
	Labels  []string
	Codes   []int32 // into Labels, −1 where missing; nil for a column that has numbers alone
	Numbers []float64
	Cells   bool // its labels may all be numbers, as cells of a file are
}

// columnOf keeps some rows of a column. Labels are kept once for all books.
func columnOf(c *table.Column, rows []int) column {
	out := column{Name: c.Name, Cells: c.IsText() && c.IsNumber()}
	if !c.IsText() {
		out.Numbers = make([]float64, len(rows))
		for k, i := range rows {
			out.Numbers[k] = c.Numbers[i]
		}
		return out
	}
	out.Codes = make([]int32, len(rows))
	code := map[string]int32{}
	for k, i := range rows {
		label := c.Label(i)
		if label == "" {
			out.Codes[k] = -1
			continue
		}
		at, known := code[label]
		if !known {
			at = int32(len(out.Labels))
			label = unique.Make(label).Value()
			code[label] = at
			out.Labels = append(out.Labels, label)
		}
		out.Codes[k] = at
	}
	return out
}

// MarshalJSON writes a piece for the file of a part: as one value in Go's own
// binary form, which keeps every digit and what is no number.
func (p Piece) MarshalJSON() ([]byte, error) {
	type plain Piece // without methods
	var out bytes.Buffer
	if err := gob.NewEncoder(&out).Encode(plain(p)); err != nil {
		return nil, fmt.Errorf("what is kept of %s: %w", p.Folder, err)
	}
	return json.Marshal(out.Bytes())
}

// UnmarshalJSON reads what [Piece.MarshalJSON] wrote.
func (p *Piece) UnmarshalJSON(text []byte) error {
	type plain Piece
	var data []byte
	if err := json.Unmarshal(text, &data); err != nil {
		return err
	}
	if err := gob.NewDecoder(bytes.NewReader(data)).Decode((*plain)(p)); err != nil {
		return err
	}
	return p.check()
}

// check tells whether a piece that was read holds together.
func (p *Piece) check() error {
	for _, b := range p.Books {
		sound := b.Rows >= 0 && b.Looks >= 0 && hold(b.Columns, b.Rows) && hold(b.LookColumns, b.Looks)
		for _, c := range b.Coded {
			sound = sound && len(c.Values) > 1 && len(c.Observers) == len(c.Values)
		}
		for _, r := range b.Readers {
			sound = sound && (r.Covariance == nil || len(r.Covariance) == len(r.Offices)*len(r.Offices))
		}
		if !sound {
			return fmt.Errorf("what is kept of the book %s does not hold together", b.Book.ID)
		}
	}
	return nil
}

// hold tells whether columns hold together and have so many rows.
func hold(columns []column, rows int) bool {
	return !slices.ContainsFunc(columns, func(c column) bool {
		return max(len(c.Codes), len(c.Numbers)) != rows || c.Codes != nil && c.Numbers != nil ||
			slices.ContainsFunc(c.Codes, func(code int32) bool { return code < -1 || int(code) >= len(c.Labels) })
	})
}
