package relay

import (
	"bytes"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"time"
)

// protocolVersion is that of the messaging protocol spoken here.
const protocolVersion = "5.4"

// delimiter stands between a message's routing identities and its signed parts.
const delimiter = "<IDS|MSG>"

// A header names a message and who sent it.
type header struct {
	ID       string `json:"msg_id"`
	Session  string `json:"session"`
	Username string `json:"username"`
	Date     string `json:"date"`
	Type     string `json:"msg_type"`
	Version  string `json:"version"`
}

// A message is one message of the protocol. The JSON parts stay as they came,
// so that a message passed on is passed on unchanged.
type message struct {
	identities [][]byte
	header     header
	parent     header
	raw        [4]json.RawMessage // header, parent, metadata, content
	buffers    [][]byte
}

// content unpacks the message's content.
func (m *message) content(into any) error { return json.Unmarshal(m.raw[3], into) }

// parse reads the frames of a message and checks its signature.
func parse(frames [][]byte, key []byte) (*message, error) {
	at := 0
	for at < len(frames) && string(frames[at]) != delimiter {
		at++
	}
	if len(frames) < at+6 {
		return nil, fmt.Errorf("a message of %d frames is too short", len(frames))
	}
	m := &message{identities: frames[:at], buffers: frames[at+6:]}
	parts := frames[at+2 : at+6]
	if len(key) > 0 && !hmac.Equal(sign(parts, key), frames[at+1]) {
		return nil, errors.New("a message's signature is wrong")
	}
	for i, part := range parts {
		m.raw[i] = part
	}
	if err := json.Unmarshal(parts[0], &m.header); err != nil {
		return nil, fmt.Errorf("a message's header cannot be read: %w", err)
	}
	// The parent of a first message is an empty object.
	if err := json.Unmarshal(parts[1], &m.parent); err != nil {
		return nil, fmt.Errorf("a message's parent header cannot be read: %w", err)
	}
	return m, nil
}

// frames is the message as it goes over the wire, after the given identities.
func (m *message) frames(identities [][]byte, key []byte) [][]byte {
	parts := make([][]byte, len(m.raw))
	for i, part := range m.raw {
		parts[i] = part
	}
	var signature []byte
	if len(key) > 0 {
		signature = sign(parts, key)
	}
	out := append([][]byte{}, identities...)
	out = append(out, []byte(delimiter), signature)
	out = append(out, parts...)
	return append(out, m.buffers...)
}

func sign(parts [][]byte, key []byte) []byte {
	mac := hmac.New(sha256.New, key)
	for _, part := range parts {
		mac.Write(part)
	}
	return hex.AppendEncode(nil, mac.Sum(nil))
}

// answer makes a message in answer to another; a nil parent makes a first one.
func answer(parent *message, kind string, content any) *message {
	m := &message{header: header{
		ID:      newID(),
		Date:    time.Now().UTC().Format(time.RFC3339Nano),
		Type:    kind,
		Version: protocolVersion,
	}}
	m.raw[1] = json.RawMessage("{}")
	if parent != nil {
		m.parent = parent.header
		m.header.Session = parent.header.Session
		m.header.Username = parent.header.Username
		m.raw[1] = parent.raw[0]
	}
	m.raw[0] = pack(m.header)
	m.raw[2] = json.RawMessage("{}")
	m.raw[3] = pack(content)
	return m
}

// withContent is the message with another content.
func (m *message) withContent(content any) *message {
	changed := *m
	changed.raw[3] = pack(content)
	return &changed
}

// pack is a value of this package as JSON; all of them can be.
func pack(v any) json.RawMessage {
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	if err := encoder.Encode(v); err != nil {
		panic(fmt.Sprintf("relay: %T is no JSON: %v", v, err))
	}
	return bytes.TrimRight(b.Bytes(), "\n")
}

func newID() string {
	id := make([]byte, 16)
	rand.Read(id) // crypto/rand never fails
	return hex.EncodeToString(id)
}
