package study

import (
	"runtime"
	"runtime/debug"
	"strings"

	"golang.org/x/sys/cpu"
)

// version is the program's own version, which a scholar cites; CHANGES.md says what
// its parts mean and which numbers it moved.
const version = "0.2.0"

// A Build is what the running program is made of.
type Build struct {
	Program  string   // name and version of the program
	Revision string   // commit that it was built from; empty where not known
	Go       string   // version of Go
	Modules  []string // path, version and sum (https://go.dev/ref/mod#go-sum-files) of each module, ordered by path
	Platform string   // operating system and architecture
	// Processor is the family of processors within which all digits are the
	// same: the architecture, the level that the compiler may use of it, and
	// whether products are added to sums without rounding in between, which moves
	// last bits (IEEE 754-2019, 5.4.1: fusedMultiplyAdd).
	Processor string
}

// ThisBuild is the build of the running program, as the Go linker wrote it
// into the binary.
func ThisBuild() Build {
	b := Build{Program: "thumbed " + version, Go: runtime.Version(),
		Platform: runtime.GOOS + "/" + runtime.GOARCH, Processor: runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Revision = s.Value
		case "GO" + strings.ToUpper(runtime.GOARCH): // GOAMD64, GOARM64 …
			b.Processor += " " + s.Value
		}
	}
	if cpu.X86.HasAVX && cpu.X86.HasFMA { // on amd64 the exponential asks for both
		b.Processor += " with fused multiply-add"
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		b.Modules = append(b.Modules, strings.TrimSpace(m.Path+" "+m.Version+" "+m.Sum))
	}
	return b
}
