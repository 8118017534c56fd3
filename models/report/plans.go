package report

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"os"
	"path/filepath"
	"strings"

	"thumbed/models/report/grid"
	"thumbed/models/wording"
)

// Plans are the plans of all questions of a study.
type Plans struct {
	Title string
	Plans []*Plan
	Left  []string // sentences: which questions could not be planned for, and why
}

// plansNumbers is the shape of several plans as JSON. Its keys are a promise.
type plansNumbers struct {
	Title string        `json:"title"`
	Plans []planNumbers `json:"plans"`
	Left  []string      `json:"left"`
}

// JSON is every number of all plans as one JSON object.
func (p *Plans) JSON() ([]byte, error) {
	n := plansNumbers{Title: p.Title, Plans: []planNumbers{}, Left: append([]string{}, p.Left...)}
	for _, one := range p.Plans {
		n.Plans = append(n.Plans, one.numbers())
	}
	return planJSON(n)
}

// planJSON writes a plan's numbers, or several plans'.
func planJSON(v any) ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	e.SetIndent("", " ")
	err := e.Encode(v)
	return out.Bytes(), err
}

// Text writes all plans for reading.
func (p *Plans) Text(w io.Writer) error {
	for k, one := range p.Plans {
		if k > 0 {
			if _, err := io.WriteString(w, "\n"); err != nil {
				return err
			}
		}
		if err := one.Text(w); err != nil {
			return err
		}
	}
	for _, left := range p.Left {
		if _, err := fmt.Fprintf(w, "\nNote. %s\n", left); err != nil {
			return err
		}
	}
	return nil
}

//go:embed plans.html.tmpl
var plansTemplate string

var plansMaker = template.Must(template.Must(pageMaker.Clone()).New("plans").Parse(plansTemplate))

// A plansView is all that the page of several plans shows.
type plansView struct {
	Meta  Meta
	Style template.CSS
	Plans []planLine
	Left  []string
}

// A planLine is one plan as the page of several shows it.
type planLine struct {
	Question, Page string
	Sentences      []string
	Grid           grid.Grid
}

// Write writes index.html, which leads to a folder for each question, and
// results.json into dir, a folder that exists and is empty.
func (p *Plans) Write(dir string) error {
	v := plansView{Style: template.CSS(inkStyle() + pageStyle), Left: wording.TypesetAll(p.Left)}
	for k, one := range p.Plans {
		v.Meta = one.Meta
		name := fmt.Sprintf("question-%d", k+1)
		if err := os.Mkdir(filepath.Join(dir, name), 0o755); err != nil {
			return err
		}
		if err := one.Write(filepath.Join(dir, name)); err != nil {
			return err
		}
		v.Plans = append(v.Plans, planLine{Question: one.Result.Question.Words, Page: name + "/index.html", Sentences: wording.TypesetAll(one.Result.Sentences), Grid: one.grid().Named(fmt.Sprintf("designs-%d", k+1), "")})
	}
	if v.Meta.Title = strings.TrimSpace(p.Title); v.Meta.Title == "" {
		v.Meta.Title = "A plan of measuring"
	}
	var page bytes.Buffer
	if err := writePage(&page, plansMaker, "plans", v); err != nil {
		return err
	}
	numbers, err := p.JSON()
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "index.html"), page.Bytes(), 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "results.json"), numbers, 0o644)
}
