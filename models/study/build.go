package study

import (
	"runtime"
	"runtime/debug"
)

// version is the program's own version, which a scholar cites.
const version = "0.1.0"

// A Build is what the running program is made of.
type Build struct {
	Program  string   // name and version of the program
	Revision string   // commit that it was built from; empty where not known
	Go       string   // version of Go
	Modules  []string // path and version of each module, ordered by path
}

// ThisBuild is the build of the running program, as the Go linker wrote it
// into the binary.
func ThisBuild() Build {
	b := Build{Program: "thumbed " + version, Go: runtime.Version()}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			b.Revision = s.Value
		}
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		b.Modules = append(b.Modules, m.Path+" "+m.Version)
	}
	return b
}
