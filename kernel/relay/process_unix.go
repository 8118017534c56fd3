//go:build unix

package relay

import (
	"os/exec"
	"syscall"
)

// endPolitely asks gonb to end; it stops its cell first.
func endPolitely(c *exec.Cmd) {
	syscall.Kill(c.Process.Pid, syscall.SIGTERM) // may have ended already
}

// endAtOnce ends whatever is left of gonb's group.
func endAtOnce(c *exec.Cmd) {
	syscall.Kill(-c.Process.Pid, syscall.SIGKILL) // may have ended already
}

// runs tells whether there is a process of this number.
func runs(id int) bool { return syscall.Kill(id, 0) != syscall.ESRCH }
