package chapter

import (
	"fmt"
	"strings"

	"thumbed/models/report"
)

// mainHead opens chapter.tex; the title and the rest follow.
const mainHead = `% A chapter that holds all results. Copy this folder and ../figures beside it to a
% place of your own (a file added to a folder of results keeps the next run from
% replacing that). There it compiles as it stands:
%
%     pdflatex chapter && bibtex chapter && pdflatex chapter && pdflatex chapter && pdflatex chapter
%
% or with lualatex in the place of pdflatex; once more where LaTeX says that labels
% may have changed. The PDF tells its title, its language and what each figure shows, but
% has no tags, since the usual packages of LaTeX make none for tables: the page
% ../index.html serves screen readers.
%
% In a thesis of your own, leave this file out and write
%
%     \input{chapter/preamble}            once, before \begin{document}
%     \graphicspath{{figures/}}           where the figures stand
%     \input{chapter/methods}             where the methods shall stand
%     \input{chapter/tables/answers}      and so on, each part where you want it
%     \bibliography{chapter/references}   or your own, with these entries in it
%
% A part that nothing inputs is not printed.
\documentclass[11pt,a4paper]{article}
\usepackage[margin=25mm]{geometry}
\input{preamble}
\graphicspath{{../figures/}}
% Figures and tables fill pages from the top, and share them with text.
\makeatletter
\setlength{\@fptop}{0pt}\setlength{\@fpsep}{18pt}\setlength{\@fpbot}{0pt plus 1fil}
\makeatother
\renewcommand{\topfraction}{.95}\renewcommand{\bottomfraction}{.95}
\renewcommand{\textfraction}{.04}\renewcommand{\floatpagefraction}{.6}
\setcounter{topnumber}{4}\setcounter{bottomnumber}{4}\setcounter{totalnumber}{8}
\begin{document}
`

// manyFloats is how many figures and tables of a section may be left to stand on the
// pages of the next; a page that ends early is spared.
const manyFloats = 6

// mainFile is chapter.tex.
func (s *setter) mainFile(meta report.Meta, sections []report.PrintedSection) []byte {
	var b strings.Builder
	b.WriteString(mainHead)
	fmt.Fprintf(&b, "\\described{%s}{%s} %% title and author, as readers of PDF show them\n", pdfText(meta.Title), pdfText(meta.Author))
	fmt.Fprintf(&b, "\\title{%s}\n\\author{%s}\n\\date{}\n\\maketitle\n", s.text(meta.Title), s.text(meta.Author))
	if meta.Invented {
		b.WriteString("\n\\noindent\\textbf{Invented data.} Town, people, books and readings of this chapter are made up; nothing here is evidence of anything.\n")
	}
	if meta.Note != "" {
		fmt.Fprintf(&b, "\n\\medskip\\noindent %s\n", s.text(meta.Note))
	}
	b.WriteString("\n\\section{Methods}\n\\input{methods}\n")
	in := false
	for _, section := range sections {
		if section.Appendix && !in {
			b.WriteString("\n\\clearpage\n\\appendix\n")
			in = true
		}
		fmt.Fprintf(&b, "\n\\section{%s}\n%s", s.text(section.Heading), lead(section))
		for _, part := range section.Parts {
			if len(part.Said) > 0 {
				fmt.Fprintf(&b, "\\input{%s}\n\n", wordsName(section, part)) // a paragraph of its own: floats in one leave blanks
			}
			for _, f := range part.Figures {
				fmt.Fprintf(&b, "\\input{figures/%s}\n", f.Name)
			}
			for _, t := range part.Tables {
				fmt.Fprintf(&b, "\\input{tables/%s}\n", t.Name)
			}
		}
		floats := 0
		for _, part := range section.Parts {
			floats += len(part.Figures) + len(part.Tables)
		}
		if floats > manyFloats {
			b.WriteString("\\clearpage\n") // floats stay with their section
		}
	}
	b.WriteString("\n\\section{The numbers on disk}\n\\input{words/files}\n\\input{tables/files}\n")
	if len(s.cited) > 0 { // BibTeX ends in an error where nothing is cited
		b.WriteString("\n\\bibliographystyle{plainnat}\n\\bibliography{references}\n")
	}
	b.WriteString("\\end{document}\n")
	return []byte(b.String())
}

// lead names the figures and tables of a section that says nothing itself, so that its
// heading does not stand alone; empty for one with words.
func lead(section report.PrintedSection) string {
	var figures, tables []string
	for _, part := range section.Parts {
		if len(part.Said) > 0 {
			return ""
		}
		for _, f := range part.Figures {
			figures = append(figures, "\\ref{fig:"+f.Name+"}")
		}
		for _, t := range part.Tables {
			tables = append(tables, "\\ref{tab:"+t.Name+"}")
		}
	}
	var named []string
	for _, of := range []struct {
		one, many string
		refs      []string
	}{{"figure", "figures", figures}, {"table", "tables", tables}} {
		switch n := len(of.refs); {
		case n == 1:
			named = append(named, of.one+"~"+of.refs[0])
		case n > 1:
			named = append(named, of.many+"~"+of.refs[0]+" to "+of.refs[n-1])
		}
	}
	return "See " + strings.Join(named, " and ") + ".\n\n"
}

// preambleHead is what the parts need, for any engine.
const preambleHead = `% What the parts of this chapter need. Where your thesis loads one of these
% packages with options of its own, leave it out here.
\usepackage{iftex}
\ifPDFTeX
  \usepackage[T1]{fontenc}
  \usepackage{lmodern}
  \usepackage{textcomp}
  \IfFileExists{glyphtounicode.tex}{\input{glyphtounicode}\pdfgentounicode=1}{} % words can be searched and copied
\else
  \usepackage{fontspec} % \setmainfont{...} a typeface that has all your letters
\fi
\usepackage{graphicx,array,booktabs,longtable}
\usepackage[font=small,labelfont=bf]{caption}
\usepackage{microtype}
\usepackage[round]{natbib} % with biblatex: \usepackage[style=authoryear,natbib=true]{biblatex}
\usepackage{url}
\extrafloats{500}\maxdeadcycles=2000 % figures of many books may wait for their pages
% The size of the tables' letters. The tables are laid out for lines of 16 cm; where
% yours are much shorter, make them smaller: \renewcommand{\tablesize}{\scriptsize}
\providecommand{\tablesize}{\footnotesize}
% \alternative{...}{figure} says to who cannot see the figure what it shows, and
% \described{title}{author} names the file and its language, both in the file's own
% code (UTF-16 in hexadecimal digits). Without pdfLaTeX or LuaLaTeX they do nothing.
\providecommand{\alternative}[2]{#2}\providecommand{\described}[2]{}
\ifPDFTeX
  \renewcommand{\alternative}[2]{\leavevmode\pdfliteral page{/Span <</Lang (en) /Alt <#1>>> BDC}#2\pdfliteral page{EMC}}
  \renewcommand{\described}[2]{\pdfinfo{/Title <#1> /Author <#2>}\pdfcatalog{/Lang (en) /ViewerPreferences <</DisplayDocTitle true>>}}
\else\ifLuaTeX
  \renewcommand{\alternative}[2]{\leavevmode\pdfextension literal page{/Span <</Lang (en) /Alt <#1>>> BDC}#2\pdfextension literal page{EMC}}
  \renewcommand{\described}[2]{\pdfextension info{/Title <#1> /Author <#2>}\pdfextension catalog{/Lang (en) /ViewerPreferences <</DisplayDocTitle true>>}}
\fi\fi
`

// preambleFile is preamble.tex. It comes last, since it says what pdfLaTeX shall
// set for the characters that all other parts need and its fonts lack.
func (s *setter) preambleFile() []byte {
	var b strings.Builder
	b.WriteString(preambleHead)
	lacked := s.lacked()
	if len(lacked) == 0 {
		return []byte(b.String())
	}
	b.WriteString(`
% pdfLaTeX's usual fonts lack these characters of the study. Here Greek letters
% become those of formulas, and others their number in Unicode. Better: load a
% package for the script before this file (textalpha for Greek, fontenc with T2A
% for Cyrillic), which is then kept, or use lualatex with a typeface that has them.
\ifPDFTeX
\makeatletter
`)
	for _, c := range lacked {
		fmt.Fprintf(&b, "\\@ifundefined{u8:\\detokenize{%c}}{\\DeclareUnicodeCharacter{%04X}{%s}}{}\n", c, c, substitute(c))
	}
	b.WriteString("\\makeatother\n\\fi\n")
	return []byte(b.String())
}
