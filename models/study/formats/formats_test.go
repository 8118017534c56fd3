package formats_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"thumbed/models/codex"
	"thumbed/models/dropoff"
	"thumbed/models/mixed"
	"thumbed/models/report"
	"thumbed/models/study"
	"thumbed/models/study/corpus"
	"thumbed/models/study/deposit"
	"thumbed/models/study/formats"
	"thumbed/models/study/plan"
	"thumbed/models/study/portion"
	"thumbed/models/table"
	"thumbed/models/table/keys"
	"thumbed/models/table/sheet"
)

const pairedExample = `book,spot,instrument,density,note
Corvaes,"12r, lower corner",bench,0.31,
Corvaes,"12r, lower corner",bench,0.32,placed anew
Corvaes,"12r, lower corner",camera,0.27,photograph 112
`

const root = "../../../"

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, at ...string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(at...))
	must(t, err)
	return text
}

// examples are files of the invented demonstration, and of a small invented study
// that is sealed, run and bundled here. What depends on the machine is from the
// record that is kept, or set.
func examples(t testing.TB) map[string][]byte {
	t.Helper()
	dir := t.TempDir()
	must(t, os.CopyFS(dir, os.DirFS(root+"testdata/records/2")))
	must(t, os.RemoveAll(filepath.Join(dir, "results")))
	sealed, _, err := study.WriteSeal(dir, time.Date(2026, 2, 28, 9, 0, 0, 0, time.UTC))
	must(t, err)
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	must(t, err)
	must(t, s.Write(results, filepath.Join(dir, "results")))
	b, err := deposit.Pack(dir, "", "")
	must(t, err)
	must(t, b.Write(filepath.Join(dir, "bundle")))
	part, err := portion.New(portion.Work{Verb: "run", Of: strings.Repeat("0", 64), Source: "study.toml", Program: "thumbed 0.1.0", Total: 4}, portion.Portion{Part: 1, Parts: 2}, "amd64 v1", []float64{0.25, 1.5})
	must(t, err)
	parted, err := json.Marshal(part)
	must(t, err)
	demo := func(name string) []byte { return read(t, root+"testdata/demo", name) }
	return map[string][]byte{
		"books": demo("books.csv"), "leaves": demo("leaves.csv"), "pages": demo("pages.csv"), "sections": demo("sections.csv"),
		"instruments": demo("instruments.csv"), "readings": demo("readings-2026-03.csv"), "paired": []byte(pairedExample), "schema": demo("instruments.schema.json"),
		"study-toml": demo("study.toml"), "plan-toml": read(t, root+"testdata/plan/pictures.toml"),
		"model-toml": []byte(modelExample), "corpus-toml": []byte(corpusExample), "mapping-toml": []byte(mappingExample), "deposit-toml": []byte(depositExample),
		"results-json":     read(t, dir, "results", "results.json"),
		"record-json":      read(t, root+"testdata/records/2/results/record.json"),
		"seal-json":        read(t, sealed),
		"part-json":        parted,
		"datapackage-json": withoutRun(t, read(t, dir, "bundle", deposit.PackageName)),
		"collation":        []byte(collationExample),
	}
}

// withoutRun keeps the first files of a data package only, whose sums are the same
// on every machine.
func withoutRun(t testing.TB, text []byte) []byte {
	t.Helper()
	var p map[string]any
	must(t, json.Unmarshal(text, &p))
	p["resources"] = p["resources"].([]any)[1:2]
	out, err := json.Marshal(p)
	must(t, err)
	return out
}

const collationExample = "ii 1–3⁸ 4⁸⁻¹ (wants 3) 5¹⁰ 6⁶⁺¹"

const modelExample = `outcome = "wear"
fixed   = ["picture", "office_order", ["picture", "office_order"]]
[levels]
picture = ["no", "yes"]
[[random]]
by    = ["book", "quire"]
terms = ["intercept"]
[residual]
limits = "limit"
[labels]
picture = "a picture on the page"
`

const corpusExample = `title    = "All books of the Veldermond libraries"
invented = true
folders  = ["books/*"]
[readers]
set = "of the Virgin"
[[model]]
name    = "pictures"
outcome = "wear"
fixed   = ["picture"]
[model.levels]
picture = ["no", "yes"]
[[model.random]]
by    = "book"
terms = ["intercept", "picture"]
[[question]]
words    = "Do pictures attract handling?"
model    = "pictures"
contrast = { "picture=yes" = 1 }
`

const mappingExample = `dates = "day-month-year"
[sheets]
"Messungen" = "readings"
[columns]
"Seite" = "page"
"Zeitpunkt" = ["date", "time"]
[words]
"ja" = "yes"
[constant]
book = "alder"
`

const depositExample = `licence     = "CC-BY-4.0"
description = "Readings of four invented books of hours."
keywords    = ["books of hours", "wear"]
date        = "2026-06-30"
[[creator]]
name        = "A. N. Example"
affiliation = "University of Veldermond"
`

// TestThePagesAreWhatTheCodeSays makes all pages anew. With THUMBED_FORMATS=keep it
// writes them.
func TestThePagesAreWhatTheCodeSays(t *testing.T) {
	made, err := formats.Make(os.DirFS(root), examples(t))
	must(t, err)
	if os.Getenv("THUMBED_FORMATS") == "keep" {
		old, err := filepath.Glob("pages/*.md")
		must(t, err)
		for _, at := range old {
			must(t, os.Remove(at))
		}
		for name, text := range made {
			must(t, os.WriteFile(filepath.Join("pages", name+".md"), []byte(text), 0o644))
		}
		return
	}
	const remedy = "renew the pages with THUMBED_FORMATS=keep go test ./models/study/formats, and look at what changed"
	for name, text := range made {
		if kept, err := formats.Page(name); err != nil || kept != text {
			t.Errorf("the page %s is not what the code says (%v, %s); %s", name, err, firstDifference(kept, text), remedy)
		}
	}
	names := slices.Sorted(maps.Keys(made))
	if kept := append(formats.Names(), formats.IndexName); len(kept) != len(names) {
		t.Errorf("pages kept: %v; made: %v; %s", kept, names, remedy)
	}
}

func firstDifference(a, b string) string {
	was, is := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(was), len(is)) {
		if was[i] != is[i] {
			return fmt.Sprintf("line %d: %q, now %q", i+1, was[i], is[i])
		}
	}
	return "one is longer"
}

// TestEveryKeyWrittenHasAMeaning walks over files that the program wrote, and looks
// each key up among those documented.
func TestEveryKeyWrittenHasAMeaning(t *testing.T) {
	found := examples(t)
	demo := demoResults(t)
	for name, c := range map[string]struct {
		text  []byte
		shape reflect.Type
	}{
		"results.json":             {found["results-json"], report.NumbersShape},
		"results.json of the demo": {demo.numbers, report.NumbersShape},
		"record.json":              {demo.record, reflect.TypeFor[study.Record]()},
		"seal.json":                {found["seal-json"], reflect.TypeFor[study.Seal]()},
		"a part":                   {found["part-json"], reflect.TypeFor[portion.File]()},
		"datapackage.json":         {found["datapackage-json"], deposit.PackageShape},
		"a fit":                    {demo.fit, reflect.TypeFor[mixed.Fit]()},
		"changes":                  {demo.changes, reflect.TypeFor[dropoff.Changes]()},
		"changes of slope":         {demo.shaped, reflect.TypeFor[dropoff.Shaped]()},
		"a rerun":                  {demo.rerun, reflect.TypeFor[study.Rerun]()},
		"a plan":                   {planned(t), report.PlanNumbersShape},
		"a corpus":                 {gathered(t), report.CorpusNumbersShape},
	} {
		t.Run(name, func(t *testing.T) {
			objects, err := keys.Of(c.shape, "json", os.DirFS(root))
			must(t, err)
			known := map[reflect.Type]keys.Object{}
			for _, o := range objects {
				known[o.Type] = o
			}
			var v any
			must(t, json.Unmarshal(c.text, &v))
			seen := map[string]bool{}
			lookUp(t, v, known[c.shape], known, "", seen)
			if len(seen) < 4 {
				t.Errorf("only %d keys were found", len(seen))
			}
		})
	}
}

// lookUp looks for the keys of a value among those of an object.
func lookUp(t *testing.T, v any, o keys.Object, known map[reflect.Type]keys.Object, at string, seen map[string]bool) {
	t.Helper()
	switch v := v.(type) {
	case []any:
		for _, item := range v {
			lookUp(t, item, o, known, at, seen)
		}
	case map[string]any:
		for name, value := range v {
			i := slices.IndexFunc(o.Fields, func(f keys.Field) bool { return f.Name == name })
			place := at + "." + name
			if i < 0 {
				if !seen[place] {
					t.Errorf("%s is written and not documented", place)
				}
				seen[place] = true
				continue
			}
			seen[place] = true
			f := o.Fields[i]
			if word, ok := value.(string); ok && f.Words != nil && !slices.Contains(f.Words, word) {
				t.Errorf("%s is %q, which is none of the words %q", place, word, f.Words)
			}
			if f.Object != nil {
				lookUp(t, value, known[f.Object], known, place, seen)
			}
		}
	}
}

// outputs are what the demonstration comes to.
type outputs struct{ numbers, record, fit, changes, shaped, rerun []byte }

// A ran is a study with its results.
type ran struct {
	study   *study.Study
	results *report.Results
}

// demoRun runs the demonstration once.
var demoRun = sync.OnceValues(func() (r ran, err error) {
	if r.study, err = study.Open(root + "testdata/demo"); err == nil {
		r.results, err = r.study.Run(nil)
	}
	return r, err
})

func demoResults(t *testing.T) (out outputs) {
	t.Helper()
	demo, err := demoRun()
	must(t, err)
	results, at := demo.results, filepath.Join(t.TempDir(), "results")
	must(t, demo.study.Write(results, at))
	out.numbers, out.record = read(t, at, "results.json"), read(t, at, "record.json")
	again, err := study.Repeat(root+"testdata/records/2/results", "", nil)
	must(t, err)
	series, err := dropoff.ReadSeries(filepath.Join(at, "tables", "wear.csv"), dropoff.Columns{Values: "wear", SE: "wear_se", Only: []dropoff.Choice{{Column: "book", Label: "Corvaes"}}})
	must(t, err)
	changes, err := dropoff.Segment(series, dropoff.Options{})
	must(t, err)
	shaped, err := dropoff.SegmentBy(dropoff.LevelAndSlope, series, dropoff.Options{})
	must(t, err)
	for _, v := range []struct {
		to *[]byte
		of any
	}{{&out.fit, results.Models[0].Fit}, {&out.changes, changes}, {&out.shaped, shaped}, {&out.rerun, again}} {
		*v.to, err = json.Marshal(v.of)
		must(t, err)
	}
	return out
}

// planned is a plan of few campaigns, with the demonstration as its pilot.
func planned(t *testing.T) []byte {
	t.Helper()
	text := read(t, root+"testdata/plan/pictures.toml")
	short := strings.NewReplacer("[4, 8, 12]", "[4]", "[40, 80]", "[40]", "[1, 3]", "[1]", "replicates = 200", "replicates = 20").Replace(string(text))
	p, err := plan.Read(root+"testdata/plan/pictures.toml", []byte(short))
	must(t, err)
	result, err := p.Try(context.Background(), nil)
	must(t, err)
	out, err := result.JSON()
	must(t, err)
	return out
}

// gathered is a corpus of two folders with the same books under other names.
func gathered(t *testing.T) []byte {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"A", "B"} {
		to := filepath.Join(dir, "books", name)
		must(t, os.CopyFS(to, os.DirFS(root+"testdata/records/2")))
		must(t, os.RemoveAll(filepath.Join(to, "results")))
		for _, file := range []string{"books.csv", "leaves.csv", "pages.csv", "sections.csv", "readings.csv"} {
			text := strings.NewReplacer("Ant,", name+"nt,", "Bee,", name+"ee,").Replace(string(read(t, to, file)))
			must(t, os.WriteFile(filepath.Join(to, file), []byte(text), 0o644))
		}
	}
	must(t, os.WriteFile(filepath.Join(dir, corpus.FileName), []byte(strings.Replace(corpusExample, "[readers]\nset = \"of the Virgin\"\n", "", 1)), 0o644))
	c, err := corpus.Open(filepath.Join(dir, corpus.FileName))
	must(t, err)
	results, err := c.Run(nil)
	if results == nil {
		must(t, err)
	}
	out, err := results.JSON()
	must(t, err)
	return out
}

// TestExamplesAreRead by the rooms that read such files, so that none shows what
// does not work.
func TestExamplesAreRead(t *testing.T) {
	dir := t.TempDir()
	if _, err := mixed.ParseModel("MODEL.toml", []byte(modelExample)); err != nil {
		t.Error(err)
	}
	if _, err := codex.ParseFormula(collationExample); err != nil {
		t.Error(err)
	}
	var ps table.Problems
	if sheet.ReadMapping("WORDS.toml", []byte(mappingExample), &ps) == nil {
		t.Error(ps.Err())
	}
	must(t, os.CopyFS(dir, os.DirFS(root+"testdata/records/2")))
	must(t, os.WriteFile(filepath.Join(dir, deposit.StatementName), []byte(depositExample), 0o644))
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	must(t, err)
	must(t, os.RemoveAll(filepath.Join(dir, "results")))
	must(t, s.Write(results, filepath.Join(dir, "results")))
	if _, err := deposit.Pack(dir, "", ""); err != nil {
		t.Error(err)
	}
}

// TestTablesHaveThePagesTheyAreSaidToHave compares the columns of the demonstration's
// tables of results with those documented.
func TestTablesHaveThePagesTheyAreSaidToHave(t *testing.T) {
	sheets, err := report.StudySheets()
	must(t, err)
	demo, err := demoRun()
	must(t, err)
	written := demo.results.Tables()
	for _, sheet := range sheets {
		var named []string
		for _, f := range sheet.Schema.Fields {
			named = append(named, f.Name)
			if f.Description == "" {
				t.Errorf("%s, column %s: nothing says what it means", sheet.Name, f.Name)
			}
		}
		has := written[sheet.Name].Names()
		if sheet.Name == "pages" || sheet.Name == "traces" { // the scholar's own columns stand between
			has = slices.DeleteFunc(slices.Clone(has), func(name string) bool { return !slices.Contains(named, name) })
		}
		if !slices.Equal(named, has) {
			t.Errorf("%s has the columns %v; documented are %v", sheet.Name, has, named)
		}
		delete(written, sheet.Name)
	}
	if len(written) > 0 {
		t.Errorf("not documented: %v", slices.Sorted(maps.Keys(written)))
	}
}

// TestWhatIsUsedOfOthersIsLookedForInTheCode looks for each name of an element or
// property that the pages on others' formats say is used in the rooms that read
// them.
func TestWhatIsUsedOfOthersIsLookedForInTheCode(t *testing.T) {
	for page, room := range map[string]string{"tei": "tei", "iiif": "iiif"} {
		sources, err := filepath.Glob(root + "models/codex/" + room + "/*.go")
		must(t, err)
		var code strings.Builder
		for _, at := range sources {
			if !strings.HasSuffix(at, "_test.go") {
				code.Write(read(t, at))
			}
		}
		text, err := formats.Page(page)
		must(t, err)
		count := 0
		for _, found := range regexp.MustCompile(`(?m)^- \*\*(.+)\*\* \(`).FindAllStringSubmatch(text, -1) {
			for _, name := range regexp.MustCompile(`[A-Za-z]+`).FindAllString(found[1], -1) {
				count++
				if !strings.Contains(code.String(), `"`+name+`"`) && !strings.Contains(code.String(), `json:"`+name) {
					t.Errorf("%s: nothing looks for %s", page, name)
				}
			}
		}
		if count < 8 {
			t.Errorf("%s: only %d names", page, count)
		}
	}
}

// TestRequiredKeysAreMissed takes each key that is said to be required out of the
// demonstration's study file, and wants the check to name it.
func TestRequiredKeysAreMissed(t *testing.T) {
	objects, err := keys.Of(reflect.TypeFor[study.File](), "toml", os.DirFS(root))
	must(t, err)
	text := string(read(t, root+"testdata/demo/study.toml"))
	tried := 0
	for _, o := range objects {
		for _, f := range o.Fields {
			key := regexp.MustCompile(`(?m)^` + f.Name + ` *=.*$`)
			if !f.Required || o.Place == "" || !key.MatchString(text) {
				continue
			}
			section := strings.Index(text, "["+strings.ReplaceAll(o.Place, "[]", "")+"]")
			at := key.FindStringIndex(text[max(section, 0):])
			if section < 0 || at == nil {
				continue
			}
			tried++
			dir := t.TempDir()
			must(t, os.CopyFS(dir, os.DirFS(root+"testdata/demo")))
			must(t, os.WriteFile(filepath.Join(dir, "study.toml"), []byte(text[:section+at[0]]+text[section+at[1]:]), 0o644))
			if _, err := study.Open(dir); err == nil || !strings.Contains(err.Error(), f.Name) {
				t.Errorf("%s of %s is said to be required, and is not missed: %v", f.Name, o.Place, err)
			}
		}
	}
	if tried < 10 {
		t.Errorf("only %d keys were tried", tried)
	}
}
