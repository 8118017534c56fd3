package relay

import (
	"os/exec"
	"syscall"
)

// endWithParent lets gonb lead a group of its own, so that it can be ended with
// all that it started, and has the system end it when we are gone.
func endWithParent(c *exec.Cmd) {
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Pdeathsig: syscall.SIGTERM}
}
