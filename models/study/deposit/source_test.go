package deposit_test

import (
	"archive/zip"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/deposit"
)

// A stranger unpacks the program from a bundle and builds it with Go alone: no module
// cache, no proxy, no network. What it builds says which version it is, finds the bundle
// whole and makes its run again: every number comes out as it was.
func TestProgramFromABundle(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("builds the whole program anew: make real")
	}
	b, err := deposit.Pack(studied(t), "", "../../..")
	must(t, err)
	at := filepath.Join(t.TempDir(), "bundle")
	must(t, b.Write(at))
	_, err = deposit.Check(at)
	must(t, err)
	archive, err := zip.OpenReader(filepath.Join(at, deposit.SourceName))
	must(t, err)
	defer archive.Close()
	dir := t.TempDir()
	must(t, os.CopyFS(dir, archive))
	program := filepath.Join(dir, "thumbed")
	build := exec.Command("go", "build", "-o", filepath.Join(dir, "built"), "./cmd/thumbed")
	build.Dir = program
	build.Env = append(os.Environ(), "GOPROXY=off", "GOFLAGS=", "GONOSUMDB=*", "GOTOOLCHAIN=local", "GOMODCACHE="+filepath.Join(dir, "none"))
	if said, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	said, err := exec.Command(filepath.Join(dir, "built"), "version").Output()
	if err != nil || !strings.HasPrefix(string(said), "thumbed ") {
		t.Errorf("%v: %s", err, said)
	}
	for _, c := range []struct{ args, says string }{{"bundle --check .", "is whole"}, {"rerun results", "agree to the last digit"}} {
		again := exec.Command(filepath.Join(dir, "built"), strings.Fields(c.args)...)
		again.Dir = at
		if said, err := again.CombinedOutput(); err != nil || !strings.Contains(string(said), c.says) {
			t.Errorf("thumbed %s: %v\n%s", c.args, err, said)
		}
	}
}
