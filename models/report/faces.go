package report

import (
	"encoding/base64"
	"fmt"
	"maps"
	"slices"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-fonts/liberation/liberationserifbold"

	"thumbed/models/report/typeface"
)

// A face is one weight of a typeface that is carried along.
type face struct {
	name   string
	weight int
	font   []byte
}

// pageFaces are the typefaces of the page.
var pageFaces = []face{
	{"page sans", 400, liberationsansregular.TTF}, {"page sans", 700, liberationsansbold.TTF}, {"page serif", 700, liberationserifbold.TTF},
}

// fontFaces are typefaces as a style sheet has them, with the letters of the text
// alone, so that it looks and measures the same wherever it is opened.
func fontFaces(faces []face, text string) (string, error) {
	used := map[rune]bool{}
	for _, letter := range text {
		used[letter] = true
	}
	letters := slices.Sorted(maps.Keys(used))
	var out strings.Builder
	for _, f := range faces {
		cut, err := typeface.Subset(f.font, letters)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&out, "@font-face{font-family:%q;font-weight:%d;src:url(data:font/woff;base64,%s) format(\"woff\")}\n", f.name, f.weight, base64.StdEncoding.EncodeToString(cut))
	}
	return out.String(), nil
}
