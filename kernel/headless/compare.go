package headless

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"strings"
)

// A Difference is a number that a notebook shows otherwise than before.
type Difference struct {
	Cell     int    // code cells counted from 1
	Near     string // the words before the number
	Old, New string // as printed; empty where there is none
}

// String tells the difference in one line.
func (d Difference) String() string {
	where := fmt.Sprintf("code cell %d", d.Cell)
	if d.Near != "" {
		where += fmt.Sprintf(", after %q", d.Near)
	}
	switch {
	case d.Old == "":
		return fmt.Sprintf("%s: shows %s, which is not in the kept notebook", where, d.New)
	case d.New == "":
		return fmt.Sprintf("%s: no longer shows %s, which the kept notebook has", where, d.Old)
	}
	return fmt.Sprintf("%s: was %s, is now %s", where, d.Old, d.New)
}

// Compare finds every number that two runs of a notebook show differently, in
// the order of the cells: each printed digit counts. Figures are compared by
// the numbers written in them. The two must have the same code.
func Compare(before, after []byte) ([]Difference, error) {
	old, err := Parse(before)
	if err != nil {
		return nil, err
	}
	new, err := Parse(after)
	if err != nil {
		return nil, err
	}
	var found []Difference
	cell := 0
	for i, c := range new.Cells {
		if c.Type != "code" {
			continue
		}
		cell++
		if i >= len(old.Cells) || old.Cells[i].Source != c.Source {
			return nil, fmt.Errorf("code cell %d is not the same in both notebooks; compare two runs of one notebook", cell)
		}
		a, b := old.Cells[i].faces(), c.faces()
		for _, kind := range faceKinds {
			found = append(found, compareNumbers(cell, numbersIn(a[kind]), numbersIn(b[kind]))...)
		}
	}
	return found, nil
}

// faceKinds are the media types that carry numbers which can be read.
var faceKinds = []string{"text/plain", "text/markdown", "text/html", "image/svg+xml"}

// faces is the readable text that the cell shows, by media type; what it
// prints counts as plain text.
func (c Cell) faces() map[string]string {
	faces := map[string]string{}
	for _, o := range c.Outputs {
		faces["text/plain"] += string(o.Text)
		for kind, data := range o.Data {
			var text Lines
			if json.Unmarshal(data, &text) != nil {
				continue // an object: no text that a reader sees
			}
			if kind == "text/html" || kind == "image/svg+xml" {
				text = Lines(withoutMarkup(withDrawings(string(text))))
			}
			faces[kind] += string(text) + "\n"
		}
	}
	return faces
}

var (
	notShown = regexp.MustCompile(`(?is)<(style|script|title|desc)\b.*?</(style|script|title|desc)>|<!--.*?-->`)
	tag      = regexp.MustCompile(`(?s)<[^>]*>`)
)

// embedded finds a drawing that stands in HTML as an image.
var embedded = regexp.MustCompile(`<img [^>]*src="data:image/svg\+xml;base64,([^"]*)"[^>]*>`)

// withDrawings puts drawings in the place of the images that hold them.
func withDrawings(text string) string {
	return embedded.ReplaceAllStringFunc(text, func(image string) string {
		drawing, err := base64.StdEncoding.DecodeString(embedded.FindStringSubmatch(image)[1])
		if err != nil {
			return image
		}
		return string(drawing)
	})
}

// withoutMarkup is what a reader sees of HTML or SVG.
func withoutMarkup(text string) string {
	return html.UnescapeString(tag.ReplaceAllString(notShown.ReplaceAllString(text, " "), " "))
}

// A shownNumber is a number as printed, with the words before it.
type shownNumber struct{ digits, near string }

var number = regexp.MustCompile(`[-−+]?\d+(?:[.,]\d+)*(?:[eE][-−+]?\d+)?|\b(?:NaN|Inf)\b`)

// nearRunes is how much of the words before a number a message repeats.
const nearRunes = 30

func numbersIn(text string) []shownNumber {
	var found []shownNumber
	for _, at := range number.FindAllStringIndex(text, -1) {
		before := []rune(strings.Join(strings.Fields(text[max(0, at[0]-200):at[0]]), " "))
		found = append(found, shownNumber{
			digits: strings.ReplaceAll(text[at[0]:at[1]], "−", "-"),
			near:   strings.TrimSpace(string(before[max(0, len(before)-nearRunes):])),
		})
	}
	return found
}

func compareNumbers(cell int, old, new []shownNumber) []Difference {
	var found []Difference
	for i := range max(len(old), len(new)) {
		switch {
		case i >= len(old):
			found = append(found, Difference{Cell: cell, Near: new[i].near, New: new[i].digits})
		case i >= len(new):
			found = append(found, Difference{Cell: cell, Near: old[i].near, Old: old[i].digits})
		case old[i].digits != new[i].digits:
			found = append(found, Difference{Cell: cell, Near: new[i].near, Old: old[i].digits, New: new[i].digits})
		}
	}
	return found
}
