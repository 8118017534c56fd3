package deposit

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"thumbed/models/codex"
	"thumbed/models/readings"
	"thumbed/models/table"
	"thumbed/models/traces"
)

// PackageName is the descriptor of a Data Package, in the bundle's own folder.
const PackageName = "datapackage.json"

// A dataPackage is a Data Package descriptor
// (https://specs.frictionlessdata.io/data-package/, version 1).
type dataPackage struct {
	Profile      string        `json:"profile" words:"data-package"` // which profile it follows
	Name         string        `json:"name"`                         // name of the package, in small letters
	Title        string        `json:"title"`                        // title of the study
	Description  string        `json:"description,omitempty"`        // what the package holds
	Keywords     []string      `json:"keywords,omitempty"`           // words by which it is to be found
	Licenses     []license     `json:"licenses,omitempty"`           // the licence, where one is stated
	Contributors []contributor `json:"contributors,omitempty"`       // the persons who made the study
	Sources      []source      `json:"sources,omitempty"`            // the books that were measured
	Resources    []resource    `json:"resources"`                    // every file but this one
}

// PackageShape is the shape of [PackageName], for the page that documents it.
var PackageShape = reflect.TypeFor[dataPackage]()

type license struct {
	Name  string `json:"name,omitempty"`  // short identifier of the licence (SPDX)
	Path  string `json:"path"`            // web address of its text
	Title string `json:"title,omitempty"` // its name
}

type contributor struct {
	Title        string `json:"title"`                  // name of the person
	Path         string `json:"path,omitempty"`         // web address of the person's ORCID
	Email        string `json:"email,omitempty"`        // the person's address
	Organization string `json:"organization,omitempty"` // where the person works
	Role         string `json:"role" words:"author"`    // what the person did
}

type source struct {
	Title string `json:"title"`          // the book with its library and shelfmark
	Path  string `json:"path,omitempty"` // web address of the library that keeps it
}

// A resource is one file (https://specs.frictionlessdata.io/data-resource/ and
// tabular-data-resource/, version 1).
type resource struct {
	Profile     string          `json:"profile" words:"data-resource / tabular-data-resource"` // whether it is a table
	Name        string          `json:"name"`                                                  // name of the resource; study and record are those that a reader looks for first
	Path        string          `json:"path"`                                                  // path of the file in the bundle
	Description string          `json:"description,omitempty"`                                 // what the file is
	Format      string          `json:"format,omitempty"`                                      // ending of its name
	MediaType   string          `json:"mediatype"`                                             // its media type
	Encoding    string          `json:"encoding,omitempty"`                                    // encoding of its text
	Bytes       int64           `json:"bytes" unit:"bytes"`                                    // its size
	Hash        string          `json:"hash"`                                                  // its SHA-256, in hexadecimal after sha256:
	Dialect     *dialect        `json:"dialect,omitempty"`                                     // how the table's text is parted
	Schema      json.RawMessage `json:"schema,omitempty"`                                      // what the table's columns are: a Table Schema
}

// Profiles of resources.
const (
	plainProfile = "data-resource"
	tableProfile = "tabular-data-resource"
)

// hashKind begins the hash of a resource.
const hashKind = "sha256:"

// A dialect says how a table's text is parted
// (https://specs.frictionlessdata.io/csv-dialect/, version 1.2).
type dialect struct {
	Delimiter      string `json:"delimiter"`      // mark between cells
	DoubleQuote    bool   `json:"doubleQuote"`    // whether a quotation mark inside a cell is doubled
	LineTerminator string `json:"lineTerminator"` // what ends a line
	QuoteChar      string `json:"quoteChar"`      // mark about a cell
	Header         bool   `json:"header"`         // whether the first line names the columns
}

// names of the resources that a reader looks for first.
const (
	studyResource  = "study"
	recordResource = "record"
)

// dataPackage describes all files but its own.
func (b *Bundle) dataPackage() (*dataPackage, error) {
	p := &dataPackage{Profile: "data-package", Name: slug(b.title()), Title: b.title(), Description: b.description(), Keywords: b.statement.Keywords}
	if l := b.licence(); l.Address != "" {
		p.Licenses = []license{{Name: l.ID, Path: l.Address, Title: l.Name}}
	}
	for _, c := range b.people() {
		p.Contributors = append(p.Contributors, contributor{Title: c.Name, Path: c.address(), Email: c.Email, Organization: c.Affiliation, Role: cmp.Or(c.Role, "author")})
	}
	for _, book := range b.of.books {
		p.Sources = append(p.Sources, source{keptAs(book), book.LibraryID})
	}
	taken, named := map[string]bool{}, b.named()
	for _, f := range b.files {
		r, err := f.resource(named)
		if err != nil {
			return nil, err
		}
		for base, k := r.Name, 2; taken[r.Name]; k++ {
			r.Name = base + "-" + strconv.Itoa(k)
		}
		taken[r.Name] = true
		p.Resources = append(p.Resources, r)
	}
	return p, nil
}

func titleOf(b *codex.Book) string {
	if b.Title == "" {
		return b.ID
	}
	return b.Title
}

// keptAs names a book with its library and shelfmark, where they are told.
func keptAs(b *codex.Book) string {
	title := titleOf(b)
	if at := strings.Join(slices.DeleteFunc([]string{b.Library, b.Shelfmark}, func(s string) bool { return s == "" || strings.Contains(title, s) }), ", "); at != "" {
		title += " (" + at + ")"
	}
	return title
}

func (f *file) resource(named named) (resource, error) {
	r := resource{Profile: plainProfile, Name: slug(f.path), Path: f.path, Description: f.about, Format: strings.TrimPrefix(path.Ext(f.path), "."),
		MediaType: mediaType(f.path), Bytes: f.size, Hash: hashKind + f.sha256}
	switch f.role {
	case roleStudy:
		r.Name = studyResource
	case roleRecord:
		r.Name = recordResource
	}
	if isText(f.path) {
		r.Encoding = "utf-8"
	}
	if r.Format != "csv" {
		return r, nil
	}
	r.Profile = tableProfile
	end, err := lineEnd(f.from)
	if err != nil {
		return r, err
	}
	r.Dialect = &dialect{Delimiter: ",", DoubleQuote: true, LineTerminator: end, QuoteChar: `"`, Header: true}
	r.Schema, err = f.schema(named)
	return r, err
}

// named are the resources of tables of books and of instruments, by what they are and
// their folder, and under the empty folder one that serves all.
type named map[role]map[string]string

func (b *Bundle) named() named {
	out := named{"books": {}, "instruments": {}}
	for _, f := range b.files {
		if of := out[f.role]; of != nil {
			of[path.Dir(f.path)] = slug(f.path)
			of[""] = slug(f.path)
		}
	}
	return out
}

// near is the resource of that role that a table of a folder speaks of.
func (n named) near(r role, dir string) string {
	if own := n[r][dir]; own != "" {
		return own
	}
	if len(n[r]) == 2 { // the only one
		return n[r][""]
	}
	return ""
}

// slug makes a name of a title or path as the standard wants it: lower-case
// letters, digits, and - . _ /.
func slug(text string) string {
	name := strings.Map(func(c rune) rune {
		switch {
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9', c == '-', c == '.', c == '_', c == '/':
			return c
		case c >= 'A' && c <= 'Z':
			return c + 'a' - 'A'
		}
		return '-'
	}, text)
	if name = strings.Trim(name, "-"); name == "" {
		return "study"
	}
	return name
}

// lineEnd is what ends the first line of a table.
func lineEnd(from string) (string, error) {
	in, err := os.Open(from)
	if err != nil {
		return "", err
	}
	defer in.Close() // only read from
	begin := make([]byte, 1<<16)
	n, err := io.ReadFull(in, begin)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		return "", err
	}
	begin = begin[:n]
	at := bytes.IndexAny(begin, "\r\n")
	switch {
	case at >= 0 && begin[at] == '\r' && at+1 < n && begin[at+1] == '\n':
		return "\r\n", nil
	case at >= 0 && begin[at] == '\r':
		return "\r", nil
	}
	return "\n", nil
}

// schema is the Table Schema of a table: of one that the run wrote, that beside
// it; of the scholar's own, what the program knows of its columns, and of further
// columns what they hold.
func (f *file) schema(named named) (json.RawMessage, error) {
	known, ours := schemaOf(f.role)
	beside := table.Schema{}
	if at := schemaBeside(f.from); at != "" {
		text, err := os.ReadFile(at)
		if err != nil {
			return nil, err
		}
		if err := json.Unmarshal(text, &beside); err != nil && !ours {
			return nil, fmt.Errorf("%s is no schema: %w", at, err)
		}
	}
	if !ours {
		known = beside
	}
	var ps table.Problems
	t := table.ReadFile(f.from, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	whole := columnsOf(t, known, beside)
	if ours {
		whole.ForeignKeys = f.foreignKeys(t, named)
	}
	text, err := whole.JSON()
	return bytes.TrimSpace(text), err
}

// foreignKeys are the columns of a table of the study's own that name a book or an
// instrument.
func (f *file) foreignKeys(t *table.Table, named named) (keys []table.ForeignKey) {
	for _, k := range []struct {
		of     role
		column string
	}{{"books", codex.ColumnBook}, {"instruments", "instrument"}} {
		if resource := named.near(k.of, path.Dir(f.path)); f.role != k.of && resource != "" && t.Column(k.column) != nil {
			keys = append(keys, table.ForeignKey{Fields: k.column, Reference: table.Reference{Resource: resource, Fields: k.column}})
		}
	}
	return keys
}

// schemaOf is the schema of a table of the study's own; ours is false for others.
func schemaOf(r role) (s table.Schema, ours bool) {
	switch r {
	case "books":
		return codex.BooksSchema(), true
	case "leaves":
		return codex.LeavesSchema(), true
	case "pages":
		return codex.PagesSchema(), true
	case "sections":
		return codex.SectionsSchema(), true
	case "instruments":
		return readings.InstrumentsSchema(), true
	case "readings":
		return readings.ReadingsSchema(), true
	case "traces":
		return traces.Schema(), true
	case "paired":
		return readings.PairedSchema(), true
	}
	return s, false
}

// columnsOf is the schema of exactly the columns of t, in their order. What is
// known of a column counts first, then what the schema beside the table says.
func columnsOf(t *table.Table, known, beside table.Schema) table.Schema {
	out := table.Schema{}
	for _, name := range t.Names() {
		field := table.Field{Name: name, Kind: table.String}
		if t.Column(name).IsNumber() {
			field.Kind = table.Number
		}
		for _, s := range []table.Schema{beside, known} {
			if i := slices.IndexFunc(s.Fields, func(f table.Field) bool { return f.Name == name }); i >= 0 {
				field = s.Fields[i]
			}
		}
		out.Fields = append(out.Fields, field)
	}
	if !slices.ContainsFunc(known.PrimaryKey, func(key string) bool { return t.Column(key) == nil }) {
		out.PrimaryKey = known.PrimaryKey
	}
	return out
}
