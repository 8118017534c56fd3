package install

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
)

// Name is the kernel's name, by which notebooks ask for it.
const Name = "thumbed"

// A Place is where Jupyter looks for kernels.
type Place struct {
	Dir   string // the folder of kernels
	Words string // who finds them there
	// Alone is set where others than the installer are to use the kernel: it
	// must then hold its own copy of all that it needs.
	Alone bool
}

// UserPlace is where Jupyter looks for one user's kernels, by the rules of
// jupyter_core: $JUPYTER_DATA_DIR, or a folder of the system's.
func UserPlace() (Place, error) {
	data := os.Getenv("JUPYTER_DATA_DIR")
	if data == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return Place{}, errors.New("this user has no home folder; install for the whole machine with --system, or in a virtual environment with --prefix DIR")
		}
		switch xdg := os.Getenv("XDG_DATA_HOME"); {
		case runtime.GOOS == "darwin":
			data = filepath.Join(home, "Library", "Jupyter")
		case xdg != "":
			data = filepath.Join(xdg, "jupyter")
		default:
			data = filepath.Join(home, ".local", "share", "jupyter")
		}
	}
	return Place{Dir: filepath.Join(data, "kernels"), Words: "this user"}, nil
}

// SystemPlace is where Jupyter looks for kernels of every user.
func SystemPlace() Place {
	return Place{Dir: "/usr/local/share/jupyter/kernels", Words: "every user of this machine", Alone: true}
}

// PrefixPlace is where a virtual environment's Jupyter looks for kernels.
func PrefixPlace(prefix string) (Place, error) {
	prefix, err := filepath.Abs(prefix)
	if err != nil {
		return Place{}, err
	}
	if _, err := os.Stat(prefix); err != nil {
		return Place{}, fmt.Errorf("there is no virtual environment in %s (%w); make it first: python3 -m venv %s", prefix, err, prefix)
	}
	return Place{Dir: filepath.Join(prefix, "share", "jupyter", "kernels"), Words: "the virtual environment " + prefix}, nil
}

// kernelDir is the kernel's own folder in the place.
func (p Place) kernelDir() string { return filepath.Join(p.Dir, Name) }
