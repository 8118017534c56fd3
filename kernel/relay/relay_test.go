//go:build unix

package relay

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/go-zeromq/zmq4"
)

// settings are those of a kernel over this checkout, built once.
var settings Settings

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "relay-test-")
	if err == nil {
		settings, err = buildSettings(dir)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	code := m.Run()
	os.RemoveAll(dir)
	os.Exit(code)
}

func buildSettings(dir string) (Settings, error) {
	s := Settings{Version: "thumbed test", GoVersion: "go1.26.8", Engine: filepath.Join(dir, "gonb"), Tools: dir, OutputLimit: DefaultOutputLimit}
	var err error
	if s.Go, err = exec.LookPath("go"); err != nil {
		return s, err
	}
	if s.Source, err = filepath.Abs("../.."); err != nil {
		return s, err
	}
	modules, err := exec.Command("go", "env", "GOMODCACHE").Output()
	if err != nil {
		return s, err
	}
	s.Modules = strings.TrimSpace(string(modules))
	out, err := exec.Command("go", "build", "-o", dir, "github.com/janpfeifer/gonb", "golang.org/x/tools/cmd/goimports").CombinedOutput()
	if err != nil {
		return s, fmt.Errorf("go build: %w\n%s", err, out)
	}
	return s, nil
}

// A notebook is a Jupyter client of a relay in this process.
type notebook struct {
	t       testing.TB
	key     []byte
	to      *sockets
	iopub   chan *message
	replies chan *message
	served  chan error
	results map[string]*result // of the cells asked, by the question
}

// open starts a kernel and waits until it is ready for a cell.
func open(t testing.TB, s Settings) *notebook {
	t.Helper()
	dir, err := os.MkdirTemp("/tmp", "relay-") // a socket's path must be short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	c := connection{Transport: "ipc", IP: filepath.Join(dir, "n"), Shell: 1, Control: 2, Stdin: 3, IOPub: 4, Heartbeat: 5,
		Scheme: "hmac-sha256", Key: "a key"}
	file := filepath.Join(dir, "kernel-1.json")
	if err := os.WriteFile(file, pack(c), 0o600); err != nil {
		t.Fatal(err)
	}
	n := &notebook{t: t, key: []byte(c.Key), iopub: make(chan *message, 1000), replies: make(chan *message, 1000), served: make(chan error, 1),
		results: map[string]*result{}}
	go func() { n.served <- Serve(file, s) }()
	for !exists(strings.TrimPrefix(c.address(c.Heartbeat), "ipc://")) {
		select {
		case err := <-n.served:
			t.Fatalf("the kernel ended: %v", err)
		case <-time.After(time.Millisecond):
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	if n.to, err = dial(ctx, c); err != nil {
		t.Fatal(err)
	}
	go n.read(n.to.shell, n.replies)
	go n.read(n.to.control, n.replies)
	go n.read(n.to.iopub, n.iopub)
	t.Cleanup(func() {
		n.send(n.to.control, answer(nil, "shutdown_request", map[string]bool{"restart": false}))
		select {
		case err := <-n.served:
			if err != nil {
				t.Errorf("the kernel ended with %v", err)
			}
		case <-time.After(10 * time.Second):
			t.Error("the kernel does not shut down")
		}
		cancel()
	})
	n.greet()
	return n
}

func (n *notebook) read(socket zmq4.Socket, into chan *message) {
	for {
		got, err := socket.Recv()
		if err != nil {
			return
		}
		m, err := parse(got.Frames, n.key)
		if err != nil {
			n.t.Errorf("the kernel sent %v", err)
			return
		}
		into <- m
	}
}

func (n *notebook) send(socket zmq4.Socket, m *message) {
	if err := socket.SendMulti(zmq4.NewMsgFrom(m.frames(nil, n.key)...)); err != nil {
		n.t.Error(err)
	}
}

// greet asks until what the kernel publishes arrives.
func (n *notebook) greet() {
	for range 100 {
		n.send(n.to.shell, answer(nil, "kernel_info_request", struct{}{}))
		select {
		case <-n.iopub:
			return
		case <-time.After(50 * time.Millisecond):
		}
	}
	n.t.Fatal("the kernel does not answer")
}

// A result is what a cell came to.
type result struct {
	reply          executeReply
	stdout, stderr string
	told           string // the error as published
	displays       int
	shown          string // of displays, as plain text
	begun          bool
	replied, idle  bool
}

// ask sends a cell without waiting for it.
func (n *notebook) ask(code string) *message {
	m := answer(nil, "execute_request", map[string]any{"code": code, "silent": false, "store_history": true,
		"user_expressions": struct{}{}, "allow_stdin": false, "stop_on_error": true})
	n.results[m.header.ID] = &result{}
	n.send(n.to.shell, m)
	return m
}

// longest is how long a test waits for a cell: far longer than it should take.
const longest = 3 * time.Minute

// until takes what the kernel says until the cell is as wanted.
func (n *notebook) until(asked *message, wanted func(*result) bool) *result {
	n.t.Helper()
	r := n.results[asked.header.ID]
	deadline := time.After(longest)
	for !wanted(r) {
		select {
		case m := <-n.replies:
			if to := n.results[m.parent.ID]; to != nil {
				to.replied = true
				if err := m.content(&to.reply); err != nil {
					n.t.Fatal(err)
				}
			}
		case m := <-n.iopub:
			if to := n.results[m.parent.ID]; to != nil {
				to.note(m)
			}
		case <-deadline:
			n.t.Fatalf("the cell is not as it should be; so far: %+v", r)
		}
	}
	return r
}

// await waits until both a cell's reply and its end are there.
func (n *notebook) await(asked *message) *result {
	n.t.Helper()
	return n.until(asked, func(r *result) bool { return r.replied && r.idle })
}

// note keeps what is published.
func (r *result) note(m *message) {
	switch m.header.Type {
	case "stream":
		var s stream
		m.content(&s)
		if s.Name == "stdout" {
			r.stdout += s.Text
		} else {
			r.stderr += s.Text
		}
	case "execute_input":
		r.begun = true
	case "error":
		var e executeReply
		m.content(&e)
		r.told = e.Value
	case "display_data", "update_display_data":
		r.displays++
		var d struct{ Data map[string]any }
		m.content(&d)
		r.shown += fmt.Sprint(d.Data["text/plain"])
	}
	r.idle = r.idle || delivery{fromIOPub, m}.idle()
}

func (n *notebook) run(code string) *result {
	n.t.Helper()
	return n.await(n.ask(code))
}

// alive checks that the notebook goes on.
func (n *notebook) alive() {
	n.t.Helper()
	if r := n.run("%%\nfmt.Println(6 * 7)"); r.stdout != "42\n" || r.reply.Status != "ok" {
		n.t.Errorf("the notebook does not go on: %+v", r)
	}
}

// One notebook serves all that leaves it as it was but for what cells declare.
func TestOneNotebook(t *testing.T) {
	n := open(t, settings)
	for _, c := range []struct {
		name string
		test func(*testing.T, *notebook)
	}{
		{"DeclarationsStay", declarationsStay},
		{"OurPackagesAreKnown", ourPackagesAreKnown},
		{"ErrorsReadAsErrors", errorsReadAsErrors},
		{"WordsLikeAPanicAreNoPanic", wordsLikeAPanicAreNoPanic},
		{"ErrorTakesBackWhatFollows", errorTakesBackWhatFollows},
		{"InterruptStopsTheCellAndKeepsTheNotebook", interruptStopsTheCellAndKeepsTheNotebook},
		{"InterruptWhileCompiling", interruptWhileCompiling},
		{"HundredMegabytes", hundredMegabytes},
		{"StatementsNeedNoMark", statementsNeedNoMark},
		{"ValuesAtTheEndAreShown", valuesAtTheEndAreShown},
		{"InputIsRefused", inputIsRefused},
		{"WantOfStackAndMemory", wantOfStackAndMemory},
		{"NamesAreCompletedAndTold", namesAreCompletedAndTold},
	} {
		t.Run(c.name, func(t *testing.T) {
			n.t = t
			c.test(t, n)
		})
	}
	n.t = t
}

func declarationsStay(t *testing.T, n *notebook) {
	if r := n.run("func twice(x int) int { return 2 * x }"); r.reply.Status != "ok" {
		t.Fatalf("a declaration failed: %+v", r)
	}
	if r := n.run("%%\nfmt.Println(twice(21))"); r.stdout != "42\n" || r.stderr != "" || r.reply.Count != 2 {
		t.Errorf("got %+v", r)
	}
}

func ourPackagesAreKnown(t *testing.T, n *notebook) {
	for name, code := range map[string]string{
		"without import":      "%%\nfmt.Println(codex.Recto, table.Labels(\"a\", []string{\"b\"}).Len(), math.Sqrt(9))",
		"with import":         "import \"thumbed/models/codex\"\n%%\nfmt.Println(codex.Recto)",
		"a library's package": "import \"gonum.org/v1/gonum/stat/distuv\"\n%%\nfmt.Println(distuv.UnitNormal.Prob(0))",
		"gota":                "%%\nfmt.Println(series.New([]int{1, 2}, series.Int, \"x\").Len())",
	} {
		if r := n.run(code); r.reply.Status != "ok" || r.stdout == "" {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

func errorsReadAsErrors(t *testing.T, n *notebook) {
	for _, c := range []struct{ code, name, words, place string }{
		{"%%\nkernel.Check(fmt.Errorf(\"the zero of 12r is missing; read it\"))", "Error", "the zero of 12r is missing; read it", ""},
		{"%%\nfmt.Println(kernel.Must(os.ReadFile(\"no-such-file\")))", "Error", "open no-such-file: no such file or directory", ""},
		{"%%\nvar x []int\nfmt.Println(x[5])", "Panic", "index out of range [5] with length 0 (", "line 3)"},
		{"%%\npanic(fmt.Errorf(\"own words\"))", "Panic", "own words (", "line 2)"},
		{"%%\nvar p *struct{ a int }\nfmt.Println(p.a)", "Panic", "invalid memory address or nil pointer dereference (", "line 3)"},
		{"%%\nvar m sync.Mutex\nm.Lock()\n(&m).Lock()", "Panic", "fatal error: all goroutines are asleep - deadlock! (", "line 4)"},
		{"%%\nos.Exit(3)", "Ended", "The cell ended itself with exit status 3 and gave no reason.", ""},
		{"%%\nfmt.Printl(1)", "Not run", "line 2: undefined: fmt.Printl", ""},
		{"fmt.Printl(1)", "Not run", "line 1: undefined: fmt.Printl", ""},
		{"func f() {}\nx := 1", "Not run", "line 2: declared and not used: x", ""},
		{"%%\nx := 1", "Not run", "line 2: declared and not used: x", ""},
		{"%%\nfmt.Println(", "Not run", "at the end of the cell: expected operand, found '}'", ""},
		{"import \"example.org/no/such\"\n%%\nsuch.Do()", "Not run", "there is no package example.org/no/such here", ""},
	} {
		r := n.run(c.code)
		if r.reply.Status != "error" || r.reply.Name != c.name || !strings.Contains(r.reply.Value, c.words) || !strings.HasSuffix(r.reply.Value, c.place) || r.told != r.reply.Value {
			t.Errorf("%q: got %q %q, told %q; want %q %q", c.code, r.reply.Name, r.reply.Value, r.told, c.name, c.words)
		}
		if all := r.stderr + strings.Join(r.reply.Traceback, "\n"); strings.Contains(all, "goroutine 1") || strings.Contains(all, "exit status 2") {
			t.Errorf("%q shows a stack: %s", c.code, all)
		}
	}
	n.alive()
}

func wordsLikeAPanicAreNoPanic(t *testing.T, n *notebook) {
	r := n.run("%%\nfmt.Fprintln(os.Stderr, \"panic: not really\")")
	if r.reply.Status != "ok" || r.stderr != "panic: not really\n" {
		t.Errorf("got %+v", r)
	}
}

func errorTakesBackWhatFollows(t *testing.T, n *notebook) {
	first, second := n.ask("%%\npanic(\"x\")"), n.ask("%%\nfmt.Println(\"must not run\")")
	if r := n.await(first); r.reply.Status != "error" {
		t.Errorf("the first cell: %+v", r)
	}
	if r := n.await(second); r.reply.Status != "aborted" || r.stdout != "" {
		t.Errorf("the second cell: %+v", r)
	}
	n.alive()
}

// endless is a cell that says when it runs and then never ends.
const endless = "%%\nfmt.Println(\"running\")\nfor i := 0; ; i++ {\n\tmath.Sqrt(float64(i))\n}"

// printed waits until the cell has printed something, and reads a number there.
func (n *notebook) printed(asked *message) int {
	n.t.Helper()
	return number(n.until(asked, func(r *result) bool { return strings.Contains(r.stdout, "\n") }))
}

// number is the number that a cell printed.
func number(r *result) (number int) {
	fmt.Sscan(r.stdout, &number)
	return number
}

func interruptStopsTheCellAndKeepsTheNotebook(t *testing.T, n *notebook) {
	n.run("const kept = 42")
	asked, later := n.ask(endless), n.ask("%%\nfmt.Println(\"must not run\")")
	n.printed(asked)
	n.send(n.to.control, answer(nil, "interrupt_request", struct{}{}))
	if r := n.await(asked); r.reply.Name != "Interrupted" || r.stderr != "" {
		t.Errorf("got %+v", r)
	}
	if r := n.await(later); r.reply.Status != "aborted" {
		t.Errorf("the cell after it: %+v", r)
	}
	if r := n.run("%%\nfmt.Println(kept)"); r.stdout != "42\n" {
		t.Errorf("what was declared is lost: %+v", r)
	}
}

func interruptWhileCompiling(t *testing.T, n *notebook) {
	n.alive()
	asked := n.ask(endless)
	n.until(asked, func(r *result) bool { return r.begun })
	n.send(n.to.control, answer(nil, "interrupt_request", struct{}{})) // gonb still compiles, and does not hear it
	if r := n.await(asked); r.reply.Name != "Interrupted" {
		t.Errorf("got %+v", r)
	}
	n.alive()
}

func TestShutdownEndsAnEndlessCell(t *testing.T) {
	n := open(t, settings)
	asked := n.ask("%%\nfmt.Println(os.Getpid())\nfor {\n}")
	pid := n.printed(asked)
	n.send(n.to.control, answer(nil, "shutdown_request", map[string]bool{"restart": false}))
	n.served <- <-n.served // ended; the clean-up looks again
	for range 100 {
		if syscall.Kill(pid, 0) != nil {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("the program %d of the cell still runs", pid)
}

func hundredMegabytes(t *testing.T, n *notebook) {
	r := n.run(`%%
line := strings.Repeat("x", 99) + "\n"
block := strings.Repeat(line, 10000)
for range 100 {
	fmt.Print(block)
}`)
	if r.reply.Status != "ok" || len(r.stdout) > settings.OutputLimit || len(r.stdout) < settings.OutputLimit/2 {
		t.Errorf("status %s, %d bytes shown", r.reply.Status, len(r.stdout))
	}
	if strings.Count(r.stderr, "shows more than 1 MB") != 1 {
		t.Errorf("standard error: %q", r.stderr)
	}
	n.alive()
}

func statementsNeedNoMark(t *testing.T, n *notebook) {
	if r := n.run("var unit = 2\nx := unit + 1\nfunc thrice(x int) int { return 3 * x }\nfmt.Println(thrice(x))"); r.stdout != "9\n" || r.reply.Status != "ok" {
		t.Errorf("got %+v", r)
	}
	// The place of an error is that of the cell as it was written.
	r := n.run("func index(v []int, i int) int {\n\treturn v[i]\n}\n\nv := []int{1}\nindex(v, 3)")
	if r.reply.Name != "Panic" || !strings.HasSuffix(r.reply.Value, "line 2)") {
		t.Errorf("got %+v", r)
	}
}

func valuesAtTheEndAreShown(t *testing.T, n *notebook) {
	for cell, want := range map[string]string{
		"6 * 7":                          "42",
		"x := \"words\"\nx":              "words",
		"math.Sqrt(9)":                   "3",
		"os.ReadFile(\"no-such-file\")":  "",
		"mixed.Model{Outcome: \"wear\"}": "outcome = 'wear'",
	} {
		if r := n.run(cell); !strings.Contains(r.shown, want) || (want == "") != (r.reply.Name == "Error") {
			t.Errorf("%q: got %+v", cell, r)
		}
	}
}

func inputIsRefused(t *testing.T, n *notebook) {
	if r := n.run("var name string\n%%\nfmt.Scanln(&name)"); r.reply.Status != "error" || !strings.Contains(r.reply.Value, "write the value into the cell") {
		t.Errorf("got %+v", r)
	}
}

func wantOfStackAndMemory(t *testing.T, n *notebook) {
	for cell, want := range map[string]string{
		"func deeper(x []int) int { return deeper(append(x, 1)) + 1 }\n%%\ndebug.SetMaxStack(1 << 20)\nfmt.Println(deeper(nil))": "ran out of stack",
		"n := 1 << 46\nx := make([]byte, n)\nfmt.Println(len(x))":                                                                "ran out of memory",
	} {
		r := n.run(cell)
		if r.reply.Name != "Panic" || !strings.Contains(r.reply.Value, want) || len(r.reply.Traceback) != 1 || r.stderr != "" {
			t.Errorf("%q: got %+v", cell, r)
		}
	}
}

func namesAreCompletedAndTold(t *testing.T, n *notebook) {
	n.run("type width struct{ Millimetres float64 }\n\nvar ä = width{12}")
	ask := func(kind, marked string) map[string]any {
		before, after, _ := strings.Cut(marked, "‸")
		m := answer(nil, kind, map[string]any{"code": before + after, "cursor_pos": len([]rune(before)), "detail_level": 0})
		n.send(n.to.shell, m)
		for deadline := time.After(longest); ; {
			select {
			case reply := <-n.replies:
				if reply.parent.ID == m.header.ID {
					content := map[string]any{}
					if err := reply.content(&content); err != nil {
						t.Fatal(err)
					}
					return content
				}
			case <-deadline:
				t.Fatalf("no answer to %s", kind)
			}
		}
	}
	// Places are counted in characters, as the protocol has it since 5.2.
	got := ask("complete_request", "fmt.Println(ä.Mi‸)")
	if fmt.Sprint(got["matches"]) != "[Millimetres]" || got["cursor_start"] != 14.0 || got["cursor_end"] != 16.0 {
		t.Errorf("got %v", got)
	}
	// Also while a cell runs.
	running := n.ask(endless)
	n.printed(running)
	got = ask("inspect_request", "kernel.Op‸en(")
	if data, _ := got["data"].(map[string]any); got["found"] != true || !strings.Contains(fmt.Sprint(data["text/plain"]), "Open opens a study") {
		t.Errorf("got %v", got)
	}
	n.send(n.to.control, answer(nil, "interrupt_request", struct{}{}))
	n.await(running)
}

func TestTwoAtOnce(t *testing.T) {
	a, b := open(t, settings), open(t, settings)
	a.run("const mine = \"a\"")
	b.run("const mine = \"b\"")
	first, second := a.ask("%%\nfmt.Println(mine)"), b.ask("%%\nfmt.Println(mine)")
	if r := a.await(first); r.stdout != "a\n" {
		t.Errorf("the first: %+v", r)
	}
	if r := b.await(second); r.stdout != "b\n" {
		t.Errorf("the second: %+v", r)
	}
}

func TestGonbDies(t *testing.T) {
	n := open(t, settings)
	asked := n.ask(strings.Replace(endless, "\"running\"", "os.Getppid()", 1))
	if err := syscall.Kill(n.printed(asked), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if r := n.await(asked); r.reply.Name != "Lost" || !strings.Contains(r.reply.Value, "run the notebook from its first cell") {
		t.Errorf("got %+v", r)
	}
	n.alive()
	// Between cells Jupyter is told at once, and the next cell tells the scholar.
	n.run("const kept = 1")
	if err := syscall.Kill(number(n.run("fmt.Println(os.Getppid())")), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	for deadline := time.After(longest); ; {
		var m *message
		select {
		case m = <-n.iopub:
		case <-deadline:
			t.Fatal("Jupyter is not told that the kernel begins anew")
		}
		if strings.Contains(string(m.raw[3]), "restarting") {
			break
		}
	}
	if r := n.run("fmt.Println(6 * 7)"); r.stdout != "42\n" || !strings.Contains(r.stderr, "run the notebook from its first cell. The system ended it") || strings.Count(r.stderr, "\n") != 1 {
		t.Errorf("the cell after it: %+v", r)
	}
	if r := n.run("fmt.Println(6 * 7)"); r.stderr != "" {
		t.Errorf("it is told twice: %+v", r)
	}
}

func TestNoGo(t *testing.T) {
	s := settings
	s.Go = filepath.Join(t.TempDir(), "go")
	n := open(t, s)
	asked, later := n.ask("%%\nfmt.Println(1)"), n.ask("%%\nfmt.Println(2)")
	r := n.await(asked)
	if r.reply.Name != "Cannot run" || !strings.Contains(r.reply.Value, "https://go.dev/dl/") || !strings.Contains(r.reply.Value, s.Go) {
		t.Errorf("got %+v", r)
	}
	// It is taken back, or where it came after that, told the same.
	if r := n.await(later); r.reply.Status != "aborted" && r.reply.Name != "Cannot run" {
		t.Errorf("the cell after it: %+v", r)
	}
	// Once Go is there, the same notebook works.
	if err := os.Symlink(settings.Go, s.Go); err != nil {
		t.Fatal(err)
	}
	n.alive()
}

func TestOldGo(t *testing.T) {
	s := settings
	s.Go = filepath.Join(t.TempDir(), "go")
	if err := os.WriteFile(s.Go, []byte("#!/bin/sh\necho go1.19.3\n"), 0o755); err != nil {
		t.Fatal(err)
	}
	r := open(t, s).run("%%\nfmt.Println(1)")
	if r.reply.Name != "Cannot run" || !strings.Contains(r.reply.Value, "is go1.19.3, and thumbed needs go1.26.8 or newer") {
		t.Errorf("got %+v", r)
	}
}

func TestSourceGone(t *testing.T) {
	s := settings
	s.Source = filepath.Join(t.TempDir(), "moved-away")
	r := open(t, s).run("%%\nfmt.Println(1)")
	if r.reply.Name != "Cannot run" || !strings.Contains(r.reply.Value, s.Source) || !strings.Contains(r.reply.Value, "thumbed kernel install") {
		t.Errorf("got %+v", r)
	}
}

// A home that is no folder cannot be written, not even by an administrator.
func TestHomeThatCannotBeWritten(t *testing.T) {
	temp := t.TempDir()
	t.Setenv("HOME", "/dev/null")
	t.Setenv("XDG_CACHE_HOME", "")
	t.Setenv("GOCACHE", "")
	t.Setenv("TMPDIR", temp)
	cache, err := BuildCache()
	if err != nil || !strings.HasPrefix(cache, temp) {
		t.Fatalf("the build cache is %q, %v", cache, err)
	}
	open(t, settings).alive()
}

func TestNothingIsFetched(t *testing.T) {
	env := settings.Environment([]string{"GOPROXY=https://proxy.example", "GOFLAGS=-mod=mod", "KEPT=yes", "PATH=/bin"}, "/t", "/c")
	got := map[string]string{}
	for _, pair := range env {
		name, value, _ := strings.Cut(pair, "=")
		if _, twice := got[name]; twice {
			t.Errorf("%s is set twice", name)
		}
		got[name] = value
	}
	for name, want := range map[string]string{"GOPROXY": "off", "GOTOOLCHAIN": "local", "GOSUMDB": "off", "GOENV": "off", "KEPT": "yes"} {
		if got[name] != want {
			t.Errorf("%s is %q, want %q", name, got[name], want)
		}
	}
	if !strings.HasPrefix(got["PATH"], settings.Tools+":"+filepath.Dir(settings.Go)) || !strings.HasSuffix(got["PATH"], "/bin") {
		t.Errorf("PATH is %q", got["PATH"])
	}
}

func TestNothingIsLeft(t *testing.T) {
	temp, err := os.MkdirTemp("/tmp", "left-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(temp)
	t.Setenv("TMPDIR", temp)
	t.Run("a notebook that was used", func(t *testing.T) { open(t, settings).alive() })
	// A kernel that was killed leaves its folder to the next one.
	dead := exec.Command("true")
	if err := dead.Run(); err != nil {
		t.Fatal(err)
	}
	killed := filepath.Join(temp, tempPrefix+"1")
	if err := os.MkdirAll(killed, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(killed, ownerFile), []byte(fmt.Sprint(dead.Process.Pid)), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Run("one closed at once", func(t *testing.T) { open(t, settings) })
	left, err := os.ReadDir(temp)
	if err != nil {
		t.Fatal(err)
	}
	for _, entry := range left {
		t.Errorf("%s is left", entry.Name())
	}
}
