package chapter

import (
	"fmt"
	"strings"
	"unicode/utf16"

	"thumbed/models/report"
)

// wordsFile is what one section says, under run-in heads.
func (s *setter) wordsFile(heading string, said []report.Said) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "%% %s, in words. The sentences are those of the page; they are yours to change.\n", comment(heading))
	for _, one := range said {
		b.WriteString("\n")
		if one.Head != "" {
			fmt.Fprintf(&b, "\\paragraph{%s}\n", s.text(one.Head))
		}
		for i, p := range one.Paragraphs {
			if i > 0 {
				b.WriteString("\n")
			}
			b.WriteString(s.prose(p) + "\n")
		}
	}
	return []byte(b.String())
}

// figureFile is one figure in a float. It is looked for by its name in the folders
// of \graphicspath.
func (s *setter) figureFile(f report.PrintedFigure) []byte {
	var b strings.Builder
	fmt.Fprintf(&b, "%% %s. \\input this file where the figure shall stand; \\ref{fig:%s} names it.\n", comment(f.Title), f.Name)
	fmt.Fprintf(&b, "\\begin{figure}[htbp]\n\\centering\n\\alternative{%s}%%\n{\\includegraphics[width=\\linewidth,height=0.78\\textheight,keepaspectratio]{%s.pdf}}\n", pdfText(f.Alt), f.Name)
	fmt.Fprintf(&b, "%s\\label{fig:%s}\n\\end{figure}\n", s.caption(f.Title, f.Caption), f.Name)
	return []byte(b.String())
}

// pdfText is text as a PDF holds it beside what it prints: UTF-16 in hexadecimal digits,
// its byte order first (ISO 32000-1, section 7.9.2.2).
func pdfText(words string) string {
	var b strings.Builder
	b.WriteString("FEFF")
	for _, unit := range utf16.Encode([]rune(words)) {
		fmt.Fprintf(&b, "%04X", unit)
	}
	return b.String()
}
