package install

import (
	"errors"
	"fmt"
	"go/version"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"golang.org/x/mod/modfile"

	"thumbed/kernel/headless"
)

// module is the path of the module whose packages cells import.
const module = "thumbed"

// findSource finds the folder of the module's source: the one given, or the one
// that this command was built in, or the one that holds the current folder.
// How tells which of these it was.
func findSource(given string) (dir, how string, err error) {
	if given != "" {
		dir, err = filepath.Abs(given)
		if err == nil && !isSource(dir) {
			err = fmt.Errorf("%s is not the source of thumbed: it has no go.mod of the module thumbed", given)
		}
		return dir, "as given", err
	}
	if _, file, _, ok := runtime.Caller(0); ok && filepath.IsAbs(file) {
		built := filepath.Dir(filepath.Dir(filepath.Dir(file)))
		if isSource(built) {
			return built, "where this command was built", nil
		}
	}
	here, err := os.Getwd()
	if err != nil {
		return "", "", err
	}
	for dir := here; ; dir = filepath.Dir(dir) {
		if isSource(dir) {
			return dir, "around the current folder", nil
		}
		if dir == filepath.Dir(dir) {
			return "", "", errors.New("the source of thumbed, whose packages cells import, was not found: neither where this command was built nor around the current folder; say where it is with --source DIR")
		}
	}
}

func isSource(dir string) bool {
	data, err := os.ReadFile(filepath.Join(dir, "go.mod"))
	return err == nil && modfile.ModulePath(data) == module
}

// neededGo is the oldest Go that builds the module, as in go1.26.8.
func neededGo(source string) (string, error) {
	path := filepath.Join(source, "go.mod")
	data, err := os.ReadFile(path)
	if err != nil {
		return "", err
	}
	file, err := modfile.ParseLax(path, data, nil)
	if err != nil || file.Go == nil {
		return "", fmt.Errorf("%s does not say which Go it needs", path)
	}
	return "go" + file.Go.Version, nil
}

// usualGo is where Go's own instructions put it.
var usualGo = "/usr/local/go/bin/go"

// findGo finds a go command that is new enough. It does not let Go fetch
// another version of itself.
func findGo(needed string) (string, error) {
	get := "get Go " + strings.TrimPrefix(needed, "go") + " or newer from https://go.dev/dl/ and put its folder bin on the PATH"
	path, err := exec.LookPath("go")
	if err != nil {
		path = usualGo
		if _, err := os.Stat(path); err != nil {
			return "", errors.New("no Go is on this machine, and each cell is compiled by it: " + get)
		}
	}
	if path, err = filepath.Abs(path); err != nil {
		return "", err
	}
	cmd := exec.Command(path, "env", "GOVERSION")
	cmd.Env = append(os.Environ(), "GOTOOLCHAIN=local")
	cmd.Dir = os.TempDir() // no go.mod there asks for another version
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s does not run (%w): %s", path, err, get)
	}
	if got := strings.TrimSpace(string(out)); version.Compare(got, needed) < 0 {
		return "", fmt.Errorf("%s is %s, which is too old: %s", path, got, get)
	}
	return path, nil
}

// cellsRun tells whether gonb runs cells on a system; it needs the named pipes of Unix.
func cellsRun(goos string) error {
	if goos == "windows" {
		return errors.New("cells do not run on Windows itself: install the Windows Subsystem for Linux (wsl --install), and there Go, Jupyter and thumbed for Linux")
	}
	return nil
}

// needs is what was found on this machine.
type needs struct {
	source, how string
	goCommand   string
	goVersion   string // the oldest that will do
	python      string
}

// find looks for all that the kernel needs. Its error lists everything that is
// missing at once, with how to get it.
func find(source string, anyJupyter bool) (needs, error) {
	var n needs
	var missing []string
	err := cellsRun(runtime.GOOS)
	if err != nil {
		return n, err
	}
	if n.source, n.how, err = findSource(source); err != nil {
		missing = append(missing, err.Error())
	} else if n.goVersion, err = neededGo(n.source); err != nil {
		missing = append(missing, err.Error())
	} else if n.goCommand, err = findGo(n.goVersion); err != nil {
		missing = append(missing, err.Error())
	}
	if n.python, err = headless.Python(); err != nil && !anyJupyter {
		missing = append(missing, err.Error())
	}
	if len(missing) > 0 {
		return n, errors.New("something is missing:\n- " + strings.Join(missing, "\n- "))
	}
	return n, nil
}
