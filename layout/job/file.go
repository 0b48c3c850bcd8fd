package job

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"spotjig/layout/problem"
)

// Limits of a file. A long job file with every comment has some 200 lines; these
// are far above that and low enough that the YAML reader, whose time grows with
// the square of some counts, stays under a second.
const (
	FileMax   = 1 << 20 // bytes; callers need not read more than one past it
	linesMax  = 5_000   // lines of a file
	lineMax   = 1_000   // characters of a line
	nestMax   = 32      // brackets open at once, or dashes in a row
	indentMax = 200     // blanks before a line's first word
	itemMax   = 20_000  // commas, colons and dashes: about one per value
)

// Parse reads a YAML file of one document whose top is a map of keys, and returns
// that map as a section with an empty path. Anchors, aliases, tags, merge keys and
// further documents are refused. The error is a problem.Problem.
//
// A byte-order mark at the front is skipped; line ends may be LF, CR LF or CR.
func Parse(file string, data []byte) (Section, error) {
	text, fault := plainText(file, data)
	if fault != nil {
		return Section{}, *fault
	}
	doc, fault := parseYAML(file, text)
	if fault != nil {
		return Section{}, *fault
	}
	s := Section{File: file, Node: doc.Body, Line: 1, Col: 1, ledger: &Ledger{assumed: map[string]bool{}}}
	if _, ok := asMap(doc.Body); !ok {
		return Section{}, problem.Problem{File: file, Line: 1, Col: 1, Code: "F021",
			Msg: "the file is not a list of keys with values", Help: `write one "key: value" a line; "spotjig new FILE" shows how`}
	}
	if fault := plainNodes(file, doc.Body); fault != nil {
		return Section{}, *fault
	}
	return s, nil
}

// plainText checks bytes before a parser sees them: size, encoding, characters,
// lines and nesting.
func plainText(file string, data []byte) (string, *problem.Problem) {
	at := func(line, col int, code, msg, help string) *problem.Problem {
		return &problem.Problem{File: file, Line: line, Col: col, Code: code, Msg: msg, Help: help}
	}
	if len(data) > FileMax {
		return "", at(0, 0, "F002", fmt.Sprintf("the file is longer than %d bytes", FileMax), "job, machine and material files are a few kilobytes: is this the right file?")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	text := strings.ReplaceAll(strings.ReplaceAll(string(data), "\r\n", "\n"), "\r", "\n")
	lines := strings.Split(text, "\n")
	if len(lines) > linesMax {
		return "", at(linesMax+1, 0, "F005", fmt.Sprintf("more than %d lines", linesMax), "job, machine and material files are a few hundred lines: is this the right file?")
	}
	var nest nesting
	for i, line := range lines {
		if col, what := oddCharacter(line); col > 0 {
			code, help := "F004", "retype the line by hand; use blanks, not tabs or pasted layout characters"
			if what == "" {
				code, what, help = "F003", "bytes that are not UTF-8 text", "save the file as UTF-8"
			}
			return "", at(i+1, col, code, what, help)
		}
		if utf8.RuneCountInString(line) > lineMax {
			return "", at(i+1, lineMax+1, "F005", fmt.Sprintf("a line of more than %d characters", lineMax), "break it into several lines")
		}
		if msg := nest.add(line); msg != "" {
			return "", at(i+1, 0, "F005", msg, "a job file needs no more than three levels")
		}
	}
	return text, nil
}

// oddCharacter returns the column (in runes) of the first character that has no
// place in a text file, and what it is; "" for bytes that are no character.
func oddCharacter(line string) (col int, what string) {
	for i, r := range line {
		col++
		switch {
		case r == utf8.RuneError:
			if _, n := utf8.DecodeRuneInString(line[i:]); n == 1 {
				return col, ""
			}
		case r == '\t' || r == ' ' || unicode.IsPrint(r) || r == '\u00a0' || r == '\u2009' || r == '\u202f':
			// Tabs are the parser's to judge; odd blanks are common in pasted text.
		default:
			return col, fmt.Sprintf("an invisible or control character, U+%04X", r)
		}
	}
	return 0, ""
}

// nesting watches how deep a file nests and how many values it can hold, by
// counting characters wherever they stand: a bound, not a parse.
type nesting struct{ open, items int }

// add counts a line and says what is too much, "" when nothing is.
func (n *nesting) add(line string) string {
	body := strings.TrimLeft(line, " ")
	if len(line)-len(body) > indentMax {
		return fmt.Sprintf("a line set in by more than %d blanks", indentMax)
	}
	if strings.HasPrefix(body, "#") {
		return ""
	}
	dashes := 0
	for rest := body; strings.HasPrefix(rest, "- ") || strings.HasPrefix(rest, "? "); rest = strings.TrimLeft(rest[1:], " ") {
		dashes++
	}
	for _, c := range body {
		switch c {
		case '[', '{':
			n.open++
		case ']', '}':
			n.open = max(0, n.open-1)
		case ',', ':', '-':
			n.items++
		}
		if n.open > nestMax {
			break
		}
	}
	switch {
	case n.open > nestMax || dashes > nestMax:
		return fmt.Sprintf("nested more than %d deep", nestMax)
	case n.items > itemMax:
		return fmt.Sprintf("more than %d values", itemMax)
	}
	return ""
}

// parseYAML turns checked text into its one document. A panic of the parser on
// text it was not made for is a fault of the text here, not of ours.
func parseYAML(file, text string) (doc *ast.DocumentNode, fault *problem.Problem) {
	defer func() {
		if recover() != nil {
			doc, fault = nil, &problem.Problem{File: file, Code: "F006", Msg: "the YAML reader gave up on this text",
				Help: `keep to "key: value" lines as in the file that "spotjig new FILE" writes`}
		}
	}()
	f, err := parser.ParseBytes([]byte(text), 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return nil, syntaxFault(file, text, err)
	}
	if len(f.Docs) == 0 || f.Docs[0].Body == nil && len(f.Docs) == 1 || isEmpty(f.Docs[0].Body) && len(f.Docs) == 1 {
		return nil, &problem.Problem{File: file, Code: "F007", Msg: "the file is empty", Help: `"spotjig new FILE" writes a file to start from`}
	}
	if len(f.Docs) > 1 {
		p := &problem.Problem{File: file, Code: "F008", Msg: `a second document after "---"`, Help: "keep one job, machine or material in a file"}
		if t := f.Docs[1].Start; t != nil {
			p.Line, p.Col = t.Position.Line, t.Position.Column
		}
		return nil, p
	}
	return f.Docs[0], nil
}

// isEmpty tells a document of comments or null from one with values.
func isEmpty(n ast.Node) bool {
	switch n.(type) {
	case nil, *ast.NullNode, *ast.CommentGroupNode, *ast.CommentNode:
		return true
	}
	return false
}

// syntaxFault places and words a parser's error.
func syntaxFault(file, text string, err error) *problem.Problem {
	p := &problem.Problem{File: file, Code: "F006", Msg: "not YAML", Help: `check indentation, closing brackets and quotes; put text with ": " or " #" in it between quotes`}
	var e yaml.Error
	if errors.As(err, &e) {
		p.Msg = "not YAML: " + oneLine(e.GetMessage())
		if t := e.GetToken(); t != nil && t.Position != nil {
			p.Line, p.Col = t.Position.Line, t.Position.Column
		}
	}
	if lines := strings.Split(text, "\n"); p.Line > 0 && p.Line <= len(lines) {
		if in := strings.TrimLeft(lines[p.Line-1], " "); strings.HasPrefix(in, "\t") {
			p.Msg, p.Help = "not YAML: the line is set in by a tab", "write blanks instead, as many as on the lines beside it"
		}
	}
	return p
}

// oneLine keeps the printable characters of a message that quotes the file.
func oneLine(s string) string {
	const shown = 120
	s = strings.Map(func(r rune) rune {
		if r != ' ' && !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, s)
	if r := []rune(s); len(r) > shown {
		s = string(r[:shown]) + "..."
	}
	return s
}

// plainNodes refuses what YAML can do beyond maps, lists and plain values: it is
// never needed here, and lets a small file grow large or mean something else.
func plainNodes(file string, body ast.Node) *problem.Problem {
	v := &plainVisitor{}
	ast.Walk(v, body)
	if v.found == nil {
		return nil
	}
	p := &problem.Problem{File: file, Code: "F022", Msg: "anchors, aliases, tags and merge keys are not read", Help: "write the value out where it is wanted"}
	if t := v.found.GetToken(); t != nil && t.Position != nil {
		p.Line, p.Col = t.Position.Line, t.Position.Column
	}
	return p
}

// plainVisitor remembers the first node of a kind that is refused.
type plainVisitor struct{ found ast.Node }

// Visit implements ast.Visitor.
func (v *plainVisitor) Visit(n ast.Node) ast.Visitor {
	switch n.(type) {
	case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode, *ast.DirectiveNode:
		if v.found == nil {
			v.found = n
		}
		return nil
	}
	return v
}

// asMap returns the key-value pairs of a map node.
func asMap(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch m := n.(type) {
	case *ast.MappingNode:
		return m.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{m}, true
	}
	return nil, false
}

// scalarText returns what a plain value says, as written; ok is false for maps,
// lists and nothing.
func scalarText(n ast.Node) (text string, ok bool) {
	switch v := n.(type) {
	case *ast.StringNode:
		return v.Value, true
	case *ast.LiteralNode:
		if v.Value == nil {
			return "", true
		}
		return v.Value.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NanNode, *ast.InfinityNode:
		return n.GetToken().Value, true
	}
	return "", false
}
