package headless

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html"
	"regexp"
	"strings"
)

// A Difference is something that a notebook shows otherwise than before: a number, or
// the numbers of a sentence that came or went.
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
// the order of the cells: each printed digit counts. What came or went between
// numbers that stayed is one difference a sentence or row, and what is shown in
// several forms is told once. Figures are compared by the numbers written in them.
// The two must have the same code.
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
		told := map[Difference]bool{}
		for _, kind := range faceKinds {
			for _, d := range compareNumbers(cell, numbersIn(a[kind]), numbersIn(b[kind])) {
				once := Difference{Old: d.Old, New: d.New}
				if !told[once] {
					found = append(found, d)
				}
				told[once] = true
			}
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

// A shownNumber is a number, date or time as printed, with the words before it.
type shownNumber struct {
	digits, near string
	words        string // those right before it, without other numbers
	sentence     int    // or line, counted
}

var number = regexp.MustCompile(`\b\d{4}-\d{2}-\d{2}(?:[T ]\d{2}:\d{2}(?::\d{2})?)?\b|\b\d{1,2} (?:January|February|March|April|May|June|July|August|September|October|November|December) \d{4}\b` +
	`|\b\d{1,2}:\d{2}(?::\d{2})?\b|[-−+]?\d+(?:[.,]\d+)*(?:[eE][-−+]?\d+)?|\b(?:NaN|Inf)\b`)

// sentenceEnd ends a sentence, a line or a row.
var sentenceEnd = regexp.MustCompile(`[.:;!?]\s|\n`)

// notWord is what a label is not made of.
var notWord = regexp.MustCompile(`[^\pL]+`)

// nearRunes is how much of the words before a number a message repeats.
const nearRunes = 30

func numbersIn(text string) []shownNumber {
	var found []shownNumber
	sentence, counted := 0, 0
	for _, at := range number.FindAllStringIndex(text, -1) {
		before := []rune(strings.Join(strings.Fields(text[max(0, at[0]-200):at[0]]), " "))
		sentence += len(sentenceEnd.FindAllStringIndex(text[counted:at[0]], -1))
		counted = at[0]
		near := strings.TrimSpace(string(before[max(0, len(before)-nearRunes):]))
		found = append(found, shownNumber{
			digits:   strings.ReplaceAll(text[at[0]:at[1]], "−", "-"),
			near:     near,
			words:    notWord.ReplaceAllString(near, " "),
			sentence: sentence,
		})
	}
	return found
}

// The costs of laying two lists of numbers beside each other: a number that came or
// went, one that changed after the same words or after others, one that stayed after
// others.
const (
	alone, changed, changedElsewhere, movedWords = 4, 4, 7, 1
	// largestAlign bounds the work; longer lists are compared place by place.
	largestAlign = 16 << 20
)

func (n shownNumber) cost(other shownNumber) int {
	same := n.words == other.words
	switch {
	case n.digits == other.digits && same:
		return 0
	case n.digits == other.digits:
		return movedWords
	case same:
		return changed
	}
	return changedElsewhere
}

// aligned lays two lists of numbers beside each other with the least change
// (Needleman and Wunsch 1970); where there is no number on one side, it is -1.
func aligned(old, new []shownNumber) [][2]int {
	var pairs [][2]int
	if len(old)*len(new) > largestAlign {
		for i := range max(len(old), len(new)) {
			pair := [2]int{i, i}
			if i >= len(old) {
				pair[0] = -1
			}
			if i >= len(new) {
				pair[1] = -1
			}
			pairs = append(pairs, pair)
		}
		return pairs
	}
	least := make([][]int32, len(old)+1) // cost of the rest, from here
	for i := len(old); i >= 0; i-- {
		least[i] = make([]int32, len(new)+1)
		for j := len(new); j >= 0; j-- {
			switch {
			case i == len(old):
				least[i][j] = int32(alone * (len(new) - j))
			case j == len(new):
				least[i][j] = int32(alone * (len(old) - i))
			default:
				least[i][j] = min(least[i+1][j+1]+int32(old[i].cost(new[j])), least[i+1][j]+alone, least[i][j+1]+alone)
			}
		}
	}
	for i, j := 0, 0; i < len(old) || j < len(new); {
		switch {
		case i < len(old) && j < len(new) && least[i][j] == least[i+1][j+1]+int32(old[i].cost(new[j])):
			pairs = append(pairs, [2]int{i, j})
			i, j = i+1, j+1
		case i < len(old) && least[i][j] == least[i+1][j]+alone:
			pairs = append(pairs, [2]int{i, -1})
			i++
		default:
			pairs = append(pairs, [2]int{-1, j})
			j++
		}
	}
	return pairs
}

func compareNumbers(cell int, old, new []shownNumber) []Difference {
	// What is alike at both ends needs no laying out.
	for len(old) > 0 && len(new) > 0 && old[0].cost(new[0]) == 0 {
		old, new = old[1:], new[1:]
	}
	for len(old) > 0 && len(new) > 0 && old[len(old)-1].cost(new[len(new)-1]) == 0 {
		old, new = old[:len(old)-1], new[:len(new)-1]
	}
	var found []Difference
	went, came := -1, -1 // the sentences of the last difference, where it was one of these
	for _, pair := range aligned(old, new) {
		switch i, j := pair[0], pair[1]; {
		case i < 0 && came == new[j].sentence:
			found[len(found)-1].New += ", " + new[j].digits
		case i < 0:
			found = append(found, Difference{Cell: cell, Near: new[j].near, New: new[j].digits})
			went, came = -1, new[j].sentence
		case j < 0 && went == old[i].sentence:
			found[len(found)-1].Old += ", " + old[i].digits
		case j < 0:
			found = append(found, Difference{Cell: cell, Near: old[i].near, Old: old[i].digits})
			went, came = old[i].sentence, -1
		default:
			if old[i].digits != new[j].digits {
				found = append(found, Difference{Cell: cell, Near: new[j].near, Old: old[i].digits, New: new[j].digits})
			}
			went, came = -1, -1
		}
	}
	return found
}
