package notebooks_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os/exec"
	"testing"
	"time"
)

// A browser is a headless Chromium, driven by the W3C WebDriver protocol
// (https://www.w3.org/TR/webdriver2/).
type browser struct {
	t       *testing.T
	session string // address of the session
}

// waits is how long a test waits for what a page is to become.
const waits = 2 * time.Minute

// openBrowser starts chromedriver and a browser that sees loopback only.
func openBrowser(t *testing.T) *browser {
	t.Helper()
	port := freePort(t)
	driver := exec.Command("chromedriver", fmt.Sprintf("--port=%d", port))
	if err := driver.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		driver.Process.Kill()
		driver.Wait()
	})
	b := &browser{t: t, session: fmt.Sprintf("http://127.0.0.1:%d/session", port)}
	eventually(t, "chromedriver listens", func() bool { return answers(fmt.Sprintf("http://127.0.0.1:%d/status", port)) })
	var made struct {
		ID string `json:"sessionId"`
	}
	b.do(http.MethodPost, "", map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{
		"goog:chromeOptions": map[string]any{"args": []string{"--headless=new", "--no-sandbox", "--disable-gpu",
			"--disable-background-networking", "--disable-dev-shm-usage", "--window-size=1200,1600", "--user-data-dir=" + t.TempDir()}},
		"unhandledPromptBehavior": "accept",
	}}}, &made)
	b.session += "/" + made.ID
	t.Cleanup(func() { b.do(http.MethodDelete, "", nil, nil) })
	return b
}

// do sends one command and reads its value.
func (b *browser) do(method, command string, body, value any) {
	b.t.Helper()
	var data io.Reader
	if body != nil {
		text, err := json.Marshal(body)
		if err != nil {
			b.t.Fatal(err)
		}
		data = bytes.NewReader(text)
	}
	request, err := http.NewRequest(method, b.session+command, data)
	if err != nil {
		b.t.Fatal(err)
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		b.t.Fatal(err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	if answer.StatusCode != http.StatusOK {
		b.t.Fatalf("the browser says to %s %s: %s", method, command, text)
	}
	if value == nil {
		return
	}
	wrapped := struct {
		Value any `json:"value"`
	}{value}
	if err := json.Unmarshal(text, &wrapped); err != nil {
		b.t.Fatal(err)
	}
}

func (b *browser) open(address string) {
	b.t.Helper()
	b.do(http.MethodPost, "/url", map[string]string{"url": address}, nil)
}

// ask runs a script in the page and reads what it returns.
func (b *browser) ask(script string, value any, arguments ...any) {
	b.t.Helper()
	if arguments == nil {
		arguments = []any{}
	}
	b.do(http.MethodPost, "/execute/sync", map[string]any{"script": script, "args": arguments}, value)
}

// until waits until a script returns true.
func (b *browser) until(what, script string, arguments ...any) {
	b.t.Helper()
	eventually(b.t, what, func() bool {
		var is bool
		b.ask(script, &is, arguments...)
		return is
	})
}

// Keys that are no letters (https://www.w3.org/TR/webdriver2/#keyboard-actions).
const tabKey, shiftKey, escapeKey = "\ue004", "\ue008", "\ue00c"

// press presses keys, one after the other, and lets them go.
func (b *browser) press(keys ...string) {
	b.t.Helper()
	var steps []any
	for _, key := range keys {
		steps = append(steps, map[string]string{"type": "keyDown", "value": key})
	}
	for i := range keys {
		steps = append(steps, map[string]string{"type": "keyUp", "value": keys[len(keys)-1-i]})
	}
	b.do(http.MethodPost, "/actions", map[string]any{"actions": []any{map[string]any{"type": "key", "id": "keyboard", "actions": steps}}}, nil)
}

// screenshot is what the browser shows, as PNG.
func (b *browser) screenshot() []byte {
	b.t.Helper()
	var text string
	b.do(http.MethodGet, "/screenshot", nil, &text)
	picture, err := base64.StdEncoding.DecodeString(text)
	if err != nil {
		b.t.Fatal(err)
	}
	return picture
}

// answers tells whether there is a page at the address.
func answers(address string) bool {
	answer, err := http.Get(address)
	if err != nil {
		return false
	}
	answer.Body.Close()
	return answer.StatusCode == http.StatusOK
}

func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for deadline := time.Now().Add(waits); !is(); time.Sleep(100 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("it never came true that %s", what)
		}
	}
}

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port
}
