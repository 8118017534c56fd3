package study_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"thumbed/models/codex"
	"thumbed/models/study"
	"thumbed/models/table"
	"thumbed/models/wording"
)

// imaged is a copy of the demonstration with a manifest of its first book's
// images, canvases labelled as its pages and one of them missing.
func imaged(t *testing.T, without string) string {
	t.Helper()
	const more = "\n[[images]]\nbook = \"Corvaes\"\nmanifest = \"corvaes.json\"\naddress = \"https://example.org/wear/corvaes\"\n"
	dir := copied(t, map[string]func([]byte) []byte{study.FileName: func(text []byte) []byte { return append(text, more...) }})
	s, err := study.Open(committed)
	must(t, err)
	var canvases []map[string]any
	for i, page := range s.Books[0].Pages {
		if label := page.Label.String(); label != without && !page.Lost {
			canvases = append(canvases, map[string]any{"id": fmt.Sprintf("https://example.org/canvas/%d", i), "type": "Canvas",
				"label": map[string][]string{"none": {"f. " + label}}, "width": 600, "height": 900})
		}
	}
	manifest, err := json.Marshal(map[string]any{"@context": "http://iiif.io/api/presentation/3/context.json",
		"id": "https://example.org/manifest", "type": "Manifest", "label": map[string][]string{"en": {"Hours"}}, "items": canvases})
	must(t, err)
	must(t, os.WriteFile(filepath.Join(dir, "corvaes.json"), manifest, 0o644))
	return dir
}

// Every measured page that an image shows is said on it once, with the wear
// that the results give; a page that no image shows is named in the notes.
func TestWearIsSaidOnTheImages(t *testing.T) {
	dir := halved(t, imaged(t, "12r"))
	s, err := study.Open(dir)
	must(t, err)
	face := slices.IndexFunc(s.Books[0].Pages, func(p codex.Page) bool { return p.Label.String() == "7r" })
	must(t, os.WriteFile(filepath.Join(dir, "parts.json"), fmt.Appendf(nil, `[{"type":"Annotation","bodyValue":"face","target":"https://example.org/canvas/%d#xywh=10,20,30,40"}]`, face), 0o644))
	edit(t, filepath.Join(dir, study.FileName), "manifest = \"corvaes.json\"\n", "manifest = \"corvaes.json\"\nparts = \"parts.json\"\n")
	out := filepath.Join(dir, "results")
	runTo(t, dir, out)
	type annotation struct {
		Type, Motivation, Target string
		Body                     struct{ Type, Value, Format string }
	}
	var collection struct {
		Type  string
		Total int
		First struct{ Items []annotation }
	}
	text, err := os.ReadFile(filepath.Join(out, "annotations", "corvaes.json"))
	must(t, err)
	must(t, json.Unmarshal(text, &collection))
	wear, err := s.Wear()
	must(t, err)
	measured := 0
	for _, w := range wear.Wear {
		page := s.Books[0].Pages[w.Page]
		if w.Book != 0 || page.Label.String() == "12r" {
			continue
		}
		measured++
		target := fmt.Sprintf("https://example.org/canvas/%d", w.Page)
		found := false
		for _, a := range collection.First.Items {
			found = found || a.Target == target && a.Type == "Annotation" && a.Motivation == "commenting" && a.Body.Type == "TextualBody" &&
				strings.Contains(a.Body.Value, wording.Density(w.Density)+" density")
		}
		if !found {
			t.Errorf("the wear of %s is not said on its image", page.Label)
		}
	}
	things, _ := s.Looks.Of()
	for _, thing := range things {
		if label := s.Books[0].Pages[thing.Page].Label.String(); thing.Book == 0 && label != "12r" {
			measured++ // looked at
		}
	}
	at := false
	for _, a := range collection.First.Items {
		at = at || strings.HasSuffix(a.Target, "#xywh=10,20,30,40") && strings.HasPrefix(a.Body.Value, "Rubbing, face: abraded (HB, 2026-05-11)")
	}
	if !at {
		t.Error("what was seen of the face of 7r is not said at its place")
	}
	if collection.Type != "AnnotationCollection" || collection.Total != measured || len(collection.First.Items) != measured {
		t.Errorf("%s of %d with %d items; %d pages were measured", collection.Type, collection.Total, len(collection.First.Items), measured)
	}
	manifest, err := os.ReadFile(filepath.Join(out, "annotations", "corvaes-manifest.json"))
	must(t, err)
	if n := bytes.Count(manifest, []byte(`"TextualBody"`)); n != measured {
		t.Errorf("the manifest has %d annotations for %d pages", n, measured)
	}
	page, err := os.ReadFile(filepath.Join(out, "index.html"))
	must(t, err)
	if !bytes.Contains(page, []byte("shows 1")) || !bytes.Contains(page, []byte("12r. Where one should")) {
		t.Error("the page does not say that 12r has no image")
	}
	record, err := study.ReadRecord(out)
	must(t, err)
	sealed := false
	for _, input := range record.Inputs {
		sealed = sealed || input.Path == "corvaes.json"
	}
	if !sealed {
		t.Error("the record does not name the manifest")
	}
}

func TestImagesThatCannotBeUsed(t *testing.T) {
	for more, want := range map[string][]string{
		"book = \"Corvas\"\nmanifest = \"corvaes.json\"\naddress = \"https://example.org/a\"":   {"Corvas", "Corvaes", "images.book"},
		"book = \"Tremele\"\nmanifest = \"none.json\"\naddress = \"https://example.org/a\"":     {"none.json", "images.manifest"},
		"book = \"Tremele\"\nmanifest = \"study.toml\"\naddress = \"https://example.org/a\"":    {"study.toml", "IIIF manifest"},
		"book = \"Tremele\"\nmanifest = \"corvaes.json\"\naddress = \"wear\"":                   {"images.address", "https://example.org/wear"},
		"book = \"Corvaes\"\nmanifest = \"corvaes.json\"\naddress = \"https://example.org/a\"":  {"images.book", "each book once"},
		"book = \"Tremele\"\nmanifests = \"corvaes.json\"\naddress = \"https://example.org/a\"": {"perhaps manifest was meant"},
	} {
		dir := imaged(t, "")
		path := filepath.Join(dir, study.FileName)
		text, err := os.ReadFile(path)
		must(t, err)
		must(t, os.WriteFile(path, append(text, "\n[[images]]\n"+more+"\n"...), 0o644))
		_, err = study.Open(dir)
		if err == nil {
			t.Errorf("%s is taken", more)
			continue
		}
		for _, words := range want {
			if !strings.Contains(err.Error(), words) {
				t.Errorf("%s: the error does not say %q:\n%v", more, words, err)
			}
		}
	}
}

// The table of pages that a run writes is what its models were fitted to: read
// back, it gives the same digits.
func TestPagesWrittenGiveTheSameFit(t *testing.T) {
	_, out := recorded(t)
	results := recordedResults
	var problems table.Problems
	pages := table.ReadFile(filepath.Join(out, "tables", "pages.csv"), &problems)
	must(t, problems.Err())
	again, err := results.Models[0].Model.Fit(pages)
	must(t, err)
	first := results.Models[0].Fit
	if again.LogLik != first.LogLik || again.N != first.N {
		t.Errorf("refitted to pages.csv: log likelihood %v of %d rows; the study has %v of %d", again.LogLik, again.N, first.LogLik, first.N)
	}
	for i, term := range first.Fixed {
		if again.Fixed[i].Estimate != term.Estimate || again.Fixed[i].SE != term.SE {
			t.Errorf("%s: %v ± %v; the study has %v ± %v", term.Term, again.Fixed[i].Estimate, again.Fixed[i].SE, term.Estimate, term.SE)
		}
	}
}
