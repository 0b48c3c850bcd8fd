package record

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"spotjig/cam/machine"
	"spotjig/layout/geom"
	"spotjig/layout/job"
)

// ErrNumber is wrapped when a number that is not finite would have to be written.
var ErrNumber = errors.New("number is not finite")

// grain is how finely numbers are written.
type grain int

const (
	coarse   grain = iota // six decimals
	fine                  // twelve significant digits
	resolved              // fine; also: may be unbounded, and keys may be missing
)

// field is how one struct field stands in the file.
type field struct {
	index int
	key   string
	grain grain
	omit  bool // may be missing; within an object, left out when nil
	lines bool // one element a line
}

// fields returns the fields of a struct type that are kept, in order.
func fields(t reflect.Type) []field {
	var out []field
	for i := range t.NumField() {
		f := t.Field(i)
		if !f.IsExported() || skipped(t, f) {
			continue
		}
		tag := strings.Split(f.Tag.Get("rec"), ",")
		key := tag[0]
		if key == "" {
			key = snake(f.Name)
			switch f.Type {
			case reflect.TypeFor[machine.Feed]():
				key += "_mm_min"
			case reflect.TypeFor[geom.Angle]():
				key += "_deg"
			}
		}
		one := field{index: i, key: key, omit: slices.Contains(tag[1:], "omit"), lines: slices.Contains(tag[1:], "lines")}
		if slices.Contains(tag[1:], "fine") {
			one.grain = fine
		}
		if slices.Contains(tag[1:], "resolved") {
			one.grain = resolved
		}
		out = append(out, one)
	}
	return out
}

// skipped names what of the job is not kept: where it was read from, and the
// raw sections, which stand resolved under machine and material.
func skipped(t reflect.Type, f reflect.StructField) bool {
	return f.Type == reflect.TypeFor[job.Section]() || t == reflect.TypeFor[job.Job]() && slices.Contains([]string{"File", "Made", "Ledger"}, f.Name)
}

// snake turns NosePM into nose_pm, ZUp into z_up, Home28 into home28.
func snake(name string) string {
	var b strings.Builder
	r := []rune(name)
	for i, c := range r {
		if i > 0 && unicode.IsUpper(c) && (!unicode.IsUpper(r[i-1]) || i+1 < len(r) && unicode.IsLower(r[i+1])) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToLower(c))
	}
	return b.String()
}

// encoder writes JSON in ASCII, compact but for one line an element where
// people look for it.
type encoder struct {
	bytes.Buffer
	err error
}

func encode(r Record) ([]byte, error) {
	var e encoder
	e.WriteString("{\n")
	v := reflect.ValueOf(r)
	for i, f := range fields(v.Type()) {
		if i > 0 {
			e.WriteString(",\n")
		}
		e.text(f.key)
		e.WriteString(": ")
		if f.lines {
			e.lines(v.Field(f.index))
		} else {
			e.value(v.Field(f.index), f.grain, f.key)
		}
	}
	e.WriteString("\n}\n")
	return e.Bytes(), e.err
}

func (e *encoder) lines(v reflect.Value) {
	e.WriteByte('[')
	for i := range v.Len() {
		if i > 0 {
			e.WriteByte(',')
		}
		e.WriteString("\n ")
		e.value(v.Index(i), coarse, "")
	}
	e.WriteString("\n]")
}

func (e *encoder) value(v reflect.Value, g grain, at string) {
	switch v.Kind() {
	case reflect.Struct:
		e.object(v, g, at)
	case reflect.Slice, reflect.Array:
		e.list(v.Len(), func(i int) { e.value(v.Index(i), g, at) })
	case reflect.Map:
		e.table(v, g, at)
	case reflect.Pointer:
		if v.IsNil() {
			e.WriteString("null")
			return
		}
		e.value(v.Elem(), g, at)
	case reflect.String:
		e.text(v.String())
	case reflect.Bool:
		e.WriteString(strconv.FormatBool(v.Bool()))
	case reflect.Int:
		e.WriteString(strconv.FormatInt(v.Int(), 10))
	case reflect.Float64:
		f := v.Float()
		switch v.Type() {
		case reflect.TypeFor[machine.Feed]():
			f = machine.Feed(f).PerMinute()
		case reflect.TypeFor[geom.Angle]():
			f = geom.Angle(f).Degrees()
		}
		e.number(f, g, at)
	default:
		panic("record: internal error: no form for " + v.Type().String())
	}
}

func (e *encoder) list(n int, each func(int)) {
	e.WriteByte('[')
	for i := range n {
		if i > 0 {
			e.WriteByte(',')
		}
		each(i)
	}
	e.WriteByte(']')
}

func (e *encoder) object(v reflect.Value, g grain, at string) {
	if v.Type() == reflect.TypeFor[Vertex]() {
		fs := fields(v.Type())
		e.list(len(fs), func(i int) { e.value(v.Field(fs[i].index), fs[i].grain, at) })
		return
	}
	e.WriteByte('{')
	first := true
	for _, f := range fields(v.Type()) {
		w := v.Field(f.index)
		if f.omit && w.IsNil() {
			continue
		}
		if !first {
			e.WriteByte(',')
		}
		first = false
		e.text(f.key)
		e.WriteByte(':')
		e.value(w, max(g, f.grain), at+"."+f.key)
	}
	e.WriteByte('}')
}

// table writes a map with whole-number keys, in their order.
func (e *encoder) table(v reflect.Value, g grain, at string) {
	keys := v.MapKeys()
	slices.SortFunc(keys, func(a, b reflect.Value) int { return cmp.Compare(a.Int(), b.Int()) })
	e.WriteByte('{')
	for i, k := range keys {
		if i > 0 {
			e.WriteByte(',')
		}
		e.text(strconv.FormatInt(k.Int(), 10))
		e.WriteByte(':')
		e.value(v.MapIndex(k), g, at)
	}
	e.WriteByte('}')
}

// unbounded stands for a limit there is none of: JSON has no infinity.
const unbounded = "unbounded"

func (e *encoder) number(v float64, g grain, at string) {
	switch {
	case g == resolved && math.IsInf(v, 1):
		e.text(unbounded)
	case g == resolved && math.IsInf(v, -1):
		e.text("-" + unbounded)
	case math.IsNaN(v) || math.IsInf(v, 0):
		if e.err == nil {
			e.err = fmt.Errorf("%s: %v: %w", strings.TrimPrefix(at, "."), v, ErrNumber)
		}
		e.WriteString("null")
	default:
		e.WriteString(number(v, g))
	}
}

// number prints six decimals at most, or twelve significant digits, without
// idle zeros, an exponent or -0.
func number(v float64, g grain) string {
	if g != coarse {
		r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 11, 64), 64)
		if err != nil {
			panic("record: internal error: " + err.Error())
		}
		if r == 0 {
			return "0"
		}
		return strconv.FormatFloat(r, 'f', -1, 64)
	}
	s := strings.TrimRight(strconv.FormatFloat(v, 'f', 6, 64), "0")
	s = strings.TrimSuffix(s, ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// text writes a string in ASCII: whatever a name holds, the file cannot move a
// cursor or change the reading direction of whoever prints it.
func (e *encoder) text(s string) {
	e.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			e.WriteByte('\\')
			e.WriteRune(r)
		case r >= ' ' && r <= '~' && r != '<' && r != '>' && r != '&':
			e.WriteRune(r)
		case r < utf8.RuneSelf || r <= 0xFFFF:
			fmt.Fprintf(e, `\u%04x`, r)
		default:
			r -= 0x10000
			fmt.Fprintf(e, `\u%04x\u%04x`, 0xD800+r>>10, 0xDC00+r&0x3FF)
		}
	}
	e.WriteByte('"')
}
