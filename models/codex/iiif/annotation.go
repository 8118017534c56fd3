package iiif

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"net/url"
	"path"
	"slices"
	"strings"

	"thumbed/models/codex"
)

// A Note is what is to be said of a page.
type Note struct {
	Page  codex.PageLabel
	Words string // plain text
	Place string // where on the image: xywh=0,0,500,800; empty: the page as a whole
}

// An Annotation is a Web Annotation (W3C, “Web Annotation Data Model”,
// Recommendation of 23 February 2017, section 3.1): a body of plain text about its
// target. Its motivation is commenting, which viewers show (IIIF Presentation API
// 3.0, section 5.6); describing, a narrower word of the model, some do not.
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
	ID         string       `json:"id"`
	Type       string       `json:"type"`
	PartOf     string       `json:"partOf,omitempty"`     // the collection that it belongs to
	StartIndex *int         `json:"startIndex,omitempty"` // place of its first annotation in the collection, from 0
	Items      []Annotation `json:"items"`

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
					ID: fmt.Sprintf("%s/canvas-%d/%s-%d", base, n+1, url.PathEscape(bare(label).String()), k+1), Type: "Annotation", Motivation: "commenting",
					Body:   TextualBody{Type: "TextualBody", Value: note.Words, Format: "text/plain", Language: "en"},
					Target: c.target(half, note.Place),
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

// target is a place on the canvas where one is given, and else the canvas, or the
// half of it that shows one page of an opening (W3C, “Media Fragments URI 1.0”, 2012,
// section 4.2.2). A canvas whose size is not told is the target as a whole.
func (c *Canvas) target(half int, place string) string {
	if place != "" {
		return c.ID + "#" + place
	}
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
	all := AnnotationPage{ID: base + "/page-1", Type: "AnnotationPage", PartOf: base, StartIndex: new(int), Items: []Annotation{}}
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
		Last    string         `json:"last"`
	}{"http://www.w3.org/ns/anno.jsonld", base, "AnnotationCollection", label, len(all.Items), all, all.ID})
}

// With writes the manifest with annotations on its canvases, for a viewer to
// show: in a manifest of version 3 the annotations themselves (IIIF Presentation
// API 3.0, property annotations), in one of version 2 the addresses at which a
// viewer finds those of [Lists] (Presentation API 2.1, section 5.3, otherContent). It
// has an address of its own, at which the scholar puts it, and names the library's
// as one to see also.
func (m *Manifest) With(address string, pages []AnnotationPage) ([]byte, error) {
	byCanvas := map[string]AnnotationPage{}
	for _, page := range pages {
		byCanvas[page.canvas] = page
	}
	out := maps.Clone(m.raw)
	m.rename(out, address)
	if m.Version == 3 {
		out["items"] = noted(list(out["items"]), byCanvas, "annotations", func(page AnnotationPage) any { return page })
		return written(out)
	}
	sequences := slices.Clone(list(out["sequences"]))
	if len(sequences) > 0 {
		if first, ok := sequences[0].(object); ok {
			first = maps.Clone(first)
			first["canvases"] = noted(list(first["canvases"]), byCanvas, "otherContent", func(page AnnotationPage) any {
				return object{"@id": page.ID + ".json", "@type": "sc:AnnotationList"}
			})
			sequences[0] = first
		}
	}
	out["sequences"] = sequences
	return written(out)
}

// rename gives a copy of the manifest its own address.
func (m *Manifest) rename(out object, address string) {
	name, original := "id", object{"id": m.ID, "type": "Manifest", "format": "application/ld+json"}
	if m.Version == 2 {
		name, original = "@id", object{"@id": m.ID, "format": "application/ld+json"}
	}
	out[name] = address
	if m.ID != "" {
		out["seeAlso"] = append(slices.Clone(list(out["seeAlso"])), original)
	}
}

// noted are canvases with what refers to their annotations put into a property.
func noted(canvases []any, byCanvas map[string]AnnotationPage, property string, entry func(AnnotationPage) any) []any {
	out := slices.Clone(canvases)
	for i, item := range out {
		o, isObject := item.(object)
		page, annotated := byCanvas[id(item)]
		if !isObject || !annotated || id(item) == "" {
			continue
		}
		canvas := maps.Clone(o)
		canvas[property] = append(slices.Clone(list(o[property])), entry(page))
		out[i] = canvas
	}
	return out
}

// A List is a file with the annotations of one canvas for viewers of version 2 of
// the API.
type List struct {
	Name string // of the file, which stands at the address that begins the names
	Data []byte
}

// Lists writes annotations as the annotation lists of version 2 of the API, one a
// canvas (IIIF Presentation API 2.1, sections 5.5, 6.2 and 6.7). A manifest must not
// hold them; a viewer finds them at the scholar's own address.
func Lists(pages []AnnotationPage) ([]List, error) {
	var lists []List
	for _, page := range pages {
		var resources []any
		for _, a := range page.Items {
			resources = append(resources, object{"@id": a.ID, "@type": "oa:Annotation", "motivation": "oa:commenting", "on": a.Target,
				"resource": object{"@type": "cnt:ContentAsText", "chars": a.Body.Value, "format": a.Body.Format, "language": a.Body.Language}})
		}
		name := page.ID + ".json"
		data, err := written(object{"@context": "http://iiif.io/api/presentation/2/context.json", "@id": name, "@type": "sc:AnnotationList", "resources": resources})
		if err != nil {
			return nil, err
		}
		lists = append(lists, List{Name: path.Base(name), Data: data})
	}
	return lists, nil
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
