package kernel

import (
	"bytes"
	"fmt"
	"html"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
)

// The size of a plot of gonum's in a notebook: as wide as the report's figures.
const plotWidth, plotHeight = 16 * vg.Centimeter, 10 * vg.Centimeter

// plotFace draws a plot of gonum's as it is set.
func plotFace(p *plot.Plot) (Output, error) {
	words := "A plot"
	if p.Title.Text != "" {
		words = p.Title.Text
	}
	along := fmt.Sprintf("Across: %s, %.4g to %.4g. Up: %s, %.4g to %.4g.", orValues(p.X.Label.Text), p.X.Min, p.X.Max, orValues(p.Y.Label.Text), p.Y.Min, p.Y.Max)
	var drawn, bitmap bytes.Buffer
	for kind, into := range map[string]*bytes.Buffer{"svg": &drawn, "png": &bitmap} {
		w, err := p.WriterTo(plotWidth, plotHeight, kind)
		if err == nil {
			_, err = w.WriteTo(into)
		}
		if err != nil {
			return Output{}, fmt.Errorf("the plot cannot be drawn: %w", err)
		}
	}
	svg := drawn.String()
	svg = svg[max(0, strings.Index(svg, "<svg ")):]
	if at := strings.Index(svg, ">"); at >= 0 {
		svg = svg[:at+1] + "<title>" + html.EscapeString(words) + "</title><desc>" + html.EscapeString(along) + "</desc>" + svg[at+1:]
	}
	return Output{Plain: words + ". " + along, SVG: []byte(svg), PNG: bitmap.Bytes()}, nil
}

func orValues(label string) string {
	if label == "" {
		return "values"
	}
	return label
}
