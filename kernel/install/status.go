package install

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os/exec"
	"strings"
	"time"

	"thumbed/kernel/headless"
	"thumbed/kernel/relay"
	"thumbed/models/study"
	"thumbed/models/wording"
)

// A Finding is one thing that was looked at.
type Finding struct {
	OK    bool
	Words string
}

// proof is the notebook that status runs: a cell that compiles, imports one of
// our packages, and says which thumbed it is of.
const proof = `{"cells": [{"cell_type": "code", "id": "proof", "metadata": {}, "execution_count": null, "outputs": [],
 "source": "import \"thumbed/models/study\"\n%%\nfmt.Println(study.ThisBuild().Program)"}],
 "metadata": {}, "nbformat": 4, "nbformat_minor": 5}`

// proofTime is how long the proof may take: with nothing compiled yet, all of
// our packages are.
const proofTime = 5 * time.Minute

// Status looks whether the kernel is in place and proves it by running a cell.
// It looks at as much as it can; all is well where every finding is.
func Status(ctx context.Context) []Finding {
	python, err := headless.Python()
	if err != nil {
		return []Finding{{false, wording.Capital(err.Error())}}
	}
	found := []Finding{{true, "Jupyter is here; its client runs in " + python + "."}}
	dir, err := whereJupyterLooks(ctx, python)
	if err != nil {
		return append(found, Finding{false, wording.Capital(err.Error())})
	}
	s, err := relay.ReadSettings(dir)
	if err != nil {
		return append(found, Finding{false, fmt.Sprintf("The kernel in %s is not ours (%v); move it away, then run: thumbed kernel install", dir, err)})
	}
	found = append(found, Finding{true, "The kernel is in " + dir + "; its packages are in " + s.Source + "."})
	if this := study.ThisBuild().Program; s.Version != this {
		found = append(found, Finding{false, fmt.Sprintf("The kernel was installed by %s, and this is %s; run: thumbed kernel install", s.Version, this)})
	}
	if err := s.Ready(); err != nil {
		return append(found, Finding{false, wording.Capital(err.Error())})
	}
	found = append(found, Finding{true, "Go is " + s.Go + "."})
	return append(found, prove(ctx, python, s))
}

// prove runs a cell and looks at what it says.
func prove(ctx context.Context, python string, s relay.Settings) Finding {
	began := time.Now()
	executed, err := headless.Run(ctx, []byte(proof), headless.Options{Python: python, Kernel: Name, Folder: ".", Timeout: proofTime})
	if err != nil {
		return Finding{false, "A cell does not run: " + err.Error()}
	}
	said, err := headless.Said(executed)
	if err != nil {
		return Finding{false, err.Error()}
	}
	if said != s.Version {
		return Finding{false, fmt.Sprintf("A cell runs, but its packages are of %s, and the kernel of %s; run: thumbed kernel install", said, s.Version)}
	}
	return Finding{true, fmt.Sprintf("A cell ran, with the packages of %s, in %.1f s, Jupyter's start included.", said, time.Since(began).Seconds())}
}

// whereJupyterLooks is the folder from which Jupyter takes the kernel.
func whereJupyterLooks(ctx context.Context, python string) (string, error) {
	const ask = `import json, sys
from jupyter_client.kernelspec import KernelSpecManager, NoSuchKernel
try:
    print(json.dumps(KernelSpecManager().get_kernel_spec(sys.argv[1]).resource_dir))
except NoSuchKernel:
    print(json.dumps(""))`
	cmd := exec.CommandContext(ctx, python, "-Xfrozen_modules=off", "-c", ask, Name)
	var complaints strings.Builder
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("cannot learn from Jupyter where its kernels are (%w): %s", err, strings.TrimSpace(complaints.String()))
	}
	var dir string
	if err := json.Unmarshal(out, &dir); err != nil {
		return "", fmt.Errorf("cannot learn from Jupyter where its kernels are: %q", out)
	}
	if dir == "" {
		return "", errors.New("no kernel that Jupyter finds is named " + Name + "; run: thumbed kernel install")
	}
	return dir, nil
}
