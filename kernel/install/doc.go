// Package install answers: is the notebook kernel in place, and does it work?
//
// It puts a Jupyter kernel named thumbed where Jupyter looks for kernels
// (https://jupyter-client.readthedocs.io/en/stable/kernels.html#kernel-specs),
// whole or not at all, proves that it works by running a cell, and takes it
// away again leaving nothing. The kernel holds this command itself, gonb of the
// version that the module pins, and goimports; its workspace is the module's
// source, so that a cell imports our packages with no network and no path.
package install
