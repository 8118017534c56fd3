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

// ReadParts reads annotations whose bodies name parts of pictures and whose targets are
// places on the canvases of a manifest: Web Annotations (W3C, “Web Annotation Data Model”)
// as a list, an AnnotationPage or an AnnotationCollection with its first page inside, or an
// annotation list of version 2 (IIIF Presentation API 2.1, section 5.5; Open Annotation). Of
// a shape that is no rectangle the rectangle around it is taken. What an
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
		name, canvas, place := partOf(item, m)
		fault := func(value, expected, remedy string) {
			ps.Add(table.Problem{File: file, Column: "annotation " + strconv.Itoa(n+1), Value: value, Expected: expected, Remedy: remedy})
		}
		rectangle := fragment.FindStringSubmatch(place)
		switch {
		case name == "":
			fault("", "a body whose text names the part, such as face", "write the part's name as the annotation's text")
			continue
		case rectangle == nil:
			fault(place, "a rectangle on the image, such as …#xywh=120,340,80,90, or a shape that no transform turns or moves", "draw "+name+" as a rectangle or a polygon")
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

// annotationsIn are the annotations of a list, a page, a collection, or a list of version 2.
func annotationsIn(whole any) []any {
	if o, is := whole.(object); is {
		switch {
		case isA(o, "AnnotationPage"):
			return list(o["items"])
		case isA(o, "AnnotationCollection"):
			return annotationsIn(o["first"])
		case isA(o, "AnnotationList"):
			return list(o["resources"])
		}
	}
	return list(whole)
}

// isA tells whether a resource is of a type, whatever its prefix.
func isA(o object, kind string) bool {
	for _, key := range []string{"type", "@type"} {
		for _, value := range list(o[key]) {
			text, _ := value.(string)
			if text[strings.LastIndex(text, ":")+1:] == kind {
				return true
			}
		}
	}
	return false
}

// firstOf is the first of some keys that an object has.
func firstOf(o object, keys ...string) any {
	for _, key := range keys {
		if o[key] != nil {
			return o[key]
		}
	}
	return nil
}

// partOf is what an annotation names, and where: body and target in a Web Annotation,
// resource and on in one of version 2.
func partOf(item any, m *Manifest) (name, canvas, place string) {
	o, is := item.(object)
	if !is {
		return "", "", ""
	}
	name, _ = o["bodyValue"].(string)
	for _, body := range list(firstOf(o, "body", "resource")) {
		if b, is := body.(object); is && name == "" {
			name = words(firstOf(b, "value", "chars"))
		}
	}
	targets := list(firstOf(o, "target", "on"))
	if len(targets) == 0 {
		return name, "", ""
	}
	canvas, place, _ = strings.Cut(id(targets[0]), "#") // of several targets the first
	if t, is := targets[0].(object); is {
		if source := firstOf(t, "source", "full"); source != nil {
			canvas = id(source)
		}
		if t["selector"] != nil {
			width, height := m.sizeOf(canvas)
			place = placeOf(list(t["selector"]), width, height)
		}
	}
	return strings.TrimSpace(name), canvas, place
}

// sizeOf is the size of a canvas; 0 where it is not one of the manifest's.
func (m *Manifest) sizeOf(canvas string) (width, height float64) {
	for _, c := range m.Canvases {
		if c.ID == canvas {
			return c.Width, c.Height
		}
	}
	return 0, 0
}

// placeOf is the rectangle of the first selector that has one, else the one around the
// first shape.
func placeOf(selectors []any, width, height float64) string {
	around := ""
	for len(selectors) > 0 {
		s, _ := selectors[0].(object)
		selectors = selectors[1:]
		value, _ := firstOf(s, "value", "chars").(string)
		switch {
		case isA(s, "Choice"):
			selectors = append(append(list(s["default"]), list(s["item"])...), selectors...)
		case isA(s, "FragmentSelector"):
			if m := fragment.FindStringSubmatch(value); m == nil || strings.Trim(m[3], "0.") != "" {
				return value
			} // some tools write one of no size beside a shape
		case isA(s, "SvgSelector") && around == "":
			if b, is := boxOf(value, width, height); is {
				around = b.fragment()
			}
		}
	}
	return around
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
