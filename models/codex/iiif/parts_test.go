package iiif_test

import (
	"regexp"
	"strings"
	"testing"

	"thumbed/models/codex/iiif"
	"thumbed/models/table"
)

// TestPartsThereAndBack: parts drawn as rectangles, in the two forms that the Web
// Annotation Data Model has for them (sections 3.2.4 and 4.2.1), come in, and notes on
// them go out on the same rectangles; of an opening each page has the parts of its half.
func TestPartsThereAndBack(t *testing.T) {
	const manifest = `{"@context":"http://iiif.io/api/presentation/3/context.json","id":"https://e.org/m","type":"Manifest","items":[
		{"id":"https://e.org/c1","type":"Canvas","label":{"none":["f. 1r"]},"width":600,"height":900},
		{"id":"https://e.org/c2","type":"Canvas","label":{"none":["ff. 1v–2r"]},"width":1200,"height":900}]}`
	var ps table.Problems
	m := iiif.ReadManifest("m.json", []byte(manifest), &ps)
	parts := iiif.ReadParts("parts.json", []byte(`{"type":"AnnotationPage","items":[
		{"type":"Annotation","body":{"type":"TextualBody","value":"face"},"target":"https://e.org/c1#xywh=120,340,80,90"},
		{"type":"Annotation","bodyValue":"hands","target":{"source":"https://e.org/c2","selector":{"type":"FragmentSelector","conformsTo":"http://www.w3.org/TR/media-frags/","value":"xywh=pixel:700,100,50,50"}}},
		{"type":"Annotation","bodyValue":"frame","target":"https://e.org/c2#xywh=percent:1,1,40,90"}]}`), m, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	for page, want := range map[string][2]string{"1r": {"face", "xywh=120,340,80,90"}, "2r": {"hands", "xywh=pixel:700,100,50,50"}, "1v": {"frame", "xywh=percent:1,1,40,90"}} {
		if got := parts.Place(label(t, page), want[0]); got != want[1] {
			t.Errorf("%s of %s stands at %q", want[0], page, got)
		}
	}
	pages, _, err := m.Annotate("https://e.org/wear", []iiif.Note{{Page: label(t, "1r"), Words: "face: abraded", Place: parts.Place(label(t, "1r"), "face")}})
	if err != nil || pages[0].Items[0].Target != "https://e.org/c1#xywh=120,340,80,90" {
		t.Errorf("%v, %v", pages, err)
	}
	iiif.ReadParts("parts.json", []byte(`[{"target":"https://e.org/c1#xywh=1,2,3,4"},{"bodyValue":"face","target":"https://e.org/c1"}]`), m, &ps)
	if err := ps.Err(); err == nil || !strings.Contains(err.Error(), "names the part") || !strings.Contains(err.Error(), "a rectangle on the image") {
		t.Errorf("annotations without a name or a place: %v", err)
	}
	ps = table.Problems{}
	iiif.ReadParts("parts.json", []byte(`[{"bodyValue":"face","target":"https://e.org/old/c1#xywh=1,2,3,4"}]`), m, &ps)
	if err := ps.Err(); err == nil || !strings.Contains(err.Error(), "canvases of the manifest, such as https://e.org/c1") {
		t.Errorf("annotations on the canvases of another manifest: %v", err)
	}
}

// TestPartsOfOtherForms: a list of version 2 of the API (Open Annotation, IIIF Presentation
// API 2.1, section 5.5) as drawing tools write it, with a rectangle, a shape and a choice
// of both, and polygons of Web Annotations, come in as the rectangles around them; notes go
// out on these as a list of version 2, and that list comes in again with the same places.
func TestPartsOfOtherForms(t *testing.T) {
	const manifest = `{"@context":"http://iiif.io/api/presentation/2/context.json","@id":"https://e.org/m","@type":"sc:Manifest","sequences":[{"@type":"sc:Sequence","canvases":[
		{"@id":"https://e.org/c1","@type":"sc:Canvas","label":"f. 1r","width":600,"height":900},
		{"@id":"https://e.org/c2","@type":"sc:Canvas","label":"ff. 1v–2r","width":1200,"height":900}]}]}`
	var ps table.Problems
	m := iiif.ReadManifest("m.json", []byte(manifest), &ps)
	parts := iiif.ReadParts("list.json", []byte(`{"@context":"http://iiif.io/api/presentation/2/context.json","@id":"https://e.org/list/1","@type":"sc:AnnotationList","resources":[
		{"@type":"oa:Annotation","motivation":"oa:commenting","resource":{"@type":"cnt:ContentAsText","chars":"face"},"on":"https://e.org/c1#xywh=120,340,80,90"},
		{"@type":"oa:Annotation","motivation":["oa:commenting","oa:tagging"],"resource":[{"@type":"dctypes:Text","format":"text/html","chars":"<p>hands</p>"},{"@type":"oa:Tag","chars":"rubbed"}],
		 "on":[{"@type":"oa:SpecificResource","full":"https://e.org/c2","within":{"@id":"https://e.org/m","@type":"sc:Manifest"},
		  "selector":{"@type":"oa:Choice","default":{"@type":"oa:FragmentSelector","value":"xywh=700,100,50,50"},"item":{"@type":"oa:SvgSelector","value":"<svg xmlns='http://www.w3.org/2000/svg'><path d=\"M710 110l20 0l0 20z\"/></svg>"}}}]},
		{"@type":"oa:Annotation","resource":{"@type":"dctypes:Text","chars":"feet"},"on":{"@type":"oa:SpecificResource","full":{"@id":"https://e.org/c2"},
		  "selector":{"@type":"oa:Choice","default":{"@type":"oa:FragmentSelector","value":"xywh=0,0,0,0"},"item":{"@type":["oa:SvgSelector","cnt:ContentAsText"],"chars":"<svg><path d=\"M10.5,20 c 5,0 9,4 9,9 z\"/></svg>"}}}}]}`), m, &ps)
	more := iiif.ReadParts("web.json", []byte(`[{"type":"Annotation","body":[{"type":"TextualBody","value":"frame"}],
		"target":{"source":"https://e.org/c1","selector":[{"type":"SvgSelector","value":"<svg><polygon points=\"10,20 300.5,22 290,400.2 12,380\"></polygon></svg>"}]}}]`), m, &ps)
	if err := ps.Err(); err != nil {
		t.Fatal(err)
	}
	var notes []iiif.Note
	for _, want := range []struct{ page, part, place string }{
		{"1r", "face", "xywh=120,340,80,90"}, {"2r", "hands", "xywh=700,100,50,50"}, {"1v", "feet", "xywh=10,20,10,9"}, {"1r", "frame", "xywh=10,20,291,381"}} {
		place := parts.Place(label(t, want.page), want.part)
		if want.part == "frame" {
			place = more.Place(label(t, want.page), want.part)
		}
		if place != want.place {
			t.Errorf("%s of %s stands at %q, expected %q", want.part, want.page, place, want.place)
		}
		notes = append(notes, iiif.Note{Page: label(t, want.page), Words: want.part, Place: place})
	}
	pages, _, err := m.Annotate("https://e.org/wear", notes)
	if err != nil {
		t.Fatal(err)
	}
	lists, err := iiif.Lists(pages)
	if err != nil {
		t.Fatal(err)
	}
	for _, list := range lists {
		again := iiif.ReadParts(list.Name, list.Data, m, &ps)
		for _, note := range notes {
			if place := again.Place(note.Page, note.Words); place != "" && place != note.Place {
				t.Errorf("%s of %s comes back at %q, not at %q", note.Words, note.Page, place, note.Place)
			} else if place != "" {
				delete(again[note.Page], note.Words)
			}
		}
		for page, left := range again {
			if len(left) > 0 {
				t.Errorf("%v of %s came from nowhere", left, page)
			}
		}
	}
	if err := ps.Err(); err != nil || len(lists) != 2 {
		t.Errorf("%d lists, %v", len(lists), err)
	}
}

// FuzzParts: whatever a file of parts holds, nothing panics, and each place that comes of
// it is a rectangle that goes out again as it came.
func FuzzParts(f *testing.F) {
	const manifest = `{"@context":"http://iiif.io/api/presentation/3/context.json","id":"https://e.org/m","type":"Manifest","items":[
		{"id":"c1","type":"Canvas","label":{"none":["f. 1r"]},"width":600,"height":900},{"id":"c2","type":"Canvas","label":{"none":["ff. 1v–2r"]}}]}`
	var ps table.Problems
	m := iiif.ReadManifest("m.json", []byte(manifest), &ps)
	f.Add([]byte(`{"type":"AnnotationPage","items":[{"bodyValue":"face","target":"c1#xywh=120,340,80,90"},{"body":[{"value":"hands"}],"target":{"source":"c2","selector":{"value":"xywh=percent:1,1,40,90"}}}]}`))
	f.Add([]byte(`{"@type":"sc:AnnotationList","resources":[{"resource":{"chars":"face"},"on":[{"full":"c1","selector":{"item":{"@type":"oa:SvgSelector","value":"<svg><path d=\"M1,2L3,4 5,1e9z\"/></svg>"},"default":{"value":"xywh=1,2,3,4"}}}]}]}`))
	f.Add([]byte(`{"type":"AnnotationCollection","first":{"type":"AnnotationCollection","first":[{"bodyValue":"x","target":{"source":"c1","selector":{"type":"SvgSelector","value":"<svg><polygon points=\"1,2 3,-4 .5,1e999\"/></svg>"}}}]}}`))
	place := regexp.MustCompile(`^xywh=(pixel:|percent:)?[0-9.]+,[0-9.]+,[0-9.]+,[0-9.]+$`)
	f.Fuzz(func(t *testing.T, data []byte) {
		var ps table.Problems
		for page, parts := range iiif.ReadParts("parts.json", data, m, &ps) {
			for name, at := range parts {
				if name == "" || !place.MatchString(at) {
					t.Errorf("%q of %v stands at %q", name, page, at)
				}
			}
		}
	})
}
