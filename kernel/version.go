package kernel

import (
	"fmt"
	"os"

	"thumbed/kernel/wire"
	"thumbed/models/study"
)

// A cell whose packages are of another version than its kernel may show what
// the kernel does not know; it says so.
func init() {
	kernel, here := os.Getenv(wire.VersionVariable), study.ThisBuild().Program
	if kernel != "" && kernel != here {
		fmt.Fprintf(os.Stderr, "This kernel was installed by %s, and the notebook's packages are of %s. Run: thumbed kernel install\n", kernel, here)
	}
}
