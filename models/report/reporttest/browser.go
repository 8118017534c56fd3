package reporttest

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// probe looks in a browser at every text of every chart: whether it leaves its
// drawing, and whether it covers another text of it.
const probe = `<script>addEventListener("load", function () { document.fonts.ready.then(function () {
document.querySelectorAll("details").forEach(function (d) { d.open = true; });
var bad = [], n = 0;
document.querySelectorAll("svg").forEach(function (s) {
  var box = s.getBoundingClientRect(), seen = [];
  if (!box.width) return;
  s.querySelectorAll("text").forEach(function (t) {
    var b = t.getBoundingClientRect(), turned = Math.abs(t.getScreenCTM().b) > 0.01;
    if (!b.width) return;
    n++;
    if (b.right > box.right + 1 || b.left < box.left - 1 || b.top < box.top - 1 || b.bottom > box.bottom + 1) bad.push("leaves its drawing: " + t.textContent);
    if (turned) return;
    seen.forEach(function (o) {
      var wide = Math.min(b.right, o[0].right) - Math.max(b.left, o[0].left), high = Math.min(b.bottom, o[0].bottom) - Math.max(b.top, o[0].top);
      if (wide > 1 && high > 0.35 * Math.min(b.height, o[0].height)) bad.push("covers " + o[1] + ": " + t.textContent);
    });
    seen.push([b, t.textContent]);
  });
});
document.title = "texts " + n + "; " + bad.join("; ");
}); });</script>`

// plainTypeface is the one typeface that the browser finds installed: wider than
// that of the figures.
const plainTypeface = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"

// TextsKeep opens a page in a browser that finds one plain typeface: it fails where a
// text of a chart leaves it or covers another, or where there are fewer texts than least.
func TextsKeep(t testing.TB, page string, least int) {
	t.Helper()
	count, bad, _ := strings.Cut(inBrowser(t, page+probe), "; ")
	n := 0
	if _, err := fmt.Sscanf(count, "texts %d", &n); err != nil || n < least {
		t.Fatalf("the browser saw %q", count)
	}
	if bad != "" {
		t.Error(bad)
	}
}

// firstScreen measures where the first screen ends, and what is wider than the page.
const firstScreen = `<script>addEventListener("load", function () { document.fonts.ready.then(function () {
document.title = "texts " + Math.ceil(document.getElementById("answers").getBoundingClientRect().bottom) + " " + (document.documentElement.scrollWidth - document.documentElement.clientWidth);
}); });</script>`

// FirstScreen fails where the first screen of a page ends below so many points at a width
// of 1200, with one plain typeface installed, or anything is wider than the page. It
// gives the place where the screen ends.
func FirstScreen(t testing.TB, page string, most int) int {
	t.Helper()
	said := inBrowser(t, page+firstScreen)
	var bottom, beyond int
	if _, err := fmt.Sscanf(said, "texts %d %d", &bottom, &beyond); err != nil || bottom < 200 || bottom > most || beyond > 0 {
		t.Errorf("the first screen ends at %d, and %d points are beyond the page's edge: %q, %v", bottom, beyond, said, err)
	}
	return bottom
}

var titled = regexp.MustCompile(`(?s)<title>(texts.*?)</title>`)

// inBrowser opens a page in a browser that finds one plain typeface, and gives the
// title that the page's probe writes. It skips the test where there is none.
func inBrowser(t testing.TB, page string) string {
	t.Helper()
	chromium, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("there is no Chromium here")
	}
	letters, err := os.ReadFile(plainTypeface)
	if err != nil {
		t.Skip("there is no DejaVu Sans here")
	}
	dir := t.TempDir()
	config, fonts := filepath.Join(dir, "fonts.conf"), filepath.Join(dir, "fonts")
	if err := os.Mkdir(fonts, 0o755); err != nil {
		t.Fatal(err)
	}
	for path, data := range map[string][]byte{
		filepath.Join(fonts, "plain.ttf"): letters,
		config:                            []byte(`<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig><dir>` + fonts + `</dir><cachedir>` + filepath.Join(dir, "cache") + `</cachedir></fontconfig>`),
		filepath.Join(dir, "page.html"):   []byte(page),
	} {
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	stop, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	browser := exec.CommandContext(stop, chromium, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
		"--user-data-dir="+filepath.Join(dir, "profile"), "--window-size=1200,900", "--virtual-time-budget=20000", "--dump-dom", "file://"+filepath.Join(dir, "page.html"))
	browser.Env = append(os.Environ(), "FONTCONFIG_FILE="+config, "HOME="+dir)
	out, err := browser.Output()
	if err != nil {
		t.Fatalf("the browser: %v", err)
	}
	found := titled.FindSubmatch(out)
	if found == nil {
		t.Fatal("the browser said nothing of the texts")
	}
	return string(found[1])
}

// closer points at the mark of every page in the first strip that has one, and counts
// what the Tab key stops at in it.
const closer = `<script>addEventListener("load", function () {
var strip = document.querySelector("svg.strip"), missed = 0, marks = strip.querySelectorAll(".m");
marks.forEach(function (m) {
  var b = m.getBoundingClientRect(), at = document.elementFromPoint(b.left + b.width / 2, b.top + b.height / 2);
  if (!at || !at.closest("[data-said]")) missed++;
});
document.title = "texts " + marks.length + " " + missed + " " + strip.querySelectorAll("a:not([tabindex='-1']), g[tabindex='0']").length;
});</script>`

// LooksCloser fails where pointing at a mark of the first strip tells nothing of its
// page, or where the Tab key stops in it more than once.
func LooksCloser(t testing.TB, page string) {
	t.Helper()
	said := inBrowser(t, page+closer)
	var marks, missed, stops int
	if _, err := fmt.Sscanf(said, "texts %d %d %d", &marks, &missed, &stops); err != nil || marks == 0 || missed > 0 || stops != 1 {
		t.Errorf("of %d marks %d tell nothing, and the Tab key stops %d times: %q, %v", marks, missed, stops, said, err)
	}
}
