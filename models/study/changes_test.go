package study_test

import (
	"strings"
	"testing"

	"thumbed/models/study"
)

// The newest release is this program's, and each release says something.
func TestReleases(t *testing.T) {
	releases := study.Releases()
	if len(releases) < 2 || "thumbed "+releases[0].Version != study.ThisBuild().Program {
		t.Fatalf("%v is not the release of %s: write what it moved", releases, study.ThisBuild().Program)
	}
	for _, r := range releases {
		if len(r.Changes) == 0 || strings.Count(r.Version, ".") != 2 {
			t.Errorf("%+v", r)
		}
	}
	if since := study.ReleasesSince("thumbed 0.1.0"); len(since) != len(releases)-1 {
		t.Errorf("since 0.1.0: %v", since)
	}
	if since := study.ReleasesSince(study.ThisBuild().Program); len(since) != 0 {
		t.Errorf("since this one: %v", since)
	}
}
