//go:build unix && !linux

package relay

import (
	"os/exec"
	"syscall"
)

// endWithParent lets gonb lead a group of its own, so that it can be ended with
// all that it started.
func endWithParent(c *exec.Cmd) {
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
}
