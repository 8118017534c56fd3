package kernel

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"strings"

	"golang.org/x/image/draw"

	"thumbed/models/report"
	"thumbed/models/report/grid"
)

// shownFaces shows a result as the report does: its figures, then what is said of
// it, its tables and its notes.
func shownFaces(shown report.Shown, err error) ([]Output, error) {
	if err != nil {
		return nil, err
	}
	figures, err := figureFaces(shown.Figures, nil)
	plain, page := strings.Join(shown.Said, "\n"), paragraphs(shown.Said...)
	for _, g := range shown.Tables {
		plain += "\n\n" + strings.TrimRight(g.Text(), "\n")
		page += g.Notebook()
	}
	for _, note := range shown.Notes {
		plain += "\n– " + note
	}
	return append(figures, Output{Plain: strings.TrimSpace(plain) + "\n", HTML: page + noteList(shown.Notes)}), err
}

// textFaces is a text alone.
func textFaces(words string) []Output { return []Output{{Plain: words, HTML: paragraphs(words)}} }

// tableOutput is a table as an output.
func tableOutput(g grid.Grid) Output { return Output{Plain: g.Text(), HTML: g.Notebook()} }

// figureFaces shows figures, each with its title and what a reader who cannot see
// it needs to know.
func figureFaces(figures []report.Figure, err error) ([]Output, error) {
	if err != nil {
		return nil, err
	}
	var out []Output
	for _, f := range figures {
		o, err := figureFace(f)
		if err != nil {
			return nil, err
		}
		out = append(out, o)
	}
	return out, nil
}

func figureFace(f report.Figure) (Output, error) {
	small, err := smaller(f.PNG)
	if err != nil {
		return Output{}, fmt.Errorf("figure %s: %w", f.Name, err)
	}
	return Output{Plain: f.Title + ". " + f.Alt + "\n" + f.Caption, SVG: inNotebook(f), PNG: small}, nil
}

// inNotebook is a figure's drawing as part of a page: without the declaration that a file
// of its own has, which exporters refuse.
func inNotebook(f report.Figure) []byte {
	if at := bytes.Index(f.SVG, []byte("<svg ")); at >= 0 {
		return f.SVG[at:]
	}
	return f.SVG
}

// smaller halves a bitmap's sides: the report's are for print, a notebook keeps
// each in its file, and shows the SVG beside it wherever that can be shown.
func smaller(bitmap []byte) ([]byte, error) {
	picture, err := png.Decode(bytes.NewReader(bitmap))
	if err != nil {
		return nil, err
	}
	size := picture.Bounds().Size().Div(2)
	half := image.NewNRGBA(image.Rectangle{Max: size})
	draw.BiLinear.Scale(half, half.Bounds(), picture, picture.Bounds(), draw.Src, nil)
	var packed bytes.Buffer
	err = png.Encode(&packed, half)
	return packed.Bytes(), err
}
