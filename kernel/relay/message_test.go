package relay

import (
	"bytes"
	"testing"

	"pgregory.net/rapid"
)

func TestMessagesKeepTheirParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.SliceOf(rapid.Byte()).Draw(t, "key")
		text := rapid.String().Draw(t, "text")
		identities := [][]byte{[]byte("client")}
		sent := answer(answer(nil, "execute_request", nil), "stream", stream{"stdout", text})
		sent.buffers = [][]byte{rapid.SliceOf(rapid.Byte()).Draw(t, "buffer")}
		got, err := parse(sent.frames(identities, key), key)
		if err != nil {
			t.Fatal(err)
		}
		for i := range sent.raw {
			if !bytes.Equal(got.raw[i], sent.raw[i]) {
				t.Errorf("part %d is %s, want %s", i, got.raw[i], sent.raw[i])
			}
		}
		if got.header != sent.header || got.parent != sent.parent || string(got.identities[0]) != "client" || !bytes.Equal(got.buffers[0], sent.buffers[0]) {
			t.Errorf("got %+v, want %+v", got, sent)
		}
	})
}

func TestForgedMessagesAreNotRead(t *testing.T) {
	frames := answer(nil, "execute_request", map[string]string{"code": "x"}).frames(nil, []byte("right"))
	if _, err := parse(frames, []byte("wrong")); err == nil {
		t.Error("a message signed with another key was read")
	}
	frames[len(frames)-1] = []byte(`{"code":"y"}`)
	if _, err := parse(frames, []byte("right")); err == nil {
		t.Error("a message that was changed was read")
	}
}

func FuzzParse(f *testing.F) {
	good := answer(nil, "status", map[string]string{"execution_state": "idle"}).frames([][]byte{[]byte("id")}, nil)
	f.Add(bytes.Join(good, []byte("\x00")))
	f.Add([]byte(delimiter))
	f.Add([]byte("<IDS|MSG>\x00\x00{}\x00{}\x00{}\x00{}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		frames := bytes.Split(data, []byte("\x00"))
		m, err := parse(frames, nil)
		if err != nil {
			return
		}
		again, err := parse(m.frames(m.identities, []byte("k")), []byte("k"))
		if err != nil || again.header != m.header {
			t.Errorf("a message that was read cannot be passed on: %v", err)
		}
	})
}
