package code

import (
	"go/scanner"
	"go/token"
	"regexp"
	"strings"
)

// The kinds of part that a cell has.
type kind int

const (
	imports kind = iota
	function
	declaration // of a type, a constant or a variable
	statement
	command // a line for gonb itself, such as %help or !ls
	marker  // %%: what follows are statements
)

// A part is a piece of a cell, of whole lines: one declaration or statement with
// the comments before it, or one command.
type part struct {
	kind       kind
	text       string
	from, line int // where it begins: byte, and line from 0
}

var (
	mark = regexp.MustCompile(`^%(%|main)(\s|$)`)
	// foreign begins a cell that is no Go, or Go of another kind: a script, a file, tests.
	foreign = regexp.MustCompile(`(?m)^%(%[A-Za-z]|test\b|wasm\b)`)
)

// split takes a cell apart; ok is false where it holds something other than Go to run.
func split(cell string) (parts []part, ok bool) {
	if foreign.MatchString(cell) {
		return nil, false
	}
	lines := strings.SplitAfter(cell, "\n")
	from, pending, start := 0, "", 0 // lines of Go not yet taken apart, and where they begin
	flush := func() {
		parts = append(parts, splitGo(pending, from-len(pending), start)...)
		pending = ""
	}
	for i, line := range lines {
		if (strings.HasPrefix(line, "%") || strings.HasPrefix(line, "!")) && !opensRaw(pending) {
			flush()
			k := command
			if mark.MatchString(line) {
				k = marker
			}
			parts = append(parts, part{k, line, from, i})
		} else {
			if pending == "" {
				start = i
			}
			pending += line
		}
		from += len(line)
	}
	flush()
	return parts, true
}

// opensRaw tells whether some Go ends within a raw string or a comment, where a
// line is no command.
func opensRaw(text string) bool {
	open := false
	scan(text, func(_ int, tok token.Token, literal string) {
		if tok == token.SEMICOLON && literal != ";" {
			return // the end of a line
		}
		open = strings.HasPrefix(literal, "`") && (len(literal) == 1 || !strings.HasSuffix(literal, "`")) ||
			strings.HasPrefix(literal, "/*") && !strings.HasSuffix(literal, "*/")
	})
	return open
}

// scan tells every token of some Go, right or wrong; offsets are bytes.
func scan(text string, tell func(offset int, tok token.Token, literal string)) {
	fset := token.NewFileSet()
	file := fset.AddFile("", -1, len(text))
	var s scanner.Scanner
	s.Init(file, []byte(text), func(token.Position, string) {}, scanner.ScanComments)
	for {
		pos, tok, literal := s.Scan()
		if tok == token.EOF {
			return
		}
		tell(file.Offset(pos), tok, literal)
	}
}

// splitGo takes Go apart at the ends of lines at which a declaration or statement ends.
func splitGo(text string, from, line int) []part {
	var parts []part
	var tokens []token.Token // of the part at hand
	depth, begin, ended := 0, 0, -1
	cut := func(end int) {
		if len(tokens) == 0 {
			return
		}
		piece := text[begin:end]
		parts = append(parts, part{kindOf(tokens), piece, from + begin, line})
		line += strings.Count(piece, "\n")
		begin, tokens = end, nil
	}
	scan(text, func(offset int, tok token.Token, literal string) {
		if ended >= 0 {
			if eol := strings.IndexByte(text[ended:], '\n'); eol >= 0 && ended+eol < offset {
				cut(ended + eol + 1)
			}
			if tok != token.COMMENT {
				ended = -1
			}
		}
		switch tok {
		case token.COMMENT:
			return
		case token.LPAREN, token.LBRACK, token.LBRACE:
			depth++
		case token.RPAREN, token.RBRACK, token.RBRACE:
			depth = max(0, depth-1)
		case token.SEMICOLON:
			if depth == 0 {
				ended = offset
				return
			}
		}
		tokens = append(tokens, tok)
	})
	cut(len(text))
	if rest := text[begin:]; rest != "" { // blank lines and comments
		if len(parts) > 0 {
			parts[len(parts)-1].text += rest
		} else {
			parts = append(parts, part{declaration, rest, from + begin, line})
		}
	}
	return parts
}

// kindOf tells a part's kind by its first tokens.
func kindOf(tokens []token.Token) kind {
	switch tokens[0] {
	case token.IMPORT:
		return imports
	case token.TYPE, token.CONST, token.VAR:
		return declaration
	case token.FUNC:
		rest := tokens[1:]
		if len(rest) > 0 && rest[0] == token.LPAREN { // a method's receiver, or a literal's parameters
			depth := 0
			for i, tok := range rest {
				switch tok {
				case token.LPAREN:
					depth++
				case token.RPAREN:
					depth--
				}
				if depth == 0 {
					rest = rest[i+1:]
					break
				}
			}
			if len(rest) > 1 && rest[0] == token.IDENT && rest[1] == token.LPAREN {
				return function
			}
			return statement
		}
		if len(rest) > 0 && rest[0] == token.IDENT {
			return function
		}
	}
	return statement
}

// halves are a cell's declarations and its statements, in the order in which the
// compiler is to have them; marked tells whether the cell itself tells them apart.
func halves(parts []part) (above, below []part, marked bool) {
	for i, p := range parts {
		if p.kind == marker {
			return parts[:i], parts[i+1:], true
		}
	}
	for _, p := range parts {
		switch {
		case p.kind == statement || p.kind == declaration && len(below) > 0:
			below = append(below, p) // a variable between statements is one of theirs
		default:
			above = append(above, p)
		}
	}
	return above, below, false
}
