package kernel

import (
	"fmt"
	"html"
	"strings"
)

// paragraphs are sentences as HTML; a text of several lines keeps them, and its
// columns.
func paragraphs(sentences ...string) string {
	var b strings.Builder
	for _, s := range sentences {
		if strings.Contains(strings.TrimSpace(s), "\n") {
			fmt.Fprintf(&b, "<pre>%s</pre>\n", html.EscapeString(s))
			continue
		}
		fmt.Fprintf(&b, "<p>%s</p>\n", html.EscapeString(s))
	}
	return b.String()
}

// noteList is a list of notes as HTML; empty where there are none.
func noteList(notes []string) string {
	if len(notes) == 0 {
		return ""
	}
	return "<ul><li>" + strings.Join(escapeAll(notes), "</li>\n<li>") + "</li></ul>\n"
}

func escapeAll(texts []string) []string {
	out := make([]string, len(texts))
	for i, text := range texts {
		out[i] = html.EscapeString(text)
	}
	return out
}
