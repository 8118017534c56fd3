package deposit_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/corpus"
	"thumbed/models/study/corpus/corpustest"
	"thumbed/models/study/deposit"
)

// bundledCorpus is a corpus of a few books with its results, and its bundle.
func bundledCorpus(t *testing.T) (dir, out string) {
	t.Helper()
	dir, out = t.TempDir(), filepath.Join(t.TempDir(), "bundle")
	must(t, corpustest.Plan{Books: 4, Leaves: 40, Seed: 2}.Make(dir))
	write(t, corpustest.Head+corpustest.Pictures, dir, corpus.FileName)
	c, err := corpus.Open(dir)
	must(t, err)
	results, err := c.Run(nil)
	must(t, err)
	must(t, c.Write(results, filepath.Join(dir, "results")))
	if b := bundle(t, dir, out); b.Word() != "corpus" {
		t.Errorf("a bundle of a %s", b.Word())
	}
	return dir, out
}

// A corpus is bundled whole: each table speaks of the books of its own folder, the
// bundle is as the published profile wants it, and its run can be made again.
func TestACorpusIsBundled(t *testing.T) {
	dir, out := bundledCorpus(t)
	found, err := deposit.Check(out)
	must(t, err)
	if found.Rerun != "thumbed rerun results" || found.Tables < 4*5+1 {
		t.Errorf("found %+v", found)
	}
	text := read(t, out, deposit.PackageName)
	if err := profile(t, "data-package.json").Validate(value(t, text)); err != nil {
		t.Error(err)
	}
	var p struct {
		Sources   []struct{ Title string }
		Resources []struct {
			Path   string
			Schema struct {
				ForeignKeys []struct{ Reference struct{ Resource string } }
			}
		}
	}
	must(t, json.Unmarshal([]byte(text), &p))
	if len(p.Sources) != 4 {
		t.Errorf("sources: %+v", p.Sources)
	}
	tables := 0
	for _, r := range p.Resources {
		if r.Path == corpustest.Folder(2)+"/readings.csv" {
			tables++
			if keys := r.Schema.ForeignKeys; len(keys) != 2 || keys[0].Reference.Resource != strings.ToLower(corpustest.Folder(2))+"/books.csv" || keys[1].Reference.Resource != "instruments.csv" {
				t.Errorf("keys: %+v", keys)
			}
		}
	}
	if tables != 1 {
		t.Errorf("%d logs of one folder", tables)
	}
	again, err := corpus.Repeat(filepath.Join(out, "results"), "", nil)
	must(t, err)
	if !again.Agrees() {
		t.Errorf("the run again: %+v", again)
	}
	must(t, os.WriteFile(filepath.Join(dir, corpustest.Folder(1), "sections.csv"), []byte(strings.Replace(read(t, dir, corpustest.Folder(1), "sections.csv"), "Calendar", "Kalendar", 1)), 0o644))
	if _, err := deposit.Pack(dir, "", ""); err == nil || !strings.Contains(err.Error(), corpustest.Folder(1)+"/sections.csv has changed") || !strings.Contains(err.Error(), "thumbed corpus") {
		t.Errorf("bundled results of other tables: %v", err)
	}
}
