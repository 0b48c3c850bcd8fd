package job

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"github.com/goccy/go-yaml/ast"

	"spotjig/layout/problem"
)

// How a value is changed in a file that a person wrote
//
// The text is changed, not the tree: comments, order and spelling of everything else stay
// as they are. The tree only tells where a value stands. Four places are known: a value
// that is there, a key whose value is missing, a section without the key, and a file
// without the section. Whatever was done, the new text is parsed, and every value of it
// held against the old one: only the one asked for may differ, or the change is refused
// and the person is sent to the text.

// Values are what a file's keys say, as written.
type Values struct{ top ast.Node }

// Given reads a file's values; a file that cannot be parsed has none.
func Given(data []byte) Values {
	sec, err := Parse("", data)
	if err != nil {
		return Values{}
	}
	return Values{sec.Node}
}

// At returns what stands under a path such as "table.length": one text, or the items of a
// list; nil when there is nothing, or more than that.
func (v Values) At(path string) []string {
	n, ok := nodeAt(v.top, path)
	if !ok {
		return nil
	}
	if seq, ok := n.(*ast.SequenceNode); ok {
		out := []string{}
		for _, v := range seq.Values {
			text, ok := scalarText(v)
			if !ok {
				return nil
			}
			out = append(out, text)
		}
		return out
	}
	if text, ok := scalarText(n); ok {
		return []string{text}
	}
	return nil
}

// nodeAt walks a path to its end.
func nodeAt(n ast.Node, path string) (ast.Node, bool) {
	for path != "" {
		var step string
		step, path = cutStep(path)
		if n = child(n, step); n == nil {
			return nil, false
		}
	}
	return n, true
}

// SetText returns the file with one value changed, "" takes its key away. Comments and
// everything else stay. The error is a problem.Problem: the file cannot be parsed, or the
// value stands where only a person can change it.
func SetText(data []byte, path, text string) ([]byte, error) {
	if text == "" {
		return set(data, path, "", nil)
	}
	return set(data, path, Quote(text), map[string]string{path: text})
}

// SetList is SetText for a list of words.
func SetList(data []byte, path string, items []string) ([]byte, error) {
	want := map[string]string{}
	var written []string
	for i, item := range items {
		written = append(written, Quote(item))
		want[fmt.Sprintf("%s[%d]", path, i)] = item
	}
	if len(items) == 0 {
		return set(data, path, "", nil)
	}
	return set(data, path, "["+strings.Join(written, ", ")+"]", want)
}

// pathForm is a path that put knows: a key, or a section and a key.
var pathForm = regexp.MustCompile(`^[a-z0-9_]+(\.[a-z0-9_]+)?$`)

// set puts what is written at the path and sees that nothing but want has changed.
func set(data []byte, path, written string, want map[string]string) ([]byte, error) {
	text, fault := plainText("", data)
	if fault != nil {
		return nil, *fault
	}
	sec, err := Parse("", []byte(text))
	if err != nil {
		return nil, err
	}
	e := edit{lines: strings.Split(text, "\n"), top: sec.Node}
	if !pathForm.MatchString(path) {
		return nil, problem.Problem{Field: path, Code: "F026", Msg: "a form changes a key of the file or of one of its sections", Help: "change it in the text of the job file"}
	}
	refused := problem.Problem{Field: path, Code: "F026", Msg: "this value stands where a form cannot change it", Help: "change it in the text of the job file"}
	if !e.put(path, written) {
		return nil, refused
	}
	out := []byte(strings.Join(e.lines, "\n"))
	after, err := Parse("", out)
	if err != nil {
		return nil, refused
	}
	was, is := flat(sec.Node, "", map[string]string{}), flat(after.Node, "", map[string]string{})
	maps.DeleteFunc(was, func(k, _ string) bool {
		return k == path || strings.HasPrefix(k, path+"[") || strings.HasPrefix(k, path+".")
	})
	maps.Copy(was, want)
	if !maps.Equal(was, is) {
		return nil, refused
	}
	return out, nil
}

// flat lists every value under its path.
func flat(n ast.Node, path string, out map[string]string) map[string]string {
	if pairs, ok := asMap(n); ok {
		for _, p := range pairs {
			key := keyText(p.Key)
			if path != "" {
				key = path + "." + key
			}
			flat(p.Value, key, out)
		}
		return out
	}
	if seq, ok := n.(*ast.SequenceNode); ok {
		for i, v := range seq.Values {
			flat(v, fmt.Sprintf("%s[%d]", path, i), out)
		}
		return out
	}
	if text, ok := scalarText(n); ok {
		out[path] = text
	}
	return out
}

// edit is a file's lines being changed.
type edit struct {
	lines []string
	top   ast.Node
}

// put writes a value at a path of one step or two, or takes its key away for "".
func (e *edit) put(path, written string) bool {
	section, key, inside := strings.Cut(path, ".")
	if !inside {
		section, key = "", path
	}
	in := e.top
	if inside {
		in = child(e.top, section)
	}
	if pair := pairOf(in, key); pair != nil {
		flow := isFlow(in)
		switch {
		case written != "":
			return e.replace(pair, written, flow)
		case flow:
			return e.takeFlow(pair)
		}
		return e.take(pair)
	}
	switch {
	case written == "":
		return true
	case in == nil:
		return e.open(section, key+": "+written)
	case isFlow(in):
		return e.intoFlow(in, key+": "+written)
	}
	return e.into(in, key, written)
}

// pairOf finds a key of a map.
func pairOf(n ast.Node, key string) *ast.MappingValueNode {
	pairs, _ := asMap(n)
	for _, p := range pairs {
		if keyText(p.Key) == key {
			return p
		}
	}
	return nil
}

// isFlow tells a map in braces.
func isFlow(n ast.Node) bool {
	m, ok := n.(*ast.MappingNode)
	return ok && m.IsFlowStyle
}

// isNull tells a value that is not there.
func isNull(n ast.Node) bool {
	_, null := n.(*ast.NullNode)
	return n == nil || null
}

// replace writes over a value that stands on one line, or behind a key that has none.
func (e *edit) replace(pair *ast.MappingValueNode, written string, flow bool) bool {
	if isNull(pair.Value) {
		line, col := position(pair.Key)
		text := []rune(e.lines[line-1])
		for i := col - 1; i < len(text); i++ {
			if text[i] == ':' {
				e.lines[line-1] = string(text[:i+1]) + " " + written + string(text[i+1:])
				return true
			}
		}
		return false
	}
	line, col := position(pair.Value)
	if line < 1 || line > len(e.lines) {
		return false
	}
	text := []rune(e.lines[line-1])
	end := valueEnd(text, col-1, flow)
	if end < 0 {
		return false
	}
	// What stands behind stays in its column where there is room.
	tail := string(text[end:])
	if trimmed := strings.TrimLeft(tail, " "); strings.HasPrefix(trimmed, "#") {
		gap := len(tail) - len(trimmed) + (end - (col - 1)) - len([]rune(written))
		tail = strings.Repeat(" ", max(gap, 1)) + trimmed
	}
	e.lines[line-1] = string(text[:col-1]) + written + tail
	return true
}

// valueEnd is where a value of one line that begins at from ends; -1 when it does not
// end there.
func valueEnd(text []rune, from int, flow bool) int {
	if from < 0 || from >= len(text) {
		return -1
	}
	switch text[from] {
	case '\'', '"':
		return quoteEnd(text, from)
	case '[':
		depth := 0
		for i := from; i < len(text); i++ {
			switch text[i] {
			case '\'', '"':
				if i = quoteEnd(text, i) - 1; i < 0 {
					return -1
				}
			case '[', '{':
				depth++
			case ']', '}':
				if depth--; depth == 0 {
					return i + 1
				}
			}
		}
		return -1
	case '{', '|', '>', '-':
		return -1
	}
	end := len(text)
	for i := from; i < len(text); i++ {
		if text[i] == '#' && i > 0 && text[i-1] == ' ' || flow && strings.ContainsRune(",}]", text[i]) {
			end = i
			break
		}
	}
	for end > from && text[end-1] == ' ' {
		end--
	}
	return end
}

// quoteEnd is behind the quote that ends the text begun at from; -1 when none does.
func quoteEnd(text []rune, from int) int {
	for i := from + 1; i < len(text); i++ {
		switch {
		case text[i] == '\\' && text[from] == '"':
			i++
		case text[i] != text[from]:
		case text[from] == '\'' && i+1 < len(text) && text[i+1] == '\'':
			i++
		default:
			return i + 1
		}
	}
	return -1
}

// take removes the line of a key whose value stands behind it.
func (e *edit) take(pair *ast.MappingValueNode) bool {
	line, _ := position(pair.Key)
	if !isNull(pair.Value) {
		if at, _ := position(pair.Value); at != line {
			return false
		}
	}
	e.lines = slices.Delete(e.lines, line-1, line)
	return true
}

// takeFlow removes a key between braces, with one of the commas beside it.
func (e *edit) takeFlow(pair *ast.MappingValueNode) bool {
	line, col := position(pair.Key)
	at, from := position(pair.Value)
	if at != line {
		return false
	}
	text := []rune(e.lines[line-1])
	end := valueEnd(text, from-1, true)
	if end < 0 {
		return false
	}
	before, after := string(text[:col-1]), strings.TrimLeft(string(text[end:]), " ")
	if rest, comma := strings.CutPrefix(after, ","); comma {
		after = strings.TrimLeft(rest, " ")
	} else {
		before = strings.TrimRight(strings.TrimSuffix(strings.TrimRight(before, " "), ","), " ")
	}
	e.lines[line-1] = before + after
	return true
}

// intoFlow adds a key as the first between braces.
func (e *edit) intoFlow(in ast.Node, pair string) bool {
	line, col := position(in)
	text := []rune(e.lines[line-1])
	if col > len(text) || text[col-1] != '{' {
		return false
	}
	if m := in.(*ast.MappingNode); len(m.Values) > 0 {
		pair += ", "
	}
	e.lines[line-1] = string(text[:col]) + pair + string(text[col:])
	return true
}

// into adds a key to a section of lines: in the place of its example, where the file has
// one in a comment, else behind the last value of one line.
func (e *edit) into(in ast.Node, key, written string) bool {
	pairs, ok := asMap(in)
	if !ok || len(pairs) == 0 {
		return false
	}
	first, col := position(pairs[0].Key)
	indent := strings.Repeat(" ", col-1)
	for i := first - 1; i < len(e.lines) && (i < first || inSection(e.lines[i], col)); i++ {
		if isExample(e.lines[i], indent, key) {
			e.lines[i] = indent + key + ": " + written
			return true
		}
	}
	at := first - 1
	for _, p := range pairs {
		if line, _ := position(p.Key); !isNull(p.Value) {
			if vline, vcol := position(p.Value); vline == line && valueEnd([]rune(e.lines[line-1]), vcol-1, false) > 0 {
				at = line
			}
		}
	}
	e.lines = slices.Insert(e.lines, at, indent+key+": "+written)
	return true
}

// isExample tells a comment that shows a key with a value, as "spotjig new" writes them.
func isExample(line, indent, key string) bool {
	rest, ok := strings.CutPrefix(line, indent+"# "+key+":")
	return ok && (rest == "" || rest[0] == ' ')
}

// inSection tells whether a line belongs to keys that begin at a column, or is empty or a
// comment among them.
func inSection(line string, col int) bool {
	trimmed := strings.TrimLeft(line, " ")
	return trimmed == "" || len(line)-len(trimmed) >= col-1 && (col > 1 || strings.HasPrefix(trimmed, "#"))
}

// open writes a section that the file lacks: behind its key where that stands without a
// value, else at the end.
func (e *edit) open(section, pair string) bool {
	if section == "" {
		return false
	}
	if p := pairOf(e.top, section); p != nil {
		line, col := position(p.Key)
		if isFlow(e.top) || col != 1 {
			return false
		}
		key, _, _ := strings.Cut(pair, ":")
		for i := line; i < len(e.lines) && inSection(e.lines[i], 3); i++ {
			if isExample(e.lines[i], "  ", key) {
				e.lines[i] = "  " + pair
				return true
			}
		}
		e.lines = slices.Insert(e.lines, line, "  "+pair)
		return true
	}
	for len(e.lines) > 0 && e.lines[len(e.lines)-1] == "" {
		e.lines = e.lines[:len(e.lines)-1]
	}
	e.lines = append(e.lines, "", section+":", "  "+pair, "")
	return true
}
