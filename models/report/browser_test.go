package report

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"thumbed/models/dropoff"
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

// firstScreen measures where the first screen ends, and what is wider than the page.
const firstScreen = `<script>addEventListener("load", function () { document.fonts.ready.then(function () {
document.title = "texts " + Math.ceil(document.getElementById("answers").getBoundingClientRect().bottom) + " " + (document.documentElement.scrollWidth - document.documentElement.clientWidth);
}); });</script>`

// TestTheFirstScreenIsOne: findings, how sure they are and the questions end within
// 900 points at a width of 1200, with one plain typeface installed.
func TestTheFirstScreenIsOne(t *testing.T) {
	chromium, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("there is no Chromium here")
	}
	if _, err := os.Stat(plainTypeface); err != nil {
		t.Skip("there is no DejaVu Sans here")
	}
	said := inBrowser(t, chromium, t.TempDir(), "first", pageOf(t, fixture(t))+firstScreen)
	var bottom, beyond int
	if _, err := fmt.Sscanf(said, "texts %d %d", &bottom, &beyond); err != nil || bottom < 200 || bottom > 900 || beyond > 0 {
		t.Errorf("the first screen ends at %d, and %d points are beyond the page's edge: %q, %v", bottom, beyond, said, err)
	}
}

// TestFindingsDoNotContradict: a certain fall is told before a doubtful change; a share
// that says nothing is told as that, with the reason; and where no picture stands out
// it is said that this shows nothing of them.
func TestFindingsDoNotContradict(t *testing.T) {
	b := fixture(t).Books[0]
	c, fall := b.mainHours()
	if fall < 0 {
		t.Fatal("the fixture's book has no fall")
	}
	certain := c.Changes.Changes[fall]
	changes := *c.Changes
	doubtful := certain
	doubtful.After, doubtful.Probability, doubtful.At = 2, 0.55, "doubtful"
	changes.Changes = append([]dropoff.Change{doubtful}, certain)
	decline := *c
	decline.Changes = &changes
	if text := fallWords(&decline, clearFall(&decline)); !strings.Contains(text, certain.At) || strings.Contains(text, "doubtful") {
		t.Errorf("beside a doubtful change: %q", text)
	}
	changes.Changes, decline.Less = nil, false
	decline.Share, decline.Low, decline.High = 1.06, 0.06, 6.4
	decline.Offices = slices.Clone(decline.Offices)
	decline.Offices[0].SE = decline.Offices[0].Wear / 2
	if f, _ := fellFinding(&decline, -1); f.Clear || f.Words != "Too wide to say" {
		t.Errorf("of a share from 6 to 640 %%: %+v", f)
	}
	if text := fallWords(&decline, -1); !strings.Contains(text, "bears little wear") {
		t.Errorf("of a share from 6 to 640 %%: %q", text)
	}
	decline.Low, decline.High = 0.8, 1.3
	if f, _ := fellFinding(&decline, -1); f.Words != "No fall found" {
		t.Errorf("of a share from 80 to 130 %%: %+v", f)
	}
	profile := *b.Profile
	profile.Tests = slices.Clone(profile.Standouts[:1])
	profile.Tests[0].Q = 1
	profile.Standouts, profile.Tested = nil, 1
	book := *b.Book
	book.Pages = slices.Clone(book.Pages)
	book.Pages[profile.Tests[0].Page].Picture = true
	b.Profile, b.Book = &profile, &book
	if f := b.pictureFinding(); f.Clear || f.Words != "No picture shown to stand out" {
		t.Errorf("%+v", f)
	}
	if text := b.picturesWords(); !strings.Contains(text, "does not show that they were passed over") {
		t.Errorf("%q", text)
	}
}
