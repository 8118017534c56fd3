package main

import (
	"archive/zip"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// TestRelease makes the archives for all systems and looks at what is in them: the
// one for this system works, all hold the licences, a page to start from and
// completions.
func TestRelease(t *testing.T) {
	if os.Getenv("THUMBED_REAL") == "" {
		t.Skip("builds and vets thumbed for six systems (half an hour); make systems does")
	}
	dist := t.TempDir()
	only := os.Getenv("THUMBED_RELEASE_ONLY") // for a quick look
	args := []string{"run", ".ci/release.go", "-vet"}
	if only != "" {
		args = append(args, "-only", only)
	}
	make := exec.Command("go", append(args, dist)...)
	make.Dir = "../.."
	if out, err := make.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	sums := exec.Command("sha256sum", "-c", "SHA256SUMS")
	sums.Dir = dist
	if out, err := sums.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
	archives, err := filepath.Glob(filepath.Join(dist, "thumbed-*"))
	if err != nil || only == "" && len(archives) != 6 {
		t.Fatalf("archives: %q, %v", archives, err)
	}
	for _, path := range archives {
		names := namesIn(t, path)
		for _, want := range []string{"/START-HERE.txt", "/LICENSE.txt", "/completions/thumbed.zsh", "/licences/go/LICENSE.txt", "/licences/gonum.org/v1/gonum@"} {
			if !slices.ContainsFunc(names, func(name string) bool { return strings.Contains(name, want) }) {
				t.Errorf("%s has no %s", path, want)
			}
		}
		if !strings.Contains(path, "-linux-amd64") {
			continue
		}
		dir := t.TempDir()
		if out, err := exec.Command("tar", "-xzf", path, "-C", dir).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		c := command{t, filepath.Join(dir, strings.TrimSuffix(filepath.Base(path), ".tar.gz"), "thumbed")}
		study := filepath.Join(dir, "my-study")
		c.run(exitDone, "demo", study)
		c.run(exitDone, "run", study)
		c.run(exitDone, "rerun", filepath.Join(study, "results", "record.json"))
	}
}

// namesIn are the names in an archive.
func namesIn(t *testing.T, path string) []string {
	t.Helper()
	if strings.HasSuffix(path, ".zip") {
		z, err := zip.OpenReader(path)
		if err != nil {
			t.Fatal(err)
		}
		defer z.Close()
		var names []string
		for _, f := range z.File {
			names = append(names, f.Name)
		}
		return names
	}
	out, err := exec.Command("tar", "-tzf", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(out), "\n")
}
