//go:build linux

package main

import (
	"crypto/rand"
	"fmt"
	"maps"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A cluster is a Slurm of one node on this machine, for one test. All its files
// stand in a folder of its own, and its daemons end with the test.
type cluster struct {
	t   *testing.T
	dir string
}

// newCluster starts the daemons. It needs the superuser and Debian's packages,
// which make slurm installs; without THUMBED_SLURM the test is skipped.
func newCluster(t *testing.T) *cluster {
	t.Helper()
	if os.Getenv("THUMBED_SLURM") == "" {
		t.Skip("make slurm installs Slurm and runs this test")
	}
	if os.Geteuid() != 0 {
		t.Fatal("the daemons of Slurm need the superuser: run make slurm as root")
	}
	dir, err := os.MkdirTemp("", "slurm-") // short, since sockets' paths are
	must(t, err)
	t.Cleanup(func() { must(t, os.RemoveAll(dir)) })
	must(t, os.Chmod(dir, 0o755))
	c := &cluster{t, dir}
	t.Cleanup(c.tellLogs)
	key := make([]byte, 1024)
	_, err = rand.Read(key)
	must(t, err)
	must(t, os.WriteFile(c.file("munge.key"), key, 0o400))
	must(t, os.WriteFile(c.file("slurm.conf"), []byte(c.configuration()), 0o644))
	t.Setenv("SLURM_CONF", c.file("slurm.conf"))
	c.start("munged", "--foreground", "--force", "--num-threads=2", "--key-file="+c.file("munge.key"), "--socket="+c.file("munge.socket"),
		"--pid-file="+c.file("munge.pid"), "--log-file="+c.file("munge.log"), "--seed-file="+c.file("munge.seed"))
	c.until("munged has a socket", func() bool { return exists(c.file("munge.socket")) })
	c.start("slurmctld", "-D")
	c.start("slurmd", "-D")
	c.until("the node is idle", func() bool { return strings.Contains(c.ask("sinfo", "--noheader", "--format=%T"), "idle") })
	return c
}

func (c *cluster) file(name string) string { return filepath.Join(c.dir, name) }

// configuration is the cluster's slurm.conf (the manual page of that name).
func (c *cluster) configuration() string {
	host, err := os.Hostname()
	must(c.t, err)
	host, _, _ = strings.Cut(host, ".")
	lines := []string{
		"ClusterName=one", "SlurmctldHost=" + host + "(127.0.0.1)", "SlurmUser=root", "SlurmdUser=root",
		fmt.Sprintf("SlurmctldPort=%d", freePort(c.t)), fmt.Sprintf("SlurmdPort=%d", freePort(c.t)),
		"AuthType=auth/munge", "AuthInfo=socket=" + c.file("munge.socket"), "CredType=cred/munge",
		"StateSaveLocation=" + c.file("state"), "SlurmdSpoolDir=" + c.file("spool"),
		"SlurmctldPidFile=" + c.file("slurmctld.pid"), "SlurmdPidFile=" + c.file("slurmd.pid"),
		"SlurmctldLogFile=" + c.file("slurmctld.log"), "SlurmdLogFile=" + c.file("slurmd.log"),
		"ProctrackType=proctrack/linuxproc", "TaskPlugin=task/none", "JobAcctGatherType=jobacct_gather/none",
		"SelectType=select/cons_tres", "SelectTypeParameters=CR_Core", "SchedulerType=sched/backfill", "MpiDefault=none",
		"ReturnToService=2", "SlurmdParameters=config_overrides", "SchedulerParameters=sched_interval=2,bf_interval=2",
		fmt.Sprintf("NodeName=%s NodeAddr=127.0.0.1 CPUs=%d RealMemory=8000 State=UNKNOWN", host, runtime.NumCPU()),
		"PartitionName=all Nodes=ALL Default=YES State=UP",
	}
	return strings.Join(lines, "\n") + "\n"
}

// freePort is a port of this machine that nobody listens at.
func freePort(t *testing.T) int {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	must(t, err)
	defer listener.Close()
	return listener.Addr().(*net.TCPAddr).Port
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// start starts a daemon, to be ended with the test.
func (c *cluster) start(name string, args ...string) {
	c.t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		path = filepath.Join("/usr/sbin", name)
	}
	cmd := exec.Command(path, args...)
	said, err := os.Create(c.file(name + ".said"))
	must(c.t, err)
	cmd.Stdout, cmd.Stderr = said, said
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	must(c.t, cmd.Start())
	c.t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM) // it may have ended by itself
		timer := time.AfterFunc(10*time.Second, func() { _ = cmd.Process.Kill() })
		_ = cmd.Wait()
		timer.Stop()
		_ = said.Close()
	})
}

// ask runs a command of the cluster and gives what it says.
func (c *cluster) ask(name string, args ...string) string {
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		return fmt.Sprintf("%s: %v: %s", name, err, out)
	}
	return string(out)
}

// until waits for something; where it does not come, the daemons' logs tell why.
func (c *cluster) until(what string, ready func() bool) {
	c.t.Helper()
	for deadline := time.Now().Add(2 * time.Minute); time.Now().Before(deadline); time.Sleep(100 * time.Millisecond) {
		if ready() {
			return
		}
	}
	c.t.Fatalf("not within two minutes: %s\n%s", what, c.ask("squeue"))
}

// tellLogs tells what the daemons said, where the test failed.
func (c *cluster) tellLogs() {
	if !c.t.Failed() {
		return
	}
	for _, name := range []string{"munge.log", "munged.said", "slurmctld.log", "slurmd.log"} {
		text, err := os.ReadFile(c.file(name))
		c.t.Logf("%s (%v):\n%s", name, err, text)
	}
}

// handIn runs submit.sh and waits until no job is left.
func (c *cluster) handIn(jobs string) {
	c.t.Helper()
	said, err := shell(c.t, "/", nil, filepath.Join(jobs, "submit.sh"))
	if err != nil {
		c.t.Fatal(said)
	}
	c.t.Log(strings.TrimSpace(said))
	c.until("all jobs have ended", func() bool { return c.ask("squeue", "--noheader") == "" })
}

// TestSlurm hands divided work to a real Slurm. The first time one part cannot be
// written, so that nothing must be gathered; then that is mended and all is handed
// in again: only that part is computed, and the results are those of one run.
func TestSlurm(t *testing.T) {
	c := newCluster(t)
	_, dir, jobs, want := divided(t, 299, 6)
	parts, results := filepath.Join(jobs, "parts"), filepath.Join(dir, "results")
	inTheWay := filepath.Join(parts, "part-3-of-6.json")
	must(t, os.MkdirAll(parts, 0o755))
	must(t, os.WriteFile(inTheWay, []byte("notes"), 0o644))
	c.handIn(jobs)
	if exists(results) {
		t.Error("results were gathered though a part failed")
	}
	log, err := os.ReadFile(filepath.Join(jobs, "logs", "part-3.txt"))
	if err != nil || !strings.Contains(string(log), "no part of divided work") {
		t.Errorf("the log of the part that failed: %v, %s", err, log)
	}
	must(t, os.Remove(inTheWay))
	before := map[string]time.Time{}
	for name := range tree(t, parts) {
		path := filepath.Join(parts, name)
		if info, err := os.Stat(path); err == nil && info.Mode().IsRegular() {
			before[path] = info.ModTime()
		}
	}
	if len(before) != 5 {
		t.Errorf("%d parts are done; want 5", len(before))
	}
	c.handIn(jobs)
	for path, stamp := range before {
		if info, err := os.Stat(path); err != nil || info.ModTime() != stamp {
			t.Errorf("%s was computed again (%v)", filepath.Base(path), err)
		}
	}
	if !exists(results) {
		log, err := os.ReadFile(filepath.Join(jobs, "logs", "gather.txt"))
		t.Fatalf("nothing was gathered: %v, %s", err, log)
	}
	if !maps.Equal(tree(t, results), want) {
		t.Error("what Slurm computed differs from one run")
	}
}
