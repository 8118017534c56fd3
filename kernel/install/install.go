package install

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"thumbed/kernel/relay"
	"thumbed/models/study"

	_ "embed"
)

// Options say what to install and where.
type Options struct {
	Place  Place
	Source string // folder of the module's source; empty: find it
	// AnyJupyter installs even where no Jupyter is found on this machine.
	AnyJupyter bool
	// Tell is told what is being done, a sentence each; may be nil.
	Tell func(string)
}

// A specification is Jupyter's kernel.json.
type specification struct {
	Argv      []string `json:"argv"`
	Display   string   `json:"display_name"`
	Language  string   `json:"language"`
	Interrupt string   `json:"interrupt_mode"`
}

//go:embed logo.svg
var logo []byte

// Install puts the kernel in its place. It appears whole or not at all; an
// earlier kernel of ours there is replaced, a stranger's never.
func Install(o Options) (err error) {
	if o.Tell == nil {
		o.Tell = func(string) {}
	}
	needed, err := find(o.Source, o.AnyJupyter)
	if err != nil {
		return err
	}
	o.Tell(fmt.Sprintf("The source of thumbed is %s (%s).", needed.source, needed.how))
	final := o.Place.kernelDir()
	if err := os.MkdirAll(o.Place.Dir, 0o755); err != nil {
		return notWritable(o.Place, err)
	}
	if err := mayReplace(final); err != nil {
		return err
	}
	dir, err := os.MkdirTemp(o.Place.Dir, ".thumbed-new-")
	if err != nil {
		return notWritable(o.Place, err)
	}
	defer func() {
		if left := removeAll(dir); err == nil {
			err = left
		}
	}()
	if err := os.Chmod(dir, 0o755); err != nil {
		return err
	}
	b := builder{needs: needed, dir: dir, final: final, tell: o.Tell}
	if err := b.build(o.Place.Alone); err != nil {
		return err
	}
	if err := removeAll(final); err != nil {
		return err
	}
	return os.Rename(dir, final)
}

func notWritable(p Place, err error) error {
	return fmt.Errorf("cannot write into %s, where Jupyter looks for the kernels of %s (%w); use a place that you may write: --prefix DIR for a virtual environment, or JUPYTER_DATA_DIR=DIR", p.Dir, p.Words, err)
}

// mayReplace tells whether the kernel's folder is free or ours.
func mayReplace(dir string) error {
	_, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(dir, relay.SettingsFile)); err != nil {
		return fmt.Errorf("%s is there and is not ours, so it stays; move it away first", dir)
	}
	return nil
}

// A builder makes the kernel's folder in dir, to be moved to final.
type builder struct {
	needs
	dir, final string
	tell       func(string)
}

func (b builder) build(alone bool) error {
	b.tell("Building gonb and goimports, which run the cells.")
	for _, tool := range []struct{ name, path string }{
		{"gonb", "github.com/janpfeifer/gonb"},
		{"tools/goimports", "golang.org/x/tools/cmd/goimports"},
	} {
		if err := b.run("build", "-o", filepath.Join(b.dir, tool.name), tool.path); err != nil {
			return err
		}
	}
	if err := copySelf(filepath.Join(b.dir, Name)); err != nil {
		return err
	}
	modules, err := b.moduleCache()
	if err != nil {
		return err
	}
	settings := relay.Settings{
		Version: study.ThisBuild().Program, Source: b.source, Go: b.goCommand, GoVersion: b.goVersion, Modules: modules,
		Engine: filepath.Join(b.final, "gonb"), Tools: filepath.Join(b.final, "tools"),
	}
	if alone {
		b.tell("Copying the source of thumbed and of the modules that it needs, for every user.")
		if err := b.copyAll(modules); err != nil {
			return err
		}
		settings.Source, settings.Modules = filepath.Join(b.final, "source"), filepath.Join(b.final, "modules")
	}
	b.tell("Compiling the packages that cells import.")
	if err := b.run(append([]string{"build"}, importable()...)...); err != nil {
		return err
	}
	return b.write(settings)
}

// importable are the packages that a cell is most likely to import: compiled
// once at installation, they need no compiling in the first cell.
func importable() []string {
	return []string{module + "/kernel", module + "/models/...", "github.com/kniren/gota/dataframe",
		"gonum.org/v1/gonum/mat", "gonum.org/v1/gonum/stat", "fmt", "math", "os", "slices", "strings"}
}

// write writes what Jupyter and the relay read.
func (b builder) write(s relay.Settings) error {
	spec := specification{
		Argv:      []string{filepath.Join(b.final, Name), "kernel", "serve", "{connection_file}"},
		Display:   "thumbed (Go)",
		Language:  "go",
		Interrupt: "message",
	}
	for name, value := range map[string]any{"kernel.json": spec, relay.SettingsFile: s} {
		data, err := json.MarshalIndent(value, "", "  ")
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(b.dir, name), append(data, '\n'), 0o644); err != nil {
			return err
		}
	}
	return os.WriteFile(filepath.Join(b.dir, "logo-svg.svg"), logo, 0o644)
}

// run runs the go command in the source, with this Go only.
func (b builder) run(args ...string) error { return b.runWith(nil, args...) }

// runWith is run with some variables of the environment set otherwise.
func (b builder) runWith(env []string, args ...string) error {
	cmd := exec.Command(b.goCommand, args...)
	cmd.Dir = b.source
	cmd.Env = append(os.Environ(), "GOTOOLCHAIN=local", "GOWORK=off", "GOFLAGS=-buildvcs=false")
	cmd.Env = append(cmd.Env, env...)
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("go %s failed in %s: %w\n%s", strings.Join(args, " "), b.source, err, bytes.TrimSpace(out))
	}
	return nil
}

func (b builder) moduleCache() (string, error) {
	cmd := exec.Command(b.goCommand, "env", "GOMODCACHE")
	cmd.Dir = b.source
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("go env GOMODCACHE failed: %w", err)
	}
	return strings.TrimSpace(string(out)), nil
}

// copySelf copies this command, which serves the notebooks: the kernel works on
// when the command is moved or built anew.
func copySelf(to string) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	return copyFile(self, to, 0o755)
}

func copyFile(from, to string, mode fs.FileMode) (err error) {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		return errors.Join(err, out.Close())
	}
	return out.Close()
}
