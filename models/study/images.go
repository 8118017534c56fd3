package study

import (
	"fmt"

	"thumbed/models/codex/iiif"
	"thumbed/models/report"
	"thumbed/models/table"
)

// Images name the library's images of a book, on which its wear is to be said.
type Images struct {
	Book     string `toml:"book" required:"true"`     // the book's id
	Manifest string `toml:"manifest" required:"true"` // path of its IIIF Presentation manifest
	// Address is a web address of the scholar's own, with which the names of the
	// annotations begin; nothing need stand there.
	Address string `toml:"address" required:"true"` // a web address of the scholar's own, with which the names of the annotations begin; nothing need stand there
	Parts   string `toml:"parts"`                   // path of annotations (Web Annotations, or a list of version 2 of the API) that name parts of pictures at their places on the images, rectangles or shapes; what was seen of traces is said there
}

// checkImages checks what can be told without the tables.
func (c *fileCheck) checkImages() {
	first := map[string]bool{}
	for i, images := range c.file.Images {
		switch {
		case images.Book == "":
			c.problem("", "the id of a book", `write book = "…" under [[images]]`, "images", i, "book")
		case first[images.Book]:
			c.problem(images.Book, "each book once", "delete one of the two", "images", i, "book")
		}
		first[images.Book] = true
		if images.Manifest == "" {
			c.problem("", "the path of a IIIF manifest", `write manifest = "….json", a file fetched from the library`, "images", i, "manifest")
		}
		if !iiif.CanName(images.Address) {
			c.problem(images.Address, "a web address of your own, with which the names of the annotations begin",
				`write address = "https://example.org/wear", with your own name for example.org; nothing need stand there`, "images", i, "address")
		}
	}
}

// largestManifest is the size of a manifest, in bytes, beyond which it is surely
// something else.
const largestManifest = 256 << 20

// loadImages reads the manifests and looks for their books.
func (s *Study) loadImages(ps *table.Problems) {
	c := fileCheck{path: s.Path, file: &s.File, where: s.where, ps: ps}
	for i, images := range s.Images {
		book := s.index(images.Book)
		if book < 0 && images.Book != "" {
			_, err := s.Book(images.Book)
			c.problem(images.Book, "a book of the study", err.Error(), "images", i, "book")
		}
		if images.Manifest == "" {
			continue
		}
		text, err := table.Content(s.near(images.Manifest), largestManifest)
		if err != nil {
			c.problem(images.Manifest, "a IIIF manifest that can be read", table.Unreadable(images.Manifest, err).Remedy, "images", i, "manifest")
			continue
		}
		if m := iiif.ReadManifest(s.near(images.Manifest), text, ps); m != nil {
			s.images = append(s.images, report.Images{Book: book, Name: images.Manifest, Manifest: m, Address: images.Address, Parts: s.partsOn(c, i, m)})
		}
	}
}

// partsOn reads where parts of pictures stand on the images; none where no file is named.
func (s *Study) partsOn(c fileCheck, i int, m *iiif.Manifest) iiif.Parts {
	name := s.Images[i].Parts
	if name == "" {
		return nil
	}
	text, err := table.Content(s.near(name), largestManifest)
	if err != nil {
		c.problem(name, "Web Annotations that can be read", table.Unreadable(name, err).Remedy, "images", i, "parts")
		return nil
	}
	return iiif.ReadParts(s.near(name), text, m, c.ps)
}

// manifests are the paths of all manifests and of parts on their images, as the study
// file has them.
func (s *Study) manifests() []string {
	var paths []string
	for _, images := range s.Images {
		paths = append(paths, images.Manifest)
		if images.Parts != "" {
			paths = append(paths, images.Parts)
		}
	}
	return paths
}

// annotate says the wear of the books on their images.
func (s *Study) annotate(results *report.Results) error {
	for _, images := range s.images {
		if err := results.Annotate(images); err != nil {
			return fmt.Errorf("the wear of %s cannot be said on its images: %w", s.Books[images.Book].ID, err)
		}
	}
	return nil
}
