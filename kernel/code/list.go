package code

import (
	"fmt"
	"os/exec"
	"strings"
)

// ByGo finds packages by the go command at this path, run in dir with env. What Go
// has not compiled yet, it compiles.
func ByGo(command, dir string, env []string) func(paths ...string) ([]Package, error) {
	return func(paths ...string) ([]Package, error) {
		cmd := exec.Command(command, append([]string{"list", "-e", "-export", "-deps", "-f", "{{.ImportPath}}\t{{.Export}}\t{{.Dir}}"}, paths...)...)
		cmd.Dir, cmd.Env = dir, env
		out, err := cmd.Output()
		if err != nil {
			return nil, fmt.Errorf("go list: %w", err)
		}
		var found []Package
		for line := range strings.Lines(string(out)) {
			if p := strings.Split(strings.TrimSuffix(line, "\n"), "\t"); len(p) == 3 {
				found = append(found, Package{p[0], p[1], p[2]})
			}
		}
		return found, nil
	}
}
