package formats

import (
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// A group is pages under one heading of the index.
type group struct {
	heading string
	pages   []*page
}

func groups() ([]group, error) {
	objects := objectPages()
	sheets, err := sheetPages()
	if err != nil {
		return nil, err
	}
	byForm := func(form string) (out []*page) {
		for _, p := range objects {
			if p.form == form {
				out = append(out, p)
			}
		}
		return out
	}
	return []group{
		{"Tables of a study", tablePages()},
		{"What the scholar writes", byForm(tomlForm)},
		{"What the program writes", append(append(folderPages(), byForm(jsonForm)...), sheets...)},
		{"Formats of others, and what is used of them", otherPages()},
	}, nil
}

// Make makes all pages, the index among them, by their names. sources is the top of
// the project, whose comments say what keys mean. examples are texts of
// files by the names of their pages; those of files that the program writes should
// be as it wrote them. The error names every key of which the code does not say what
// it means.
func Make(sources fs.FS, examples map[string][]byte) (map[string]string, error) {
	all, err := groups()
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	var index strings.Builder
	index.WriteString("# Files that the program reads and writes\n\nGenerated from the program's own schemas. `thumbed formats NAME` prints a page.\n")
	for _, g := range all {
		fmt.Fprintf(&index, "\n## %s\n\n", g.heading)
		for _, p := range g.pages {
			if p.shape != nil {
				if p.parts, err = objectParts(p.shape, p.lang, sources); err != nil {
					return nil, err
				}
			}
			if p.example, err = p.exampleOf(examples[p.name]); err != nil {
				return nil, fmt.Errorf("the example of %s: %w", p.name, err)
			}
			out[p.name] = p.markdown()
			fmt.Fprintf(&index, "- [%s](%s.md): %s, %s\n", p.name, p.name, code(p.file), p.title)
		}
	}
	out[IndexName] = index.String()
	return out, nil
}

// exampleOf shortens the text of an example.
func (p *page) exampleOf(text []byte) (string, error) {
	switch {
	case text == nil:
		return "", nil
	case p.lang == "csv":
		return lines(text, 4), nil
	case p.lang == "json":
		return excerpt(text)
	}
	return string(text), nil
}

// PageOf is the name of the page that speaks of a file which the program writes,
// by its path from the folder in which it was told to write; empty where none does.
func PageOf(name string) (string, error) {
	all, err := groups()
	if err != nil {
		return "", err
	}
	for _, g := range all {
		for _, p := range g.pages {
			if slices.ContainsFunc(p.covers, func(pattern string) bool {
				matched, err := path.Match(pattern, name)
				return err == nil && matched
			}) {
				return p.name, nil
			}
		}
	}
	return "", nil
}
