package report

import (
	"testing"

	"pgregory.net/rapid"
)

func TestFileName(t *testing.T) {
	for name, want := range map[string]string{
		"MS 12": "ms-12", "../../etc/passwd": "etc-passwd", "Ælfgifu": "lfgifu", "": "", "CON:|?*": "con",
	} {
		if got := fileName(name); got != want {
			t.Errorf("fileName(%q) = %q, want %q", name, got, want)
		}
	}
}

// TestDistinctNames: no two names of one list share a file name, whatever they
// are, and none is empty, holds a path or is longer than a file system takes.
func TestDistinctNames(t *testing.T) {
	name := rapid.OneOf(rapid.StringMatching(`[a-cA-C \-2/.]{0,4}`), rapid.StringMatching(`a{62,70}`), rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		names := rapid.SliceOfN(name, 1, 12).Draw(t, "names")
		seen := map[string]int{}
		for i := range names {
			got := distinct(names[:i+1])
			if got == "" || got != fileName(got) || len(got) > mostName+len("-12") {
				t.Fatalf("%q gives %q, no safe name", names[i], got)
			}
			if earlier, taken := seen[got]; taken {
				t.Fatalf("%q and %q both give %q", names[earlier], names[i], got)
			}
			seen[got] = i
		}
	})
}
