package iiif

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/url"
	"strings"

	"thumbed/models/codex"
)

// A Note is what is to be said of a page.
type Note struct {
	Page  codex.PageLabel
	Words string // plain text
}

// An Annotation is a Web Annotation (W3C, “Web Annotation Data Model”,
// Recommendation of 23 February 2017, section 3.1): a body of plain text that
// describes its target.
type Annotation struct {
	ID         string      `json:"id"`
	Type       string      `json:"type"`
	Motivation string      `json:"motivation"`
	Body       TextualBody `json:"body"`
	Target     string      `json:"target"` // a canvas, or a part of it: …#xywh=0,0,500,800
}

// A TextualBody is the text of an annotation (Web Annotation Data Model, section
// 3.2.4).
type TextualBody struct {
	Type     string `json:"type"`
	Value    string `json:"value"`
	Format   string `json:"format"`
	Language string `json:"language"`
}

// An AnnotationPage is a list of annotations (Web Annotation Data Model, section
// 5.2; IIIF Presentation API 3.0, section 5.5).
type AnnotationPage struct {
	ID    string       `json:"id"`
	Type  string       `json:"type"`
	Items []Annotation `json:"items"`

	canvas string
}

// Annotate makes the annotations that say notes on the canvases of their pages,
// an AnnotationPage for each canvas in the order of the canvases. Their names
// begin with base, an http or https address of the scholar's own, which need
// not answer. On an image of an opening the verso has the left half and the
// recto the right. Notes on pages that no canvas shows come back as missing;
// of several canvases that show a page the first is taken.
func (m *Manifest) Annotate(base string, notes []Note) (pages []AnnotationPage, missing []Note, err error) {
	if !CanName(base) {
		return nil, nil, fmt.Errorf("%q cannot begin the names of annotations; give a web address of your own, such as https://example.org/wear", base)
	}
	base = strings.TrimSuffix(base, "/")
	said := map[codex.PageLabel][]Note{}
	for _, note := range notes {
		page := bare(note.Page)
		said[page] = append(said[page], note)
	}
	done := map[codex.PageLabel]bool{}
	for n, c := range m.Canvases {
		page := AnnotationPage{ID: fmt.Sprintf("%s/canvas-%d", base, n+1), Type: "AnnotationPage", canvas: c.ID}
		for half, label := range c.Pages {
			if c.ID == "" || done[bare(label)] {
				continue
			}
			done[bare(label)] = true
			for k, note := range said[bare(label)] {
				page.Items = append(page.Items, Annotation{
					ID: fmt.Sprintf("%s/canvas-%d/%s-%d", base, n+1, url.PathEscape(bare(label).String()), k+1), Type: "Annotation", Motivation: "describing",
					Body:   TextualBody{Type: "TextualBody", Value: note.Words, Format: "text/plain", Language: "en"},
					Target: c.target(half),
				})
			}
		}
		if page.Items != nil {
			pages = append(pages, page)
		}
	}
	for _, note := range notes {
		if !done[bare(note.Page)] {
			missing = append(missing, note)
		}
	}
	return pages, missing, nil
}

// CanName tells whether the names of annotations can begin with an address.
func CanName(base string) bool {
	at, err := url.Parse(base)
	return err == nil && (at.Scheme == "http" || at.Scheme == "https") && at.Host != "" && at.RawQuery == "" && at.Fragment == ""
}

func bare(page codex.PageLabel) codex.PageLabel {
	page.Folio.Supplied = false
	return page
}

// target is the canvas, or the half of it that shows one page of an opening
// (W3C, “Media Fragments URI 1.0”, 2012, section 4.2.2). A canvas whose size is
// not told is the target as a whole.
func (c *Canvas) target(half int) string {
	width, height := int(c.Width), int(c.Height)
	if len(c.Pages) < 2 || width < 2 || height < 1 {
		return c.ID
	}
	left := width / 2
	if half == 0 {
		return fmt.Sprintf("%s#xywh=0,0,%d,%d", c.ID, left, height)
	}
	return fmt.Sprintf("%s#xywh=%d,0,%d,%d", c.ID, left, width-left, height)
}

// Collection writes annotations as one Web Annotation Collection (Web Annotation
// Data Model, section 5.1), for any tool that reads the standard. Label says
// what they are.
func Collection(base, label string, pages []AnnotationPage) ([]byte, error) {
	base = strings.TrimSuffix(base, "/")
	all := AnnotationPage{ID: base + "/page-1", Type: "AnnotationPage", Items: []Annotation{}}
	for _, page := range pages {
		all.Items = append(all.Items, page.Items...)
	}
	return written(struct {
		Context string         `json:"@context"`
		ID      string         `json:"id"`
		Type    string         `json:"type"`
		Label   string         `json:"label"`
		Total   int            `json:"total"`
		First   AnnotationPage `json:"first"`
	}{"http://www.w3.org/ns/anno.jsonld", base, "AnnotationCollection", label, len(all.Items), all})
}

// With writes the manifest with annotations on its canvases, for a viewer to
// show (IIIF Presentation API 3.0, property annotations). It fails for a
// manifest of version 2, which has no place for them in this form.
func (m *Manifest) With(pages []AnnotationPage) ([]byte, error) {
	if m.Version != 3 {
		return nil, fmt.Errorf("the manifest is of version 2 of the API, whose viewers take annotations in another form: use the library's manifest of version 3")
	}
	byCanvas := map[string]AnnotationPage{}
	for _, page := range pages {
		byCanvas[page.canvas] = page
	}
	out := object{}
	for key, value := range m.raw {
		out[key] = value
	}
	var items []any
	for _, item := range list(m.raw["items"]) {
		o, isObject := item.(object)
		page, annotated := byCanvas[id(item)]
		if !isObject || !annotated || id(item) == "" {
			items = append(items, item)
			continue
		}
		canvas := object{}
		for key, value := range o {
			canvas[key] = value
		}
		canvas["annotations"] = append(append([]any{}, list(o["annotations"])...), page)
		items = append(items, canvas)
	}
	out["items"] = items
	return written(out)
}

// written is a value as indented JSON, with <, > and & as they are.
func written(value any) ([]byte, error) {
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", "  ")
	if err := encoder.Encode(value); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
