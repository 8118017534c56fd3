package corpustest_test

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"thumbed/models/study/corpus/corpustest"
)

func TestGen(t *testing.T) {
	dir := os.Getenv("GEN")
	if dir == "" {
		t.Skip()
	}
	n, _ := strconv.Atoi(os.Getenv("N"))
	early, _ := strconv.ParseFloat(os.Getenv("EARLY"), 64)
	if err := (corpustest.Plan{Books: n, Early: early, Seed: 1}).Make(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "corpus.toml"), []byte(corpustest.Head+corpustest.Pictures), 0o644); err != nil {
		t.Fatal(err)
	}
}
