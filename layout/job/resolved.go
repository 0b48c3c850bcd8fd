package job

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spotjig/layout/problem"
)

// assumedMax: more keys than any job settles.
const assumedMax = 5_000

// Ledger is what reading a job settled, key by key: every value that the job was made
// with, whether it was stated or not. It fills while the sections are read.
type Ledger struct {
	assumed map[string]bool // paths that the file has and nobody stated
	values  []settled
	at      map[string]int // by path
	idle    problem.List
}

// settled is the value of one key, as a file has it; "" where the key came to nothing, or
// others say the same.
type settled struct {
	path, text string
	given      bool
}

// settle notes what a key came to.
func (l *Ledger) settle(path, text string, given bool) {
	if l == nil {
		return
	}
	if l.at == nil {
		l.at = map[string]int{}
	}
	i, again := l.at[path]
	switch {
	case !again:
		l.at[path] = len(l.values)
		l.values = append(l.values, settled{path, text, given})
	case text != "":
		l.values[i].text, l.values[i].given = text, given
	}
}

// drop forgets a key and what is below it; their place stays.
func (l *Ledger) drop(path string) {
	if l == nil {
		return
	}
	for i, v := range l.values {
		if v.path == path || strings.HasPrefix(v.path, path+".") {
			l.values[i].text = ""
		}
	}
}

// full is a key's path in the whole job.
func (f *Fields) full(key string) string { return f.sec.root + f.path(key) }

// Settle notes what a key came to, as text that reads back to it: for readers that make
// more of a text than the getters here.
func (f *Fields) Settle(key, text string) { f.sec.ledger.settle(f.full(key), text, f.Has(key)) }

// SettleAs is Settle for a key that says what others of the file do; given tells whether
// a person stated it.
func (f *Fields) SettleAs(key, text string, given bool) {
	f.sec.ledger.settle(f.full(key), text, given)
}

// Stated tells whether a person stated a value for a key of the job.
func (l *Ledger) Stated(path string) bool {
	if l == nil {
		return false
	}
	i, ok := l.at[path]
	return ok && l.values[i].given && l.values[i].text != ""
}

// Idle are the keys found so far that a person stated and that change nothing in this job.
func (l *Ledger) Idle() problem.List {
	if l == nil {
		return nil
	}
	return slices.Clone(l.idle)
}

// Idle notes that a key changes nothing in this job, with why and what to do, if a person
// stated it. A value that nobody stated asks for nothing.
func (f *Fields) Idle(key, why, help string) {
	l := f.sec.ledger
	if l == nil || !f.Has(key) {
		return
	}
	p := problem.Idle(f.path(key), why, help)
	at := f.Problem(key, "", "", "")
	p.File, p.Line, p.Col = at.File, at.Line, at.Col
	if !slices.Contains(l.idle, p) { // a section may be read more than once
		l.idle.Add(p)
	}
}

// Settled tells whether it is noted what a key came to.
func (f *Fields) Settled(key string) bool {
	if f.sec.ledger == nil {
		return false
	}
	i, ok := f.sec.ledger.at[f.full(key)]
	return ok && f.sec.ledger.values[i].text != ""
}

// Unsettle forgets a key and what is below it: another says the same.
func (f *Fields) Unsettle(key string) { f.sec.ledger.drop(f.full(key)) }

// Exact prints a number so that it reads back to the same bits.
func Exact(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// ExactLengths prints lengths in mm as a list that reads back to the same bits.
func ExactLengths(v ...float64) string {
	var parts []string
	for _, x := range v {
		parts = append(parts, Exact(x)+" mm")
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// QuotedList is a list of words.
func QuotedList(words []string) string {
	var parts []string
	for _, w := range words {
		parts = append(parts, Quote(w))
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// assumedList reads which of the file's values nobody stated.
func assumedList(f *Fields) {
	f.Note(Key{Path: "assumed", Form: "words", Limits: fmt.Sprintf("at most %d", assumedMax), Most: assumedMax})
	for _, it := range f.List("assumed", assumedMax) {
		path, _ := it.Word()
		if _, _, whole := find(f.sec.Node, path); path == "" || !whole {
			f.faults.Add(problem.Problem{File: it.File, Line: it.Line, Col: it.Col, Field: it.Path, Code: "J001",
				Msg: fmt.Sprintf("%q is assumed and the file has no such key", oneLine(path)), Help: "leave this list to spotjig, which writes it"})
			continue
		}
		f.sec.ledger.assumed[path] = true
	}
}

// listWidth is where lines of the list of what was assumed end, in characters.
const listWidth = 96

// YAML is the job with every key written out, and the list of those that nobody stated.
// Reading it gives the same job, and the same text again.
func (l *Ledger) YAML() string {
	var b, keys strings.Builder
	var assumed []string
	writeLevel(&keys, "", "", l.values, &assumed)
	line := "assumed: ["
	for _, path := range assumed {
		item := Quote(path) + ", "
		if len(line)+len(item) > listWidth {
			b.WriteString(strings.TrimRight(line, " ") + "\n")
			line = "  "
		}
		line += item
	}
	b.WriteString(strings.TrimSuffix(strings.TrimRight(line, " "), ",") + "]\n")
	return b.String() + keys.String()
}

// writeLevel writes the values below a path, those of one key together, in the order in
// which the first of each was asked for, and adds what is assumed to a list.
func writeLevel(b *strings.Builder, under, indent string, values []settled, assumed *[]string) {
	var keys []string
	below := map[string][]settled{}
	for _, v := range values {
		key := firstStep(v.path[len(under):])
		if below[key] == nil {
			keys = append(keys, key)
		}
		below[key] = append(below[key], v)
	}
	list := strings.HasPrefix(keys[0], "[")
	for _, key := range keys {
		v := below[key]
		if !slices.ContainsFunc(v, func(s settled) bool { return s.text != "" }) {
			continue
		}
		if v[0].path == under+key && v[0].text == "" { // a section's own place
			v = v[1:]
		}
		path := under + key
		switch {
		case list:
			var item strings.Builder
			writeLevel(&item, path+".", indent+"  ", v, assumed)
			b.WriteString(indent + "- " + strings.TrimLeft(item.String(), " "))
		case len(v) == 1 && v[0].path == path:
			mark := ""
			if !v[0].given {
				mark = "  # assumed"
				*assumed = append(*assumed, path)
			}
			b.WriteString(indent + key + ": " + v[0].text + mark + "\n")
		case v[0].path[len(path)] == '[':
			b.WriteString(indent + key + ":\n")
			writeLevel(b, path, indent+"  ", v, assumed)
		default:
			b.WriteString(indent + key + ":\n")
			writeLevel(b, path+".", indent+"  ", v, assumed)
		}
	}
}

// firstStep is the first key, or place in a list, of a path.
func firstStep(path string) string {
	if end := strings.IndexByte(path, ']'); path[0] == '[' && end > 0 {
		return path[:end+1]
	}
	for i := range path {
		if path[i] == '[' && i > 0 || path[i] == '.' && !(i > 0 && i+1 < len(path) && isDigit(path[i+1]) && isDigit(path[i-1])) {
			return path[:i]
		}
	}
	return path
}
