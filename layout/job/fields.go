package job

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"

	"spotjig/layout/figure"
	"spotjig/layout/geom"
	"spotjig/layout/problem"
)

// Fields reads one map of a file, key by key, with defaults and limits. What is
// wrong goes to the list of faults; a getter then returns the default, so that
// reading goes on. Done reports the keys nobody asked for.
type Fields struct {
	sec    Section
	faults *problem.List
	given  map[string]entry
	order  []entry
	asked  []string
	keys   *[]Key // nil: nobody wants to know
}

// entry is one key with its value as found.
type entry struct {
	key             string
	keyLine, keyCol int
	line, col       int
	value           ast.Node // nil when nothing stands behind the key
}

// Open begins reading a section. A section that is not there reads as one whose
// every key is absent; one that is not a map is a fault.
func Open(s Section, faults *problem.List) *Fields {
	f := &Fields{sec: s, faults: faults, given: map[string]entry{}}
	if s.Node == nil {
		return f
	}
	pairs, ok := asMap(s.Node)
	if !ok {
		faults.Add(problem.Problem{File: s.File, Line: s.Line, Col: s.Col, Field: s.Path, Code: "J002",
			Msg: "keys with values are wanted here", Help: "write {key: value, ...}, or one key a line below, set in by two blanks"})
		return f
	}
	for _, pair := range pairs {
		f.addPair(pair)
	}
	return f
}

// addPair files one pair of the map, the first of each key.
func (f *Fields) addPair(pair *ast.MappingValueNode) {
	e := entry{key: keyText(pair.Key)}
	e.keyLine, e.keyCol = position(pair.Key)
	if _, null := pair.Value.(*ast.NullNode); !null && pair.Value != nil {
		e.value = pair.Value
	}
	e.line, e.col = position(pair.Value)
	if e.value == nil {
		e.line, e.col = e.keyLine, e.keyCol
	}
	if first, twice := f.given[e.key]; twice {
		f.faults.Add(problem.Problem{File: f.sec.File, Line: e.keyLine, Col: e.keyCol, Field: f.path(oneLine(e.key)), Code: "F009",
			Msg: fmt.Sprintf("the key stands here twice; first in line %d", first.keyLine), Help: "remove one of the two"})
		return
	}
	f.given[e.key] = e
	f.order = append(f.order, e)
}

// keyText is a key as written.
func keyText(k ast.MapKeyNode) string {
	if t, ok := scalarText(k); ok {
		return t
	}
	if t := k.GetToken(); t != nil {
		return t.Value
	}
	return ""
}

// position is where a node begins, 1-based.
func position(n ast.Node) (line, col int) {
	if n == nil {
		return 0, 0
	}
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		return position(m.Values[0].Key)
	}
	if m, ok := n.(*ast.MappingValueNode); ok {
		return position(m.Key)
	}
	t := n.GetToken()
	if t == nil || t.Position == nil {
		return 0, 0
	}
	return t.Position.Line, t.Position.Column
}

// path is the field path of a key of this map.
func (f *Fields) path(key string) string {
	if f.sec.Path == "" {
		return key
	}
	return f.sec.Path + "." + key
}

// look notes that the key is known and returns what the file has for it; ok is
// false when it has nothing.
func (f *Fields) look(key string) (e entry, ok bool) {
	if !slices.Contains(f.asked, key) {
		f.asked = append(f.asked, key)
	}
	f.SettleAs(key, "", false)
	e, ok = f.given[key]
	return e, ok && e.value != nil
}

// There tells whether the file has a value for the key, stated by a person or assumed.
func (f *Fields) There(key string) bool {
	e, ok := f.given[key]
	return ok && e.value != nil
}

// Has tells whether a person stated a value for the key.
func (f *Fields) Has(key string) bool {
	return f.There(key) && !(f.sec.ledger != nil && f.sec.ledger.assumed[f.full(key)])
}

// Written tells whether the key stands in the file, with a value or without.
func (f *Fields) Written(key string) bool {
	_, ok := f.given[key]
	return ok
}

// Keys lists the keys asked for so far, in that order.
func (f *Fields) Keys() []string { return append([]string(nil), f.asked...) }

// Filled lists the keys asked for so far behind which something stands: a value, a map, or a
// list that is not empty.
func (f *Fields) Filled() []string {
	var out []string
	for _, key := range f.asked {
		seq, list := f.given[key].value.(*ast.SequenceNode)
		if f.There(key) && !(list && len(seq.Values) == 0) {
			out = append(out, key)
		}
	}
	return out
}

// Problem builds a fault at the key's value; at the section when the key is not
// there, and without a line when the section is the whole file.
func (f *Fields) Problem(key, code, msg, help string) problem.Problem {
	p := problem.Problem{File: f.sec.File, Line: f.sec.Line, Col: f.sec.Col, Field: f.path(key), Code: code, Msg: msg, Help: help}
	if key == "" {
		p.Field = f.sec.Path
	}
	if e, ok := f.given[key]; ok {
		p.Line, p.Col = e.line, e.col
	} else if f.sec.Path == "" {
		p.Line, p.Col = 0, 0 // there is no line to point at
	}
	return p
}

// Fault reports a fault at the key's value, or at the section when the key is not
// there.
func (f *Fields) Fault(key, code, msg, help string) {
	f.faults.Add(f.Problem(key, code, msg, help))
}

// Missing reports that a key without a default is not there.
func (f *Fields) Missing(key, help string) {
	if !f.misspelt(key) {
		f.Fault(key, "J003", "a value is needed and none is given", help)
	}
}

// misspelt tells whether the file has a key that nobody asked for and that is one
// letter or so off this one: Done names it, and nothing more need be said.
func (f *Fields) misspelt(key string) bool {
	return slices.ContainsFunc(f.order, func(e entry) bool {
		return !slices.Contains(f.asked, e.key) && problem.Nearest(e.key, []string{key}) != ""
	})
}

// Done reports every key that nobody asked for, with the nearest known one.
func (f *Fields) Done() {
	for _, e := range f.order {
		if slices.Contains(f.asked, e.key) {
			continue
		}
		msg := fmt.Sprintf("unknown key %q", oneLine(e.key))
		if n := problem.Nearest(e.key, f.asked); n != "" {
			msg += fmt.Sprintf("; did you mean %q?", n)
		}
		f.faults.Add(problem.Problem{File: f.sec.File, Line: e.keyLine, Col: e.keyCol, Field: f.path(oneLine(e.key)), Code: "J001",
			Msg: msg, Help: "known keys here: " + strings.Join(f.asked, ", ")})
	}
}

// Section returns the key's value for another reader.
func (f *Fields) Section(key string) Section {
	f.Note(Key{Path: key, Form: "keys"})
	e, ok := f.look(key)
	s := f.sec.part(f.path(key))
	if ok {
		s.Node, s.Line, s.Col = e.value, e.line, e.col
	}
	return s
}

// Sub begins reading the map under the key.
func (f *Fields) Sub(key string) *Fields { return Open(f.Section(key), f.faults).Noted(f.keys) }

// List returns the items of the list under the key, at most max of them. Their
// paths count from 0: "sheets[0]". A single value stands for a list of one.
func (f *Fields) List(key string, max int) []Section {
	f.Note(Key{Path: key, Form: "list", Limits: fmt.Sprintf("at most %d", max), Most: max})
	e, ok := f.look(key)
	if !ok {
		return nil
	}
	seq, ok := e.value.(*ast.SequenceNode)
	if !ok {
		s := f.sec.part(f.path(key))
		s.Line, s.Col, s.Node = e.line, e.col, e.value
		return []Section{s}
	}
	if fixed, ok := commaList(seq); ok {
		f.Fault(key, "L005", "commas inside the numbers of a list, which a comma parts", "write decimal points: "+fixed)
		return nil
	}
	if len(seq.Values) > max {
		f.Fault(key, "J011", fmt.Sprintf("a list of %d; at most %d", len(seq.Values), max), "shorten the list")
		return nil
	}
	var out []Section
	for i, v := range seq.Values {
		s := f.sec.part(fmt.Sprintf("%s[%d]", f.path(key), i))
		s.Node = v
		s.Line, s.Col = position(v)
		if _, null := v.(*ast.NullNode); null {
			s.Line, s.Col, s.Node = e.line, e.col, nil
		}
		out = append(out, s)
	}
	return out
}

// commaList finds a list whose numbers were written with decimal commas, "[4,83, 4,9]":
// some of its commas have a blank behind them and some, between digits, have none. It
// returns the list with points.
func commaList(seq *ast.SequenceNode) (fixed string, ok bool) {
	if !seq.IsFlowStyle || len(seq.Values) < 2 {
		return "", false
	}
	var items []string
	tight, loose := 0, 0
	endLine, endCol := 0, 0
	for i, v := range seq.Values {
		text, isText := scalarText(v)
		line, col := position(v)
		if !isText || text == "" {
			return "", false
		}
		glued := i > 0 && line == endLine && col == endCol+1
		switch {
		case glued && strings.Trim(strings.TrimLeft(items[len(items)-1], "+-"), "0123456789") == "" && isDigit(text[0]):
			items[len(items)-1] += "." + text
			tight++
		default:
			items = append(items, text)
			if i > 0 && !glued {
				loose++
			}
		}
		endLine, endCol = line, col+utf8.RuneCountInString(text)
	}
	return "[" + strings.Join(items, ", ") + "]", tight > 0 && loose > 0
}

// Items begins reading each map of the list under the key, at most max of them; nil
// when there is no list. An item with nothing in it is a fault.
func (f *Fields) Items(key string, max int) []*Fields {
	var out []*Fields
	for _, it := range f.List(key, max) {
		if !it.Given() {
			f.faults.Add(problem.Problem{File: it.File, Line: it.Line, Col: it.Col, Field: it.Path, Code: "J002",
				Msg: "an empty item in the list", Help: "write {key: value, ...}, or remove the dash"})
			continue
		}
		out = append(out, Open(it, f.faults).Noted(f.keys))
	}
	return out
}

// Plain returns the value's text as written, after the checks of every text; ok
// is false when there is none.
func (f *Fields) Plain(key string, max int) (text string, ok bool) {
	f.Note(Key{Path: key, Form: "text", Limits: fmt.Sprintf("at most %d characters", max), Most: max})
	e, ok := f.look(key)
	if !ok {
		return "", false
	}
	text, ok = scalarText(e.value)
	if !ok {
		f.Fault(key, "J002", "one value is wanted here, not a list or keys", "write key: value")
		return "", false
	}
	if msg := textFault(text, max); msg != "" {
		f.Fault(key, "J004", msg, "use letters, digits, blanks and marks on one short line")
		return "", false
	}
	return text, true
}

// textFault says what is wrong with a text, "" when nothing is. What passes holds
// printable characters and single blanks only: no line ends, no control, layout or
// direction characters, whatever the file's escapes say.
func textFault(text string, max int) string {
	if n := utf8.RuneCountInString(text); n > max {
		return fmt.Sprintf("%d characters; at most %d", n, max)
	}
	for _, r := range text {
		if !unicode.IsPrint(r) || r == utf8.RuneError || problem.Unseen(r) {
			return fmt.Sprintf("a character that cannot be printed, U+%04X", r)
		}
	}
	return ""
}

// Text returns a text of at most max characters, trimmed; def when there is none.
func (f *Fields) Text(key, def string, max int) string {
	f.Note(Key{Path: key, Form: "text", Limits: fmt.Sprintf("at most %d characters", max), Default: def, Most: max})
	text, ok := f.Plain(key, max)
	if !ok {
		text = def
	}
	text = strings.TrimSpace(text)
	if text != "" || ok {
		f.Settle(key, Quote(text))
	}
	return text
}

// wordMax: longest word of a list of known ones that is looked at.
const wordMax = 60

// Word returns one of the known words; def when there is none. Capitals do not matter.
func (f *Fields) Word(key, def string, known ...string) string {
	f.Note(Key{Path: key, Form: "one of", Values: known, Default: def})
	text, ok := f.Plain(key, wordMax)
	if !ok {
		if def != "" {
			f.Settle(key, Quote(def))
		}
		return def
	}
	w := strings.ToLower(strings.TrimSpace(text))
	for _, k := range known {
		if w == strings.ToLower(k) {
			f.Settle(key, Quote(k))
			return k
		}
	}
	msg := fmt.Sprintf("unknown value %q", text)
	if n := problem.Nearest(text, known); n != "" {
		msg += fmt.Sprintf("; did you mean %q?", n)
	}
	f.Fault(key, "J008", msg, "known: "+strings.Join(known, ", "))
	return def
}

// Yes returns a yes or no; def when there is none.
func (f *Fields) Yes(key string, def bool) bool {
	f.Note(Key{Path: key, Form: "yes or no", Default: figure.YesNo(def)})
	text, ok := f.Plain(key, wordMax)
	if !ok {
		text = figure.YesNo(def)
	}
	switch strings.ToLower(text) {
	case "yes", "true":
		f.Settle(key, "yes")
		return true
	case "no", "false":
		f.Settle(key, "no")
		return false
	}
	f.Fault(key, "J010", fmt.Sprintf("%q is neither yes nor no", text), "write yes or no")
	return def
}

// Range is a number's default and limits, both ends allowed. The default need not
// lie inside them: 0 often stands for "not given".
type Range struct{ Default, Min, Max float64 }

// Length returns a length in mm, in any of the ways ParseLength reads.
func (f *Fields) Length(key string, r Range) float64 {
	f.noteRange(key, "length", r, millimetres)
	r.Default = OnGrid(r.Default)
	text, ok := f.Plain(key, lengthTextMax)
	if !ok {
		f.settleDefault(key, r, " mm")
		return r.Default
	}
	v, fault := lengthWithin(text, r)
	if fault != nil {
		f.Fault(key, fault.Code, fault.Msg, fault.Help)
		return r.Default
	}
	f.Settle(key, Exact(v)+" mm")
	return v
}

// NamedLength is a length that belongs to something by its name.
type NamedLength struct {
	Name string
	MM   float64
}

// lengthOrEach returns a length as Length does, or those of a map of names to lengths, in
// the file's order; the length is then the default. What the names mean is the caller's
// to say.
func (f *Fields) lengthOrEach(key string, r Range) (float64, []NamedLength) {
	k := Key{Path: key, Form: "length", Limits: millimetres(r.Min) + " to " + millimetres(r.Max) + ", or ids with a length each", Default: millimetres(r.Default), Within: &r, Each: true}
	f.Note(k)
	if _, many := asMap(f.given[key].value); !many {
		return f.Length(key, r), nil
	}
	s := f.Section(key)
	s.ledger = nil // the map is settled as a whole: its names may have points
	sub := Open(s, f.faults)
	if len(sub.order) == 0 {
		f.Missing(key, "write one length, or {id: length}")
	}
	var each []NamedLength
	var parts []string
	for _, e := range sub.order {
		text, ok := sub.Plain(e.key, lengthTextMax)
		if !ok {
			if !sub.There(e.key) {
				sub.Missing(e.key, "write a length behind it, or remove it")
			}
			continue
		}
		v, fault := lengthWithin(text, r)
		if fault != nil {
			sub.Fault(e.key, fault.Code, fault.Msg, fault.Help)
			continue
		}
		each = append(each, NamedLength{e.key, v})
		parts = append(parts, Quote(e.key)+": "+Exact(v)+" mm")
	}
	if len(parts) > 0 {
		f.Settle(key, "{"+strings.Join(parts, ", ")+"}")
	}
	return OnGrid(r.Default), each
}

// lengthWithin reads a length and holds it to its limits.
func lengthWithin(text string, r Range) (float64, *problem.Problem) {
	v, err := ParseLength(text)
	if err != nil {
		return 0, &problem.From(err)[0]
	}
	if v < r.Min || v > r.Max {
		p := lengthFault("L009", outside(text, millimetres(v), r, millimetres), "check the unit: a bare number is in mm")
		return 0, &p
	}
	return v, nil
}

// Lengths returns a list of exactly count lengths; nil when there is none or it is
// at fault.
func (f *Fields) Lengths(key string, count int, r Range) []float64 {
	r.Default = math.Inf(-1)
	f.noteRange(key, fmt.Sprintf("list of %d lengths", count), r, millimetres)
	items := f.List(key, count)
	if items == nil {
		return nil
	}
	if len(items) != count {
		f.Fault(key, "J011", fmt.Sprintf("a list of %d; %d lengths are wanted", len(items), count), "write them between brackets with commas between")
		return nil
	}
	var out []float64
	for _, it := range items {
		text, _ := it.Word()
		v, fault := lengthWithin(text, r)
		if fault != nil {
			fault.File, fault.Line, fault.Col, fault.Field = it.File, it.Line, it.Col, it.Path
			f.faults.Add(*fault)
			return nil
		}
		out = append(out, v)
	}
	f.Settle(key, ExactLengths(out...))
	return out
}

// Words returns a list of words, or the words of one text with blanks between; at
// most max of them.
func (f *Fields) Words(key string, max int) []string {
	f.Note(Key{Path: key, Form: "words", Limits: fmt.Sprintf("at most %d", max), Most: max})
	var out []string
	for _, it := range f.List(key, max) {
		text, ok := it.Word()
		if msg := textFault(text, max*wordMax); !ok || msg != "" {
			f.Fault(key, "J002", "words are wanted here", "write them between brackets with commas between")
			return nil
		}
		out = append(out, strings.Fields(text)...)
	}
	if len(out) > max {
		f.Fault(key, "J011", fmt.Sprintf("a list of %d; at most %d", len(out), max), "shorten the list")
		return nil
	}
	if out != nil {
		f.Settle(key, QuotedList(out))
	}
	return out
}

// outside words a value past a limit: as written, and in mm when that differs.
func outside(text, value string, r Range, print func(float64) string) string {
	if bare := strings.TrimSuffix(value, " mm"); text != value && text != bare {
		value = text + " (" + value + ")"
	}
	return fmt.Sprintf("%s is outside %s to %s", value, print(r.Min), print(r.Max))
}

// millimetres prints a limit exactly.
func millimetres(v float64) string { return plainNumber(v) + " mm" }

// plainNumber prints a number without exponent, as short as it reads back to
// within a millionth.
func plainNumber(v float64) string {
	return strconv.FormatFloat(geom.Millionth(v), 'f', -1, 64)
}

// Number returns a plain number; one of the units may follow it, which then means
// the same as the bare number.
func (f *Fields) Number(key string, r Range, units ...string) float64 {
	v, _ := f.number(key, r, units)
	return v
}

// Angle reads an angle; its range is in degrees, as it is written.
func (f *Fields) Angle(key string, r Range) geom.Angle {
	return geom.FromDegrees(f.Number(key, r, "°", "deg"))
}

// number also tells whether a value was read.
func (f *Fields) number(key string, r Range, units []string) (float64, bool) {
	f.noteRange(key, "number", r, withUnit(units), units...)
	text, ok := f.Plain(key, wordMax)
	if !ok {
		f.settleDefault(key, r, "")
		return r.Default, false
	}
	v, msg, help := ParseNumber(text, units...)
	if msg != "" {
		f.Fault(key, "J005", msg, help)
		return r.Default, false
	}
	if v < r.Min || v > r.Max {
		f.Fault(key, "J006", outside(text, text, r, plainNumber), "give a value inside these limits")
		return r.Default, false
	}
	f.Settle(key, Exact(v))
	return v, true
}

// settleDefault notes a default that a file may state as well.
func (f *Fields) settleDefault(key string, r Range, unit string) {
	if r.Default >= r.Min && r.Default <= r.Max {
		f.Settle(key, Exact(r.Default)+unit)
	}
}

// Whole returns a whole number.
func (f *Fields) Whole(key string, r Range) int {
	f.noteRange(key, "whole number", r, plainNumber)
	v, ok := f.number(key, r, nil)
	if ok && v != math.Trunc(v) {
		f.Fault(key, "J007", plainNumber(v)+" is not a whole number", fmt.Sprintf("give %d or %d", int(math.Floor(v)), int(math.Ceil(v))))
		return int(r.Default)
	}
	return int(v)
}

// ParseNumber reads digits with an optional sign, point and one of the units. msg
// says what is wrong, "" when nothing is.
func ParseNumber(text string, units ...string) (v float64, msg, help string) {
	help = "write digits, with a decimal point where needed"
	if comma := problem.CommaHelp(text); comma != "" {
		help = comma
	}
	if len(units) > 0 {
		help += "; the unit is " + units[0]
	}
	t := strings.TrimSpace(text)
	for _, u := range units {
		if rest, found := strings.CutSuffix(t, u); found && u != "" {
			t = strings.TrimSpace(rest)
			break
		}
	}
	digits := strings.TrimPrefix(strings.TrimPrefix(t, "-"), "+")
	if strings.Trim(digits, "0123456789.") != "" || strings.Trim(digits, ".") == "" || strings.Count(digits, ".") > 1 || len(t)-len(digits) > 1 {
		switch strings.ToLower(strings.Trim(digits, ".")) {
		case "nan", "inf":
			return 0, fmt.Sprintf("%q is not a finite number", text), help
		}
		return 0, fmt.Sprintf("%q is not a number", text), help
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil {
		return 0, fmt.Sprintf("%q is not a number", text), help
	}
	return v + 0, "", ""
}
