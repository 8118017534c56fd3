package relay

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/go-zeromq/zmq4"

	"thumbed/kernel/code"
)

// A relay serves one notebook. All its state belongs to the one goroutine of
// serve; the others only bring it what happens.
type relay struct {
	settings Settings
	key      []byte
	front    *sockets
	arrivals chan arrival

	ctx     context.Context // ends with the notebook
	engine  *engine         // nil until it runs, and after it has died
	booting chan bootDone   // not nil while an engine starts
	current *cell           // what the engine works on
	waiting []*message      // execute requests not yet begun
	asked   map[string][][]byte
	count   int // execution count last seen

	code   *code.Notebook
	ran    map[int]code.Prepared // cells that gonb was given, by their count
	helped chan func()           // answers to questions about code
	lost   string                // that gonb stopped between cells; told with the next one
}

// An arrival is a message of Jupyter's.
type arrival struct {
	socket  zmq4.Socket
	message *message
}

type bootDone struct {
	engine *engine
	err    error
}

// Serve is a Jupyter kernel: it listens where the connection file says until
// Jupyter shuts it down. It returns an error only where it cannot listen.
func Serve(connectionFile string, s Settings) error {
	c, err := readConnection(connectionFile)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	front, err := listen(ctx, c)
	if err != nil {
		return fmt.Errorf("cannot listen for Jupyter: %w", err)
	}
	if s.OutputLimit == 0 {
		s.OutputLimit = DefaultOutputLimit
	}
	open, closed := context.WithCancel(ctx)
	r := &relay{ctx: open, settings: s, key: []byte(c.Key), front: front, arrivals: make(chan arrival), asked: map[string][][]byte{},
		code: code.New(known, s.list), ran: map[int]code.Prepared{}, helped: make(chan func())}
	for _, socket := range []zmq4.Socket{front.shell, front.control, front.stdin} {
		go r.listen(ctx, socket)
	}
	go echo(front.heartbeat)
	r.boot()
	r.serve()
	closed()
	if r.booting != nil {
		r.engine = (<-r.booting).engine
	}
	if r.engine != nil {
		r.engine.stop()
	}
	return nil
}

func (r *relay) listen(ctx context.Context, socket zmq4.Socket) {
	for ctx.Err() == nil {
		got, err := socket.Recv()
		if err != nil {
			return
		}
		m, err := parse(got.Frames, r.key)
		if err != nil {
			continue // not for us, or not from Jupyter
		}
		select {
		case r.arrivals <- arrival{socket, m}:
		case <-ctx.Done():
		}
	}
}

// echo answers the question whether the kernel is alive.
func echo(heartbeat zmq4.Socket) {
	for {
		beat, err := heartbeat.Recv()
		if err != nil || heartbeat.Send(beat) != nil {
			return
		}
	}
}

// nag is how often a cell that was interrupted and still works is told again:
// gonb does not hear an interrupt while it compiles.
const nag = 200 * time.Millisecond

// orphaned is how often the relay looks whether Jupyter is still there.
const orphaned = time.Second

// parentVariable is set by Jupyter for the kernels that end with it.
const parentVariable = "JPY_PARENT_PID"

func (r *relay) serve() {
	signals := make(chan os.Signal, 1)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	again := time.NewTicker(nag)
	defer again.Stop()
	watch := time.NewTicker(orphaned)
	defer watch.Stop()
	parent := os.Getppid()
	for {
		var delivered chan delivery
		var died chan struct{}
		if r.engine != nil {
			delivered, died = r.engine.incoming, r.engine.exited
		}
		select {
		case a := <-r.arrivals:
			if done := r.arrived(a); done {
				return
			}
		case d := <-delivered:
			r.deliver(d)
		case answer := <-r.helped:
			answer()
		case <-died:
			r.engineDied()
		case done := <-r.booting:
			r.booted(done)
		case s := <-signals:
			if s == syscall.SIGTERM {
				return
			}
			r.interrupt()
		case <-watch.C:
			if os.Getenv(parentVariable) != "" && os.Getppid() != parent {
				return // Jupyter ended without a word
			}
		case <-again.C:
			if r.current != nil && r.current.interrupted {
				r.engine.interrupt() // tried again at the next tick
			}
		}
		r.next()
	}
}

// boot starts an engine in the background.
func (r *relay) boot() {
	done := make(chan bootDone, 1)
	r.booting = done
	go func() {
		e, err := startEngine(r.ctx, r.settings)
		done <- bootDone{e, err}
	}()
}

func (r *relay) booted(done bootDone) {
	r.booting = nil
	r.engine = done.engine
	if r.lost != "" {
		r.publish(answer(nil, "status", map[string]string{"execution_state": "idle"}))
	}
	if done.err != nil && len(r.waiting) > 0 {
		first := r.waiting[0]
		r.waiting = r.waiting[1:]
		r.refuse(first, "Cannot run", done.err.Error())
	}
}

// arrived handles a message of Jupyter's; it is true when that ends the kernel.
func (r *relay) arrived(a arrival) bool {
	m := a.message
	switch m.header.Type {
	case "execute_request":
		r.waiting = append(r.waiting, m)
	case "kernel_info_request":
		r.attended(m, func() { r.reply(a.socket, m, "kernel_info_reply", r.info()) })
	case "complete_request", "inspect_request":
		go r.help(a)
	case "is_complete_request":
		r.reply(a.socket, m, "is_complete_reply", map[string]string{"status": "unknown"})
	case "history_request":
		r.reply(a.socket, m, "history_reply", map[string]any{"status": "ok", "history": []any{}})
	case "interrupt_request":
		r.interrupt()
		r.reply(a.socket, m, "interrupt_reply", map[string]string{"status": "ok"})
	case "shutdown_request":
		var asked struct {
			Restart bool `json:"restart"`
		}
		m.content(&asked) // without it: no restart
		r.reply(a.socket, m, "shutdown_reply", map[string]any{"status": "ok", "restart": asked.Restart})
		return true
	default:
		r.passOn(a)
	}
	return false
}

// passOn gives gonb what the relay has no answer to.
func (r *relay) passOn(a arrival) {
	if r.engine == nil {
		return // the asker is told nothing by a kernel that does not know
	}
	to := map[zmq4.Socket]zmq4.Socket{
		r.front.shell: r.engine.sockets.shell, r.front.control: r.engine.sockets.control, r.front.stdin: r.engine.sockets.stdin,
	}[a.socket]
	r.asked[a.message.header.ID] = a.message.identities
	r.engine.send(to, a.message) // a dead engine is noticed by its exit
}

// next gives the engine the next cell, starting one where there is none.
func (r *relay) next() {
	if r.current != nil || len(r.waiting) == 0 || r.booting != nil {
		return
	}
	if r.engine == nil {
		r.boot()
		return
	}
	first := r.waiting[0]
	r.waiting = r.waiting[1:]
	c, err := r.newCell(first)
	if err != nil {
		r.refuse(first, notRun, "Jupyter sent a cell that cannot be read: "+err.Error())
		return
	}
	if c.prepared.Asks != "" {
		r.refuse(first, notRun, c.prepared.Asks)
		return
	}
	if r.lost != "" {
		r.publish(answer(first, "stream", stream{"stderr", r.lost + "\n"}))
		r.lost = ""
	}
	r.current = c
	if err := r.engine.send(r.engine.sockets.shell, c.sent()); err != nil {
		r.engine.stop()
	}
}

// deliver passes gonb's message on to Jupyter.
func (r *relay) deliver(d delivery) {
	m := d.message
	ours := r.current != nil && m.parent.ID == r.current.request.header.ID
	switch {
	case ours && d.from == fromShell && m.header.Type == "execute_reply":
		r.current.reply = m
	case ours && d.idle():
		r.current.idle = m
	case ours && d.from == fromIOPub:
		for _, seen := range r.current.take(m) {
			r.publish(seen)
		}
	case d.from == fromIOPub:
		r.publish(m)
	case ours && d.from == fromStdin:
		r.front.stdin.SendMulti(zmq4.NewMsgFrom(m.frames(r.current.request.identities, r.key)...))
	default:
		if identities, known := r.asked[m.parent.ID]; known {
			delete(r.asked, m.parent.ID)
			socket := r.front.shell
			if d.from == fromControl {
				socket = r.front.control
			}
			socket.SendMulti(zmq4.NewMsgFrom(m.frames(identities, r.key)...)) // an asker that is gone needs no answer
		}
	}
	if r.current != nil && r.current.over() {
		r.finish()
	}
}

// finish tells how the current cell ended.
func (r *relay) finish() {
	c := r.current
	r.current = nil
	outcome, err := c.outcome()
	if err != nil {
		outcome = c.failed(outcome, notRun, []string{"gonb's answer cannot be read: " + err.Error()})
	}
	r.count = max(r.count, outcome.Count)
	if compiled(outcome) {
		r.code.Ran(c.asked.Code)
	}
	if words := c.withheld(); words != nil {
		r.publish(words)
	}
	if outcome.Status == "error" {
		r.conclude(c.request, outcome)
	} else {
		r.front.shell.SendMulti(zmq4.NewMsgFrom(c.reply.frames(c.request.identities, r.key)...))
	}
	r.publish(c.idle)
}

// refuse answers a cell that never reached gonb.
func (r *relay) refuse(request *message, name, words string) {
	r.attended(request, func() {
		r.conclude(request, executeReply{Status: "error", Count: r.count, Name: name, Value: words, Traceback: []string{words}})
	})
}

// conclude tells an error, and takes back the cells that were to follow.
func (r *relay) conclude(request *message, outcome executeReply) {
	r.publish(answer(request, "error", map[string]any{
		"ename": outcome.Name, "evalue": outcome.Value, "traceback": told(outcome)}))
	outcome.Traceback = told(outcome)
	r.reply(r.front.shell, request, "execute_reply", outcome)
	var asked executeRequest
	if request.content(&asked) == nil && !asked.StopOnError {
		return
	}
	for _, later := range r.waiting {
		r.attended(later, func() {
			r.reply(r.front.shell, later, "execute_reply", map[string]any{"status": "aborted", "execution_count": r.count})
		})
	}
	r.waiting = nil
}

// told is the traceback that a notebook shows: what kind of error, then the
// lines about it.
func told(outcome executeReply) []string {
	lines := append([]string{}, outcome.Traceback...)
	lines[0] = "\x1b[1;31m" + outcome.Name + ":\x1b[0m " + lines[0]
	return lines
}

// interrupt stops the current cell and takes back those that wait.
func (r *relay) interrupt() {
	if r.current != nil {
		r.current.interrupted = true
		r.engine.interrupt() // tried again at the next tick
		return
	}
	if len(r.waiting) > 0 {
		first := r.waiting[0]
		r.waiting = r.waiting[1:]
		r.refuse(first, "Interrupted", "The cell was stopped before it began.")
	}
}

// engineDied tells the current cell that gonb is gone; where none runs, Jupyter is
// told that the kernel begins anew, and the next cell why.
func (r *relay) engineDied() {
	words := "gonb, which runs the cells, stopped, and what earlier cells declared is lost: run the notebook from its first cell."
	r.engine.stop()
	if r.engine.killed() {
		words += " The system ended it, most often for want of memory."
	}
	r.engine = nil
	r.code.Forget()
	if c := r.current; c != nil {
		r.current = nil
		r.refuse(c.request, "Lost", words)
		return
	}
	if r.lost == "" { // else it stopped twice in a row: the next cell will try again
		r.publish(answer(nil, "status", map[string]string{"execution_state": "restarting"}))
		r.boot()
	}
	r.lost = words
}

// attended wraps work on a request in the notices that it is being done.
func (r *relay) attended(request *message, work func()) {
	r.publish(answer(request, "status", map[string]string{"execution_state": "busy"}))
	work()
	r.publish(answer(request, "status", map[string]string{"execution_state": "idle"}))
}

func (r *relay) publish(m *message) {
	r.front.iopub.SendMulti(zmq4.NewMsgFrom(m.frames([][]byte{[]byte("kernel")}, r.key)...)) // who does not listen misses it
}

func (r *relay) reply(socket zmq4.Socket, to *message, kind string, content any) {
	socket.SendMulti(zmq4.NewMsgFrom(answer(to, kind, content).frames(to.identities, r.key)...)) // an asker that is gone needs no answer
}

// info is what Jupyter wants to know of a kernel.
func (r *relay) info() any {
	return map[string]any{
		"status":                 "ok",
		"protocol_version":       protocolVersion,
		"implementation":         "thumbed",
		"implementation_version": r.settings.Version,
		"banner":                 "thumbed " + r.settings.Version + ": how books were used, from the wear of their pages; in Go",
		"language_info": map[string]string{
			"name": "go", "version": r.settings.GoVersion, "mimetype": "text/x-go", "file_extension": ".go", "codemirror_mode": "go", "pygments_lexer": "go",
		},
		"help_links": []map[string]string{{"text": "The Go language", "url": "https://go.dev/doc/"}},
	}
}
