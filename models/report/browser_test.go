package report

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

// TestTextsKeepToTheirCharts: with one plain typeface installed, no text of any
// chart leaves it or covers another, on the page and in the files of figures.
func TestTextsKeepToTheirCharts(t *testing.T) {
	chromium, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("there is no Chromium here")
	}
	if _, err := os.Stat(plainTypeface); err != nil {
		t.Skip("there is no DejaVu Sans here")
	}
	r := fixture(t)
	dir := t.TempDir()
	page := pageOf(t, r)
	var figures strings.Builder
	figures.WriteString("<!doctype html><meta charset=utf-8>")
	for _, f := range figuresOf(t, r) {
		_, svg, _ := strings.Cut(string(f.SVG), "?>")
		figures.WriteString("<div style='width:44rem'>" + svg + "</div>")
	}
	for name, html := range map[string]string{"page": page + probe, "figures": figures.String() + probe} {
		said := inBrowser(t, chromium, dir, name, html)
		count, bad, _ := strings.Cut(said, "; ")
		n := 0
		if _, err := fmt.Sscanf(count, "texts %d", &n); err != nil || n < 100 {
			t.Fatalf("%s: the browser saw %q", name, said)
		}
		if bad != "" {
			t.Errorf("%s: %s", name, bad)
		}
	}
}

var titled = regexp.MustCompile(`(?s)<title>(texts.*?)</title>`)

// inBrowser opens a page in a browser that finds one plain typeface, and gives the
// title that the page's probe writes.
func inBrowser(t *testing.T, chromium, dir, name, html string) string {
	t.Helper()
	fonts := filepath.Join(dir, "fonts.conf")
	fonts1 := filepath.Join(dir, "fonts")
	if err := os.MkdirAll(fonts1, 0o755); err != nil {
		t.Fatal(err)
	}
	letters, err := os.ReadFile(plainTypeface)
	if err != nil {
		t.Fatal(err)
	}
	for path, data := range map[string][]byte{
		filepath.Join(fonts1, "plain.ttf"): letters,
		fonts:                              []byte(`<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig><dir>` + fonts1 + `</dir><cachedir>` + filepath.Join(dir, "cache") + `</cachedir></fontconfig>`),
		filepath.Join(dir, name+".html"):   []byte(html),
	} {
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	stop, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	browser := exec.CommandContext(stop, chromium, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
		"--user-data-dir="+filepath.Join(dir, "profile"), "--window-size=1200,900", "--virtual-time-budget=20000", "--dump-dom", "file://"+filepath.Join(dir, name+".html"))
	browser.Env = append(os.Environ(), "FONTCONFIG_FILE="+fonts, "HOME="+dir)
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

// TestNoNamesOfColumns: no sentence of the results, and no word of the page outside
// its tables and charts, is a name of a column or of one of its levels.
func TestNoNamesOfColumns(t *testing.T) {
	r := fixture(t)
	named := regexp.MustCompile(`\pL=\pL|\pL_\pL`)
	for _, s := range r.Sentences() {
		if s.Topic == Asked {
			continue // the fixture's answers are written by hand
		}
		if found := named.FindString(s.Text); found != "" {
			t.Errorf("%q in %q", found, s.Text)
		}
		if s.Aside {
			continue
		}
		if len(strings.Fields(s.Text)) > 60 {
			t.Errorf("a paragraph of more than 60 words: %q", s.Text)
		}
		for _, one := range strings.SplitAfter(s.Text, ". ") {
			if n := len(strings.Split(strings.TrimSpace(one), " ")); n > 30 { // what does not break is one word
				t.Errorf("a sentence of %d words: %q", n, one)
			}
		}
	}
	page := regexp.MustCompile(`(?s)<(script|style|svg|table).*?</(script|style|svg|table)>`).ReplaceAllString(pageOf(t, r), " ")
	if found := named.FindString(tags.ReplaceAllString(page, " ")); found != "" {
		t.Errorf("%q stands on the page", found)
	}
}
