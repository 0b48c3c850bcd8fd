package job

import (
	"strconv"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"spotjig/layout/problem"
)

// Locate gives problems that name a field but no line their place in the file:
// those of packages that work on values and never saw the file. A field the file
// does not spell out gets the place of the nearest section that it does. A Col
// that counts inside a value, as in an expression, is added to the value's.
// Problems that already have a line, and all of them when the file cannot be
// parsed, come back as they are.
func Locate(file string, data []byte, list problem.List) problem.List {
	out := append(problem.List(nil), list...)
	sec, err := Parse(file, data)
	if err != nil {
		return out
	}
	for i := range out {
		p := &out[i]
		if p.Line > 0 || p.Field == "" {
			continue
		}
		line, col, whole := find(sec.Node, p.Field)
		p.File, p.Line = file, line
		if whole && p.Col > 0 {
			col += p.Col - 1
		}
		p.Col = col
	}
	return out
}

// find walks a field path such as "house[2].x". whole is false when only a part
// of the path is in the file.
func find(n ast.Node, path string) (line, col int, whole bool) {
	line, col = 1, 1
	for path != "" {
		var step string
		step, path = cutStep(path)
		next := child(n, step)
		if next == nil {
			return line, col, false
		}
		n = next
		line, col = position(n)
	}
	if s, ok := n.(*ast.StringNode); ok && strings.HasPrefix(strings.TrimSpace(s.Token.Origin), `"`) ||
		ok && strings.HasPrefix(strings.TrimSpace(s.Token.Origin), "'") {
		col++ // the text begins behind the quote
	}
	return line, col, true
}

// cutStep takes the first key or "[n]" off a path.
func cutStep(path string) (step, rest string) {
	step = firstStep(path)
	return step, strings.TrimPrefix(path[len(step):], ".")
}

// child is the value under a key or at an index; nil when there is none.
func child(n ast.Node, step string) ast.Node {
	if strings.HasPrefix(step, "[") {
		i, err := strconv.Atoi(strings.Trim(step, "[]"))
		seq, ok := n.(*ast.SequenceNode)
		if err == nil && !ok && i == 0 {
			return n // a single value stands for a list of one
		}
		if err != nil || !ok || i < 0 || i >= len(seq.Values) {
			return nil
		}
		return seq.Values[i]
	}
	pairs, _ := asMap(n)
	for _, pair := range pairs {
		if keyText(pair.Key) != step || pair.Value == nil {
			continue
		}
		if _, null := pair.Value.(*ast.NullNode); null {
			return nil
		}
		return pair.Value
	}
	return nil
}
