package deposit

import (
	"cmp"
	"fmt"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"
)

// CrateName is the metadata file of an RO-Crate, in the bundle's own folder.
const CrateName = "ro-crate-metadata.json"

const (
	crateContext = "https://w3id.org/ro/crate/1.1/context"
	crateVersion = "https://w3id.org/ro/crate/1.1"
	packageSpec  = "https://specs.frictionlessdata.io/data-package/"
	rootID       = "./"
)

// A crate is the metadata of an RO-Crate: a flat list of entities, JSON-LD in
// flattened and compacted form.
type crate struct {
	Context string   `json:"@context"`
	Graph   []entity `json:"@graph"`
}

// An entity is one thing with its properties, which are texts, references to other
// entities, or lists of these.
type entity map[string]any

// file tells whether the entity is a file of the bundle.
func (e entity) file() (id string, is bool) {
	id, _ = e["@id"].(string)
	return id, slices.Contains(texts(e["@type"]), "File") && !strings.Contains(id, "://")
}

func ref(id string) entity { return entity{"@id": id} }

// set gives a property one value or several; compacted form has no list of one.
func (e entity) set(property string, values ...any) {
	switch len(values) {
	case 0:
	case 1:
		e[property] = values[0]
	default:
		e[property] = values
	}
}

// add adds a thing, unless it is there already, and gives a reference to it.
func (c *crate) add(e entity) any {
	id := e["@id"].(string)
	if !slices.ContainsFunc(c.Graph, func(other entity) bool { return other["@id"] == id }) {
		c.Graph = append(c.Graph, e)
	}
	return ref(id)
}

// idOf is the identifier of a path: a URI path in which all but international
// letters is escaped (RO-Crate 1.1, Encoding file paths).
func idOf(name string) string {
	var b strings.Builder
	for _, c := range name {
		if c > 127 {
			b.WriteRune(c)
		} else {
			b.WriteString((&url.URL{Path: string(c)}).EscapedPath())
		}
	}
	return b.String()
}

// crate describes all files, its own as what describes the rest.
func (b *Bundle) crate() *crate {
	c := &crate{Context: crateContext}
	c.add(entity{"@id": CrateName, "@type": "CreativeWork", "conformsTo": ref(crateVersion), "about": ref(rootID),
		"description": "what is in this bundle, who made it, and how"})
	root := entity{"@id": rootID, "@type": "Dataset", "name": b.title(), "description": b.description(), "datePublished": b.published()}
	c.add(root)
	root["license"] = "No licence is stated. Ask the authors before any use beyond what the law allows."
	if l := b.licence(); l.Address != "" {
		root["license"] = c.add(entity{"@id": l.Address, "@type": "CreativeWork", "name": l.Name, "description": "the terms under which this bundle may be used"})
	}
	root["inLanguage"] = cmp.Or(b.statement.Language, "en")
	if doi := b.statement.DOI; doi != "" {
		root["identifier"] = "https://doi.org/" + doi
	}
	if version := b.statement.Version; version != "" {
		root["version"] = version
	}
	if publisher := b.statement.Publisher; publisher != "" {
		root["publisher"] = c.add(entity{"@id": "#publisher", "@type": "Organization", "name": publisher})
	}
	var funders []any
	for i, f := range b.statement.Funding {
		funders = append(funders, c.add(entity{"@id": cmp.Or(f.ROR, fmt.Sprintf("#funder-%d", i+1)), "@type": "Organization", "name": f.Funder}))
	}
	root.set("funder", funders...)
	if len(b.statement.Keywords) > 0 {
		root["keywords"] = strings.Join(b.statement.Keywords, ", ")
	}
	c.addFiles(root, b.files)
	people := c.addPeople(b.people())
	books := c.addBooks(b)
	root.set("author", people...)
	root.set("about", books...)
	root.set("mentions", c.addMeasuring(b, books), c.addRun(b, people))
	return c
}

// addFiles adds the files as parts of their folders, and these as parts of theirs.
func (c *crate) addFiles(root entity, files []*file) {
	parts := map[string][]any{}
	under := func(name string) string { // the folder of a file or folder
		if dir := path.Dir(name); dir != "." {
			return dir
		}
		return ""
	}
	var dirs []string
	for _, f := range append(slices.Clone(files), &file{path: SumsName, about: "the sums of the files, as sha256sum reads them"}, &file{path: PackageName, about: "the files with their sums, and the tables with their schemas (Frictionless Data Package)"}) {
		e := entity{"@id": idOf(f.path), "@type": "File", "name": path.Base(f.path), "description": f.about, "encodingFormat": mediaType(f.path)}
		switch f.path { // sizes and sums of these depend on this file's
		case PackageName:
			e["conformsTo"] = c.add(entity{"@id": packageSpec, "@type": "CreativeWork", "name": "Frictionless Data Package, version 1"})
		case SumsName:
		default:
			e["contentSize"] = strconv.FormatInt(f.size, 10)
			e["identifier"] = hashKind + f.sha256
		}
		dir := under(f.path)
		parts[dir] = append(parts[dir], c.add(e))
		for ; dir != "" && !slices.Contains(dirs, dir); dir = under(dir) {
			dirs = append(dirs, dir)
		}
	}
	for _, dir := range dirs {
		parts[under(dir)] = append(parts[under(dir)], ref(idOf(dir)+"/"))
	}
	for _, dir := range dirs {
		e := entity{"@id": idOf(dir) + "/", "@type": "Dataset", "name": path.Base(dir)}
		for known, about := range folders {
			if dir == known || strings.HasSuffix(dir, "/"+known) {
				e["description"] = about
			}
		}
		e.set("hasPart", parts[dir]...)
		c.add(e)
	}
	root.set("hasPart", parts[""]...)
}

// addPeople adds the creators and what they belong to.
func (c *crate) addPeople(creators []Creator) (people []any) {
	organisations := map[string]any{}
	for i, person := range creators {
		e := entity{"@id": fmt.Sprintf("#creator-%d", i+1), "@type": "Person", "name": person.Name}
		if address := person.address(); address != "" {
			e["@id"] = address
		}
		if name := person.Affiliation; name != "" {
			if organisations[name] == nil {
				organisations[name] = c.add(entity{"@id": cmp.Or(person.ROR, fmt.Sprintf("#organisation-%d", len(organisations)+1)), "@type": "Organization", "name": name})
			}
			e["affiliation"] = organisations[name]
		}
		if person.Email != "" {
			e["contactPoint"] = c.add(entity{"@id": "mailto:" + person.Email, "@type": "ContactPoint", "contactType": "author", "email": person.Email})
		}
		people = append(people, c.add(e))
	}
	return people
}

// addBooks adds the books as what the bundle is about.
func (c *crate) addBooks(b *Bundle) (books []any) {
	for _, book := range b.of.books {
		e := entity{"@id": "#book-" + idOf(book.ID), "@type": "Manuscript", "name": titleOf(book), "identifier": cmp.Or(book.Shelfmark, book.ID)}
		if book.Library != "" {
			e.set("holdingArchive", c.add(entity{"@id": cmp.Or(book.LibraryID, "#library-"+idOf(book.Library)), "@type": "ArchiveOrganization", "name": book.Library}))
		}
		books = append(books, c.add(e))
	}
	return books
}

// addMeasuring adds how the readings came about: by which instruments, when
// (RO-Crate 1.1, Equipment used to create files).
func (c *crate) addMeasuring(b *Bundle, books []any) any {
	name := "Reading of the pages with a densitometer"
	switch {
	case !b.of.read:
		name = "Looking at the pages for traces"
	case b.of.looked:
		name += ", and looking at them for traces"
	}
	e := entity{"@id": "#measuring", "@type": "CreateAction", "name": name, "startTime": b.of.first, "endTime": b.of.last}
	var instruments, tables []any
	for _, in := range b.of.instruments {
		instruments = append(instruments, c.add(entity{"@id": "#instrument-" + idOf(in.ID), "@type": "IndividualProduct", "name": in.ID,
			"description": fmt.Sprintf("reflection densitometer; lowest and highest density that it shows: %g and %g, in steps of %g", in.Floor, in.Ceiling, in.Resolution)}))
	}
	for _, f := range b.files {
		if f.role == "readings" || f.role == "traces" {
			tables = append(tables, ref(idOf(f.path)))
		}
	}
	e.set("instrument", instruments...)
	e.set("object", books...)
	e.set("result", tables...)
	return c.add(e)
}

// addRun adds how the results came about: by which program, from which files
// (RO-Crate 1.1, Software used to create files).
func (c *crate) addRun(b *Bundle, people []any) any {
	name, version, _ := strings.Cut(b.record.Program, " ")
	software := entity{"@id": "#program", "@type": "SoftwareApplication", "name": name, "version": b.record.Program, "softwareVersion": version,
		"description": fmt.Sprintf("built with %s; the record has the version of every module", b.record.Go), "operatingSystem": b.record.Platform}
	if b.record.Revision != "" {
		software["identifier"] = b.record.Revision
	}
	e := entity{"@id": "#run", "@type": "CreateAction", "name": "Run of the " + b.of.word() + ", from readings to answers", "instrument": c.add(software)}
	var from, made []any
	for _, f := range b.files {
		switch f.role {
		case roleOutput, roleRecord:
			made = append(made, ref(idOf(f.path)))
		case roleSchema, roleSaying, roleForUser:
		default:
			from = append(from, ref(idOf(f.path)))
		}
	}
	e.set("agent", people...)
	e.set("object", from...)
	e.set("result", made...)
	return c.add(e)
}

// rerunWords is the command that makes the run of an unpacked bundle again, from
// the bundle's folder.
func rerunWords(home, studyName, recordedPath string) string {
	results := path.Join(home, "results")
	if recordedPath == "../"+studyName {
		return "thumbed rerun " + results
	}
	return "thumbed rerun " + results + " --study " + path.Join(home, studyName)
}

// rerun is that of the bundle.
func (b *Bundle) rerun() string {
	return rerunWords(b.home, b.record.Inputs[0].Path, b.record.Study)
}

func list(value any) []any {
	if several, ok := value.([]any); ok {
		return several
	}
	return []any{value}
}

func texts(value any) (out []string) {
	for _, v := range list(value) {
		if text, ok := v.(string); ok {
			out = append(out, text)
		}
	}
	return out
}
