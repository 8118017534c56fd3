package study

import (
	"errors"
	"fmt"
	"strings"

	"thumbed/models/report"
	"thumbed/models/table"
)

// An Incomplete is the error of a run that stands, but in which something could
// not be said of a measured book, a model not be fitted or a question not be
// answered.
type Incomplete struct {
	// Missing says what is missing, a line each. What is wrong with a model is
	// told as a [table.Problem] is, with its line in the study file.
	Missing []string
}

func (e *Incomplete) Error() string {
	return "not everything could be answered; the page says so in its place.\n" + strings.Join(e.Missing, "\n")
}

// incomplete is nil where everything could be said of the measured books, all
// models were fitted and all questions answered. A book without any wear is no
// fault: it may be measured yet.
func (s *Study) incomplete(results *report.Results, fits []*fit, ofTraces ...*traceFit) error {
	var missing []string
	for i, b := range results.Books {
		if results.Readings != nil && len(results.Readings.OfBook(i)) > 0 {
			missing = append(missing, b.Failed...)
		}
	}
	for _, pair := range results.Pairs {
		if pair.Asked && pair.Failed != "" {
			missing = append(missing, fmt.Sprintf("%s and %s could not be compared. %s", s.Books[pair.One.Book].ID, s.Books[pair.Other.Book].ID, pair.Failed))
		}
	}
	for _, f := range fits {
		missing = append(missing, f.missing(s)...)
	}
	for _, f := range ofTraces {
		missing = append(missing, f.missing(s)...)
	}
	if len(missing) == 0 {
		return nil
	}
	return &Incomplete{Missing: missing}
}

// missing says what is missing of one model, a line each.
func (a *asking) missing(s *Study) []string {
	var missing []string
	if a.err != nil {
		missing = append(missing, fmt.Sprintf("The model %s could not be fitted:", a.called(s)))
		missing = append(missing, s.blame(a)...)
	}
	return append(missing, a.silent...)
}

// blame tells what is wrong with a model at its place in the study file.
func (s *Study) blame(a *asking) []string {
	problems := kinds(a.err)
	if len(problems) == 0 {
		return []string{fmt.Sprintf("%s, line %d: %s", s.Path, s.blamedLine(a.model, ""), sentence(a.err.Error()))}
	}
	var out []string
	for _, p := range problems {
		p.File, p.Line = s.Path, s.blamedLine(a.model, p.Column)
		out = append(out, p.String())
	}
	return out
}

// blamedLine is the line of the key of a model that names a column; else that
// of the model's name.
func (s *Study) blamedLine(model int, column string) int {
	m := &s.Models[model]
	at := func(key ...any) int { return s.where.Line(append([]any{"model", model}, key...)...) }
	for _, term := range m.Fixed {
		for _, name := range term {
			if name == column {
				return at("fixed")
			}
		}
	}
	for i, r := range m.Random {
		if strings.Join(r.By, " and ") == column {
			return at("random", i, "by")
		}
	}
	if m.Outcome == column {
		return at("outcome")
	}
	return at("name")
}

// kinds are the problems that an error tells, each kind once: of a mistake that
// recurs row after row the first stands for all. An error of another sort tells
// none.
func kinds(err error) []table.Problem {
	var fault *table.Fault
	if !errors.As(err, &fault) {
		return nil
	}
	type kind struct{ column, expected string }
	seen := map[kind]bool{}
	var out []table.Problem
	for _, p := range fault.Problems {
		k := kind{p.Column, p.Expected}
		if !seen[k] {
			seen[k] = true
			out = append(out, p)
		}
	}
	return out
}

// failure is why a model could not be fitted, in sentences.
func failure(err error) string {
	problems := kinds(err)
	if len(problems) == 0 {
		return sentence(err.Error())
	}
	var out []string
	for _, p := range problems {
		p.File, p.Line = "", 0
		out = append(out, sentence(p.String()))
	}
	return strings.Join(out, " ")
}

// sentence gives words a capital letter and a full stop.
func sentence(words string) string {
	runes := []rune(strings.TrimSpace(words))
	if len(runes) == 0 {
		return ""
	}
	text := strings.ToUpper(string(runes[:1])) + string(runes[1:])
	if !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}
