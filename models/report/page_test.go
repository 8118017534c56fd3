package report

import (
	"encoding/xml"
	"io"
	"regexp"
	"strings"
	"testing"
)

// An element is one element of the page, with the text inside it.
type element struct {
	name     string
	attrs    map[string]string
	parents  []*element
	children []*element
	text     strings.Builder
}

func (e *element) inside(name string) bool {
	for _, p := range e.parents {
		if p.name == name {
			return true
		}
	}
	return false
}

// elementsOf takes a page apart. It fails where an element is not closed in
// order.
func elementsOf(t *testing.T, page string) []*element {
	t.Helper()
	// The page's own script is no markup.
	decoder := xml.NewDecoder(strings.NewReader(strings.Replace(page, pageScript, "", 1)))
	decoder.Strict = false
	decoder.AutoClose = xml.HTMLAutoClose
	decoder.Entity = xml.HTMLEntity
	var all, open []*element
	for {
		token, err := decoder.Token()
		if err == io.EOF {
			return all
		}
		if err != nil {
			t.Fatal(err)
		}
		switch token := token.(type) {
		case xml.StartElement:
			e := &element{name: token.Name.Local, attrs: map[string]string{}, parents: append([]*element(nil), open...)}
			for _, a := range token.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			if len(open) > 0 {
				open[len(open)-1].children = append(open[len(open)-1].children, e)
			}
			all, open = append(all, e), append(open, e)
		case xml.EndElement:
			if open[len(open)-1].name != token.Name.Local {
				t.Fatalf("%s ends inside %s", token.Name.Local, open[len(open)-1].name)
			}
			open = open[:len(open)-1]
		case xml.CharData:
			for _, e := range open {
				e.text.Write(token)
			}
		}
	}
}

// The rules below are the techniques and failures of the Web Content
// Accessibility Guidelines 2.2 named beside them.

func TestPageIsAccessible(t *testing.T) { checkPage(t, pageOf(t, fixture(t)), 11) }

// checkPage checks a page with so many charts.
func checkPage(t *testing.T, page string, charts int) {
	t.Helper()
	if !strings.HasPrefix(page, "<!doctype html>") {
		t.Error("the page does not begin with its document type")
	}
	all := elementsOf(t, page)
	byID := map[string]*element{}
	for _, e := range all {
		if id, ok := e.attrs["id"]; ok {
			if byID[id] != nil {
				t.Errorf("id %q stands twice (F77)", id)
			}
			byID[id] = e
		}
	}
	t.Run("document", func(t *testing.T) { checkDocument(t, all) })
	t.Run("headings", func(t *testing.T) { checkHeadings(t, all) })
	t.Run("pictures", func(t *testing.T) { checkPictures(t, all, byID, charts) })
	t.Run("tables", func(t *testing.T) { checkTables(t, all, byID) })
	t.Run("links", func(t *testing.T) { checkLinks(t, all, byID) })
}

func checkDocument(t *testing.T, all []*element) {
	counts := map[string]int{}
	for _, e := range all {
		if !e.inside("svg") {
			counts[e.name]++
		}
		if e.name == "html" && e.attrs["lang"] != "en" {
			t.Error("the page does not name its language (H57)")
		}
		if e.name == "script" && len(e.attrs) > 0 {
			t.Errorf("the page has a script that is not its own: %v", e.attrs)
		}
		if e.name == "img" || e.name == "iframe" || e.name == "link" {
			t.Errorf("the page has an element %s", e.name)
		}
		for name := range e.attrs {
			if strings.HasPrefix(name, "on") {
				t.Errorf("%s has a handler %s", e.name, name)
			}
		}
	}
	for _, once := range []string{"html", "head", "body", "title", "h1", "main", "header", "footer", "nav"} {
		if counts[once] != 1 {
			t.Errorf("%s stands %d times", once, counts[once])
		}
	}
}

func checkHeadings(t *testing.T, all []*element) {
	level := 0
	for _, e := range all {
		if len(e.name) != 2 || e.name[0] != 'h' || e.name[1] < '1' || e.name[1] > '6' {
			continue
		}
		if next := int(e.name[1] - '0'); next > level+1 {
			t.Errorf("heading %q jumps from level %d to %d (G141)", e.text.String(), level, next)
		} else {
			level = next
		}
		if strings.TrimSpace(e.text.String()) == "" {
			t.Error("an empty heading (F2)")
		}
	}
}

func checkPictures(t *testing.T, all []*element, byID map[string]*element, charts int) {
	seen := 0
	for _, e := range all {
		if e.name != "svg" || e.attrs["aria-hidden"] == "true" {
			continue
		}
		if e.attrs["role"] != "img" {
			t.Error("a chart is not announced as an image")
		}
		if class := e.attrs["class"]; class == "sure" || strings.HasPrefix(class, "mini") {
			if e.attrs["aria-label"] == "" {
				t.Errorf("a small chart of class %s has no name (G95)", class)
			}
			continue
		}
		seen++
		for _, id := range strings.Fields(e.attrs["aria-labelledby"]) {
			if byID[id] == nil || strings.TrimSpace(byID[id].text.String()) == "" {
				t.Errorf("a chart's name %q is empty or nowhere (ARIA10)", id)
			}
		}
		if len(strings.Fields(e.attrs["aria-labelledby"])) != 2 {
			t.Error("a chart lacks its title or its description (G95)")
		}
		if !e.inside("figure") {
			t.Error("a chart stands outside a figure")
		}
	}
	if seen != charts {
		t.Errorf("%d charts on the page; expected %d", seen, charts)
	}
	for _, e := range all {
		if e.name != "figcaption" {
			continue
		}
		linked := false
		for _, child := range e.children {
			linked = linked || child.name == "a" && byID[strings.TrimPrefix(child.attrs["href"], "#")] != nil
		}
		if !linked {
			t.Errorf("no table holds the numbers of %q", e.text.String())
		}
	}
}

func checkTables(t *testing.T, all []*element, byID map[string]*element) {
	for _, e := range all {
		switch e.name {
		case "th":
			if scope := e.attrs["scope"]; scope != "col" && scope != "row" {
				t.Errorf("head cell %q has no scope (H63)", e.text.String())
			}
		case "table":
			if len(e.children) == 0 || e.children[0].name != "caption" || e.children[0].text.String() == "" {
				t.Errorf("table %s has no caption (H39)", e.attrs["id"])
			}
			checkShape(t, e)
		}
		if e.attrs["role"] == "group" {
			label := e.attrs["aria-label"]
			if id := e.attrs["aria-labelledby"]; id != "" && byID[id] != nil {
				label = byID[id].text.String()
			}
			if label == "" || e.attrs["tabindex"] != "0" {
				t.Errorf("a scrolling region has no name or cannot be reached by keyboard (F54): %v", e.attrs)
			}
		}
	}
}

// checkShape: every row of a table has as many cells as it has heads.
func checkShape(t *testing.T, table *element) {
	width := -1
	for _, part := range table.children {
		for _, row := range part.children {
			if row.name != "tr" {
				continue
			}
			if width < 0 {
				width = len(row.children)
			}
			if len(row.children) != width {
				t.Errorf("table %s has a row of %d cells under %d heads", table.attrs["id"], len(row.children), width)
			}
		}
	}
}

func checkLinks(t *testing.T, all []*element, byID map[string]*element) {
	first := true
	for _, e := range all {
		if e.name != "a" {
			continue
		}
		href := e.attrs["href"]
		if first && (href != "#answers" || e.attrs["class"] != "skip") {
			t.Error("the first link does not skip to the answers (G1)")
		}
		first = false
		if figureFile.MatchString(href) {
			continue
		}
		if !strings.HasPrefix(href, "#") || byID[href[1:]] == nil {
			t.Errorf("link %q leads nowhere on the page", href)
		}
		if e.text.String() == "" {
			t.Errorf("link %q has no text (F89)", href)
		}
	}
}

// fontData is a typeface inside a page.
var fontData = regexp.MustCompile(`data:font[^)]*`)

// figureFile is the file of a figure beside the page, which opens it large.
var figureFile = regexp.MustCompile(`^figures/[a-z0-9-]+\.svg$`)

// TestPageStandsAlone: nothing on the page is fetched from elsewhere; the typeface
// is inside.
func TestPageStandsAlone(t *testing.T) {
	page := pageOf(t, fixture(t))
	for _, elsewhere := range []string{`(?i)\bsrc=`, `(?i)@import`, `(?i)url\([^d]`, `(?i)xlink:href`, `(?i)href="[^#f]`} {
		if found := regexp.MustCompile(elsewhere).FindString(page); found != "" {
			t.Errorf("the page holds %q", found)
		}
	}
}

// TestPageEscapes: what the scholar writes is text, never markup.
func TestPageEscapes(t *testing.T) {
	r := fixture(t)
	const hostile = `<script>alert("x")</script>&<b onclick=1>`
	r.Meta.Title, r.Meta.Note, r.Meta.Author = hostile, hostile, hostile
	r.Books[0].Book.Title, r.Books[0].Book.ID, r.Books[0].Book.Owner = hostile, hostile, hostile
	r.Books[0].Book.Sections[0].Name = hostile
	for i := range r.Books[0].Book.Pages {
		if r.Books[0].Book.Pages[i].Picture {
			r.Books[0].Book.Pages[i].Subject = hostile
		}
	}
	r.Answers[0].Question.Words, r.Answers[0].Sentence, r.Answers[0].Verdict = hostile, hostile, hostile
	r.Models[0].Name, r.Models[0].About = hostile, hostile
	r.Readings.Excluded[0].Reason = hostile
	figures := figuresOf(t, r)
	var made strings.Builder
	if err := r.page(&made, figures); err != nil {
		t.Fatal(err)
	}
	page := made.String()
	if strings.Count(page, "<script") != 1 || strings.Contains(page, "<b onclick") {
		t.Error("markup in the scholar's words reaches the page as markup")
	}
	elementsOf(t, page)
	for _, f := range figures {
		if strings.Contains(string(f.SVG), "<script") {
			t.Errorf("%s holds markup of the scholar's", f.Name)
		}
	}
}

// TestPageOpensWithTheAnswers: what is found, then book by book, then cautions,
// then the referee's part; the banner of invented data before everything.
func TestPageOpensWithTheAnswers(t *testing.T) {
	r := fixture(t)
	page := pageOf(t, r)
	last := 0
	for _, mark := range []string{"Invented data:", `id="answers"`, "<h1", "Do pictures attract handling?", `id="books"`, `id="figure-wear-mw1"`, `id="cautions"`, `id="referee"`, `id="sections"`, `id="stops"`, `id="models"`, `id="measuring"`, `id="methods"`, `id="pages"`} {
		at := strings.Index(page, mark)
		if at < last {
			t.Errorf("%q stands at %d, before %d", mark, at, last)
		}
		last = at
	}
	r.Meta.Invented = false
	if strings.Contains(pageOf(t, r), "Invented data:") {
		t.Error("real data are called invented")
	}
	body := page[strings.Index(page, "<body>"):]
	for _, s := range r.Sentences() {
		// The page parts a verdict from its sentence and gathers a question's
		// answers; the sentence itself is there whole.
		text := s.Text
		if s.Topic == Asked {
			continue
		}
		if !strings.Contains(plainText(body), strings.Join(strings.Fields(text), " ")) {
			t.Errorf("the page does not say %q", text)
		}
	}
	for _, caution := range []string{"conservator", "flaking", "Light", "arsenic", "lead", "mercury", "mould", "not of belief", "rebinding", "cleaning", "trimming"} {
		if !strings.Contains(body, caution) {
			t.Errorf("the page has no caution about %s", caution)
		}
	}
}

var tags = regexp.MustCompile(`<[^>]*>`)

func plainText(page string) string {
	text := tags.ReplaceAllString(page, "")
	text = strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(text)
	return strings.Join(strings.Fields(text), " ")
}
