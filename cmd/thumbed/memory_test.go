package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestWhatARunNeedsIsAskedBefore(t *testing.T) {
	dir := t.TempDir()
	small := needOf(dir)
	must(t, os.WriteFile(filepath.Join(dir, "readings.csv"), make([]byte, 1<<20), 0o644))
	must(t, os.WriteFile(filepath.Join(dir, "picture.png"), make([]byte, 1<<20), 0o644))
	if need := needOf(filepath.Join(dir, "study.toml")); need != small+memoryPerByte<<20 {
		t.Errorf("a megabyte of readings is told to need %d more", need-small)
	}
	for _, c := range []struct {
		need, available uint64
		refused         bool
	}{{100 << 20, 0, false}, {100 << 20, 100 << 20, false}, {101 << 20, 100 << 20, true}} {
		err := enoughMemory(c.need, c.available)
		if (err != nil) != c.refused || err != nil && !strings.Contains(plainSpaces.Replace(err.Error()), "about 101 MB of memory, and 100 MB") {
			t.Errorf("%v: %v", c, err)
		}
	}
}
