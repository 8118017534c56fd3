package iiif_test

import (
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
