package relay

import (
	"context"
	"fmt"
	"go/version"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/go-zeromq/zmq4"
)

// An engine is a running gonb and the sockets to it.
type engine struct {
	process  *exec.Cmd
	sockets  *sockets
	key      []byte
	incoming chan delivery
	log      *tail
	exited   chan struct{} // closed when the process has ended
	cancel   context.CancelFunc
	temp     string // folder of everything that gonb writes
}

// patience is how long gonb may take from its start to its first answer.
const patience = time.Minute

// preamble is run before a notebook's first cell: no cell fetches anything, and
// these imports are known in every cell, so that no search for them is needed.
// gonb leaves out of each cell those that it does not use.
var preamble = "import (\n\t\"" + strings.Join(known, "\"\n\t\"") + "\"\n)"

// known are the packages that every cell knows.
var known = []string{
	"fmt", "math", "os", "slices", "strings",
	"github.com/go-gota/gota/series", "github.com/kniren/gota/dataframe",
	"gonum.org/v1/gonum/mat", "gonum.org/v1/gonum/stat",
	"thumbed/kernel", "thumbed/models/codex", "thumbed/models/dropoff", "thumbed/models/hypotheses", "thumbed/models/mixed",
	"thumbed/models/profile", "thumbed/models/readings", "thumbed/models/report", "thumbed/models/study", "thumbed/models/table",
}

// startEngine checks what gonb needs, starts it and waits until it answers.
// Its error tells the scholar what is missing and how to get it. Where ctx ends
// before that, nothing of the engine is left.
func startEngine(ctx context.Context, s Settings) (*engine, error) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	if err := s.Ready(); err != nil {
		return nil, err
	}
	cache, err := BuildCache()
	if err != nil {
		return nil, err
	}
	temp, err := tempFolder()
	if err != nil {
		return nil, err
	}
	e := &engine{key: []byte(newID()), incoming: make(chan delivery), log: &tail{}, exited: make(chan struct{}), temp: temp}
	if err := e.start(ctx, s, cache); err != nil {
		e.stop()
		return nil, err
	}
	return e, nil
}

// Ready tells whether all that a cell needs is where the settings say; its
// error says what is not and what to do.
func (s Settings) Ready() error {
	const again = "then run: thumbed kernel install"
	if _, err := os.Stat(filepath.Join(s.Source, "go.mod")); err != nil {
		return fmt.Errorf("the source of thumbed is no longer in %s; put it back, or run from where it is now: thumbed kernel install", s.Source)
	}
	out, err := exec.Command(s.Go, "env", "GOVERSION").Output()
	if err != nil {
		return fmt.Errorf("no Go is at %s any more, where it was when this kernel was installed (%w); install Go %s or newer from https://go.dev/dl/, %s",
			s.Go, err, strings.TrimPrefix(s.GoVersion, "go"), again)
	}
	if got := strings.TrimSpace(string(out)); version.Compare(got, s.GoVersion) < 0 {
		return fmt.Errorf("%s is %s, and thumbed needs %s or newer; get it from https://go.dev/dl/, %s", s.Go, got, s.GoVersion, again)
	}
	if _, err := os.Stat(s.Engine); err != nil {
		return fmt.Errorf("this kernel's own program gonb is missing (%w); run: thumbed kernel install", err)
	}
	return nil
}

func (e *engine) start(ctx context.Context, s Settings, cache string) error {
	c := connection{Transport: "ipc", IP: filepath.Join(e.temp, "s"), Shell: 1, Control: 2, Stdin: 3, IOPub: 4, Heartbeat: 5,
		Scheme: "hmac-sha256", Key: string(e.key)}
	file := filepath.Join(e.temp, "kernel-0.json")
	if err := os.WriteFile(file, pack(c), 0o600); err != nil {
		return err
	}
	e.process = exec.Command(s.Engine, "-raw_error", "-go_work="+s.Source, "-kernel", file)
	e.process.Env = s.Environment(os.Environ(), e.temp, cache)
	e.process.Stdout, e.process.Stderr = e.log, e.log
	started := make(chan error)
	go func() {
		// The thread that starts a process must outlive it: where the system
		// can, gonb is told to end when its parent thread does.
		runtime.LockOSThread()
		endWithParent(e.process)
		err := e.process.Start()
		started <- err
		if err == nil {
			e.process.Wait() // how it ended is read from its log
		}
		close(e.exited)
	}()
	if err := <-started; err != nil {
		return fmt.Errorf("gonb, which runs the cells, does not start (%w); run: thumbed kernel install", err)
	}
	return e.greet(ctx, c)
}

// greet waits until gonb listens and both ways to it are open, and runs the
// preamble.
func (e *engine) greet(ctx context.Context, c connection) error {
	last := strings.TrimPrefix(c.address(c.Heartbeat), "ipc://")
	for !exists(last) {
		select {
		case <-e.exited:
			return e.died()
		case <-ctx.Done():
			return e.slow()
		case <-time.After(2 * time.Millisecond):
		}
	}
	open, cancel := context.WithCancel(context.Background())
	e.cancel = cancel
	var err error
	if e.sockets, err = dial(open, c); err != nil {
		return fmt.Errorf("gonb, which runs the cells, does not answer: %w", err)
	}
	go e.read(open, fromShell, e.sockets.shell)
	go e.read(open, fromControl, e.sockets.control)
	go e.read(open, fromStdin, e.sockets.stdin)
	go e.read(open, fromIOPub, e.sockets.iopub)
	if err := e.hear(ctx); err != nil {
		return err
	}
	for _, code := range []string{"%noautoget", preamble} {
		if err := e.prepare(ctx, code); err != nil {
			return err
		}
	}
	return nil
}

// hear asks until an answer is also seen published: a publisher drops what it
// says before it knows its subscriber.
func (e *engine) hear(ctx context.Context) error {
	again := time.NewTicker(50 * time.Millisecond)
	defer again.Stop()
	for {
		if err := e.send(e.sockets.shell, answer(nil, "kernel_info_request", struct{}{})); err != nil {
			return err
		}
		for waiting := true; waiting; {
			select {
			case d := <-e.incoming:
				if d.from == fromIOPub && d.idle() {
					return nil
				}
			case <-again.C:
				waiting = false
			case <-e.exited:
				return e.died()
			case <-ctx.Done():
				return e.slow()
			}
		}
	}
}

// prepare runs a cell of our own and waits until it is done.
func (e *engine) prepare(ctx context.Context, code string) error {
	asked := answer(nil, "execute_request", map[string]any{"code": code, "silent": true, "store_history": false,
		"user_expressions": struct{}{}, "allow_stdin": false, "stop_on_error": true})
	if err := e.send(e.sockets.shell, asked); err != nil {
		return err
	}
	for replied, idle := false, false; !replied || !idle; {
		select {
		case d := <-e.incoming:
			if d.message.parent.ID != asked.header.ID {
				continue // of an earlier question
			}
			idle = idle || d.from == fromIOPub && d.idle()
			if d.message.header.Type != "execute_reply" {
				continue
			}
			replied = true
			var reply executeReply
			if err := d.message.content(&reply); err != nil || reply.Status != "ok" {
				return fmt.Errorf("a notebook cannot import the packages of thumbed: %s", strings.TrimSpace(plain(reply.Value)))
			}
		case <-e.exited:
			return e.died()
		case <-ctx.Done():
			return e.slow()
		}
	}
	return nil
}

// The channels by which gonb answers.
const (
	fromShell = iota
	fromControl
	fromStdin
	fromIOPub
)

// A delivery is a message and the channel by which it came.
type delivery struct {
	from    int
	message *message
}

// idle tells whether the delivery says that work on its parent is done.
func (d delivery) idle() bool {
	var status struct {
		State string `json:"execution_state"`
	}
	return d.message.header.Type == "status" && d.message.content(&status) == nil && status.State == "idle"
}

// read delivers what comes by a channel until the engine is stopped.
func (e *engine) read(ctx context.Context, from int, socket zmq4.Socket) {
	for ctx.Err() == nil {
		got, err := socket.Recv()
		if err != nil {
			return
		}
		m, err := parse(got.Frames, e.key)
		if err != nil {
			continue // not one of gonb's
		}
		select {
		case e.incoming <- delivery{from, m}:
		case <-ctx.Done():
		}
	}
}

func (e *engine) send(socket zmq4.Socket, m *message) error {
	return socket.SendMulti(zmq4.NewMsgFrom(m.frames(nil, e.key)...))
}

// interrupt asks gonb to stop the cell that it runs.
func (e *engine) interrupt() error {
	return e.send(e.sockets.control, answer(nil, "interrupt_request", struct{}{}))
}

// grace is how long gonb may take to end by itself.
const grace = 2 * time.Second

// stop ends gonb with all that it started, and removes all that it wrote.
func (e *engine) stop() {
	if e.process != nil && e.process.Process != nil {
		endPolitely(e.process)
		select {
		case <-e.exited:
		case <-time.After(grace):
		}
		endAtOnce(e.process)
		<-e.exited
	}
	if e.cancel != nil {
		e.cancel()
	}
	if e.sockets != nil {
		e.sockets.close()
	}
	os.RemoveAll(e.temp) // temporary: what cannot be removed, the system will
}

// killed tells whether the system ended gonb, once it has ended.
func (e *engine) killed() bool {
	return e.process.ProcessState != nil && strings.HasPrefix(e.process.ProcessState.String(), "signal: killed")
}

func (e *engine) died() error {
	return fmt.Errorf("gonb, which runs the cells, stopped; its last words: %s", e.log)
}

func (e *engine) slow() error {
	return fmt.Errorf("gonb, which runs the cells, has not answered in %v; is this machine very busy? Its last words: %s", patience, e.log)
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}

// longestTemp is the longest path of a temporary folder in which a socket can
// still be made: its whole path must fit into 107 bytes (unix(7)).
const longestTemp = 90

func tempFolder() (string, error) {
	base := os.TempDir()
	if len(filepath.Join(base, tempPrefix)) > longestTemp-20 {
		base = "/tmp"
	}
	sweep(base)
	dir, err := os.MkdirTemp(base, tempPrefix)
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, ownerFile), []byte(strconv.Itoa(os.Getpid())), 0o600)
	}
	if err != nil {
		return "", fmt.Errorf("there is no folder for temporary files (%w): set TMPDIR to one that you may write", err)
	}
	return dir, nil
}

// The name that begins that of every kernel's temporary folder, and of the file in it that
// holds the number of the kernel's process.
const tempPrefix, ownerFile = "thumbed-kernel-", "owner"

// sweep removes the temporary folders of kernels that were killed before they could.
func sweep(base string) {
	folders, _ := filepath.Glob(filepath.Join(base, tempPrefix+"*")) // the pattern is a good one
	for _, dir := range folders {
		owner, err := os.ReadFile(filepath.Join(dir, ownerFile))
		if err != nil {
			continue // just being made, or another user's
		}
		if id, err := strconv.Atoi(string(owner)); err == nil && !runs(id) {
			os.RemoveAll(dir) // what cannot be removed, the system will
		}
	}
}

// A tail keeps the end of what is written to it.
type tail struct {
	mu    sync.Mutex
	bytes []byte
}

// tailLength is how much a tail keeps.
const tailLength = 2000

func (t *tail) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.bytes = append(t.bytes, p...)
	if over := len(t.bytes) - tailLength; over > 0 {
		t.bytes = append(t.bytes[:0], t.bytes[over:]...)
	}
	return len(p), nil
}

func (t *tail) String() string {
	t.mu.Lock()
	defer t.mu.Unlock()
	return strings.TrimSpace(plain(string(t.bytes)))
}
