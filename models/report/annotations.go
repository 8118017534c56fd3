package report

import (
	"fmt"
	"math"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"thumbed/models/codex/iiif"
	"thumbed/models/wording"
)

// Images are the library's images of one book with its wear said on them.
type Images struct {
	Book     int    // index into Results.Books
	Name     string // of the manifest's file, as the study file has it
	Manifest *iiif.Manifest
	Address  string     // with which the names of the annotations begin
	Parts    iiif.Parts // where parts of pages stand on the images

	pages []iiif.AnnotationPage
}

// Annotate says the wear of every measured page on the library's images of it,
// as Web Annotations. What cannot be said, since no image shows the page, goes
// into the notes of the results. Books and their profiles must be there.
func (r *Results) Annotate(images Images) error {
	book := r.Books[images.Book].Book
	var notes []iiif.Note
	for _, row := range r.wearRowsOf(images.Book) {
		notes = append(notes, iiif.Note{Page: row.page().Label, Words: row.words()})
	}
	notes = append(notes, r.lookNotes(images)...)
	var missing []iiif.Note
	var err error
	if images.pages, missing, err = images.Manifest.Annotate(images.Address, notes); err != nil {
		return err
	}
	if missing != nil {
		var labels []string
		for _, note := range missing {
			if label := note.Page.String(); !slices.Contains(labels, label) {
				labels = append(labels, label)
			}
		}
		r.Notes = append(r.Notes, fmt.Sprintf("No image of %s shows %s measured or looked at: %s. Where one should, look at the labels of the canvases in %s.",
			book.ID, wording.Count(len(labels), "page that was", "pages that were"), strings.Join(labels, ", "), images.Name))
	}
	r.Images = append(r.Images, images)
	return nil
}

// lookNotes say what was seen of traces on the pages of a book, part by part, where on the
// image a part stands.
func (r *Results) lookNotes(images Images) []iiif.Note {
	if !r.looked() {
		return nil
	}
	var notes []iiif.Note
	things, looks := r.Traces.Looks.Of()
	for _, thing := range things {
		if thing.Book != images.Book {
			continue
		}
		t := &r.Traces.Coding[thing.Trace]
		said := r.Labels.Column(t.Name)
		if thing.Part != "" {
			said += ", " + thing.Part
		}
		var seen []string
		for _, look := range looks[thing] {
			value := "cannot be told (" + look.Unclear + ")"
			if levels := t.Levels(); look.Unclear == "" && levels != nil {
				value = levels[int(look.Value)]
			} else if look.Unclear == "" {
				value = wording.Whole(int(look.Value))
			}
			seen = append(seen, fmt.Sprintf("%s (%s, %s)", value, look.Observer, look.Day))
		}
		page := r.Books[images.Book].Book.Pages[thing.Page].Label
		notes = append(notes, iiif.Note{Page: page, Words: wording.Capital(said) + ": " + strings.Join(seen, "; ") + ".", Place: images.Parts.Place(page, thing.Part)})
	}
	return notes
}

// words say a page's wear to one who looks at its image.
func (w wearRow) words() string {
	page := w.wear
	var out string
	switch page.Limit {
	case "below":
		out = fmt.Sprintf("Wear of at most %s density above the page's own untouched zero, since readings stand at an end of the instrument's scale", wording.Density(page.Density))
	case "above":
		out = fmt.Sprintf("Wear of at least %s density above the page's own untouched zero, since readings stand at an end of the instrument's scale", wording.Density(page.Density))
	default:
		out = fmt.Sprintf("Wear of %s density above the page's own untouched zero (standard error %s)", wording.Density(page.Density), wording.Density(page.SE))
	}
	out += fmt.Sprintf(", from %s.", wording.Count(page.Placings, "placing", "placings"))
	if s, ok := w.section(); ok {
		out += fmt.Sprintf(" Text: %s.", s.Name)
	}
	if !math.IsNaN(w.curve) {
		out += fmt.Sprintf(" The level of text pages here is %s (95 %% interval %s to %s).", wording.Density(w.curve), wording.Density(w.low), wording.Density(w.high))
	}
	return out
}

// writeAnnotations writes those of every book that has images into dir: a
// collection that stands alone, and the library's manifest with the annotations
// on its canvases. A manifest of version 2 of the API cannot hold them; it tells
// where they are, and they are written into a folder beside it, to be put there.
func (r *Results) writeAnnotations(dir string) error {
	if r.Images == nil {
		return nil
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		return err
	}
	for _, images := range r.Images {
		book := r.Books[images.Book].Book
		name := filepath.Join(dir, r.bookFile(book))
		title := "Wear of " + book.ID
		if book.Title != "" {
			title = "Wear of " + book.Title
		}
		if r.Meta.Invented {
			title += " (invented data)"
		}
		collection, err := iiif.Collection(images.Address, title, images.pages)
		if err == nil {
			err = writeFile(name+".json", collection)
		}
		if err != nil {
			return fmt.Errorf("the annotations of %s: %w", book.ID, err)
		}
		manifest, err := images.Manifest.With(strings.TrimSuffix(images.Address, "/")+"/"+url.PathEscape(filepath.Base(name))+"-manifest.json", images.pages)
		if err == nil {
			err = writeFile(name+"-manifest.json", manifest)
		}
		if err != nil {
			return fmt.Errorf("the manifest of %s with its annotations: %w", book.ID, err)
		}
		if images.Manifest.Version == 2 {
			if err := writeLists(name+"-lists", images.pages); err != nil {
				return fmt.Errorf("the lists of annotations of %s: %w", book.ID, err)
			}
		}
	}
	return nil
}

// writeLists makes the folder dir with the annotation lists of version 2.
func writeLists(dir string, pages []iiif.AnnotationPage) error {
	lists, err := iiif.Lists(pages)
	if err != nil {
		return err
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		return err
	}
	for _, list := range lists {
		if err := writeFile(filepath.Join(dir, list.Name), list.Data); err != nil {
			return err
		}
	}
	return nil
}
