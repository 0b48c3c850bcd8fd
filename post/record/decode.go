package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"spotjig/cam/machine"
)

// ErrRecord is wrapped by every error of Read but those of the reader it is given.
var ErrRecord = errors.New("not a record of this format")

// Limits of Read.
const (
	bytesMax  = 64 << 20 // of the whole file; a 12 ft table on a small bed has about 1 MB
	listMax   = 1_000_000
	textMax   = 10_000
	numberMax = 1e12
)

// Read reads a record. It is strict: every key once, spelt as written by
// Write; a key of the contract's own sections may not be missing; nothing may
// follow. Keys missing from job, machine or material are zero there. A record of
// another format is refused by its number, whatever its keys are.
func Read(r io.Reader) (Record, error) {
	in := &io.LimitedReader{R: r, N: bytesMax + 1}
	d := decoder{json.NewDecoder(in)}
	d.UseNumber()
	var out Record
	err := d.value(reflect.ValueOf(&out).Elem(), coarse, "")
	if err == nil {
		if _, end := d.Token(); !errors.Is(end, io.EOF) {
			err = fmt.Errorf("something follows the record: %w", ErrRecord)
		}
	}
	switch {
	case in.N <= 0:
		return Record{}, fmt.Errorf("read record: longer than %d bytes: %w", bytesMax, ErrRecord)
	case out.Format != Format && (err == nil || out.Format != ""):
		return Record{}, fmt.Errorf("read record: format %.40q, and this version reads %q: %w", out.Format, Format, ErrRecord)
	case err != nil:
		return Record{}, fmt.Errorf("read record: %w", err)
	}
	return out, nil
}

type decoder struct{ *json.Decoder }

func fault(at, form string, a ...any) error {
	at = strings.TrimPrefix(at, ".")
	if at == "" {
		at = "record"
	}
	return fmt.Errorf("%s: %s: %w", at, fmt.Sprintf(form, a...), ErrRecord)
}

// token returns the next token; what is not JSON is our fault to name.
func (d decoder) token(at string) (json.Token, error) {
	t, err := d.Token()
	if err != nil {
		return nil, fault(at, "%v", err)
	}
	return t, nil
}

func (d decoder) open(at string, want json.Delim) error {
	t, err := d.token(at)
	if err == nil && t != want {
		err = fault(at, "want %v, found %s", want, show(t))
	}
	return err
}

// show prints a token for a message, shortened.
func show(t json.Token) string {
	if s, ok := t.(string); ok {
		return fmt.Sprintf("%.40q", s)
	}
	return fmt.Sprintf("%.40v", t)
}

func (d decoder) value(v reflect.Value, g grain, at string) error {
	switch v.Kind() {
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[Vertex]() {
			return d.vertex(v, at)
		}
		return d.object(v, g, at)
	case reflect.Slice:
		return d.list(v, g, at)
	case reflect.Array:
		return d.array(v, g, at)
	case reflect.Map:
		return d.table(v, g, at)
	}
	t, err := d.token(at)
	if err != nil {
		return err
	}
	return d.scalar(v, t, g, at)
}

// scalar sets what one token holds. A pointer to a struct costs a look ahead,
// which Token cannot give: its opening brace is the token.
func (d decoder) scalar(v reflect.Value, t json.Token, g grain, at string) error {
	if v.Kind() == reflect.Pointer {
		if t == nil {
			return nil
		}
		p := reflect.New(v.Type().Elem())
		v.Set(p)
		if p.Elem().Kind() == reflect.Struct {
			if t != json.Delim('{') {
				return fault(at, "want { or null, found %s", show(t))
			}
			return d.members(p.Elem(), g, at)
		}
		return d.scalar(p.Elem(), t, g, at)
	}
	switch x := t.(type) {
	case string:
		return setText(v, x, g, at)
	case bool:
		if v.Kind() == reflect.Bool {
			v.SetBool(x)
			return nil
		}
	case json.Number:
		return setNumber(v, x, at)
	}
	return fault(at, "want a %s, found %s", v.Kind(), show(t))
}

func setText(v reflect.Value, s string, g grain, at string) error {
	if v.Kind() == reflect.Float64 && g == resolved {
		switch s {
		case unbounded:
			v.SetFloat(math.Inf(1))
			return nil
		case "-" + unbounded:
			v.SetFloat(math.Inf(-1))
			return nil
		}
	}
	if v.Kind() != reflect.String {
		return fault(at, "want a %s, found %.40q", v.Kind(), s)
	}
	if len(s) > textMax {
		return fault(at, "text of %d bytes, at most %d", len(s), textMax)
	}
	v.SetString(s)
	return nil
}

func setNumber(v reflect.Value, n json.Number, at string) error {
	switch v.Kind() {
	case reflect.Int:
		i, err := strconv.ParseInt(n.String(), 10, 32)
		if err != nil {
			return fault(at, "want a whole number, found %.40s", n)
		}
		v.SetInt(i)
	case reflect.Float64:
		f, err := n.Float64()
		if err != nil || math.Abs(f) > numberMax {
			return fault(at, "number %.40s out of range", n)
		}
		if v.Type() == reflect.TypeFor[machine.Feed]() {
			f = float64(machine.FeedPerMinute(f))
		}
		v.SetFloat(f)
	default:
		return fault(at, "want a %s, found %.40s", v.Kind(), n)
	}
	return nil
}

func (d decoder) object(v reflect.Value, g grain, at string) error {
	if err := d.open(at, '{'); err != nil {
		return err
	}
	return d.members(v, g, at)
}

// members reads the members of an object whose brace has been read.
func (d decoder) members(v reflect.Value, g grain, at string) error {
	byKey := map[string]field{}
	for _, f := range fields(v.Type()) {
		byKey[f.key] = f
	}
	seen := map[string]bool{}
	for d.More() {
		t, err := d.token(at)
		if err != nil {
			return err
		}
		key, _ := t.(string)
		f, ok := byKey[key]
		if !ok {
			return fault(at, "unknown key %.40q", key)
		}
		if seen[key] {
			return fault(at, "key %q twice", key)
		}
		seen[key] = true
		if err := d.value(v.Field(f.index), max(g, f.grain), at+"."+key); err != nil {
			return err
		}
	}
	for _, f := range fields(v.Type()) {
		if !seen[f.key] && !f.omit && g != resolved {
			return fault(at, "key %q is missing", f.key)
		}
	}
	_, err := d.token(at)
	return err
}

func (d decoder) list(v reflect.Value, g grain, at string) error {
	t, err := d.token(at)
	if err != nil {
		return err
	}
	if t != json.Delim('[') {
		return fault(at, "want [, found %s", show(t))
	}
	v.Set(reflect.MakeSlice(v.Type(), 0, 0))
	for i := 0; d.More(); i++ {
		if i == listMax {
			return fault(at, "more than %d elements", listMax)
		}
		e := reflect.New(v.Type().Elem()).Elem()
		if err := d.value(e, g, fmt.Sprintf("%s[%d]", at, i)); err != nil {
			return err
		}
		v.Set(reflect.Append(v, e))
	}
	_, err = d.token(at)
	return err
}

func (d decoder) array(v reflect.Value, g grain, at string) error {
	if err := d.open(at, '['); err != nil {
		return err
	}
	for i := range v.Len() {
		if err := d.value(v.Index(i), g, fmt.Sprintf("%s[%d]", at, i)); err != nil {
			return err
		}
	}
	return d.open(at, ']')
}

func (d decoder) vertex(v reflect.Value, at string) error {
	if err := d.open(at, '['); err != nil {
		return err
	}
	for i := range v.NumField() {
		if err := d.value(v.Field(i), coarse, fmt.Sprintf("%s[%d]", at, i)); err != nil {
			return err
		}
	}
	return d.open(at, ']')
}

func (d decoder) table(v reflect.Value, g grain, at string) error {
	if err := d.open(at, '{'); err != nil {
		return err
	}
	v.Set(reflect.MakeMap(v.Type()))
	for n := 0; d.More(); n++ {
		t, err := d.token(at)
		if err != nil {
			return err
		}
		key, _ := t.(string)
		k, err := strconv.Atoi(key)
		if err != nil || n == listMax {
			return fault(at, "want a whole number as key, found %.40q", key)
		}
		e := reflect.New(v.Type().Elem()).Elem()
		if err := d.value(e, g, at+"."+key); err != nil {
			return err
		}
		v.SetMapIndex(reflect.ValueOf(k), e)
	}
	_, err := d.token(at)
	return err
}
