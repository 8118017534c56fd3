package formats

import (
	"cmp"
	"fmt"
	"io/fs"
	"reflect"
	"slices"
	"strings"

	"thumbed/models/table"
	"thumbed/models/table/keys"
)

// A page says what stands in one kind of file.
type page struct {
	name    string       // of the page, and what one calls it by
	file    string       // how such a file is called
	title   string       // what it is, in a few words
	use     string       // what it is for: sentences
	form    string       // in what form it is: "CSV", "TOML", "JSON", …
	by      string       // who reads and writes it
	parts   []part       // what stands in it
	shape   reflect.Type // in place of parts: the struct of a file in TOML or JSON, whose keys they list
	checked string       // how it is checked: sentences
	example string       // text of an example
	lang    string       // of the example, for colouring, and the tag of the shape's fields: "csv", "toml", "json"
	covers  []string     // patterns of the files that the program writes, as paths, that this page speaks of
}

// A part is a list of columns or keys under a heading.
type part struct {
	heading string // empty for the file itself
	note    string // sentences
	rows    []row
}

// A row is one column or key.
type row struct {
	name   string
	kind   string
	about  string
	unit   string
	words  []string
	limits []string // phrases: "at least 0"
	needed bool
	maybe  bool   // written only where it applies
	see    string // heading of the part that says what is inside
}

// kinds are those of a Table Schema in words.
var kinds = map[table.Kind]string{
	table.String: "text", table.Number: "number", table.Integer: "whole number", table.Boolean: "yes or no", table.Date: "date", table.Time: "time of day",
}

// tablePart lists the columns of a table.
func tablePart(heading, note string, s table.Schema) part {
	p := part{heading: heading, note: note}
	for _, f := range s.Fields {
		r := row{name: f.Name, kind: kinds[f.Kind], about: f.Description}
		if l := f.Constraints; l != nil {
			r.needed, r.words = l.Required, l.Enum
			if l.Unique {
				r.limits = append(r.limits, "each value once")
			}
			if l.Minimum != nil {
				r.limits = append(r.limits, fmt.Sprintf("at least %g", *l.Minimum))
			}
			if l.Maximum != nil {
				r.limits = append(r.limits, fmt.Sprintf("at most %g", *l.Maximum))
			}
		}
		p.rows = append(p.rows, r)
	}
	if len(s.PrimaryKey) > 0 {
		p.note = strings.TrimSpace(p.note + " No two rows have the same " + strings.Join(s.PrimaryKey, " and ") + ".")
	}
	return p
}

// objectParts lists the keys of a file in TOML or JSON, those of each struct in it
// under a heading of their own.
func objectParts(root reflect.Type, tag string, sources fs.FS) ([]part, error) {
	objects, err := keys.Of(root, tag, sources)
	if err != nil {
		return nil, err
	}
	heading := map[reflect.Type]string{}
	for _, o := range objects {
		heading[o.Type] = place(o.Place, tag)
	}
	var parts []part
	for _, o := range objects {
		p := part{heading: heading[o.Type]}
		for _, f := range o.Fields {
			r := row{name: f.Name, kind: f.Kind, about: f.About, unit: f.Unit, words: f.Words, needed: f.Required && tag == "toml", maybe: f.Maybe && tag == "json"}
			if f.Object != nil {
				r.see = heading[f.Object]
			}
			p.rows = append(p.rows, r)
		}
		parts = append(parts, p)
	}
	return parts, nil
}

// place writes the place of an object as its file writes it.
func place(at, tag string) string {
	if at == "" || tag != "toml" {
		return at
	}
	name := strings.ReplaceAll(at, "[]", "")
	if strings.HasSuffix(at, "[]") {
		return "[[" + name + "]]"
	}
	return "[" + name + "]"
}

// markdown is the page as text.
func (p *page) markdown() string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# %s: %s\n", code(p.file), p.title)
	line("%s\n", p.use)
	line("Form: %s. %s", p.form, p.by)
	for _, part := range p.parts {
		part.write(line)
	}
	if p.checked != "" {
		line("\n## How it is checked\n\n%s", p.checked)
	}
	if p.example != "" {
		line("\n## Example\n\n```%s\n%s\n```", p.lang, strings.TrimRight(p.example, "\n"))
	}
	return b.String()
}

func code(text string) string { return "`" + text + "`" }

func (p part) write(line func(string, ...any)) {
	if p.heading != "" {
		line("\n## %s", code(p.heading))
	}
	if p.note != "" {
		line("\n%s", p.note)
	}
	if len(p.rows) > 0 {
		line("")
	}
	for _, r := range p.rows {
		line("- **%s** (%s): %s", r.name, strings.Join(r.properties(), ", "), r.says())
	}
}

// properties are what kind of value it is, and whether it must be there.
func (r row) properties() []string {
	out := []string{r.kind}
	switch {
	case strings.HasPrefix(r.unit, "of "):
		out = append(out, "in the unit "+r.unit)
	case r.unit != "":
		out = append(out, "in "+r.unit)
	}
	out = append(out, r.limits...)
	switch {
	case r.needed:
		out = append(out, "required")
	case r.maybe:
		out = append(out, "only where it applies")
	}
	return out
}

// says is what it means, with the words that may stand there.
func (r row) says() string {
	out := cmp.Or(r.about, "what its name says")
	if len(r.words) > 0 {
		var words []string
		for _, w := range r.words {
			words = append(words, code(cmp.Or(w, " ")))
		}
		out += "; one of " + strings.Join(words, ", ")
		if len(words) == 1 {
			out = strings.Replace(out, "; one of ", "; where given, ", 1)
		}
		if slices.Contains(r.words, "") {
			out = strings.Replace(out, code(" "), "nothing", 1)
		}
	}
	if r.see != "" {
		out += "; see " + code(r.see)
	}
	return out + "."
}
