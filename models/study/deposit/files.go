package deposit

import (
	"fmt"
	"os"
	"path"
	"strings"

	"thumbed/models/table"
)

// sumFile gives the SHA-256 (FIPS 180-4) in hexadecimal and the size of a file.
func sumFile(from string) (sum string, size int64, err error) {
	in, err := os.Open(from)
	if err != nil {
		return "", 0, fmt.Errorf("a file of the study cannot be read: %w", err)
	}
	defer in.Close() // only read from
	if sum, size, err = newSum(in).finish(); err != nil {
		return "", 0, fmt.Errorf("a file of the study cannot be read: %w", err)
	}
	return sum, size, nil
}

func isRegular(at string) bool {
	info, err := os.Stat(at)
	return err == nil && info.Mode().IsRegular()
}

// schemaBeside is the schema that stands beside a table; empty where none does.
func schemaBeside(from string) string {
	if at := table.SchemaPath(from); isRegular(at) {
		return at
	}
	return ""
}

// mediaTypes are those of the files in bundles, as IANA registers them; TeX has
// none there.
var mediaTypes = map[string]string{
	".csv": "text/csv", ".json": "application/json", ".toml": "application/toml", ".html": "text/html",
	".svg": "image/svg+xml", ".png": "image/png", ".pdf": "application/pdf", ".txt": "text/plain", ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", ".cff": "application/yaml", ".tex": "application/x-tex", ".bib": "application/x-bibtex",
}

// mediaType is the media type of a file by its name.
func mediaType(name string) string {
	if known, ok := mediaTypes[strings.ToLower(path.Ext(name))]; ok {
		return known
	}
	return "application/octet-stream"
}

// isText tells whether a file is text in UTF-8.
func isText(name string) bool {
	switch mediaType(name) {
	case "image/png", "application/pdf", "application/octet-stream", mediaTypes[".xlsx"]:
		return false
	}
	return true
}

// folders say what the folders of results hold.
var folders = map[string]string{
	"results":             "what came of the run",
	"results/figures":     "the figures, as drawings (SVG, PDF) and pictures (PNG)",
	"results/tables":      "the tables of the page, each with its schema",
	"results/chapter":     "a chapter in LaTeX: text of the methods, tables, captions, works cited",
	"results/annotations": "the wear of the books on their images (W3C Web Annotations)",
}

// aboutOutput says in a phrase what a file of results is.
func aboutOutput(name string) string {
	stem := strings.TrimSuffix(path.Base(name), path.Ext(name))
	switch top, _, _ := strings.Cut(name, "/"); {
	case name == "index.html":
		return "the page with the answers, figures and tables"
	case name == "results.json":
		return "every number of the results"
	case strings.HasSuffix(name, ".schema.json"):
		return "schema of " + strings.TrimSuffix(path.Base(name), ".schema.json") + ".csv"
	case top == "tables":
		return "table of results: " + strings.ReplaceAll(stem, "_", " ")
	case top == "figures":
		return "figure: " + stem
	case top == "chapter":
		return "for the chapter in LaTeX: " + strings.TrimPrefix(name, "chapter/")
	case top == "annotations":
		return "wear on the images: " + stem
	}
	return "of the results: " + stem
}
