package relay

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"os"

	"github.com/go-zeromq/zmq4"
)

// A connection is the file by which Jupyter tells a kernel where to listen.
type connection struct {
	Transport string `json:"transport"`
	IP        string `json:"ip"`
	Shell     int    `json:"shell_port"`
	Control   int    `json:"control_port"`
	Stdin     int    `json:"stdin_port"`
	IOPub     int    `json:"iopub_port"`
	Heartbeat int    `json:"hb_port"`
	Scheme    string `json:"signature_scheme"`
	Key       string `json:"key"`
}

func readConnection(path string) (connection, error) {
	var c connection
	data, err := os.ReadFile(path)
	if err != nil {
		return c, err
	}
	if err := json.Unmarshal(data, &c); err != nil {
		return c, fmt.Errorf("%s is not a connection file of Jupyter: %w", path, err)
	}
	if c.Key != "" && c.Scheme != "hmac-sha256" {
		return c, fmt.Errorf("%s asks for the signature scheme %q; only hmac-sha256 is known", path, c.Scheme)
	}
	return c, nil
}

// address is the endpoint of one of the connection's ports.
func (c connection) address(port int) string {
	if c.Transport == "ipc" {
		return fmt.Sprintf("ipc://%s-%d", c.IP, port)
	}
	return fmt.Sprintf("tcp://%s:%d", c.IP, port)
}

// The five channels of the protocol, seen from either side.
type sockets struct {
	shell, control, stdin, iopub, heartbeat zmq4.Socket
}

// quiet keeps the socket library from writing to the notebook server's log.
var quiet = zmq4.WithLogger(log.New(io.Discard, "", 0))

// listen opens the kernel's side of a connection: Jupyter calls here.
func listen(ctx context.Context, c connection) (*sockets, error) {
	s := &sockets{
		shell:     zmq4.NewRouter(ctx, quiet),
		control:   zmq4.NewRouter(ctx, quiet),
		stdin:     zmq4.NewRouter(ctx, quiet),
		iopub:     zmq4.NewPub(ctx, quiet),
		heartbeat: zmq4.NewRep(ctx, quiet),
	}
	return s, s.each(c, zmq4.Socket.Listen)
}

// dial opens the client's side of a connection: gonb listens there.
func dial(ctx context.Context, c connection) (*sockets, error) {
	s := &sockets{
		shell:   zmq4.NewDealer(ctx, quiet),
		control: zmq4.NewDealer(ctx, quiet),
		stdin:   zmq4.NewDealer(ctx, quiet),
		iopub:   zmq4.NewSub(ctx, quiet),
	}
	if err := s.iopub.SetOption(zmq4.OptionSubscribe, ""); err != nil {
		return s, err
	}
	return s, s.each(c, zmq4.Socket.Dial)
}

// each opens every socket there is at its port of the connection.
func (s *sockets) each(c connection, open func(zmq4.Socket, string) error) error {
	ports := []struct {
		socket zmq4.Socket
		port   int
	}{{s.shell, c.Shell}, {s.control, c.Control}, {s.stdin, c.Stdin}, {s.iopub, c.IOPub}, {s.heartbeat, c.Heartbeat}}
	for _, p := range ports {
		if p.socket == nil {
			continue
		}
		if err := open(p.socket, c.address(p.port)); err != nil {
			return err
		}
	}
	return nil
}

func (s *sockets) close() {
	for _, socket := range []zmq4.Socket{s.shell, s.control, s.stdin, s.iopub, s.heartbeat} {
		if socket != nil {
			socket.Close() // the process or its peer is ending: nothing is left to do
		}
	}
}
