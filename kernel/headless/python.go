package headless

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
)

// Packages are the Debian packages that hold all that a notebook needs.
const Packages = "jupyter-client jupyter-nbconvert python3-nbclient python3-ipykernel jupyter-notebook"

// ErrNoJupyter says that no Python with Jupyter's client was found, and how to
// get one.
var ErrNoJupyter = errors.New("no Jupyter is on this machine: no Python here has its client, nbclient.\n" +
	"  On Debian or Ubuntu:        apt-get install " + Packages + "\n" +
	"  In a virtual environment:   pip install notebook nbclient")

// Python finds a Python that has nbclient: that of the virtual environment in
// use, the one named python3, the one that runs Jupyter, or the system's. Its
// error is [ErrNoJupyter].
func Python() (string, error) {
	for _, path := range pythons() {
		if exec.Command(path, "-c", "import nbclient, nbformat, jupyter_client").Run() == nil {
			return path, nil
		}
	}
	return "", ErrNoJupyter
}

func pythons() []string {
	var found []string
	if env := os.Getenv("VIRTUAL_ENV"); env != "" {
		found = append(found, filepath.Join(env, "bin", "python"))
	}
	if path, err := exec.LookPath("python3"); err == nil {
		found = append(found, path)
	}
	if path, err := exec.LookPath("jupyter"); err == nil {
		for _, name := range []string{"python3", "python"} {
			found = append(found, filepath.Join(filepath.Dir(path), name))
		}
	}
	return append(found, "/usr/bin/python3")
}
