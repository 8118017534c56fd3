package deposit_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"thumbed/models/study/deposit"
)

const reference = "../../../testdata/reference/deposit"

// profile is a published JSON Schema; see testdata/reference/deposit/SOURCE.txt.
func profile(t testing.TB, name string) *jsonschema.Schema {
	t.Helper()
	compiler := jsonschema.NewCompiler()
	compiler.AssertFormat()
	schema, err := compiler.Compile(filepath.Join(reference, name))
	must(t, err)
	return schema
}

// value is a JSON text as the validator takes it.
func value(t testing.TB, text string) any {
	t.Helper()
	out, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	must(t, err)
	return out
}

// TestTheDataPackageIsAsPublished holds the descriptor to the profiles of Data
// Package, Data Resource, Tabular Data Resource and Table Schema, version 1.
func TestTheDataPackageIsAsPublished(t *testing.T) {
	whole, plain, tabular, schema := profile(t, "data-package.json"), profile(t, "data-resource.json"), profile(t, "tabular-data-resource.json"), profile(t, "table-schema.json")
	for name, dir := range map[string]string{"with a statement": bundled(t), "without": func() string {
		out := filepath.Join(t.TempDir(), "b")
		bundle(t, studied(t), out)
		return out
	}()} {
		t.Run(name, func(t *testing.T) {
			p := value(t, read(t, dir, deposit.PackageName))
			if err := whole.Validate(p); err != nil {
				t.Errorf("data package: %v", err)
			}
			tables := 0
			for _, r := range p.(map[string]any)["resources"].([]any) {
				r := r.(map[string]any)
				if err := plain.Validate(r); err != nil {
					t.Errorf("resource %v: %v", r["path"], err)
				}
				if !strings.HasSuffix(r["path"].(string), ".csv") {
					continue
				}
				tables++
				if err := tabular.Validate(r); err != nil {
					t.Errorf("table %v: %v", r["path"], err)
				}
				if err := schema.Validate(r["schema"]); err != nil {
					t.Errorf("schema of %v: %v", r["path"], err)
				}
			}
			if tables < 15 {
				t.Errorf("only %d tables are described", tables)
			}
			for path, text := range filesUnder(t, dir) {
				if strings.HasSuffix(path, ".schema.json") {
					if err := schema.Validate(value(t, text)); err != nil {
						t.Errorf("%s: %v", path, err)
					}
				}
			}
		})
	}
}

// TestTheProfilesCanSayNo breaks the descriptor, so that a profile that lets all
// pass would be found.
func TestTheProfilesCanSayNo(t *testing.T) {
	whole, tabular := profile(t, "data-package.json"), profile(t, "tabular-data-resource.json")
	text := read(t, bundled(t), deposit.PackageName)
	p := func() map[string]any { return value(t, text).(map[string]any) }
	bare := p()
	delete(bare, "resources")
	named := p()
	named["name"] = "Two Small Books"
	for _, broken := range []any{bare, named} {
		if whole.Validate(broken) == nil {
			t.Error("a broken data package passes")
		}
	}
	for _, r := range p()["resources"].([]any) {
		if r := r.(map[string]any); r["profile"] == "tabular-data-resource" {
			delete(r, "schema")
			if tabular.Validate(r) == nil {
				t.Error("a table without a schema passes")
			}
		}
	}
}

// graph is the crate of a bundle.
func graph(t testing.TB, dir string) (context any, entities []map[string]any) {
	t.Helper()
	var c struct {
		Context any              `json:"@context"`
		Graph   []map[string]any `json:"@graph"`
	}
	must(t, json.Unmarshal([]byte(read(t, dir, deposit.CrateName)), &c))
	return c.Context, c.Graph
}

// TestEveryTermIsInThePublishedContext looks every type and property up in the
// context of RO-Crate 1.1.
func TestEveryTermIsInThePublishedContext(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(reference, "ro-crate-1.1-context.json"))
	must(t, err)
	var published struct {
		ID      string            `json:"@id"`
		Context map[string]string `json:"@context"`
	}
	must(t, json.Unmarshal(text, &published))
	context, entities := graph(t, bundled(t))
	if context != published.ID || len(published.Context) < 2000 {
		t.Fatalf("the context is %v, that published %s with %d terms", context, published.ID, len(published.Context))
	}
	used := map[string]bool{}
	for _, e := range entities {
		for property := range e {
			if !strings.HasPrefix(property, "@") {
				used[property] = true
			}
		}
		used[e["@type"].(string)] = true
	}
	if len(used) < 35 {
		t.Errorf("only %d terms are used: %v", len(used), slices.Sorted(maps.Keys(used)))
	}
	for term := range used {
		if published.Context[term] == "" {
			t.Errorf("%s is no term of the context", term)
		}
	}
}

// TestTheCrateSaysWhoAndHow looks for what RO-Crate 1.1 says that one should tell:
// authors by their ORCID with affiliation and contact (People, Organizations as
// values, Contact information), the licence as a thing with name and description,
// the software with its version, the instruments, and which files came of which
// (Provenance of entities).
func TestTheCrateSaysWhoAndHow(t *testing.T) {
	_, entities := graph(t, bundled(t))
	byID := map[string]map[string]any{}
	for _, e := range entities {
		byID[e["@id"].(string)] = e
	}
	carberry := "https://orcid.org/0000-0002-1825-0097"
	want := map[string]map[string]any{
		"./": {"@type": "Dataset", "name": "Two small books", "description": "The books and readings of this study are invented. Two invented books.", "datePublished": "2026-06-30", "keywords": "wear, books of hours",
			"license": ref("https://creativecommons.org/licenses/by/4.0/"), "author": []any{ref(carberry), ref("#creator-2")},
			"about": []any{ref("#book-Ant"), ref("#book-Bee")}, "mentions": []any{ref("#measuring"), ref("#run")}},
		"https://creativecommons.org/licenses/by/4.0/": {"@type": "CreativeWork", "name": "Creative Commons Attribution 4.0 International"},
		carberry:                             {"@type": "Person", "name": "Josiah Carberry", "affiliation": ref("#organisation-1"), "contactPoint": ref("mailto:j.carberry@example.org")},
		"#creator-2":                         {"@type": "Person", "name": "A. N. Example", "affiliation": ref("#organisation-1")},
		"#organisation-1":                    {"@type": "Organization", "name": "University of Veldermond"},
		"mailto:j.carberry@example.org":      {"@type": "ContactPoint", "email": "j.carberry@example.org"},
		"#book-Ant":                          {"@type": "Manuscript", "name": "Ant's hours", "identifier": "MS 12", "holdingArchive": ref("https://library.example/veldermond")},
		"#book-Bee":                          {"@type": "Manuscript", "name": "Bee's hours", "identifier": "Bee"},
		"https://library.example/veldermond": {"@type": "ArchiveOrganization", "name": "Town Library, Veldermond"},
		"#instrument-lamp":                   {"@type": "IndividualProduct", "name": "lamp"},
		"#measuring":                         {"@type": "CreateAction", "instrument": ref("#instrument-lamp"), "result": ref("readings.csv"), "startTime": "2026-03-09", "endTime": "2026-03-09"},
		"#program":                           {"@type": "SoftwareApplication", "name": "thumbed"},
		"#run":                               {"@type": "CreateAction", "instrument": ref("#program"), "agent": []any{ref(carberry), ref("#creator-2")}},
		"results/":                           {"@type": "Dataset"},
		"books.csv":                          {"@type": "File", "encodingFormat": "text/csv", "contentSize": fmt.Sprint(len(books))},
	}
	for id, properties := range want {
		for property, v := range properties {
			if got := byID[id][property]; fmt.Sprint(got) != fmt.Sprint(v) {
				t.Errorf("%s of %s is %v; want %v", property, id, got, v)
			}
		}
	}
	object, result := fmt.Sprint(byID["#run"]["object"]), fmt.Sprint(byID["#run"]["result"])
	for _, name := range []string{"study.toml", "books.csv", "leaves.csv", "pages.csv", "sections.csv", "instruments.csv", "readings.csv"} {
		if !strings.Contains(object, "@id:"+name+"]") {
			t.Errorf("the run was made from %s, and does not say so", name)
		}
	}
	for _, name := range []string{"results/record.json", "results/results.json", "results/index.html"} {
		if !strings.Contains(result, "@id:"+name+"]") {
			t.Errorf("the run made %s, and does not say so", name)
		}
	}
}

func ref(id string) map[string]any { return map[string]any{"@id": id} }

// TestWhatRoCrateDemands breaks each MUST of RO-Crate 1.1 that concerns such a
// bundle, by its section, and wants it found: by the check of bundles, if only by its sum,
// and by the rules of the standard. As it is written, every bundle keeps to them.
func TestWhatRoCrateDemands(t *testing.T) {
	dir := bundled(t)
	_, err := deposit.Check(dir)
	must(t, err)
	text := read(t, dir, deposit.CrateName)
	if wrong := deposit.CrateComplaints(text); wrong != nil {
		t.Errorf("as it is written: %q", wrong)
	}
	for _, c := range []struct {
		section, rule string
		old, new      string // the first old becomes new
		want          string
	}{
		{"Structure", "the file must be JSON-LD in flattened form", `"@graph"`, `"graph"`, "no flat JSON-LD"},
		{"Structure", "the context", `crate/1.1/context"`, `crate/9.9/context"`, "the context"},
		{"RO-Crate Metadata File Descriptor", "an entity with this @id", `"@id": "ro-crate-metadata.json"`, `"@id": "metadata.json"`, "a descriptor of type CreativeWork"},
		{"RO-Crate Metadata File Descriptor", "its type", `"@type": "CreativeWork"`, `"@type": "Thing"`, "a descriptor of type CreativeWork"},
		{"RO-Crate Metadata File Descriptor", "about the root", `"@id": "./"`, `"@id": "#run"`, "a descriptor about ./"},
		{"Direct properties of the Root Data Entity", "its type", `"@type": "Dataset"`, `"@type": "Thing"`, "type Dataset"},
		{"Direct properties of the Root Data Entity", "datePublished", `"datePublished"`, `"dateCreated"`, "datePublished"},
		{"Direct properties of the Root Data Entity", "datePublished in ISO 8601", `"2026-06-30"`, `"30 June 2026"`, "ISO 8601"},
		{"Direct properties of the Root Data Entity", "license", `"license": {`, `"copyrightNotice": {`, "its license"},
		{"Direct properties of the Root Data Entity", "name", `"name": "Two small books"`, `"name": ""`, "its name"},
		{"Direct properties of the Root Data Entity", "description", `"description": "The books and`, `"abstract": "The books and`, "its description"},
		{"Referencing files and folders from the Root Data Entity", "all are parts of the root", `"hasPart": [`, `"mentions": [`, "parts of the root"},
		{"File Data Entity", "its type", `"@type": "File"`, `"@type": "Thing"`, "an entity for each file"},
		{"File Data Entity", "a path inside", `"@id": "books.csv",`, `"@id": "../books.csv",`, "a URI path inside the bundle"},
		{"Directory File Entity", "its @id", `"@id": "results/",`, `"@id": "results",`, "/ at its end"},
		{"Encoding file paths", "no spaces", `"@id": "books.csv",`, `"@id": "the books.csv",`, "a URI path inside the bundle"},
		{"Contextual vs Data entities", "each @id once", `"@id": "leaves.csv",`, `"@id": "books.csv",`, "each @id once"},
		{"Describing entities in JSON-LD", "no thing inside another", `"@id": "#creator-2"`, `"@id": "#creator-2", "name": "A. N. Example"`, "references in place of nested things"},
		{"Recording changes to RO-Crates", "dates of actions", `"endTime": "2026-03-09"`, `"endTime": "yesterday"`, "ISO 8601"},
		{"Structure", "what is referred to is described", `"#book-Ant",`, `"#book-Cat",`, "what is referred to"},
	} {
		t.Run(c.section+": "+c.rule, func(t *testing.T) {
			if !strings.Contains(text, c.old) {
				t.Fatalf("the crate holds no %s", c.old)
			}
			broken := strings.Replace(text, c.old, c.new, 1)
			write(t, broken, dir, deposit.CrateName)
			_, err := deposit.Check(dir)
			if wrong := strings.Join(deposit.CrateComplaints(broken), "; "); err == nil || !strings.Contains(err.Error()+wrong, c.want) {
				t.Errorf("the error is %v, and against the standard stands %s; want a word of %q", err, wrong, c.want)
			}
		})
	}
	must(t, os.Remove(filepath.Join(dir, deposit.CrateName)))
	if _, err := deposit.Check(dir); err == nil {
		t.Error("Structure: the metadata file must be present, and nothing is said where it is not")
	}
}
