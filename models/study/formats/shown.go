package formats

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"

	"thumbed/models/table"
)

//go:embed pages
var pages embed.FS

// IndexName is the page that lists the others.
const IndexName = "README"

// Names are the names of all pages but the index, in order.
func Names() []string {
	entries, err := fs.ReadDir(pages, "pages")
	if err != nil {
		panic(err) // they are part of the program
	}
	var names []string
	for _, e := range entries {
		if name := strings.TrimSuffix(e.Name(), ".md"); name != IndexName {
			names = append(names, name)
		}
	}
	return names
}

// Page is a page by its name, or the index for none: text in Markdown. A file's
// usual name, such as readings.csv or MODEL.toml, finds its page too.
func Page(name string) (string, error) {
	if name == "" {
		name = IndexName
	}
	for _, tried := range []string{name, strings.ReplaceAll(name, ".", "-"), strings.TrimSuffix(name, path.Ext(name)), listedAs(name)} {
		if text, err := fs.ReadFile(pages, "pages/"+tried+".md"); err == nil {
			return string(text), nil
		}
	}
	names := Names()
	if near := table.Nearest(name, names); near != "" {
		return "", fmt.Errorf("there is no page %q; did you mean %s?", name, near)
	}
	slices.Sort(names)
	return "", fmt.Errorf("there is no page %q; there are %s", name, strings.Join(names, ", "))
}

// listed are the lines of the index: a page, and the files that it is of.
var listed = regexp.MustCompile("(?m)^- \\[[^]]*\\]\\(([^)]+)\\.md\\): `([^`]+)`")

// listedAs is the first page of the index whose files have that name; empty where there
// is none.
func listedAs(file string) string {
	index, err := fs.ReadFile(pages, "pages/"+IndexName+".md")
	if err != nil {
		panic(err) // it is part of the program
	}
	for _, line := range listed.FindAllStringSubmatch(string(index), -1) {
		for _, pattern := range strings.FieldsFunc(line[2], func(c rune) bool { return strings.ContainsRune(", ()", c) }) {
			for _, of := range []string{pattern, path.Base(pattern)} {
				if same, err := path.Match(of, file); err == nil && same && of != "*.csv" && of != "*.json" {
					return line[1]
				}
			}
		}
	}
	return ""
}
