package deposit_test

import (
	"archive/zip"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"thumbed/models/study/deposit"
)

// A stranger unpacks the program from a bundle and builds it with Go alone: no module
// cache, no proxy, no network. What it builds says which version it is.
func TestProgramFromABundle(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("builds the whole program anew: make real")
	}
	b, err := deposit.Pack(studied(t), "", "../../..")
	if err != nil {
		t.Fatal(err)
	}
	at := filepath.Join(t.TempDir(), "bundle")
	if err := b.Write(at); err != nil {
		t.Fatal(err)
	}
	if _, err := deposit.Check(at); err != nil {
		t.Fatal(err)
	}
	archive, err := zip.OpenReader(filepath.Join(at, deposit.SourceName))
	if err != nil {
		t.Fatal(err)
	}
	defer archive.Close()
	dir := t.TempDir()
	for _, f := range archive.File {
		to := filepath.Join(dir, filepath.FromSlash(f.Name))
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(in)
		if err == nil {
			err = os.MkdirAll(filepath.Dir(to), 0o755)
		}
		if err == nil {
			err = os.WriteFile(to, text, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
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
}
