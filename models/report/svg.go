package report

import (
	"bytes"
	"fmt"
	"html"
	"regexp"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
)

// svgHead is what the SVG canvas writes before the first drawing.
var svgHead = regexp.MustCompile(`(?s)^.*?<svg width="[^"]*" height="[^"]*" viewBox="([^"]*)"[^>]*>`)

// svgFont is how the SVG canvas names the typeface of regular text. In its
// place stands a list of families of the same measures, since a viewer that
// lacks the first would else fall back to another width of letters.
const (
	svgFont     = `font-family:Liberation Sans;font-variant:normal;font-weight:normal;font-style:normal`
	svgBold     = `font-family:Liberation Sans;font-variant:normal;font-weight:bold;font-style:normal`
	svgFamilies = `font-family:'figure sans','Liberation Sans',Arimo,Arial,Helvetica,sans-serif`
)

// standaloneSVG is the drawing as a file of its own, with its title and
// description for those who listen to it, and the letters that it uses.
func standaloneSVG(raw []byte, f Figure) ([]byte, error) {
	plain := drawn(raw)
	body := strings.NewReplacer(svgFont, svgFamilies, svgBold, svgFamilies+";font-weight:bold").Replace(plain)
	faces := []face{{"figure sans", 400, liberationsansregular.TTF}}
	if strings.Contains(plain, svgBold) {
		faces = append(faces, face{"figure sans", 700, liberationsansbold.TTF})
	}
	style, err := fontFaces(faces, body)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	fmt.Fprintf(&out, `<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="%.5gpt" height="%.5gpt" viewBox="%s" role="img" aria-labelledby="%s-title %s-desc">
<title id="%s-title">%s</title>
<desc id="%s-desc">%s</desc>
<style>%s</style>
`, f.Width.Points(), f.Height.Points(), viewBox(raw), f.Name, f.Name, f.Name, html.EscapeString(f.Title), f.Name, html.EscapeString(f.Alt), style)
	out.WriteString(body)
	return out.Bytes(), nil
}

// inlineSVG is the drawing as part of the page: its colours are the style
// sheet's variables, so that it follows the reader's light or dark setting.
func inlineSVG(raw []byte, f Figure) []byte {
	var out bytes.Buffer
	fmt.Fprintf(&out, `<svg class="chart" viewBox="%s" role="img" aria-labelledby="%s-title %s-desc"><title id="%s-title">%s</title><desc id="%s-desc">%s</desc>
`, viewBox(raw), f.Name, f.Name, f.Name, html.EscapeString(f.Title), f.Name, html.EscapeString(f.Alt))
	out.WriteString(inlined.Replace(drawn(raw)))
	return out.Bytes()
}

// inlined turns the palette's colours into the style sheet's variables and
// leaves the typeface to it.
var inlined = func() *strings.Replacer {
	pairs := []string{svgFont + ";", "", svgBold, "font-weight:bold", "\n\t", " "}
	for _, c := range palette {
		pairs = append(pairs, "fill:"+hexOf(c.light), "fill:var(--"+c.name+")", "stroke:"+hexOf(c.light), "stroke:var(--"+c.name+")")
	}
	return strings.NewReplacer(pairs...)
}()

func viewBox(raw []byte) string {
	if m := svgHead.FindSubmatch(raw); m != nil {
		return string(m[1])
	}
	return ""
}

// drawn is all of the drawing after its head.
func drawn(raw []byte) string {
	return string(raw[len(svgHead.Find(raw)):])
}
