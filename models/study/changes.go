package study

import (
	_ "embed"
	"slices"
	"strings"
)

// changesText is CHANGES.md, which tells by release what moved which numbers.
//
//go:embed CHANGES.md
var changesText string

// A Release is a version of the program with what it moved.
type Release struct {
	Version string   `json:"version"`
	Changes []string `json:"changes"` // sentences
}

// Releases are those of the program, the newest first.
func Releases() (releases []Release) {
	for _, part := range strings.Split(changesText, "\n## ")[1:] {
		version, rest, _ := strings.Cut(part, "\n")
		r := Release{Version: strings.TrimSpace(version)}
		for _, item := range strings.Split("\n"+rest, "\n- ")[1:] {
			r.Changes = append(r.Changes, strings.Join(strings.Fields(item), " "))
		}
		releases = append(releases, r)
	}
	return releases
}

// ReleasesSince are those after the one that a record names, "thumbed 0.1.0"; all,
// where that is none of them.
func ReleasesSince(program string) []Release {
	releases := Releases()
	_, version, _ := strings.Cut(program, " ")
	if i := slices.IndexFunc(releases, func(r Release) bool { return r.Version == version }); i >= 0 {
		return releases[:i]
	}
	return releases
}
