//go:build linux

package study_test

import (
	"maps"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"thumbed/models/report"
	"thumbed/models/study"
)

// smallStudy is a copy of the small study of the records, in a folder given or
// new, with results of an earlier run that differ from those of the next.
func smallStudy(t *testing.T, dir string) (out string, old, fresh map[string]string) {
	t.Helper()
	out = filepath.Join(dir, "results")
	must(t, os.CopyFS(dir, written(t, func(dir string) {
		must(t, os.CopyFS(dir, os.DirFS("../../testdata/records/2")))
		must(t, os.RemoveAll(filepath.Join(dir, "results")))
		runTo(t, dir, filepath.Join(dir, "results"))
	}, &smallOld)))
	old = bytesUnder(t, out)
	edit(t, filepath.Join(dir, study.FileName), `title = "Two small books"`, `title = "Two books"`)
	elsewhere := t.TempDir()
	must(t, os.CopyFS(elsewhere, written(t, func(elsewhere string) { runTo(t, dir, elsewhere) }, &smallFresh)))
	return out, old, bytesUnder(t, elsewhere)
}

// whole fails where the results are neither all of the old nor all of the new,
// and tells which.
func whole(t *testing.T, out string, old, fresh map[string]string) (isNew bool) {
	t.Helper()
	got := bytesUnder(t, out)
	if !maps.Equal(got, old) && !maps.Equal(got, fresh) {
		t.Fatal("the results are neither the old ones nor the new, but something between")
	}
	return maps.Equal(got, fresh)
}

// unfinished lists what lies beside the results half done.
func unfinished(t *testing.T, out string) []string {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(filepath.Dir(out), ".*thumbed-unfinished*"))
	must(t, err)
	return names
}

// TestAKilledRunLeavesTheLastGoodResults kills runs without warning at many
// moments of their writing.
func TestAKilledRunLeavesTheLastGoodResults(t *testing.T) {
	dir := t.TempDir()
	out, old, fresh := smallStudy(t, dir)
	left := 0
	for k := range 6 {
		cmd := child(t, dir, out)
		must(t, cmd.Start())
		for deadline := time.Now().Add(time.Minute); len(unfinished(t, out)) == 0 && time.Now().Before(deadline); {
			time.Sleep(time.Millisecond)
		}
		time.Sleep(time.Duration(k*k) * 4 * time.Millisecond)
		_ = cmd.Process.Kill() // it may have ended by itself
		_ = cmd.Wait()
		left += len(unfinished(t, out))
		whole(t, out, old, fresh)
	}
	if left == 0 {
		t.Error("no run was killed at its writing; the test tries nothing")
	}
	runTo(t, dir, out)
	if !whole(t, out, old, fresh) || len(unfinished(t, out)) > 0 {
		t.Errorf("after a run that ended, there are left %v", unfinished(t, out))
	}
}

// TestChildLimited is a run of another process that may write no large file.
func TestChildLimited(t *testing.T) {
	limit := os.Getenv("THUMBED_TEST_LIMIT")
	if limit == "" {
		t.Skip("only run by another test, as a process of its own")
	}
	signal.Ignore(syscall.SIGXFSZ) // so that a write fails, as on a full disk
	must(t, unix.Setrlimit(unix.RLIMIT_FSIZE, &unix.Rlimit{Cur: 8192, Max: 8192}))
	dir, out := os.Getenv(childStudy), os.Getenv(childOut)
	s, err := study.Open(dir)
	must(t, err)
	results, err := s.Run(nil)
	must(t, err)
	if err := s.Write(results, out); err == nil || !strings.Contains(err.Error(), "all is as it was") {
		t.Errorf("a file too large gives %v", err)
	}
}

func TestAFileThatCannotGrowLeavesTheLastGoodResults(t *testing.T) {
	dir := t.TempDir()
	out, old, fresh := smallStudy(t, dir)
	cmd := child(t, dir, out, "THUMBED_TEST_LIMIT=1")
	cmd.Args[1] = "-test.run=^TestChildLimited$"
	if said, err := cmd.CombinedOutput(); err != nil || !strings.Contains(string(said), "PASS: TestChildLimited") {
		t.Errorf("%v\n%s", err, said)
	}
	if whole(t, out, old, fresh) || len(unfinished(t, out)) > 0 {
		t.Errorf("a failed run changed the results, or left %v", unfinished(t, out))
	}
}

// mounted is a small file system of its own; only the superuser may mount one.
func mounted(t *testing.T, size string) string {
	t.Helper()
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("no file system can be mounted here: %v", err)
	}
	t.Cleanup(func() { must(t, unix.Unmount(dir, 0)) })
	return dir
}

// fails writes results, wants that to say that nothing was written, and the old
// results to be there.
func fails(t *testing.T, s *study.Study, results *report.Results, out string, old, fresh map[string]string, why string) {
	t.Helper()
	if err := s.Write(results, out); err == nil || !strings.Contains(err.Error(), why) {
		t.Errorf("the error is %v; want one with %q", err, why)
	}
	if whole(t, out, old, fresh) || len(unfinished(t, out)) > 0 {
		t.Errorf("a failed run changed the results, or left %v", unfinished(t, out))
	}
}

func TestAFullDiskLeavesTheLastGoodResults(t *testing.T) {
	dir := mounted(t, "16m")
	out, old, fresh := smallStudy(t, dir)
	s, results := run(t, dir)
	filler, err := os.Create(filepath.Join(dir, "filler"))
	must(t, err)
	block := make([]byte, 4096)
	for err == nil {
		_, err = filler.Write(block)
	}
	info, err := filler.Stat()
	must(t, err)
	for _, room := range []int64{0, 20 << 10, 200 << 10} { // no folder, no page, no figures
		must(t, filler.Truncate(info.Size()-room))
		info, err = filler.Stat()
		must(t, err)
		fails(t, s, results, out, old, fresh, "no space left")
	}
	must(t, filler.Close())
	must(t, os.Remove(filler.Name()))
	must(t, s.Write(results, out))
	if !whole(t, out, old, fresh) {
		t.Error("with room again the run does not replace the old results")
	}
}

func TestAReadOnlyFolderLeavesTheLastGoodResults(t *testing.T) {
	if os.Geteuid() != 0 {
		dir := filepath.Join(t.TempDir(), "study")
		out, old, fresh := smallStudy(t, dir)
		must(t, os.Chmod(dir, 0o555))
		defer func() { must(t, os.Chmod(dir, 0o755)) }()
		s, results := run(t, dir)
		fails(t, s, results, out, old, fresh, "permission denied")
		return
	}
	dir := mounted(t, "16m")
	out, old, fresh := smallStudy(t, dir)
	s, results := run(t, dir)
	if err := unix.Mount("tmpfs", dir, "tmpfs", unix.MS_REMOUNT|unix.MS_RDONLY, ""); err != nil {
		t.Skipf("it cannot be made read-only: %v", err)
	}
	fails(t, s, results, out, old, fresh, "read-only file system")
}
