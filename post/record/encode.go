package record

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"

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
		one := field{index: i, key: key, omit: slices.Contains(tag[1:], "omit")}
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

// encode writes a record in ASCII, compact but for one line a key, and one line an element
// where the key holds a list: that is where people look.
func encode(r Record) ([]byte, error) {
	var out bytes.Buffer
	before := "{\n"
	for _, m := range plain(reflect.ValueOf(r), coarse).(object) {
		fmt.Fprintf(&out, "%s%q: ", before, m.key)
		b, err := m.json()
		if list, ok := m.value.([]any); ok && err == nil {
			b, err = lines(m.key, list)
		}
		if err != nil {
			return nil, err
		}
		out.Write(b)
		before = ",\n"
	}
	out.WriteString("\n}\n")
	return ascii(out.Bytes()), nil
}

// lines is a list with one line an element.
func lines(key string, list []any) ([]byte, error) {
	out := []byte{'['}
	for i, v := range list {
		if i > 0 {
			out = append(out, ',')
		}
		b, err := member{key, v}.json()
		if err != nil {
			return nil, err
		}
		out = append(append(out, "\n "...), b...)
	}
	return append(out, "\n]"...), nil
}

// plain is a value as encoding/json writes it in the record's form: a struct as an object
// with the keys of its fields in their order, a number with so many digits.
func plain(v reflect.Value, g grain) any {
	switch v.Kind() {
	case reflect.Struct:
		var o object
		for _, f := range fields(v.Type()) {
			if w := v.Field(f.index); !f.omit || !w.IsNil() {
				o = append(o, member{f.key, plain(w, max(g, f.grain))})
			}
		}
		if v.Type() == reflect.TypeFor[Vertex]() {
			return []any{o[0].value, o[1].value, o[2].value}
		}
		return o
	case reflect.Slice, reflect.Array:
		out := make([]any, v.Len())
		for i := range out {
			out[i] = plain(v.Index(i), g)
		}
		return out
	case reflect.Map:
		out := map[int]any{}
		for k, w := range v.Seq2() {
			out[int(k.Int())] = plain(w, g)
		}
		return out
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return plain(v.Elem(), g)
	case reflect.Float64:
		switch x := v.Interface().(type) {
		case machine.Feed:
			return decimal{x.PerMinute(), g}
		case geom.Angle:
			return decimal{x.Degrees(), g}
		}
		return decimal{v.Float(), g}
	case reflect.String, reflect.Bool, reflect.Int:
		return v.Interface()
	}
	panic("record: internal error: no form for " + v.Type().String())
}

// object is an object whose keys have an order.
type object []member

type member struct {
	key   string
	value any
}

// MarshalJSON implements json.Marshaler.
func (o object) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, m := range o {
		if i > 0 {
			out = append(out, ',')
		}
		b, err := m.json()
		if err != nil {
			return nil, err
		}
		out = append(fmt.Appendf(out, "%q:", m.key), b...)
	}
	return append(out, '}'), nil
}

// json is the value; an error names the keys that lead to it.
func (m member) json() ([]byte, error) {
	b, err := json.Marshal(m.value)
	if e := (*json.MarshalerError)(nil); errors.As(err, &e) {
		return nil, fmt.Errorf("%s: %w", m.key, e.Err)
	}
	return b, err
}

// unbounded stands for a limit there is none of: JSON has no infinity.
const unbounded = "unbounded"

// decimal is a number of the file.
type decimal struct {
	v float64
	g grain
}

// MarshalJSON implements json.Marshaler.
func (d decimal) MarshalJSON() ([]byte, error) {
	switch {
	case d.g == resolved && math.IsInf(d.v, 1):
		return json.Marshal(unbounded)
	case d.g == resolved && math.IsInf(d.v, -1):
		return json.Marshal("-" + unbounded)
	case math.IsNaN(d.v) || math.IsInf(d.v, 0):
		return nil, fmt.Errorf("%v: %w", d.v, ErrNumber)
	}
	return []byte(number(d.v, d.g)), nil
}

// number prints six decimals at most, or twelve significant digits, without
// idle zeros, an exponent or -0.
func number(v float64, g grain) string {
	if g != coarse {
		r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 11, 64), 64)
		if err != nil {
			panic("record: internal error: " + err.Error())
		}
		return strconv.FormatFloat(r+0, 'f', -1, 64)
	}
	s := strings.TrimRight(strconv.FormatFloat(v, 'f', 6, 64), "0")
	s = strings.TrimSuffix(s, ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// ascii escapes all other characters, which can stand in strings only: whatever a name
// holds, the file cannot move a cursor or change the reading direction of whoever prints it.
func ascii(b []byte) []byte {
	out := make([]byte, 0, len(b))
	for _, r := range string(b) {
		if r <= '~' {
			out = append(out, byte(r))
			continue
		}
		for _, u := range utf16.AppendRune(nil, r) {
			out = fmt.Appendf(out, `\u%04x`, u)
		}
	}
	return out
}
