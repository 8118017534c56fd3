// Package chaptertest sets LaTeX files in tests and looks at the pages.
package chaptertest

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// Need skips a test where LaTeX is not there, and fails it where the environment
// variable THUMBED_TEX says that it must be.
func Need(t testing.TB) {
	t.Helper()
	for _, program := range []string{"pdflatex", "bibtex", "pdftotext", "pdffonts"} {
		if _, err := exec.LookPath(program); err != nil {
			if os.Getenv("THUMBED_TEX") != "" {
				t.Fatalf("%s is not on this machine: %v", program, err)
			}
			t.Skipf("no %s on this machine; make test installs it", program)
		}
	}
}

// Run runs a program in a folder and gives what it says. A failure fails the
// test, with the log of LaTeX where there is one.
func Run(t testing.TB, dir, program string, args ...string) string {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "max_print_line=1000") // LaTeX breaks no line of its log
	said, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", program, strings.Join(args, " "), err, last(string(said), 3000))
	}
	return string(said)
}

func last(text string, most int) string { return text[max(len(text)-most, 0):] }

// LaTeX sets name.tex in dir once, or what commands before it input, and stops at the
// first error.
func LaTeX(t testing.TB, dir, name string) {
	t.Helper()
	Run(t, dir, "pdflatex", "-interaction=nonstopmode", "-halt-on-error", name)
}

// Log is LaTeX's log of name.tex.
func Log(t testing.TB, dir, name string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, name+".log"))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

var blanks = regexp.MustCompile(`\s+`)

// Text is what the pages of name.pdf say, every run of blanks as one.
func Text(t testing.TB, dir, name string, options ...string) string {
	t.Helper()
	out := Run(t, dir, "pdftotext", append(options, "-enc", "UTF-8", name+".pdf", "-")...)
	return Plain(out)
}

// Plain is text with every run of blanks, of whatever width, as one.
func Plain(text string) string {
	text = strings.NewReplacer("\u00a0", " ", "\u202f", " ", "\u2009", " ", "\f", " ").Replace(text)
	return strings.TrimSpace(blanks.ReplaceAllString(text, " "))
}
