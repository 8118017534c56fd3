//go:build linux

package deposit_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"thumbed/models/study/deposit"
)

// TestAFullOrReadOnlyPlaceLeavesNothingHalf writes bundles where there is too
// little room for them, and where nothing may be written.
func TestAFullOrReadOnlyPlaceLeavesNothingHalf(t *testing.T) {
	b, err := deposit.Pack(studied(t), "", "")
	must(t, err)
	place := t.TempDir()
	if err := unix.Mount("tmpfs", place, "tmpfs", 0, "size=256k"); err != nil {
		t.Skipf("no file system can be mounted here: %v", err)
	}
	t.Cleanup(func() { must(t, unix.Unmount(place, 0)) })
	write(t, "mine", place, "mine.txt")
	fails := func(why string) {
		t.Helper()
		for _, out := range []string{"b.zip", "b"} {
			if err := b.Write(filepath.Join(place, out)); err == nil || !strings.Contains(err.Error(), why) {
				t.Errorf("%s: the error is %v; want a word of %q", out, err, why)
			}
		}
		entries, err := os.ReadDir(place)
		if err != nil || len(entries) != 1 || read(t, place, "mine.txt") != "mine" {
			t.Errorf("the place holds %v, error %v", entries, err)
		}
	}
	fails("no space left")
	if err := unix.Mount("tmpfs", place, "tmpfs", unix.MS_REMOUNT|unix.MS_RDONLY, ""); err != nil {
		t.Skipf("it cannot be made read-only: %v", err)
	}
	fails("read-only file system")
}
