package iiif

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/table"
)

// Parts are where parts of pages stand on the images, by page and by the part's name:
// a fragment such as xywh=120,340,80,90 or xywh=percent:10,20,5,5.
type Parts map[codex.PageLabel]map[string]string

// Place is that of a part of a page; empty where none is known.
func (p Parts) Place(page codex.PageLabel, part string) string { return p[bare(page)][part] }

// fragment is a rectangle of an image (W3C, “Media Fragments URI 1.0”, section 4.2.2).
var fragment = regexp.MustCompile(`^xywh=(?:pixel:|(percent:))?([0-9.]+),[0-9.]+,([0-9.]+),[0-9.]+$`)

// ReadParts reads Web Annotations (W3C, “Web Annotation Data Model”) whose bodies name
// parts of pictures and whose targets are rectangles on the canvases of a manifest: a
// list, an AnnotationPage or an AnnotationCollection with its first page inside. What an
// annotation lacks goes to ps, and that none is on a canvas of this manifest; parts on
// canvases of others, or that show no page, are passed over.
func ReadParts(file string, text []byte, m *Manifest, ps *table.Problems) Parts {
	decoder := json.NewDecoder(bytes.NewReader(text))
	decoder.UseNumber()
	var whole any
	if err := decoder.Decode(&whole); err != nil {
		ps.Add(table.Problem{File: file, Value: file, Expected: "Web Annotations in JSON", Remedy: "write them out of the tool that they were drawn in: " + err.Error()})
		return nil
	}
	out := Parts{}
	elsewhere, here := "", false // the canvas named last; whether any is of this manifest
	for n, item := range annotationsIn(whole) {
		name, canvas, place := partOf(item)
		fault := func(value, expected, remedy string) {
			ps.Add(table.Problem{File: file, Column: "annotation " + strconv.Itoa(n+1), Value: value, Expected: expected, Remedy: remedy})
		}
		rectangle := fragment.FindStringSubmatch(place)
		switch {
		case name == "":
			fault("", "a body whose text names the part, such as face", "write the part's name as the annotation's text")
			continue
		case rectangle == nil:
			fault(place, "a rectangle on the image, such as …#xywh=120,340,80,90", "draw "+name+" as a rectangle")
			continue
		}
		elsewhere = canvas
		for _, c := range m.Canvases {
			if c.ID != canvas {
				continue
			}
			if here = true; len(c.Pages) == 0 {
				continue
			}
			page := bare(c.pageAt(rectangle))
			if out[page] == nil {
				out[page] = map[string]string{}
			}
			out[page][name] = place
		}
	}
	if elsewhere != "" && !here && len(m.Canvases) > 0 {
		ps.Add(table.Problem{File: file, Value: elsewhere, Expected: "annotations on canvases of the manifest, such as " + m.Canvases[0].ID,
			Remedy: "draw the parts on the images of this manifest, or correct the targets: a library that moved has given its canvases new names"})
	}
	return out
}

// annotationsIn are the annotations of a list, a page or a collection.
func annotationsIn(whole any) []any {
	if o, is := whole.(object); is {
		switch kindOf(o) {
		case "AnnotationPage":
			return list(o["items"])
		case "AnnotationCollection":
			return annotationsIn(o["first"])
		}
	}
	return list(whole)
}

// partOf is what an annotation names, and where.
func partOf(item any) (name, canvas, place string) {
	o, is := item.(object)
	if !is {
		return "", "", ""
	}
	name, _ = o["bodyValue"].(string)
	for _, body := range list(o["body"]) {
		if b, is := body.(object); is && name == "" {
			name, _ = b["value"].(string)
		}
	}
	targets := list(o["target"])
	if len(targets) == 0 {
		return name, "", ""
	}
	canvas, place, _ = strings.Cut(id(targets[0]), "#") // of several targets the first
	if t, is := targets[0].(object); is && t["source"] != nil {
		canvas = id(t["source"])
		for _, selector := range list(t["selector"]) {
			if s, is := selector.(object); is && kindOf(s) == "FragmentSelector" {
				place, _ = s["value"].(string)
			}
		}
	}
	return strings.TrimSpace(name), canvas, place
}

// pageAt is the page of a canvas on which a rectangle that fragment found stands: of an
// opening that of its half.
func (c *Canvas) pageAt(rectangle []string) codex.PageLabel {
	middle := c.Width / 2
	if rectangle[1] != "" { // per cent
		middle = 50
	}
	x, _ := strconv.ParseFloat(rectangle[2], 64) // figures and points only
	width, _ := strconv.ParseFloat(rectangle[3], 64)
	if len(c.Pages) < 2 || x+width/2 < middle {
		return c.Pages[0]
	}
	return c.Pages[1]
}
