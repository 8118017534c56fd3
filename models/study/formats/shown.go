package formats

import (
	"embed"
	"fmt"
	"io/fs"
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
// usual name, such as readings.csv, finds its page too.
func Page(name string) (string, error) {
	if name == "" {
		name = IndexName
	}
	for _, tried := range []string{name, strings.ReplaceAll(name, ".", "-"), strings.TrimSuffix(name, ".csv"), strings.TrimSuffix(name, ".json"), strings.TrimSuffix(name, ".toml")} {
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
